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
	order := slices.Clone(pickups)
	slices.SortStableFunc(order, func(a, b Pickup) int { return dayNumber(a.Date) - dayNumber(b.Date) })
	review := &Review{Scores: []Score{}}
	means := newRunning()
	for from := 0; from < len(order); {
		to := from
		for to < len(order) && dayNumber(order[to].Date) == dayNumber(order[from].Date) {
			to++
		}
		if err := review.day(order, from, to, since, opts, means); err != nil {
			return nil, err
		}
		from = to
	}
	review.sum()
	return review, nil
}

// running keeps the plain means of the nets of earlier trips.
type running struct {
	sum, n map[string]float64 // by source; "" is the whole book
}

func newRunning() *running { return &running{map[string]float64{}, map[string]float64{}} }

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

// day scores the trips order[from:to] of one day against the book before it.
func (r *Review) day(order []Pickup, from, to int, since time.Time, opts Options, means *running) error {
	opts.Today = order[from].Date
	var m *Model
	if from > 0 && dayNumber(opts.Today) >= dayNumber(since) {
		opts.Sources = planned(order[from:to], opts.Sources)
		var err error
		if m, err = Fit(order[:from], opts); err != nil {
			return fmt.Errorf("the book before %s: %w", opts.Today.Format(time.DateOnly), err)
		}
	}
	nets := make([]float64, to-from)
	for i, p := range order[from:to] {
		w, err := Value(p, opts.Prices)
		if err != nil {
			return err
		}
		nets[i] = w.Net
		switch {
		case m == nil:
		case p.Held > 0:
			r.Undecided++
		default:
			score, err := m.Score(p.SourceID, w.Net)
			if err != nil {
				return err
			}
			score.RunningMean = math.Abs(w.Net - means.of(p.SourceID))
			r.Scores = append(r.Scores, score)
		}
	}
	for i, p := range order[from:to] {
		if p.Held == 0 {
			means.add(p.SourceID, nets[i])
		}
	}
	return nil
}

// planned are the sources of a day with the miles and cash that were known when
// setting out.
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

// share returns how much of b, spread evenly, lies between from and to; a single
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
