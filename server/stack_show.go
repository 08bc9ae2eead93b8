package server

import (
	"fmt"
	"hash/fnv"
	"net/http"
	"strconv"
	"time"

	"github.com/google/uuid"

	"skepwood/analytics/moisture"
	"skepwood/charts"
	"skepwood/db"
)

// stackPage is one stack: when it is ready, its curve, what to probe, and a
// round of readings to enter.
type stackPage struct {
	base
	stackLine
	Boards    []db.StockBoard
	Readiness *moisture.Readiness
	Plan      *probing
	History   []db.History
	Codes     field
	// FillFaults are about the boards put into it.
	FillFaults []formFault
	Round      readingRound
	NewID      string
}

// probing is how many boards to read before the stack is trusted, and which.
type probing struct {
	moisture.Plan
	Picks []pick
}

// pick is a board to read and why.
type pick struct {
	Board  db.StockBoard
	Reason string
}

// The demand on a stack: at most one board in ten may be too wet, shown with
// 90 %. Common practice, no source.
const (
	wetShare        = 0.1
	wetConfidence   = 0.9
	mostPlanned     = 2000
	boardsPerScreen = 20
)

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
	page := &stackPage{base: a.base(r, d.Name), stackLine: newStackLine(d, now), NewID: newID().String(), Codes: codesField("", "")}
	if page.Boards, err = a.store.StackBoards(ctx, id); err != nil {
		return nil, err
	}
	if page.History, err = a.store.HistoryOf(ctx, "stack", id); err != nil {
		return nil, err
	}
	if err := page.plan(now); err != nil {
		return nil, err
	}
	page.Round = newReadingRound(page, r.URL.Query().Get("from"))
	return page, nil
}

// plan works out the probing plan and asks whether the stack is ready by it.
func (p *stackPage) plan(now time.Time) error {
	if len(p.Boards) == 0 || len(p.Boards) > mostPlanned {
		return nil
	}
	plan, err := moisture.NewPlan(moisture.PlanInput{Boards: len(p.Boards), Share: wetShare, Confidence: wetConfidence})
	if err != nil {
		return err
	}
	p.Plan = &probing{Plan: plan}
	byID := make(map[string]db.StockBoard, len(p.Boards))
	var candidates []moisture.Candidate
	for _, b := range p.Boards {
		byID[b.ID.String()] = b
		candidates = append(candidates, moisture.Candidate{BoardID: b.ID.String(), LotID: b.LotID.String(), ThicknessMM: b.Thickness.Millimetres()})
	}
	picks, err := moisture.Choose(candidates, plan.Shortest.Probes, probingSeed(p.ID, now))
	if err != nil {
		return err
	}
	for _, c := range picks {
		p.Plan.Picks = append(p.Plan.Picks, pick{byID[c.BoardID], c.Reason})
	}
	obs := make([]moisture.Obs, 0, len(p.Obs))
	for _, o := range p.Obs {
		if _, here := byID[o.BoardID]; here && !o.At.After(now) {
			obs = append(obs, o)
		}
	}
	ready, err := moisture.Ready(moisture.ReadyInput{Target: p.Target, Obs: obs, Boards: len(p.Boards), Probes: plan.Shortest.Probes, Now: now})
	if err != nil {
		return err
	}
	p.Readiness = &ready
	return nil
}

// probingSeed makes one day's choice of boards the same however often the
// page is opened.
func probingSeed(id uuid.UUID, now time.Time) uint64 {
	h := fnv.New64a()
	_, _ = h.Write(id[:])
	_, _ = h.Write([]byte(now.UTC().Format(time.DateOnly)))
	return h.Sum64()
}

// stackNewPage asks for a new stack.
type stackNewPage struct {
	base
	Form  form
	NewID string
}

func (a *app) stackNew(w http.ResponseWriter, r *http.Request) error {
	page := &stackNewPage{base: a.base(r, "New stack"), NewID: newID().String()}
	today := page.Env.Now
	if page.Env.Zone != nil {
		today = today.In(page.Env.Zone)
	}
	page.Form = newForm(db.Stacks.Info(), "", map[string]string{"stickered": today.Format(time.DateOnly), "cover": "roof"}, nil)
	return a.show(w, "stack_new", page)
}

func (a *app) stackCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page := &stackNewPage{base: a.base(r, "New stack"), NewID: formID(r, "id").String()}
	values := readValues(r, db.Stacks.Info(), "")
	entry, err := db.Stacks.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Form = newForm(db.Stacks.Info(), "", values, faults)
		return a.render(w, http.StatusUnprocessableEntity, "stack_new", page)
	}
	return seeOther(w, r, "/stacks/"+entry.ID.String()+"?done=added")
}

func codesField(value, problem string) field {
	return field{ColumnInfo: db.ColumnInfo{Name: "codes", Label: "Boards or whole lots, by their codes", Example: "K7MWX-3 K7MWX-4, or K7MWX", Required: true}, ID: "codes", Value: value, Error: problem}
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
	codes := r.PostFormValue("codes")
	_, err = a.store.FillStack(r.Context(), db.Edit{ID: page.ID, Keeper: page.Keeper.ID, Env: page.Env}, codes, r.PostFormValue("layer"))
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
	page.Codes = codesField(codes, problem)
	page.FillFaults = []formFault{{ID: "codes", Text: page.Codes.Label + " " + problem}}
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
	pic.Target = &charts.Mark{Value: d.Target.Average, Label: "target"}
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
