package server

import (
	"math"
	"net/http"
	"slices"
	"strconv"
	"time"

	"skepwood/analytics/yield"
	"skepwood/charts"
	"skepwood/db"
)

// lookbackPage says how past forecasts did.
type lookbackPage struct {
	base
	Ranking *db.Ranking
	Problem string
	Form    form
	// Since is the first day scored, as typed in the address.
	Since  string
	Review *yield.Review
	Trips  []scoredTrip
	// Words says what the picture shows, Reading what that means.
	Words, Reading string
	// Days is how many days of drives are scored at most.
	Days int
}

// scoredDays is how many days of drives a page may score. Each costs a fit of the book
// before it, whose time goes with the trips in it: some hundred thousand trips are fitted
// in about half a second.
func scoredDays(trips int) int {
	const most, least, fitted = 104, 12, 150_000 // two years of Saturdays; a season's start
	return min(most, max(least, fitted/max(1, trips)))
}

// scoredTrip is one trip against its forecast.
type scoredTrip struct {
	yield.Score
	Source *db.RankedSource
	// Inside says that the outcome lay in the 90 % interval.
	Inside bool
}

// review scores the trips since the day in the address; without one, those of
// the last year.
func (a *app) review(r *http.Request) (*lookbackPage, error) {
	page := &lookbackPage{base: a.base(r, "Look back")}
	columns := []db.ColumnInfo{{Name: "since", Label: "Trips since", Example: "2026-01-01", Help: "Each against what the book of the day before would have said."}}
	since := page.Env.Now.AddDate(-1, 0, 0)
	page.Since = since.Format(time.DateOnly)
	var faults db.FieldErrors
	if typed := r.URL.Query().Get("since"); typed != "" {
		page.Since = typed
		day, err := time.Parse(time.DateOnly, typed)
		if err != nil || day.Year() < 1900 {
			faults = db.FieldErrors{{Field: "since", Value: typed, Problem: "is not a day", Remedy: "enter year, month and day, such as 2026-01-31"}}
		}
		since = day
	}
	page.Form = newForm(columns, "", map[string]string{"since": page.Since}, faults)
	var err error
	if page.Ranking, page.Problem, err = a.outlook(r, page.Env); err != nil || page.Ranking.Next == nil || len(faults) > 0 {
		return page, err
	}
	page.Days = scoredDays(len(page.Ranking.Trips))
	page.Review, err = yield.LookBackAt(page.Ranking.Trips, yield.ReviewOptions{Since: since, Days: page.Days}, yield.Options{Prices: page.Ranking.Prices})
	if problem := valueProblem(err); problem != "" {
		page.Problem = "The trips cannot be scored: " + page.Ranking.Named(problem) + "."
		return page, nil
	}
	if err != nil {
		return page, err
	}
	for _, s := range page.Review.Scores {
		page.Trips = append(page.Trips, scoredTrip{Score: s, Source: page.Ranking.Source(s.SourceID), Inside: s.Planned.Most.Holds(s.Got)})
	}
	slices.Reverse(page.Trips) // the newest first
	picture := pitPicture(page.Review)
	page.Words, page.Reading = picture.Words(), picture.Reading()
	return page, nil
}

func (a *app) lookbackShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.review(r)
	if err != nil {
		return err
	}
	if len(page.Form.Faults) > 0 {
		return a.render(w, http.StatusUnprocessableEntity, "lookback_show", page)
	}
	return a.show(w, "lookback_show", page)
}

// golden spreads points evenly however many there are.
const golden = 0.6180339887498949

// pitPicture shows where outcomes fell in their forecasts. An outcome with a
// probability of its own, such as an empty drive, takes up a stretch of the scale;
// its point is set within the stretch by multiples of the golden ratio, so that the
// points of honest forecasts are even and the same book gives the same picture.
func pitPicture(review *yield.Review) charts.PIT {
	pic := charts.PIT{Title: "How the forecasts of trips met what came", What: "trip"}
	if review == nil {
		return pic
	}
	for i, s := range review.Scores {
		_, at := math.Modf((float64(i) + 0.5) * golden)
		pic.Values = append(pic.Values, s.PIT.Low+at*s.PIT.Width())
	}
	return pic
}

func (a *app) chartPIT(w http.ResponseWriter, r *http.Request) error {
	page, err := a.review(r)
	if err != nil {
		return err
	}
	return a.drawn(w, r, pitPicture(page.Review))
}

// lookbackSheet sends every scored trip.
func (a *app) lookbackSheet(w http.ResponseWriter, r *http.Request) error {
	page, err := a.review(r)
	if err != nil {
		return err
	}
	if len(page.Form.Faults) > 0 {
		return &statusError{http.StatusUnprocessableEntity, page.Form.Faults[0].Text}
	}
	money := func(v float64) string { return minorText(v, page.Ranking.Currency) }
	rows := [][]string{{"source", "day", "earlier_trips", "currency", "planned", "planned_low_50", "planned_high_50", "planned_low_90", "planned_high_90",
		"got", "inside_90", "chance_of_less", "chance_of_no_more", "crps", "crps_of_running_mean"}}
	for _, t := range page.Trips {
		inside := "no"
		if t.Inside {
			inside = "yes"
		}
		rows = append(rows, []string{t.Source.Name, t.Date.Format(time.DateOnly), strconv.Itoa(t.N), page.Ranking.Currency, money(t.Planned.Mean),
			money(t.Planned.Half.Low), money(t.Planned.Half.High), money(t.Planned.Most.Low), money(t.Planned.Most.High),
			money(t.Got), inside, plainNumber(t.PIT.Low, 3), plainNumber(t.PIT.High, 3), money(t.CRPS), money(t.RunningMean)})
	}
	return sendTable(w, "look-back", rows)
}
