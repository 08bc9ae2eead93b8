package server

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// sheetPage is the cutting sheet, made to be printed.
type sheetPage struct {
	base
	Plan    db.Plan
	Layouts []layoutView
	// Boards are the layouts as they are drawn, those drawn alike once.
	Boards []sheetBoard
	// Fetch lists the boards by where they lie.
	Fetch []sheetPlace
	// Trims say what comes off the ends of the boards before anything else.
	Trims    []sheetTrim
	Saws     []sheetSaw
	Moves    int
	Order    int
	Cautions []string
	// Unswept are boards that the plan uses although nobody swept them, Why is
	// the reason that overruled it.
	Unswept []string
	// Metal are boards of which a cut meets metal.
	Metal []string
	// Stopped are boards that are still to be cut and must not be by this plan,
	// as something changed since: the sheet leaves them off.
	Stopped []layoutView
	// All says that nothing is left to cut: the sheet shows what was.
	All     bool
	Offcuts string
}

// sheetSaw is one saw at one stage: its setups in the order of least moving.
type sheetSaw struct {
	N      int
	Name   string
	Setups []sheetSetup
}

// sheetSetup is one distance of fence or stop and the cuts made with it.
type sheetSetup struct {
	N           int
	Fence, Edge string
	// Thin says that the strip is too thin to lie between fence and blade, Narrow
	// that what is left beside it is too thin as well.
	Thin, Narrow bool
	// Short says that the stop stands so near the blade that fingers would,
	// ShortRip that a piece is too short to be ripped along the fence.
	Short, ShortRip bool
	Cuts            []sheetCut
}

// sheetCut is one cut: on what, against which edge, what it frees.
type sheetCut struct {
	Piece, Edge string
	Frees, Rest string
	Marks       []string
	Metal       bool
	// Codes are the boards that are cut alike, nil for one alone; the words
	// above are then without a code.
	Codes []string
}

// What counts as short for the stop and too short to rip: common practice, no
// source.
const (
	shortCross = 6 * wood.Inch
	shortRip   = 12 * wood.Inch
)

func (b *builder) sheetShow(w http.ResponseWriter, r *http.Request) error {
	plan, err := b.loadPlan(r)
	if err != nil {
		return err
	}
	page := &sheetPage{base: plan.base, Plan: plan.Plan, All: plan.Open == 0}
	page.Title = "Cutting sheet: " + plan.Plan.Name
	for _, l := range plan.Layouts {
		switch {
		case l.Open() && len(l.Stop) > 0:
			page.Stopped = append(page.Stopped, l)
		case (l.Open() || page.All) && !l.Struck():
			page.Layouts = append(page.Layouts, l)
		}
	}
	if err := page.fill(plan.Doc); err != nil {
		return err
	}
	return b.app.show(w, "sheet_show", page)
}

// cutter turns the planner's steps into the words of the sheet.
type cutter struct {
	env     db.Env
	doc     *db.PlanDocument
	boards  map[int]*layoutView // by the instance's index
	letters map[int]map[pieceKey]string
	// alike numbers the boards by how they are cut; see [cutter.cutAlike].
	alike map[int]int
}

// newCutter works out the cuts of the layouts, grouped by saw setup.
func newCutter(env db.Env, doc *db.PlanDocument, layouts []layoutView) (*cutter, cut.Sheet, error) {
	c := &cutter{env: env, doc: doc, boards: map[int]*layoutView{}, letters: map[int]map[pieceKey]string{}}
	byCode := map[string]*layoutView{}
	for i := range layouts {
		byCode[layouts[i].Code] = &layouts[i]
	}
	plan := cut.Plan{}
	for _, place := range doc.Cut.Plan.Placements {
		if l := byCode[doc.Shop.Boards[doc.Cut.FromBoard[place.Board]].Code]; l != nil {
			c.boards[place.Board] = l
			plan.Placements = append(plan.Placements, place)
		}
	}
	sheet, err := cut.GroupCuts(doc.Cut.Instance, plan)
	return c, sheet, err
}

// fill lists the cuts by saw and setup.
func (p *sheetPage) fill(doc *db.PlanDocument) error {
	for _, l := range p.Layouts {
		if l.Sweep() != "clean" {
			p.Unswept = append(p.Unswept, l.Code)
		}
	}
	c, sheet, err := newCutter(p.Env, doc, p.Layouts)
	if err != nil {
		return err
	}
	if err := c.cutAlike(); err != nil {
		return err
	}
	if p.Boards, err = drawnAlike(p.Layouts); err != nil {
		return err
	}
	c.letter(sheet)
	p.Moves, p.Order = sheet.Moves, sheet.BoardOrder
	for _, s := range c.thinApart(sheet.Setups) {
		p.add(c, s)
	}
	split := p.settings() - sheet.Moves
	p.Moves, p.Order = p.Moves+split, p.Order+split
	metal := c.metalCuts(sheet)
	for _, l := range p.Layouts {
		if len(metal[l.Code]) > 0 {
			p.Metal = append(p.Metal, l.Code)
		}
	}
	if !p.All {
		p.Fetch = fetchList(p.Layouts)
	}
	p.Trims = trimGroups(p.Env, p.Layouts, doc.Shop.Rules.CrosscutKerf)
	p.caution(doc)
	return nil
}

// add puts a setup on the sheet of its saw.
func (p *sheetPage) add(c *cutter, s cut.Setup) {
	name := "Rip saw, along the grain"
	if s.Kind == cut.CrossCut {
		name = "Crosscut saw, across the grain"
	}
	name = fmt.Sprintf("%s, round %d", name, s.Stage)
	if n := len(p.Saws); n == 0 || p.Saws[n-1].Name != name {
		p.Saws = append(p.Saws, sheetSaw{N: n + 1, Name: name})
	}
	saw := &p.Saws[len(p.Saws)-1]
	setup := sheetSetup{N: p.settings() + 1}
	distance := c.doc.Cut.Grid.Across(s.Fence)
	switch thin := c.thin(s.Steps[0]); {
	case s.Kind == cut.CrossCut:
		distance = c.doc.Cut.Grid.Along(s.Fence)
		setup.Edge, setup.Short = "from stop to blade", distance < shortCross
	case thin == alongFence:
		setup.Edge, setup.Thin = "from thin-strip stop to blade", true
	default:
		setup.Edge, setup.Narrow = "from fence to blade", thin == underBlock
	}
	setup.Fence = sawText(c.env, distance)
	for _, step := range s.Steps {
		setup.ShortRip = setup.ShortRip || s.Kind == cut.RipCut && c.doc.Cut.Grid.Along(step.DX) < shortRip
	}
	setup.Cuts = c.rows(s.Steps)
	saw.Setups = append(saw.Setups, setup)
}

// sawText prints a distance as a saw is set: to the nearest 1/64 in or half a
// millimetre.
func sawText(env db.Env, l wood.Length) string {
	if env.Length == wood.UnitMillimetre {
		l = l.Round(wood.Millimetre / 2)
	}
	return l.Format(env.Length)
}

// rect turns ticks of a board into its lengths.
func (c *cutter) rect(board, x, y, dx, dy int) db.LayoutRect {
	g := c.doc.Cut.Grid
	return db.LayoutRect{X: c.boards[board].TrimStart + g.Along(x), Y: g.Across(y), DX: g.Along(dx), DY: g.Across(dy)}
}

// parts returns what a cut parts its piece into, and its kerf: the freed
// piece lies at the low side; either may have no size.
func (c *cutter) parts(s cut.Step) (freed, kerf, rest db.LayoutRect) {
	if s.Kind == cut.RipCut {
		return c.rect(s.Board, s.X, s.Y, s.DX, s.At-s.Y), c.rect(s.Board, s.X, s.At, s.DX, s.Kerf),
			c.rect(s.Board, s.X, s.At+s.Kerf, s.DX, s.Y+s.DY-s.At-s.Kerf)
	}
	return c.rect(s.Board, s.X, s.Y, s.At-s.X, s.DY), c.rect(s.Board, s.At, s.Y, s.Kerf, s.DY),
		c.rect(s.Board, s.At+s.Kerf, s.Y, s.X+s.DX-s.At-s.Kerf, s.DY)
}

// pieceKey tells a piece on a saw: each cut of a chain leaves a smaller rest
// with the same extent along the cut and the same far end, and it keeps its
// name.
type pieceKey struct {
	kind            cut.CutKind
	from, size, end wood.Length
}

func keyOf(kind cut.CutKind, r db.LayoutRect) pieceKey {
	if kind == cut.RipCut {
		return pieceKey{kind, r.X, r.DX, r.Y + r.DY}
	}
	return pieceKey{kind, r.Y, r.DY, r.X + r.DX}
}

// letter names the pieces that go from one saw to the next: A, B, C on each
// board, from its near edge and left end. The board itself needs no letter.
func (c *cutter) letter(sheet cut.Sheet) {
	type piece struct {
		key  pieceKey
		rect db.LayoutRect
	}
	pieces := map[int][]piece{}
	for _, setup := range sheet.Setups {
		for _, s := range setup.Steps {
			r := c.rect(s.Board, s.X, s.Y, s.DX, s.DY)
			key := keyOf(s.Kind, r)
			at := slices.IndexFunc(pieces[s.Board], func(p piece) bool { return p.key == key })
			if at < 0 {
				pieces[s.Board] = append(pieces[s.Board], piece{key, r})
			} else if old := &pieces[s.Board][at]; r.M2() > old.rect.M2() {
				old.rect = r
			}
		}
	}
	for board, all := range pieces {
		slices.SortFunc(all, func(a, b piece) int { return cmp.Or(cmp.Compare(a.rect.Y, b.rect.Y), cmp.Compare(a.rect.X, b.rect.X)) })
		c.letters[board] = map[pieceKey]string{}
		n := 0
		for _, p := range all {
			if p.rect == c.whole(board) {
				continue
			}
			c.letters[board][p.key] = letterOf(n)
			n++
		}
	}
}

// whole is the board once its ends are trimmed.
func (c *cutter) whole(board int) db.LayoutRect {
	in := c.doc.Cut.Instance.Boards[board]
	return c.rect(board, 0, 0, in.Length, in.Width)
}

func letterOf(n int) string {
	if n < 26 {
		return string(rune('A' + n))
	}
	return letterOf(n/26-1) + letterOf(n%26)
}

// cut puts one step in words.
func (c *cutter) cut(s cut.Step) sheetCut {
	freed, kerf, rest := c.parts(s)
	out := sheetCut{Piece: c.name(s), Edge: c.edge(s), Frees: c.what(s, freed, s.Part, s.Waste), Rest: c.what(s, rest, s.Rest, false)}
	out.Marks, out.Metal = c.marks(s, freed, kerf, rest)
	return out
}

// edge says what lies against the fence or the stop.
func (c *cutter) edge(s cut.Step) string {
	low := s.At - s.Y
	near, far := "near edge", "far edge"
	if s.Kind == cut.CrossCut {
		low, near, far = s.At-s.X, "left end", "right end"
	}
	if s.Fence == low {
		return near
	}
	return far
}

// name says which piece is meant: the board, or a lettered piece of it.
func (c *cutter) name(s cut.Step) string {
	code := c.boards[s.Board].Code
	if letter, ok := c.letters[s.Board][keyOf(s.Kind, c.rect(s.Board, s.X, s.Y, s.DX, s.DY))]; ok {
		return code + " " + letter
	}
	return code
}

// what says what a piece is: a blank by its code, a lettered piece that goes
// on to another saw, waste, or the rest of what is on the saw.
func (c *cutter) what(s cut.Step, r db.LayoutRect, part int, waste bool) string {
	l := c.boards[s.Board]
	switch {
	case r.DX <= 0 || r.DY <= 0:
		return ""
	case slices.Contains(l.Offcuts, r):
		return "offcut, keep"
	case waste:
		return "waste"
	case part >= 0 && part < len(c.doc.Parts):
		for _, p := range l.LayoutDrawing.Pieces {
			if p.LayoutRect == r {
				return l.BlankCode(p.N) + " " + c.doc.Part(p.Part).Name()
			}
		}
	}
	next := cut.RipCut
	if s.Kind == cut.RipCut {
		next = cut.CrossCut
	}
	if letter, ok := c.letters[s.Board][keyOf(next, r)]; ok {
		return "piece " + letter
	}
	return ""
}

// caution lists what to mind. They are common practice, no source.
func (p *sheetPage) caution(doc *db.PlanDocument) {
	p.Cautions = []string{
		"Unplug the saw to set it. Riving knife on and in line with the blade, guard down, eye and ear protection.",
		"Stand beside the line of the cut, never behind it. Use push sticks for anything narrower than a hand; fingers stay a hand's width from the blade.",
		"No short pieces against the fence: crosscut against a stop that ends before the blade, so that a short piece falls free and cannot jam between blade and fence.",
		"Thin rips off the far side: the thin strip falls beside the blade away from the fence and is not pushed between the two. Where the sheet says “narrow”, the rest is as thin: only a push block over both will do.",
		"Against the fence goes a straight edge, on the table a flat face: what rocks binds and is thrown back. Where the near edge is not straight, straighten it, correct the board’s width in the book and plan the rest again.",
		"Hidden metal: sweep every board once more before the blade. A nail breaks teeth and throws steel, or the board, at whoever stands there.",
		"Dust: mask and extraction. Dust of some woods, and of wood whose history is unknown, harms lungs.",
		"Top face up unless the sheet says otherwise: the face with the code. “Near edge” is the edge towards you as the code reads. Write its letter on each piece as it comes free, the same way up, so that its near edge and left end stay known.",
	}
	if p.Plan.UnsweptWhy != "" {
		p.Cautions = append(p.Cautions, "This plan uses boards that nobody swept for metal, because: "+p.Plan.UnsweptWhy)
	}
	r := doc.Shop.Rules
	if r.OffcutLength > 0 && r.OffcutWidth > 0 {
		p.Offcuts = fmt.Sprintf("%s × %s", r.OffcutLength.Format(p.Env.Length), r.OffcutWidth.Format(p.Env.Length))
	}
}

// Minds reports whether anything is to be minded at a cut of the setting.
func (s sheetSetup) Minds() bool {
	return slices.ContainsFunc(s.Cuts, func(c sheetCut) bool { return len(c.Marks) > 0 })
}

// Cuts counts the cuts of a saw.
func (s sheetSaw) Cuts() (n int) {
	for _, setup := range s.Setups {
		for _, one := range setup.Cuts {
			n += max(1, len(one.Codes))
		}
	}
	return n
}

// Thin reports whether any setting frees strips too thin for the fence.
func (p *sheetPage) Thin() bool {
	return slices.ContainsFunc(p.Saws, func(s sheetSaw) bool {
		return slices.ContainsFunc(s.Setups, func(one sheetSetup) bool { return one.Thin })
	})
}

// MetalCodes lists the boards of which a cut meets metal.
func (p *sheetPage) MetalCodes() string { return strings.Join(p.Metal, ", ") }

// PullFirst says what to do about metal in a cut.
func (p *sheetPage) PullFirst() string { return pullFirst }

// UnsweptCodes lists them.
func (p *sheetPage) UnsweptCodes() string { return strings.Join(p.Unswept, ", ") }
