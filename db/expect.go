package db

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"skepwood/analytics/yield"
)

// Outlook is what the whole book says about drives to come. Sources learn from
// one another here, which the plain figures of a source do not.
type Outlook struct {
	// Day is the day of the next drive: the coming Saturday, today included.
	Day time.Time
	// Model answers what if, rounds and stops; Answers are those at the prices of
	// Day, with sources called by name in every sentence.
	Model   *yield.Model
	Answers *yield.Answers
}

// ComingSaturday returns the day of the next drive: the first Saturday that is
// not before now, in the zone of env, as a calendar day in UTC.
func ComingSaturday(env Env) time.Time {
	zone := env.Zone
	if zone == nil {
		zone = time.UTC
	}
	y, m, d := env.Now.In(zone).Date()
	today := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	return today.AddDate(0, 0, int(time.Saturday-today.Weekday()))
}

// rankSeed starts the draws that rank: the same book gives the same chances.
const rankSeed = 1

// expect fits the model to the trips and answers for every source. Where that
// cannot be done, Why says so in words and the plain figures stand alone.
func (r *Ranking) expect(day time.Time, sources []Source) {
	for _, s := range sources {
		known := yield.Source{ID: s.ID.String(), Kind: s.Kind}
		if s.DistanceM != nil {
			known.Miles = *s.DistanceM / metresPerMile
		}
		r.places = append(r.places, known)
	}
	if len(r.places) == 0 {
		r.Why = "The book has no source yet."
		return
	}
	model, err := r.fit(day)
	if err != nil {
		r.Why = "What to expect next cannot be said: " + r.Named(err.Error()) + "."
		return
	}
	answers := model.Answers()
	r.NameAnswers(answers)
	r.Next = &Outlook{Day: day, Model: model, Answers: answers}
	place := make(map[string]*yield.Answer, len(answers.Sources))
	for i := range answers.Sources {
		place[answers.Sources[i].SourceID] = &answers.Sources[i]
	}
	for i := range r.Sources {
		r.Sources[i].Answer = place[r.Sources[i].ID.String()]
	}
}

// fit learns from the trips about the places of the book and others.
func (r *Ranking) fit(day time.Time, others ...yield.Source) (*yield.Model, error) {
	return yield.Fit(r.Trips, yield.Options{Today: day, Prices: r.Prices, Seed: rankSeed, Sources: append(slices.Clone(r.places), others...)})
}

// With returns the outlook's model with a place that is not in the book as one
// more choice. It must not be called where Next is nil; the error is that of
// yield.Fit.
func (r *Ranking) With(other yield.Source) (*yield.Model, error) { return r.fit(r.Next.Day, other) }

// Kinds returns the kinds of business of the sources, each once, in order.
func (r *Ranking) Kinds() []string {
	var kinds []string
	for _, s := range r.Sources {
		if s.Kind != "" {
			kinds = append(kinds, s.Kind)
		}
	}
	slices.Sort(kinds)
	return slices.Compact(kinds)
}

// NameAnswers puts the names of sources in place of their ids in every sentence
// of a.
func (r *Ranking) NameAnswers(a *yield.Answers) {
	names := r.names()
	for i := range a.Sources {
		a.Sources[i].Sentence = names.Replace(a.Sources[i].Sentence)
	}
	for i := range a.Next.Choices {
		a.Next.Choices[i].Sentence = names.Replace(a.Next.Choices[i].Sentence)
	}
}

func (r *Ranking) names() *strings.Replacer {
	pairs := make([]string, 0, 2*len(r.Sources))
	for _, s := range r.Sources {
		pairs = append(pairs, s.ID.String(), s.Name)
	}
	return strings.NewReplacer(pairs...)
}

// Named puts the names of sources in place of their ids in a text.
func (r *Ranking) Named(text string) string { return r.names().Replace(text) }

// Source returns the source with the id that the analysis knows it by, or nil.
func (r *Ranking) Source(id string) *RankedSource {
	for i := range r.Sources {
		if r.Sources[i].ID.String() == id {
			return &r.Sources[i]
		}
	}
	return nil
}

// Expected returns the sources by the expected net of a trip, best first: the
// order of the answers. Without an outlook it is that of the plain figures.
func (r *Ranking) Expected() []RankedSource {
	out := slices.Clone(r.Sources)
	slices.SortStableFunc(out, func(a, b RankedSource) int {
		if a.Answer == nil || b.Answer == nil {
			return 0 // all have one or none has
		}
		return cmp.Compare(b.Answer.Expected.Mean, a.Answer.Expected.Mean)
	})
	return out
}

// namedError is an error whose text calls sources by name.
type namedError struct {
	error
	text string
}

func (e *namedError) Error() string { return e.text }
func (e *namedError) Unwrap() error { return e.error }
