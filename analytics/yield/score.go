package yield

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Score is one trip against what the book predicted.
type Score struct {
	SourceID string    `json:"source"`
	Date     time.Time `json:"date"`
	N        int       `json:"n"` // earlier trips to the source
	Planned  Spread    `json:"planned"`
	Got      float64   `json:"got"` // net, minor units
	// PIT is where the outcome fell in the forecast: the probabilities of less and
	// of no more than it; they differ where an outcome such as an empty drive has a
	// probability of its own.
	PIT Bounds `json:"pit"`
	// CRPS is the score of the forecast, RunningMean that of the mean of earlier
	// trips to the source (of the book for a first trip); lower is better, both in
	// minor units. Source: Gneiting and Raftery 2007, JASA 102:359-378.
	CRPS        float64 `json:"crps"`
	RunningMean float64 `json:"running_mean_crps"`
}

// Score scores the forecast of the next trip to a source, at the prices of the
// day of the next drive, against the net it brought; RunningMean is left at 0. The
// error wraps ErrUnknownSource.
func (m *Model) Score(sourceID string, got float64) (Score, error) {
	i := m.find(sourceID)
	if i < 0 {
		return Score{}, fmt.Errorf("%w: %q", ErrUnknownSource, sourceID)
	}
	s := &m.sources[i]
	f := m.next(s, m.terms, &forecast{})
	return Score{
		SourceID: sourceID, Date: m.opts.Today, N: s.n, Got: got,
		Planned: f.spread(m.expected(s, m.terms).mean), PIT: f.cdf(got), CRPS: f.crps(got),
	}, nil
}

// find returns the place of a source, −1 where there is none.
func (m *Model) find(sourceID string) int {
	i, ok := slices.BinarySearchFunc(m.sources, sourceID, func(s sourceFit, id string) int { return strings.Compare(s.id, id) })
	if !ok {
		return -1
	}
	return i
}
