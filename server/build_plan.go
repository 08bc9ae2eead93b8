package server

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/cut"
	"skepwood/db"
)

// planPage is one plan: its numbers, what it lacks, and a picture of each
// board.
type planPage struct {
	base
	Plan    db.Plan
	Doc     *db.PlanDocument
	Layouts []layoutView
	// Makes says of each part what is wanted, planned and got.
	Makes []makesLine
	Areas []areaLine
	Facts planFacts
	// Open and Sawn count boards; one that broke is neither.
	Open, Sawn int
	Got        db.PlannedGot
	Before     *db.Plan
	After      []db.Plan
	History    []db.History
	Faults     []formFault
	// Again asks whether further boards may be used when the rest is planned
	// again; AgainID is the new plan's id.
	Again   againForm
	AgainID string
	// Metal are the boards of which a cut meets metal.
	Metal []layoutView
}

// againForm is the form that plans the rest again.
type againForm struct {
	Further bool
	Only    field
}

// planFacts are the plan's numbers in words.
type planFacts struct {
	Status, Value, Bound, Kept string
	Missing                    []string
	Extra                      string
	Changed                    []string
}

type makesLine struct {
	Name, Size, Zone     string
	Wanted, Planned, Got int
}

// areaLine is a share of the boards that are used.
type areaLine struct {
	Name, Area, Share string
}

// layoutView is a layout with what its table shows.
type layoutView struct {
	db.PlanLayout
	Pieces  []pieceLine
	Alt     string
	Caution []string
	// Stop says why it must not be cut by this plan any more, as something
	// changed since; Caution begins with it.
	Stop []string
	// High, HighPhone and HighSheet are the heights of its picture, 928, 358
	// and sheetWide wide.
	High, HighPhone, HighSheet int
}

type pieceLine struct {
	N                int
	Code, Name, Size string
	From, Across     string
	Zone             string
	ClearFace        string
}

func (b *builder) planShow(w http.ResponseWriter, r *http.Request) error {
	page, err := b.loadPlan(r)
	if err != nil {
		return err
	}
	return b.app.show(w, "plan_show", page)
}

func (b *builder) loadPlan(r *http.Request) (*planPage, error) {
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	ctx := r.Context()
	page := &planPage{base: b.base(r, "Plan"), AgainID: formID(r, "id").String()}
	page.Again = againForm{Only: field{ColumnInfo: db.ColumnInfo{Name: "only", Label: "Further boards or lots", Help: "Codes, parted by blanks or commas; empty offers the whole rack.", Example: "K7MWX-3 K7MWX"}, ID: "only"}}
	if page.Plan, err = db.Plans.Get(ctx, b.store, id); err != nil {
		return nil, err
	}
	page.Title = page.Plan.Name
	if page.Doc, err = page.Plan.Read(); err != nil {
		return nil, err
	}
	layouts, err := b.store.LayoutsOf(ctx, id)
	if err != nil {
		return nil, err
	}
	if err := b.store.CompareLayouts(ctx, &page.Plan, layouts); err != nil {
		return nil, err
	}
	for _, l := range layouts {
		if l.Open() {
			page.Open++
		}
		if l.Done() && l.State != db.LayoutBroken {
			page.Sawn++
		}
		page.Layouts = append(page.Layouts, newLayoutView(page.Env, page.Doc, l))
	}
	if err := page.findMetal(); err != nil {
		return nil, err
	}
	if page.Got, err = b.store.PlannedGotOfPlan(ctx, id); err != nil {
		return nil, err
	}
	if page.Plan.Follows.ID != uuid.Nil {
		before, err := db.Plans.Get(ctx, b.store, page.Plan.Follows.ID)
		if err != nil {
			return nil, err
		}
		page.Before = &before
	}
	if page.After, err = b.store.PlansAfter(ctx, id); err != nil {
		return nil, err
	}
	if page.History, err = b.store.HistoryOf(ctx, "plan", id); err != nil {
		return nil, err
	}
	return page, b.fillMakes(r, page)
}

// fillMakes counts what is wanted, planned and got of each part.
func (b *builder) fillMakes(r *http.Request, page *planPage) error {
	blanks, err := b.store.PlanBlankCounts(r.Context(), page.Plan.ID)
	if err != nil {
		return err
	}
	planned := make([]int, len(page.Doc.Parts))
	for _, l := range page.Layouts {
		for _, p := range l.LayoutDrawing.Pieces {
			if p.Part < len(planned) {
				planned[p.Part]++
			}
		}
	}
	for i, p := range page.Doc.Parts {
		size := fmt.Sprintf("%s × %s × %s", p.Size.Thickness.Format(page.Env.Length), p.Size.Width.Format(page.Env.Length), p.Size.Length.Format(page.Env.Length))
		page.Makes = append(page.Makes, makesLine{Name: p.Name(), Size: size, Zone: p.Zone, Wanted: p.Count, Planned: planned[i], Got: blanks[p.Name()]})
	}
	page.Facts = newPlanFacts(page.Env, &page.Plan, page.Doc)
	page.fillAreas()
	page.Facts.Kept, err = b.keptWords(r.Context(), page)
	return err
}

// findMetal says beside each board still to be cut which of its cuts meet
// metal.
func (p *planPage) findMetal() error {
	c, sheet, err := newCutter(p.Env, p.Doc, p.Layouts)
	if err != nil {
		return err
	}
	cuts := c.metalCuts(sheet)
	for i := range p.Layouts {
		l := &p.Layouts[i]
		if words := cuts[l.Code]; len(words) > 0 && l.Open() {
			l.Caution = append([]string{metalWords(words)}, l.Caution...)
			p.Metal = append(p.Metal, *l)
		}
	}
	return nil
}

// fillAreas says what becomes of the face of the boards that are used.
func (p *planPage) fillAreas() {
	c := p.Doc.Cut
	unit, size := "square feet", 0.3048*0.3048
	if p.Env.Length == "mm" {
		unit, size = "square metres", 1
	}
	for _, a := range []struct {
		name string
		m2   float64
	}{{"Boards used, " + unit, c.Stock}, {"Blanks", c.PartArea}, {"Offcuts kept", c.OffcutArea}, {"Kerf", c.KerfArea}, {"Waste and trim", c.WasteArea}} {
		share, m2 := "—", max(0, a.m2) // what is nothing may come out of sums as a little less
		if c.Stock > 0 {
			share = strconv.FormatFloat(100*m2/c.Stock, 'f', 1, 64) + " %"
		}
		p.Areas = append(p.Areas, areaLine{a.name, strconv.FormatFloat(m2/size, 'f', 2, 64), share})
	}
}

// newPlanFacts puts the plan's numbers in words.
func newPlanFacts(env db.Env, p *db.Plan, doc *db.PlanDocument) planFacts {
	var f planFacts
	plan := doc.Cut.Plan
	unit := func(v int) string { return countedText(env, float64(v)/1000) + " of finished parts" }
	switch p.Objective {
	case "fewest_boards":
		unit = func(v int) string { return plural(v, "board", "boards") }
	case "least_wood":
		unit = func(v int) string { return countedText(env, float64(v)/1000) + " of boards" }
	case "short_first":
		unit = func(v int) string { return fmt.Sprintf("%d points of long wood", v) }
	}
	f.Value, f.Bound = unit(plan.Value), unit(plan.Bound)+"; no plan by these rules can make more"
	if p.Follows.ID != uuid.Nil {
		f.Value += ", boards that were cut as planned before it counted in"
	}
	if p.Objective == "short_first" {
		f.Value += "; a board counts its width times the square of its length, the longest and widest 1000"
	}
	if p.Objective != "most_value" {
		f.Bound = unit(plan.Bound) + "; no plan by these rules can do with less"
	}
	switch {
	case plan.Status == cut.Infeasible && p.Objective != "most_value":
		f.Bound = "none: no plan gives everything from these boards"
	case plan.Status == cut.Short && p.Objective != "most_value":
		f.Bound = unit(plan.Bound) + " at least, if these boards can give everything"
	}
	switch plan.Status {
	case "optimal":
		f.Status = "Proven best: no plan by these rules does better."
	case "bounded":
		f.Status = fmt.Sprintf("Best found in a few seconds; a better plan can gain at most %s.", percentUp(plan.Gap))
	case "infeasible":
		f.Status = "Proven: these boards cannot give everything. This is the best found of what they can."
	default:
		f.Status = "It does not give everything; whether these boards could is not proven."
	}
	for i, n := range doc.Missing() {
		if n > 0 {
			f.Missing = append(f.Missing, fmt.Sprintf("%d of %d × %s", n, doc.Parts[i].Count, doc.Parts[i].Name()))
		}
	}
	if e := doc.Extra; e != nil && len(f.Missing) > 0 {
		f.Extra = extraWords(e)
	}
	if p.Changed != "" {
		f.Changed = strings.Split(p.Changed, "\n")
	}
	return f
}

// percentUp prints a share so that rounding never makes it smaller.
func percentUp(share float64) string {
	return strconv.FormatFloat(math.Ceil(share*100*1000)/1000, 'f', -1, 64) + " %"
}

// extraWords says which boards would make what is missing.
func extraWords(e *db.ExtraBoards) string {
	rest := ""
	if len(e.Lacks) > 0 {
		rest = "No number of boards of usual sizes makes " + strings.Join(e.Lacks, ", ") + ", which come out longer, wider or thicker than any: glue wide parts up from strips, or add less for planing and jointing. "
	}
	if e.Unknown {
		return rest + "Which boards would make the other parts that are missing was not found in the time there is: ask for less at once."
	}
	if len(e.Boards) == 0 {
		return strings.TrimSpace(rest)
	}
	sure := "fewer would not do (proven)"
	if !e.Proven {
		sure = "the fewest found in a second, perhaps not the fewest there are"
	}
	what := "It takes "
	if rest != "" {
		what = "The rest takes "
	}
	return rest + what + e.Words() + ", clear and fit for inside, beside the boards of this plan: " + sure + "."
}

// newLayoutView lays out the table of one board.
func newLayoutView(env db.Env, doc *db.PlanDocument, l db.PlanLayout) layoutView {
	v := layoutView{PlanLayout: l, High: drawHigh(&l.LayoutDrawing, 928), HighPhone: drawHigh(&l.LayoutDrawing, 358), HighSheet: drawHigh(&l.LayoutDrawing, sheetWide)}
	for _, p := range l.LayoutDrawing.Pieces {
		part := doc.Part(p.Part)
		v.Pieces = append(v.Pieces, pieceLine{
			N: p.N, Code: l.BlankCode(p.N), Name: part.Name(), Zone: part.Zone, From: p.X.Format(env.Length), Across: p.Y.Format(env.Length),
			Size: p.DX.Format(env.Length) + " × " + p.DY.Format(env.Length), ClearFace: clearFace(&l.LayoutDrawing, p, part.Faces),
		})
	}
	v.Alt = layoutAlt(env, doc, &l.LayoutDrawing)
	if words := l.MetalWords(); words != "" {
		v.Caution = append(v.Caution, words)
	}
	if !l.Mapped {
		v.Caution = append(v.Caution, "nobody looked this board over: look for defects before cutting")
	}
	if v.Stop = stopsOf(doc, &l); len(v.Stop) > 0 {
		v.Caution = append([]string{"Do not cut it by this plan: " + strings.Join(v.Stop, "; ") + ". Plan the rest again."}, v.Caution...)
	}
	if l.Open() && len(v.Stop) == 0 && l.BoardVerdict != l.Verdict {
		v.Caution = append(v.Caution, "its verdict has changed since the plan: now "+l.BoardVerdict)
	}
	return v
}

// stopsOf says why a board that is still to be cut must not be by its plan any
// more: what changed since that the plan does not know of.
func stopsOf(doc *db.PlanDocument, l *db.PlanLayout) []string {
	var out []string
	if !l.Open() {
		return nil
	}
	if l.BoardState != "rack" {
		out = append(out, "it is no longer on the rack")
	}
	switch {
	case l.Stopped:
		out = append(out, "it shows an owner now: it is not ours to cut")
	case l.BoardVerdict == "hold", l.BoardVerdict == "never":
		out = append(out, "its verdict has changed since the plan: now "+l.BoardVerdict)
	case l.BoardVerdict == "outside" && slices.ContainsFunc(l.LayoutDrawing.Pieces, func(p db.LayoutPiece) bool { return doc.Part(p.Part).Zone == "inside" }):
		out = append(out, "its verdict has changed since the plan: now outside, and the plan cuts inside parts from it")
	}
	if l.MetalSince() {
		out = append(out, map[string]string{"found": "metal was found in it since this was planned: pull and map it", "not_swept": "it is to be swept for metal again"}[l.MetalNow])
	}
	if l.Corrected {
		out = append(out, "its defects, ends or size were written down anew after this was planned, and the cuts do not know of it")
	}
	return out
}

// StopWords joins why a board must not be cut.
func (l *layoutView) StopWords() string { return strings.Join(l.Stop, "; ") }

// clearFace says which face of a blank is clear, where one must be.
func clearFace(d *db.LayoutDrawing, p db.LayoutPiece, faces int) string {
	if faces == 0 {
		return "any"
	}
	top, bottom := true, true
	for _, f := range d.Defects {
		if f.X < p.X+p.DX && p.X < f.X+f.DX && f.Y < p.Y+p.DY && p.Y < f.Y+f.DY {
			top = top && f.Face == "bottom"
			bottom = bottom && f.Face == "top"
		}
	}
	switch {
	case top && bottom:
		return "both"
	case top:
		return "top"
	default:
		return "bottom"
	}
}

// layoutAlt says in words what the picture of a board shows.
func layoutAlt(env db.Env, doc *db.PlanDocument, d *db.LayoutDrawing) string {
	counts := map[string]int{}
	var order []string
	for _, p := range d.Pieces {
		name := doc.Part(p.Part).Name()
		if counts[name] == 0 {
			order = append(order, name)
		}
		counts[name]++
	}
	var parts []string
	for _, name := range order {
		parts = append(parts, fmt.Sprintf("%d × %s", counts[name], name))
	}
	return fmt.Sprintf("Board %s, %s × %s: %s; %s, %s. The table below has the places.", d.Code, d.Length.Format(env.Length), d.Width.Format(env.Length),
		strings.Join(parts, ", "), plural(len(d.Offcuts), "offcut", "offcuts"), plural(len(d.Defects), "defect", "defects"))
}

// planAgain keeps what is cut and plans the rest.
func (b *builder) planAgain(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	release, err := b.takePlace(r.Context())
	if err != nil {
		return err
	}
	defer release()
	ask := db.Again{Further: r.PostFormValue("further") != "", Only: strings.TrimSpace(r.PostFormValue("only"))}
	if ask.Only != "" && !ask.Further {
		return b.refuseAgain(w, r, ask, db.FieldErrors{{Field: "only", Problem: "are named but not offered", Remedy: "tick that further boards are offered, or leave this empty"}})
	}
	next, err := b.store.Replan(r.Context(), db.Base{ID: formID(r, "id"), KeeperID: b.base(r, "").Keeper.ID}, b.edit(r, id), ask, "Skepwood "+b.version)
	if err == nil {
		return seeOther(w, r, "/build/plans/"+next.ID.String()+"?done=replanned")
	}
	if tooLate(err) {
		return b.refuseAt(w, r, id, err)
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	return b.refuseAgain(w, r, ask, faults)
}

// refuseAgain shows the plan with what was asked and why it cannot be.
func (b *builder) refuseAgain(w http.ResponseWriter, r *http.Request, ask db.Again, faults db.FieldErrors) error {
	page, err := b.loadPlan(r)
	if err != nil {
		return err
	}
	page.Again.Further, page.Again.Only.Value = ask.Further, r.PostFormValue("only")
	for _, f := range faults {
		text := f.Problem + "; " + f.Remedy
		if f.Field != "only" {
			page.Faults = append(page.Faults, formFault{Text: text})
			continue
		}
		page.Again.Only.Error = text
		page.Faults = append(page.Faults, formFault{ID: "only", Text: page.Again.Only.Label + " " + text})
	}
	return b.render(w, http.StatusUnprocessableEntity, "plan_show", page)
}

// pieces is the plan's table as comma-separated values.
func (b *builder) pieces(w http.ResponseWriter, r *http.Request) error {
	page, err := b.loadPlan(r)
	if err != nil {
		return err
	}
	rows := [][]string{{"board", "state", "blank", "part", "zone", "from_left_end", "from_near_edge", "length_by_width", "clear_face"}}
	for _, l := range page.Layouts {
		for _, p := range l.Pieces {
			rows = append(rows, []string{l.Code, l.StateWords(), p.Code, p.Name, p.Zone, p.From, p.Across, p.Size, p.ClearFace})
		}
		for _, o := range l.Offcuts {
			rows = append(rows, []string{l.Code, l.StateWords(), "", "offcut", "", o.X.Format(page.Env.Length), o.Y.Format(page.Env.Length), o.DX.Format(page.Env.Length) + " × " + o.DY.Format(page.Env.Length), ""})
		}
	}
	return sendTable(w, "pieces", rows)
}
