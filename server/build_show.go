package server

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"skepwood/analytics/grade"
	"skepwood/db"
)

// builder answers about plans, blanks and the cutting sheet.
type builder struct {
	*app
	// planning holds a place for each plan that is worked out at once, so that
	// many who ask share the processors in turn.
	planning chan struct{}
}

// plansAtOnce is how many plans are worked out at the same time.
const plansAtOnce = 2

// buildRoutes are the addresses about building.
func (a *app) buildRoutes(get, post func(string, handler)) {
	b := &builder{app: a, planning: make(chan struct{}, plansAtOnce)}
	get("/build", b.show)
	post("/build", b.create)
	post("/build/parts", b.partCreate)
	get("/build/plans/{id}", b.planShow)
	get("/build/plans/{id}/sheet", b.sheetShow)
	get("/build/plans/{id}/pieces.csv", b.pieces)
	post("/build/plans/{id}/cut", b.cutAll)
	post("/build/plans/{id}/again", b.planAgain)
	post("/build/plans/{id}/aside", b.setAside)
	get("/build/layouts/{id}", b.layoutShow)
	post("/build/layouts/{id}/cut", b.cutOne)
	post("/build/layouts/{id}/otherwise", b.otherwise)
	post("/build/layouts/{id}/undo", b.undo)
	get("/build/blanks", b.blanks)
	get("/build/blanks.csv", b.blankSheet)
	get("/charts/layout/{id}.svg", b.layoutPicture)
}

// buildPage asks what to build and lists the plans so far.
type buildPage struct {
	base
	ID       string
	Wants    []wantRow
	Choices  []wantGroup
	Form     form
	Plans    []planLine
	Counts   []db.BlankCount
	Part     form
	PartID   string
	Unfolded bool
	// Remembered says what the folded rules are, in a line.
	Remembered string
	// MostPlans is how many plans are listed, the newest.
	MostPlans int
	// MostBoards is how many boards a plan takes.
	MostBoards int
}

// wantRow is one line of what is wanted.
type wantRow struct {
	ID, CountID       string
	Want, Count       string
	Error, CountError string
}

// wantGroup is the parts of a kit, the kit itself first.
type wantGroup struct {
	Kit   string
	Parts []db.Option
}

// planLine is a plan in the list.
type planLine struct {
	db.Plan
	Open, Done int
}

const (
	wantRows  = 5
	mostWants = 20
	mostPlans = 30
)

// linesIn counts the lines of what is wanted in a form that was sent, with
// those that it asks for; a fresh form has a few.
func linesIn(r *http.Request) int {
	n := wantRows
	for n < mostWants && r.PostForm.Has(fmt.Sprintf("want-%d", n)) {
		n++
	}
	if r.PostForm.Get("more") != "" {
		n += wantRows
	}
	return min(n, mostWants)
}

// MayGrow reports whether more lines can be had.
func (p *buildPage) MayGrow() bool { return len(p.Wants) < mostWants }

// firstCount stands in the first line before anything is chosen.
const firstCount = "1"

// wantJoin parts kit and part in the value of a choice.
const wantJoin = " ▸ "

func (b *builder) newBuildPage(r *http.Request) (*buildPage, error) {
	page := &buildPage{base: b.base(r, "Build"), ID: newID().String(), PartID: newID().String(), MostPlans: mostPlans, MostBoards: db.MaxPlanBoards}
	ctx := r.Context()
	kits, err := b.store.Kits(ctx)
	if err != nil {
		return nil, err
	}
	page.Choices = choicesOf(kits)
	for i := range linesIn(r) {
		page.Wants = append(page.Wants, wantRow{ID: fmt.Sprintf("want-%d", i), CountID: fmt.Sprintf("count-%d", i)})
	}
	page.Wants[0].Count = firstCount
	defaults, err := b.store.PlanDefaults(ctx)
	if err != nil {
		return nil, err
	}
	page.Form = newForm(db.PlanFields(), "", db.PlanValues(defaults, page.Env), nil)
	page.Remembered = fmt.Sprintf("%s, %s off each end", defaults.PatternWords(), defaults.EndTrim.Format(page.Env.Length))
	page.Part = newForm(db.OwnParts.Info(), "part-", map[string]string{}, nil)
	if page.Counts, err = b.store.BlankCounts(ctx); err != nil {
		return nil, err
	}
	return page, b.fillPlans(ctx, page)
}

// choicesOf lists kits with their parts.
func choicesOf(kits []grade.Kit) []wantGroup {
	var out []wantGroup
	for _, k := range kits {
		g := wantGroup{Kit: k.Name}
		for _, p := range k.Parts {
			g.Parts = append(g.Parts, db.Option{Value: k.Name + wantJoin + p.Part, Label: p.Part + " of " + k.Name})
		}
		out = append(out, g)
	}
	return out
}

func (b *builder) fillPlans(ctx context.Context, page *buildPage) error {
	plans, err := b.store.PlanList(ctx, mostPlans)
	if err != nil {
		return err
	}
	counts, err := b.store.LayoutCounts(ctx, plans)
	if err != nil {
		return err
	}
	for _, p := range plans {
		page.Plans = append(page.Plans, planLine{p, counts[p.ID].Open, counts[p.ID].Done})
	}
	return nil
}

func (b *builder) show(w http.ResponseWriter, r *http.Request) error {
	page, err := b.newBuildPage(r)
	if err != nil {
		return err
	}
	return b.app.show(w, "build_show", page)
}

// create plans what the form asks for.
func (b *builder) create(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := b.newBuildPage(r)
	if err != nil {
		return err
	}
	page.ID = formID(r, "id").String()
	values := readValues(r, db.PlanFields(), "")
	wants, faults := page.readWants(r)
	if r.PostForm.Get("more") != "" {
		page.refuse(values, nil)
		page.Unfolded = false
		return b.app.show(w, "build_show", page)
	}
	asked, more := db.ParsePlan(values, page.Env)
	faults = append(faults, more...)
	if len(faults) == 0 {
		release, err := b.takePlace(r.Context())
		if err != nil {
			return err
		}
		plan, err := b.store.MakePlan(r.Context(), db.Base{ID: uuid.MustParse(page.ID), KeeperID: page.Keeper.ID}, asked, wants, "Skepwood "+b.version)
		release()
		if err == nil {
			return seeOther(w, r, "/build/plans/"+plan.ID.String()+"?done=planned")
		}
		var other error
		if faults, other = asFaults(err); other != nil {
			return other
		}
		page.ID = freshID(page.ID, err)
	}
	page.refuse(values, faults)
	return b.render(w, http.StatusUnprocessableEntity, "build_show", page)
}

// takePlace waits until a plan may be worked out; whoever leaves meanwhile
// waits no longer.
func (b *builder) takePlace(ctx context.Context) (release func(), err error) {
	select {
	case b.planning <- struct{}{}:
		return func() { <-b.planning }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// readWants takes what is wanted out of the form; empty lines are none.
func (p *buildPage) readWants(r *http.Request) ([]db.Want, db.FieldErrors) {
	var wants []db.Want
	var faults db.FieldErrors
	for i := range p.Wants {
		row := &p.Wants[i]
		row.Want, row.Count = strings.TrimSpace(r.PostFormValue(row.ID)), strings.TrimSpace(r.PostFormValue(row.CountID))
		if row.Want == "" {
			if row.Count != "" && !(i == 0 && row.Count == firstCount) {
				faults = append(faults, &db.FieldError{Field: row.ID, Problem: "is missing", Remedy: "choose a kit or a part, or empty how many"})
			}
			continue
		}
		want, offered := p.offers(row.Want)
		n, err := strconv.Atoi(row.Count)
		switch {
		case !offered:
			faults = append(faults, &db.FieldError{Field: row.ID, Problem: "is no kit or part of the list", Remedy: "choose one of the list"})
		case err != nil || n < 1 || n > db.MaxPlanCount:
			faults = append(faults, &db.FieldError{Field: row.CountID, Problem: "is not a whole number from 1 to " + strconv.Itoa(db.MaxPlanCount), Remedy: "write how many are wanted"})
		default:
			want.Count = n
			wants = append(wants, want)
		}
	}
	if len(wants) == 0 && len(faults) == 0 {
		faults = append(faults, &db.FieldError{Field: "want-0", Problem: "is missing", Remedy: "choose a kit or a part, and how many"})
	}
	return wants, faults
}

// offers finds the kit or part that a choice stands for.
func (p *buildPage) offers(want string) (db.Want, bool) {
	for _, g := range p.Choices {
		if g.Kit == want {
			return db.Want{Kit: g.Kit}, true
		}
		for _, o := range g.Parts {
			if o.Value == want {
				return db.Want{Kit: g.Kit, Part: strings.TrimPrefix(want, g.Kit+wantJoin)}, true
			}
		}
	}
	return db.Want{}, false
}

// refuse puts what is wrong beside the fields.
func (p *buildPage) refuse(values map[string]string, faults db.FieldErrors) {
	var rest db.FieldErrors
	var first []formFault
	for _, f := range faults {
		found := false
		for i := range p.Wants {
			row := &p.Wants[i]
			switch f.Field {
			case row.ID:
				row.Error, found = f.Problem+"; "+f.Remedy, true
				first = append(first, formFault{ID: row.ID, Text: fmt.Sprintf("Line %d: %s", i+1, row.Error)})
			case row.CountID:
				row.CountError, found = f.Problem+"; "+f.Remedy, true
				first = append(first, formFault{ID: row.CountID, Text: fmt.Sprintf("How many in line %d %s", i+1, row.CountError)})
			}
		}
		if !found {
			rest = append(rest, f)
		}
	}
	p.Form = newForm(db.PlanFields(), "", values, rest)
	p.Form.Faults = append(first, p.Form.Faults...)
	p.Unfolded = true
}

// partCreate enters a part of the keeper's own.
func (b *builder) partCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := b.newBuildPage(r)
	if err != nil {
		return err
	}
	values := readValues(r, db.OwnParts.Info(), "part-")
	_, err = db.OwnParts.Add(r.Context(), b.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	if err == nil {
		return seeOther(w, r, "/build?done=added#own-parts")
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	page.Part = newForm(db.OwnParts.Info(), "part-", values, faults)
	return b.render(w, http.StatusUnprocessableEntity, "build_show", page)
}

// setPathID makes the {id} of the address another one.
func setPathID(r *http.Request, id uuid.UUID) {
	c := chi.NewRouteContext()
	c.URLParams.Add("id", id.String())
	*r = *r.WithContext(context.WithValue(r.Context(), chi.RouteCtxKey, c))
}
