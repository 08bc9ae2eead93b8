package server

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"skepwood/analytics/moisture"
	"skepwood/charts"
	"skepwood/db"
)

// stackPage is one stack: when it is ready, its curve, what to probe, and a
// round of readings to enter.
type stackPage struct {
	base
	stackLine
	Boards []db.StockBoard
	// TakenOut are boards that lay in it.
	TakenOut  []db.Board
	Readiness *moisture.Readiness
	Plan      *probing
	History   []db.History
	// MoveHistory is what was corrected about its moves.
	MoveHistory []db.History
	Codes       field
	Layer       field
	// Changes are the forms for moving it, taking boards out and taking it down.
	Changes stackChanges
	// StackSteps are the corrections of each board's newest reading.
	StackSteps []stepsView
	// FillFaults are about the boards put into it.
	FillFaults []formFault
	Round      readingRound
	NewID      string
}

func (a *app) stackShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadStack(r)
	if err != nil {
		return err
	}
	return a.show(w, "stack_show", page)
}

// loadStack reads all that the stack's page shows.
func (a *app) loadStack(r *http.Request) (*stackPage, error) {
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	ctx, now := r.Context(), a.store.Now()
	d, err := a.store.DryingStack(ctx, id)
	if err != nil {
		return nil, err
	}
	page := &stackPage{base: a.base(r, d.Name), stackLine: newStackLine(d, now), NewID: newID().String(), Codes: codesField("", ""), Layer: layerField("", "")}
	page.Changes = newStackChanges(page.Env)
	if page.Boards, err = a.store.StackBoards(ctx, id); err != nil {
		return nil, err
	}
	if page.TakenOut, err = a.store.BoardsTakenOut(ctx, id); err != nil {
		return nil, err
	}
	if page.History, err = a.store.HistoryOf(ctx, "stack", id); err != nil {
		return nil, err
	}
	if page.MoveHistory, err = a.moveHistory(ctx, page.Moves); err != nil {
		return nil, err
	}
	if err := a.planStack(ctx, page, now); err != nil {
		return nil, err
	}
	if err := a.loadSteps(ctx, page); err != nil {
		return nil, err
	}
	page.Round = newReadingRound(page, r.URL.Query().Get("from"))
	return page, nil
}

// stackNewPage asks for a new stack.
type stackNewPage struct {
	base
	// Targets are the moistures to choose from, with where they come from.
	Targets []moisture.Target
	Form    form
	NewID   string
}

func (a *app) stackNew(w http.ResponseWriter, r *http.Request) error {
	page := &stackNewPage{base: a.base(r, "New stack"), NewID: newID().String(), Targets: moisture.Targets()}
	today := page.Env.Now
	if page.Env.Zone != nil {
		today = today.In(page.Env.Zone)
	}
	page.Form = newForm(db.Stacks.Info(), "", map[string]string{"stickered": today.Format(time.DateOnly), "cover": "roof", "zone": "outside", "season": "any", "region": "usual"}, nil)
	return a.show(w, "stack_new", page)
}

func (a *app) stackCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page := &stackNewPage{base: a.base(r, "New stack"), NewID: formID(r, "id").String(), Targets: moisture.Targets()}
	values := readValues(r, db.Stacks.Info(), "")
	entry, err := db.Stacks.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.NewID = freshID(page.NewID, err)
		page.Form = newForm(db.Stacks.Info(), "", values, faults)
		return a.render(w, http.StatusUnprocessableEntity, "stack_new", page)
	}
	return seeOther(w, r, "/stacks/"+entry.ID.String()+"?done=added")
}

func codesField(value, problem string) field {
	return field{ColumnInfo: db.ColumnInfo{Name: "codes", Label: "Boards or whole lots, by their codes", Example: "K7MWX-3 K7MWX-4, or K7MWX", Required: true}, ID: "codes", Value: value, Error: problem}
}

func layerField(value, problem string) field {
	return field{ColumnInfo: db.ColumnInfo{Name: "layer", Label: "Layer they lie in", Help: "Counted from the bottom; empty where you do not know.", Example: "4", InputMode: "numeric"}, ID: "layer", Value: value, Error: problem}
}

// stackFill puts boards into the stack.
func (a *app) stackFill(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadStack(r)
	if err != nil {
		return err
	}
	codes, layer := r.PostFormValue("codes"), r.PostFormValue("layer")
	_, err = a.store.FillStack(r.Context(), db.Edit{ID: page.ID, Keeper: page.Keeper.ID, Env: page.Env}, codes, layer)
	if err == nil {
		return seeOther(w, r, "/stacks/"+page.ID.String()+"?done=added#boards-here")
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	problem := faults.Error()
	if f := faults.For("codes"); f != nil {
		problem = f.Problem + "; " + f.Remedy
	}
	page.Codes, page.Layer = codesField(codes, problem), layerField(layer, "")
	page.FillFaults = []formFault{{ID: "codes", Text: page.Codes.Label + " " + problem}}
	if f := faults.For("layer"); f != nil {
		problem = f.Problem + "; " + f.Remedy
		page.Codes, page.Layer = codesField(codes, ""), layerField(layer, problem)
		page.FillFaults = []formFault{{ID: "layer", Text: page.Layer.Label + " " + problem}}
	}
	return a.render(w, http.StatusUnprocessableEntity, "stack_show", page)
}

// curvePoints is how finely the curve is drawn, mostAhead how far.
const (
	curvePoints = 90
	mostAhead   = 400 * 24 * time.Hour
)

func (a *app) chartStack(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	d, err := a.store.DryingStack(r.Context(), id)
	if err != nil {
		return err
	}
	return a.drawn(w, r, stackPicture(d, a.store.Now()))
}

// stackPicture draws readings, median, band, the air's line and the target.
func stackPicture(d *db.DryingStack, now time.Time) charts.Picture {
	pic := charts.DryingCurve{Title: d.Name, Within: 80}
	for _, o := range d.Obs {
		m := charts.Moisture{When: o.At, Percent: o.Percent, Below: o.Range == moisture.RangeBelow, Above: o.Range == moisture.RangeAbove}
		if !o.Known() {
			m.Percent = o.Bound
		}
		pic.Readings = append(pic.Readings, m)
	}
	p := d.Posterior
	if p == nil {
		return pic
	}
	to := now.AddDate(0, 0, 14)
	if d.TakenDown != nil {
		to = *d.TakenDown
	}
	for _, t := range []time.Time{d.Dates.By, d.Dates.Likely} {
		if d.Standing() && t.After(to) {
			to = t
			break
		}
	}
	if limit := p.Last.Add(mostAhead); to.After(limit) {
		to = limit
	}
	if to.Before(p.Last) {
		to = p.Last
	}
	for _, b := range p.Curve(p.Start, to, curvePoints) {
		pic.Curve = append(pic.Curve, charts.Forecast{When: b.At, Median: b.Median, Lo: b.Low, Hi: b.High, EMC: b.EMC})
	}
	pic.Target = &charts.Mark{Value: d.Target.Mean(), Label: "ready at"}
	if d.Standing() && d.Dates.State == moisture.StateDates {
		pic.ReadyFrom, pic.ReadyTo = d.Dates.NotBefore, d.Dates.By
	}
	return pic
}

// newReadingRound lays out the boards of one screen.
func newReadingRound(page *stackPage, from string) readingRound {
	out := readingRound{Shared: newForm(db.Readings.Info(), "", map[string]string{"place": "middle"}, nil).Only(onceColumns...)}
	start, err := strconv.Atoi(from)
	if err != nil || start < 0 || start >= len(page.Boards) {
		start = 0
	}
	start -= start % boardsPerScreen
	out.From = start
	for i := start; i < min(start+boardsPerScreen, len(page.Boards)); i++ {
		out.Rows = append(out.Rows, readingRow{Board: page.Boards[i], ID: "raw-" + page.Boards[i].ID.String()})
	}
	if len(page.Boards) > boardsPerScreen {
		for at := 0; at < len(page.Boards); at += boardsPerScreen {
			out.Screens = append(out.Screens, readingScreen{From: at, Here: at == start,
				Text: fmt.Sprintf("%d to %d", at+1, min(at+boardsPerScreen, len(page.Boards)))})
		}
	}
	return out
}
