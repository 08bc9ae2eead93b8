package server

import (
	"errors"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"skepwood/analytics/screen"
	"skepwood/analytics/yield"
	"skepwood/charts"
	"skepwood/db"
)

// sourcePage is one source: what it brought, drive by drive.
type sourcePage struct {
	base
	Source  db.Source
	Ranked  db.RankedSource
	Trips   []sourceTrip // the newest first
	Earlier int          // how many more there are
	Lots    []db.LotRow
	History []db.History
	Problem string
	// Next is the day of the next drive; Missing says why nothing is expected of
	// it, TripWords and FateWords what the pictures show, Call when somebody can next be
	// reached.
	Next                                time.Time
	Missing, TripWords, FateWords, Call string
	// Risk is the shares of the verdicts and whether the risk has risen; nil
	// without lots.
	Risk *screen.Risk
	// LeftOut are pickups here that cannot be true and that nothing rests on.
	LeftOut []db.LeftOut
	// PlannedGot is what plans promised of its boards and what the saw gave.
	PlannedGot db.PlannedGot
}

// sourceTrip is one drive with its worth; Worth is nil where its wood is not
// known yet.
// Planned is what the book of the day before expected of it; nil for early trips and
// those with lots on hold.
type sourceTrip struct {
	db.PickupSum
	Worth   *yield.Worth
	Planned *yield.Score
}

// Outside reports whether what came lay outside the 90 % interval planned.
func (t sourceTrip) Outside() bool {
	return t.Planned != nil && !t.Planned.Planned.Most.Holds(t.Planned.Got)
}

func (a *app) sourceShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.sourcePage(r, shownTrips)
	if err != nil {
		return err
	}
	return a.show(w, "source_show", page)
}

// shownTrips is how many of its latest drives the page of a source shows; its sheet has
// all. Common practice, no source: four years of Saturdays.
const shownTrips = 208

// sourcePage gathers what page, pictures and sheet of a source show, with so many of
// its latest drives; 0 takes all.
func (a *app) sourcePage(r *http.Request, most int) (*sourcePage, error) {
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	page := &sourcePage{}
	if page.Source, err = db.Sources.Get(r.Context(), a.store, id); err != nil {
		return nil, err
	}
	page.base = a.base(r, page.Source.Name)
	return page, a.fillSource(r, page, most)
}

// fillSource reads what the book knows of the source.
func (a *app) fillSource(r *http.Request, page *sourcePage, most int) error {
	ctx, id := r.Context(), page.Source.ID
	ranking, err := a.store.Ranking(ctx, page.Env.Currency)
	if page.Problem = valueProblem(err); err != nil && page.Problem == "" {
		return err
	}
	if ranking != nil {
		page.rank(ranking)
	}
	sums, err := a.store.PickupsOf(ctx, id)
	if err != nil {
		return err
	}
	if most > 0 && len(sums) > most { // the newest come first
		page.Earlier, sums = len(sums)-most, sums[:most]
	}
	if err := page.value(sums, ranking); err != nil {
		return err
	}
	if page.PlannedGot, err = a.store.PlannedGotOfSource(ctx, id); err != nil {
		return err
	}
	if err := page.plan(ranking); err != nil {
		return err
	}
	page.TripWords, page.FateWords = tripsPicture(page).Words(), page.fatePicture().Words()
	page.Call = callText(page.Source.Hours, page.Env, page.Next)
	if page.Lots, err = a.store.Lots(ctx, db.LotFilter{Source: id, Limit: 200}); err != nil {
		return err
	}
	outcomes, err := a.store.SourceOutcomes(ctx, id)
	if err != nil {
		return err
	}
	if len(outcomes) > 0 {
		risk, err := screen.RiskTrend(outcomes, screen.RiskOptions{})
		if err != nil {
			return err
		}
		page.Risk = &risk
	}
	page.History, err = a.store.HistoryOf(ctx, "source", id)
	return err
}

// rank takes from the ranking what it says of the source.
func (p *sourcePage) rank(ranking *db.Ranking) {
	for _, s := range ranking.Sources {
		if s.ID == p.Source.ID {
			p.Ranked = s
		}
	}
	p.Missing = ranking.Why
	for _, l := range ranking.LeftOut {
		if l.Source == p.Source.Name {
			p.LeftOut = append(p.LeftOut, l)
		}
	}
	if ranking.Next != nil {
		p.Next = ranking.Next.Day
	}
}

// value lists pickups with what they were worth, as far as is known; ranking may be nil.
func (p *sourcePage) value(sums []db.PickupSum, ranking *db.Ranking) error {
	for _, sum := range sums {
		trip := sourceTrip{PickupSum: sum}
		if known := sum.Empty || sum.Gross() > 0; known && ranking != nil {
			worth, err := yield.Value(sum.Trip(p.Source.Kind), ranking.Prices)
			switch {
			case err == nil:
				trip.Worth = &worth
			case !errors.Is(err, yield.ErrPickup): // what cannot be true is told above the page
				return err
			}
		}
		p.Trips = append(p.Trips, trip)
	}
	return nil
}

// plannedTrips is how many days of drives to one source are compared with what was
// planned: each costs a fit of the book before it.
const plannedTrips = 12

// plan sets what was expected of the latest drives beside what they brought.
func (p *sourcePage) plan(ranking *db.Ranking) error {
	if ranking == nil || ranking.Next == nil || len(p.Trips) == 0 {
		return nil
	}
	review, err := yield.LookBackAt(ranking.Trips, yield.ReviewOptions{SourceID: p.Source.ID.String(), Days: plannedTrips}, yield.Options{Prices: ranking.Prices})
	if err != nil {
		if valueProblem(err) != "" {
			return nil // an early day without prices: the page still has what came
		}
		return err
	}
	for i := range p.Trips {
		t := &p.Trips[i]
		for k := range review.Scores {
			score := &review.Scores[k]
			if t.Worth != nil && t.GrossHold == 0 && score.Date.Equal(t.Day) && math.Abs(score.Got-t.Worth.Net) < 0.5 {
				t.Planned = score
			}
		}
	}
	return nil
}

// fatePicture shows what became of the source's wood.
func (p *sourcePage) fatePicture() charts.Fates {
	return fatePictureOf([]db.RankedSource{p.Ranked}, p.Env)
}

// callText says when somebody can next be reached, as far as the dock hours tell.
func callText(hours string, env db.Env, drive time.Time) string {
	if hours == "" {
		return ""
	}
	h, err := yield.ParseHours(hours)
	if err != nil {
		return "in its dock hours: " + hours + ". No day follows from these words; written as “weekdays 7 to 15” they would be read."
	}
	zone := env.Zone
	if zone == nil {
		zone = time.UTC
	}
	call, ok := h.Next(env.Now.In(zone))
	switch {
	case !ok:
		return "in its dock hours: " + hours
	case h.Any:
		return "any time, in its dock hours: " + hours
	}
	to := call.To.Format("15:04")
	if call.To.YearDay() != call.From.YearDay() {
		to = "24:00"
	}
	text := call.From.Format("Monday 2 Jan, 15:04") + " to " + to + ", in its dock hours: " + hours
	if day := time.Date(drive.Year(), drive.Month(), drive.Day(), 0, 0, 0, 0, zone); !drive.IsZero() && call.From.After(day.AddDate(0, 0, 1)) {
		text += "; not before the next drive"
	}
	return text
}

// tripsPicture shows what each drive to the source netted and what was planned,
// with what is expected of it in the long run.
func tripsPicture(page *sourcePage) charts.Trips {
	unit := yield.MinorPerMajor(page.Env.Currency)
	pic := charts.Trips{Title: "Net of each drive", Unit: page.Env.Currency}
	for _, t := range page.Trips {
		if t.Worth != nil {
			trip := charts.Trip{When: t.Day, Value: t.Worth.Net / unit, Empty: t.Empty, Estimated: t.Estimated > 0 || t.GrossHold > 0}
			if t.Planned != nil {
				s := t.Planned.Planned
				trip.Planned = &charts.Interval{Mean: s.Mean / unit, Lo50: s.Half.Low / unit, Hi50: s.Half.High / unit, Lo90: s.Most.Low / unit, Hi90: s.Most.High / unit}
			}
			pic.Trips = append(pic.Trips, trip)
		}
	}
	if a := page.Ranked.Answer; a != nil && len(pic.Trips) > 0 {
		e := a.Expected
		pic.Mean = &charts.Interval{Mean: e.Mean / unit, Lo50: e.Half.Low / unit, Hi50: e.Half.High / unit, Lo90: e.Most.Low / unit, Hi90: e.Most.High / unit}
	}
	return pic
}

func (a *app) chartTrips(w http.ResponseWriter, r *http.Request) error {
	page, err := a.sourcePage(r, shownTrips)
	if err != nil {
		return err
	}
	return a.drawn(w, r, tripsPicture(page))
}

func (a *app) chartSourceFate(w http.ResponseWriter, r *http.Request) error {
	page, err := a.sourcePage(r, shownTrips)
	if err != nil {
		return err
	}
	return a.drawn(w, r, page.fatePicture())
}

// tripSheet sends the drives to a source with what was planned and what came.
func (a *app) tripSheet(w http.ResponseWriter, r *http.Request) error {
	page, err := a.sourcePage(r, 0)
	if err != nil {
		return err
	}
	unit := strings.ReplaceAll(volumeUnit(page.Env), " ", "_")
	rows := [][]string{{"source", "day", "visit", "empty", "usable_" + unit, "inside_" + unit, "outside_" + unit, "hold_" + unit, "never_" + unit, "not_ours_" + unit, "broken_" + unit,
		"extra_" + page.Env.Distance, "minutes", "shop_minutes", "currency", "net", "planned", "planned_low_90", "planned_high_90"}}
	volume := func(m3 float64) string { return volumeText(page.Env, m3) }
	for i := range page.Trips {
		t := &page.Trips[i]
		cells := []string{page.Source.Name, t.Day.Format(time.DateOnly), strconv.Itoa(t.Visit), yesNo(t.Empty), volume(t.Usable()), volume(t.GrossInside), volume(t.GrossOutside),
			volume(t.GrossHold), volume(t.GrossNever), volume(t.GrossStopped), volume(t.GrossLost), roadText(page.Env, t.DistanceM), plainNumber(t.Minutes, 0), plainNumber(t.ShopMinutes, 0), page.Env.Currency, "", "", "", ""}
		money := cells[len(cells)-4:]
		if t.Worth != nil {
			money[0] = minorText(t.Worth.Net, page.Env.Currency)
		}
		if t.Planned != nil {
			s := t.Planned.Planned
			money[1], money[2], money[3] = minorText(s.Mean, page.Env.Currency), minorText(s.Most.Low, page.Env.Currency), minorText(s.Most.High, page.Env.Currency)
		}
		rows = append(rows, cells)
	}
	return sendTable(w, "trips", rows)
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// sourceFormPage is the form for a new source.
type sourceFormPage struct {
	base
	ID   string
	Form form
}

func (a *app) sourceNew(w http.ResponseWriter, r *http.Request) error {
	page := &sourceFormPage{base: a.base(r, "New source"), ID: newID().String(), Form: newForm(db.Sources.Info(), "", map[string]string{}, nil)}
	return a.show(w, "source_new", page)
}

func (a *app) sourceCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page := &sourceFormPage{base: a.base(r, "New source"), ID: formID(r, "id").String()}
	values := readValues(r, db.Sources.Info(), "")
	entry, err := db.Sources.Add(r.Context(), a.store, db.Base{ID: uuid.MustParse(page.ID), KeeperID: page.Keeper.ID}, values, page.Env)
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.ID = freshID(page.ID, err)
		page.Form = newForm(db.Sources.Info(), "", values, faults)
		return a.render(w, http.StatusUnprocessableEntity, "source_new", page)
	}
	return seeOther(w, r, "/sources/"+entry.ID.String()+"?done=added")
}
