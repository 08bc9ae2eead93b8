package yield

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Review is how past forecasts did.
type Review struct {
	Scores      []Score     `json:"scores"` // oldest first
	CRPS        float64     `json:"crps"`
	RunningMean float64     `json:"running_mean_crps"`
	Inside50    Figure      `json:"inside50"`  // share of outcomes inside the 50 % interval
	Inside90    Figure      `json:"inside90"`  // and inside the 90 % interval
	Histogram   [10]float64 `json:"histogram"` // shares of the PIT in tenths, each 0.1 if honest
	Undecided   int         `json:"undecided"` // trips not scored because lots are on hold
	Sentence    string      `json:"sentence"`
}

// LookBack scores the trips from since on, each against what the book of the days
// before it would have predicted at the prices of its own day. The plain running
// mean it is compared with is a single figure, whose score is its distance to the
// outcome. A trip with lots on hold has no outcome yet and is not scored; so is the
// first day of the book, which nothing came before. The error is that of Fit.
func LookBack(pickups []Pickup, since time.Time, opts Options) (*Review, error) {
	b := &backward{since: since, opts: opts, order: slices.Clone(pickups), review: &Review{Scores: []Score{}}, means: newRunning()}
	slices.SortStableFunc(b.order, func(x, y Pickup) int { return dayNumber(x.Date) - dayNumber(y.Date) })
	for from := 0; from < len(b.order); {
		to := from
		for to < len(b.order) && dayNumber(b.order[to].Date) == dayNumber(b.order[from].Date) {
			to++
		}
		if err := b.day(from, to); err != nil {
			return nil, err
		}
		from = to
	}
	b.review.sum()
	return b.review, nil
}

// backward is a look back under way: the pickups by day, and what the days so far
// have brought.
type backward struct {
	order  []Pickup
	since  time.Time
	opts   Options
	means  *running
	review *Review
}

// running keeps the plain means of the nets of earlier trips.
type running struct {
	sum, n map[string]float64 // by source; "" is the whole book
}

// newRunning has no trips yet.
func newRunning() *running { return &running{map[string]float64{}, map[string]float64{}} }

// add counts a net for its source and for the book.
func (r *running) add(source string, net float64) {
	for _, key := range []string{source, ""} {
		r.sum[key] += net
		r.n[key]++
	}
}

// of is the mean of the source, of the book where it has none.
func (r *running) of(source string) float64 {
	if r.n[source] > 0 {
		return r.sum[source] / r.n[source]
	}
	if r.n[""] > 0 {
		return r.sum[""] / r.n[""]
	}
	return 0
}

// day scores the trips order[from:to] of one day against the book before it. All
// trips of a day are forecast from the evening before, so none of them may teach
// about another.
func (b *backward) day(from, to int) error {
	var m *Model // nil where the day is not to be scored
	if from > 0 && dayNumber(b.order[from].Date) >= dayNumber(b.since) {
		var err error
		if m, err = b.before(from, to); err != nil {
			return err
		}
	}
	nets := make([]float64, to-from)
	for i, p := range b.order[from:to] {
		w, err := Value(p, b.opts.Prices)
		if err != nil {
			return err
		}
		nets[i] = w.Net
		switch {
		case m == nil:
		case p.Held > 0:
			b.review.Undecided++
		default:
			score, err := m.Score(p.SourceID, w.Net)
			if err != nil {
				return err
			}
			score.RunningMean = math.Abs(w.Net - b.means.of(p.SourceID))
			b.review.Scores = append(b.review.Scores, score)
		}
	}
	for i, p := range b.order[from:to] {
		if p.Held == 0 { // a held trip has no net yet that a mean could take
			b.means.add(p.SourceID, nets[i])
		}
	}
	return nil
}

// before fits the book of the days before order[from:to]. Nothing is kept from
// day to day: a forecast is what the book would have said, not what a running fit
// remembers.
func (b *backward) before(from, to int) (*Model, error) {
	today := b.order[from].Date
	opts := b.opts
	opts.Today = today
	opts.Sources = planned(b.order[from:to], b.opts.Sources)
	m, err := Fit(b.order[:from], opts)
	if err != nil {
		return nil, fmt.Errorf("the book before %s: %w", today.Format(time.DateOnly), err)
	}
	return m, nil
}

// planned are the sources of a day with the miles and cash that were known when
// setting out: how far it is and what is asked there is no part of the forecast.
func planned(day []Pickup, others []Source) []Source {
	all := slices.Clone(others)
	for _, p := range day {
		all = append(all, Source{ID: p.SourceID, Kind: p.Kind, Miles: p.Miles, Cash: p.Cash})
	}
	return all
}

// sum fills in what the scores say together.
func (r *Review) sum() {
	n := len(r.Scores)
	if n == 0 {
		r.Inside50.Why, r.Inside90.Why = "no trip to score yet", "no trip to score yet"
		r.Sentence = "No trip to score yet: a forecast needs a book before it, and an outcome with nothing on hold."
		return
	}
	half, most := 0, 0
	for _, s := range r.Scores {
		r.CRPS += s.CRPS / float64(n)
		r.RunningMean += s.RunningMean / float64(n)
		if s.Planned.Half.Holds(s.Got) {
			half++
		}
		if s.Planned.Most.Holds(s.Got) {
			most++
		}
		for k := range r.Histogram {
			r.Histogram[k] += s.PIT.share(float64(k)/10, float64(k+1)/10) / float64(n)
		}
	}
	r.Inside50, r.Inside90 = shareFigure(half, n), shareFigure(most, n)
	better := "no better than"
	if r.CRPS < r.RunningMean {
		better = fmt.Sprintf("%.0f %% better than", 100*(1-r.CRPS/r.RunningMean))
	}
	r.Sentence = fmt.Sprintf("%d of %d trips fell inside their 90 %% interval; the forecasts scored %s a plain running mean.", most, n, better)
}

// share is how a PIT enters a histogram where outcomes have probabilities of their
// own: an atom is spread over all that it covers (Czado, Gneiting and Held 2009,
// Biometrics 65:1254-1261). It returns how much of b, spread evenly, lies between from and to; a single
// point lies in the part that begins with it, 1 in the last.
func (b Bounds) share(from, to float64) float64 {
	if b.Width() <= 0 {
		if b.Low >= from && (b.Low < to || to >= 1 && b.Low <= to) {
			return 1
		}
		return 0
	}
	return math.Max(0, math.Min(to, b.High)-math.Max(from, b.Low)) / b.Width()
}

// shareFigure is a share with its Wilson interval.
func shareFigure(x, n int) Figure {
	most, err := Wilson(x, n, 0.9)
	if err != nil {
		return Figure{Why: err.Error()}
	}
	half, _ := Wilson(x, n, 0.5) // the same counts
	return Figure{Value: float64(x) / float64(n), Low: most.Low, High: most.High, Low50: half.Low, High50: half.High, N: n, Known: true}
}
