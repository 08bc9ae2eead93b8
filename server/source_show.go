package server

import (
	"net/http"
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
	Trips   []sourceTrip
	Lots    []db.LotRow
	History []db.History
	Problem string
	// Next is the day of the next drive; Missing says why nothing is expected of
	// it, TripWords what the picture of the trips shows.
	Next               time.Time
	Missing, TripWords string
	// Risk is the shares of the verdicts and whether the risk has risen; nil
	// without lots.
	Risk *screen.Risk
	// PlannedGot is what plans promised of its boards and what the saw gave.
	PlannedGot db.PlannedGot
}

// sourceTrip is one drive with its worth; Worth is nil where its wood is not
// known yet.
type sourceTrip struct {
	db.PickupSum
	Worth *yield.Worth
}

func (a *app) sourceShow(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	page := &sourcePage{}
	if page.Source, err = db.Sources.Get(r.Context(), a.store, id); err != nil {
		return err
	}
	page.base = a.base(r, page.Source.Name)
	if err := a.fillSource(r, page, id); err != nil {
		return err
	}
	return a.show(w, "source_show", page)
}

func (a *app) fillSource(r *http.Request, page *sourcePage, id uuid.UUID) error {
	ctx := r.Context()
	ranking, err := a.store.Ranking(ctx, page.Env.Currency)
	if page.Problem = valueProblem(err); err != nil && page.Problem == "" {
		return err
	}
	if ranking != nil {
		for _, s := range ranking.Sources {
			if s.ID == id {
				page.Ranked = s
			}
		}
		page.Missing = ranking.Why
		if ranking.Next != nil {
			page.Next = ranking.Next.Day
		}
	}
	sums, err := a.store.PickupsOf(ctx, id)
	if err != nil {
		return err
	}
	for _, sum := range sums {
		trip := sourceTrip{PickupSum: sum}
		if known := sum.Empty || sum.Gross() > 0; known && ranking != nil {
			worth, err := yield.Value(sum.Trip(page.Source.Kind), ranking.Prices)
			if err != nil {
				return err
			}
			trip.Worth = &worth
		}
		page.Trips = append(page.Trips, trip)
	}
	if page.PlannedGot, err = a.store.PlannedGotOfSource(ctx, id); err != nil {
		return err
	}
	page.TripWords = tripsPicture(page).Words()
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

// tripsPicture shows what each drive to the source netted, with what is
// expected of it in the long run.
func tripsPicture(page *sourcePage) charts.Trips {
	unit := yield.MinorPerMajor(page.Env.Currency)
	pic := charts.Trips{Title: "Net of each drive", Unit: page.Env.Currency}
	for _, t := range page.Trips {
		if t.Worth != nil {
			pic.Trips = append(pic.Trips, charts.Trip{When: t.Day, Value: t.Worth.Net / unit, Empty: t.Empty, Estimated: t.Estimated > 0})
		}
	}
	if a := page.Ranked.Answer; a != nil && len(pic.Trips) > 0 {
		e := a.Expected
		pic.Mean = &charts.Interval{Mean: e.Mean / unit, Lo50: e.Half.Low / unit, Hi50: e.Half.High / unit, Lo90: e.Most.Low / unit, Hi90: e.Most.High / unit}
	}
	return pic
}

func (a *app) chartTrips(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	page := &sourcePage{}
	if page.Source, err = db.Sources.Get(r.Context(), a.store, id); err != nil {
		return err
	}
	page.base = a.base(r, page.Source.Name)
	if err := a.fillSource(r, page, id); err != nil {
		return err
	}
	return a.drawn(w, r, tripsPicture(page))
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
		page.Form = newForm(db.Sources.Info(), "", values, faults)
		return a.render(w, http.StatusUnprocessableEntity, "source_new", page)
	}
	return seeOther(w, r, "/sources/"+entry.ID.String()+"?done=added")
}
