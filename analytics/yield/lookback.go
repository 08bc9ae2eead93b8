package yield

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
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
	Skipped     int         `json:"skipped"`   // trips not scored because of ReviewOptions.Days
	Sentence    string      `json:"sentence"`
}

// ReviewOptions choose the trips that are scored; the zero value scores all.
type ReviewOptions struct {
	Since    time.Time // trips of this day on
	SourceID string    // trips to this source alone; "" means all
	// Days is the largest number of days of drives to score, the latest ones: each
	// costs a fit of the book before it. 0 means all.
	Days int
}

// LookBack scores the trips from since on, each against what the book of the days
// before it would have predicted at the prices of its own day. The plain running
// mean it is compared with is a single figure, whose score is its distance to the
// outcome. A trip with lots on hold has no outcome yet and is not scored; so is the
// first day of the book, which nothing came before. The error is that of Fit.
func LookBack(pickups []Pickup, since time.Time, opts Options) (*Review, error) {
	return LookBackAt(pickups, ReviewOptions{Since: since}, opts)
}

// LookBackAt is LookBack for chosen trips. The others are there to learn from.
func LookBackAt(pickups []Pickup, chosen ReviewOptions, opts Options) (*Review, error) {
	b := &backward{chosen: chosen, opts: opts, order: slices.Clone(pickups)}
	slices.SortStableFunc(b.order, func(x, y Pickup) int { return dayNumber(x.Date) - dayNumber(y.Date) })
	if err := b.value(); err != nil {
		return nil, err
	}
	days, skipped := b.days()
	scores := make([][]Score, len(days))
	faults := make([]error, len(days))
	// Every day is fitted from its own past alone, so days may be fitted at once.
	var wait sync.WaitGroup
	workers := max(1, min(runtime.GOMAXPROCS(0), len(days)))
	for w := range workers {
		wait.Go(func() {
			for d := w; d < len(days); d += workers {
				scores[d], faults[d] = b.score(days[d])
			}
		})
	}
	wait.Wait()
	review := &Review{Scores: []Score{}, Skipped: skipped}
	for d, day := range days {
		if faults[d] != nil {
			return nil, faults[d]
		}
		review.Scores = append(review.Scores, scores[d]...)
		for _, i := range day.trips {
			if b.order[i].Held > 0 {
				review.Undecided++
			}
		}
	}
	review.sum()
	return review, nil
}

// backward is a look back under way: the pickups by day with their nets, and the
// running mean before each.
type backward struct {
	order      []Pickup
	chosen     ReviewOptions
	opts       Options
	nets, mean []float64
}

// driveDay is a day with trips to score: the book before it ends at from.
type driveDay struct {
	from  int
	trips []int
}

// value prices every trip and keeps the plain mean of the trips of earlier days.
func (b *backward) value() error {
	b.nets, b.mean = make([]float64, len(b.order)), make([]float64, len(b.order))
	means, price := newRunning(), pricer{prices: b.opts.Prices}
	for from := 0; from < len(b.order); {
		to := b.dayEnd(from)
		for i := from; i < to; i++ {
			w, err := price.value(0, &b.order[i])
			if err != nil {
				return err
			}
			b.nets[i], b.mean[i] = w.Net, means.of(b.order[i].SourceID)
		}
		for i := from; i < to; i++ {
			if b.order[i].Held == 0 { // a held trip has no net yet that a mean could take
				means.add(b.order[i].SourceID, b.nets[i])
			}
		}
		from = to
	}
	return nil
}

// dayEnd returns where the day of trip from ends.
func (b *backward) dayEnd(from int) int {
	to := from
	for to < len(b.order) && dayNumber(b.order[to].Date) == dayNumber(b.order[from].Date) {
		to++
	}
	return to
}

// days lists the days to score, oldest first, and counts the trips of those that
// are too many.
func (b *backward) days() (days []driveDay, skipped int) {
	for from := b.dayEnd(0); from < len(b.order); {
		to := b.dayEnd(from)
		day := driveDay{from: from}
		for i := from; i < to; i++ {
			if b.chosen.SourceID == "" || b.chosen.SourceID == b.order[i].SourceID {
				day.trips = append(day.trips, i)
			}
		}
		if len(day.trips) > 0 && dayNumber(b.order[from].Date) >= dayNumber(b.chosen.Since) {
			days = append(days, day)
		}
		from = to
	}
	if b.chosen.Days > 0 && len(days) > b.chosen.Days {
		early := days[:len(days)-b.chosen.Days]
		for _, d := range early {
			skipped += len(d.trips)
		}
		days = days[len(early):]
	}
	return days, skipped
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

// score scores the trips of one day against the book before it. All of them are
// forecast from the evening before, so none may teach about another. Nothing is kept
// from day to day: a forecast is what the book would have said, not what a running
// fit remembers. A day whose outcomes are all open needs no fit.
func (b *backward) score(day driveDay) ([]Score, error) {
	var trips []int
	var going []Pickup
	for _, i := range day.trips {
		if b.order[i].Held == 0 {
			trips, going = append(trips, i), append(going, b.order[i])
		}
	}
	if len(trips) == 0 {
		return nil, nil
	}
	today := going[0].Date
	opts := b.opts
	opts.Today = today
	opts.Sources = planned(going, b.opts.Sources)
	m, err := Fit(b.order[:day.from], opts)
	if err != nil {
		return nil, fmt.Errorf("the book before %s: %w", today.Format(time.DateOnly), err)
	}
	scores := make([]Score, 0, len(trips))
	for _, i := range trips {
		score, err := m.Score(b.order[i].SourceID, b.nets[i])
		if err != nil {
			return nil, err
		}
		score.RunningMean = math.Abs(b.nets[i] - b.mean[i])
		scores = append(scores, score)
	}
	return scores, nil
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
