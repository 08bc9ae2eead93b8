package db

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/cut"
	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// How long planning may take: the plan itself, the search for one that leaves
// more of the wood, moving parts for better offcuts, and the search for what
// would make what it lacks.
const (
	planTime  = 3 * time.Second
	stockTime = 3 * time.Second / 2
	moveTime  = time.Second
	extraTime = time.Second
	// planGap ends the search early: one part in a hundred thousand is less
	// than any blank.
	planGap = 1e-5
	// stockGap and moveGap do the same where wood is compared with wood.
	stockGap, moveGap = 1e-4, 1e-3
)

// Want is a kit, or one part of a kit, and how many of it.
type Want struct {
	Kit string
	// Part is empty for the whole kit.
	Part  string
	Count int
}

// Words says what is wanted, such as "2 × floor solid 10-frame".
func (w Want) Words() string {
	if w.Part == "" {
		return fmt.Sprintf("%d × %s", w.Count, w.Kit)
	}
	return fmt.Sprintf("%d × %s: %s", w.Count, w.Kit, w.Part)
}

// MakePlan plans what is wanted from the boards that may be used and stores
// the plan with its layouts. asked holds the rules; program names the version
// that plans. It ends after a few seconds with the best plan found and its
// bound, and stores nothing when ctx ends before. Faults come as FieldErrors.
func (s *Store) MakePlan(ctx context.Context, base Base, asked Plan, wants []Want, program string) (Plan, error) {
	p := asked
	p.Base, p.Program = s.fresh(base), program
	parts, err := s.planParts(ctx, &p, wants)
	if err != nil {
		return p, err
	}
	if made, err := s.plannedBefore(ctx, &p); made != nil || err != nil {
		return p.or(made), err
	}
	stock, err := s.BuildStock(ctx, &p, parts)
	if err != nil {
		return p, err
	}
	if len(stock.Usable) == 0 {
		return p, stock.noBoard(ctx, &p, parts)
	}
	doc := &PlanDocument{Parts: parts, Shop: p.shop(parts, stock.Usable), Rack: stock.Rack, Usable: len(stock.Usable), Unmapped: stock.Unmapped, Beyond: stock.Beyond, Excluded: stock.Excluded}
	if err := doc.solve(ctx); err != nil {
		return p, err
	}
	doc.addEdges(stock.Usable)
	if len(doc.Cut.Boards) == 0 {
		return p, FieldErrors{{Problem: fmt.Sprintf("none of the %s that may be used gives any of these parts", plural(len(stock.Usable), "board", "boards")), Remedy: doc.whyNone()}}
	}
	layouts, err := doc.layouts(&p, stock.Usable)
	if err != nil {
		return p, err
	}
	err = s.storePlan(ctx, &p, doc, layouts)
	if made := (*MadeError)(nil); errors.As(err, &made) { // the same form was planned at the same moment
		made, err := s.plannedBefore(ctx, &p)
		return p.or(made), err
	}
	return p, err
}

// noBoard says why no board may be used and what would help, boards bought for
// it too.
func (b *BuildStock) noBoard(ctx context.Context, p *Plan, parts []PlanPart) error {
	remedy := b.remedy()
	doc := &PlanDocument{Parts: parts, Shop: p.shop(parts, nil)}
	if err := doc.solve(ctx); err != nil {
		return err
	}
	switch {
	case b.TooSmall > 0:
		remedy += "; " + doc.whyNone()
	case doc.Extra != nil && len(doc.Extra.Boards) > 0:
		remedy += "; in boards that are bought " + doc.Extra.would()
	case doc.Extra != nil && len(doc.Extra.Lacks) > 0:
		remedy += "; no board of a usual size makes " + strings.Join(doc.Extra.Lacks, ", ")
	}
	return FieldErrors{{Problem: "no board on the rack may be used: " + b.words(), Remedy: remedy}}
}

// plannedBefore returns the plan that the same form made already, nil where it
// made none, and a *[MadeError] where it asked for something else then. A
// plan takes its boards, so planning once more would find them taken.
func (s *Store) plannedBefore(ctx context.Context, p *Plan) (*Plan, error) {
	stored, err := Plans.one(ctx, s.pool, p.ID)
	if errors.Is(err, ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	made := &MadeError{Kind: "plan", ID: p.ID, Struck: stored.Struck()}
	if made.Struck || stored.Wants != p.Wants {
		return nil, made
	}
	asked, kept := planAsked.values(p), planAsked.values(&stored)
	for i, c := range planAsked.columns {
		if c.Sealed && !sameValue(asked[i], kept[i]) {
			return nil, made
		}
	}
	return &stored, nil
}

// or returns the other plan where there is one.
func (p Plan) or(other *Plan) Plan {
	if other != nil {
		return *other
	}
	return p
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// words says in one line why boards were left out.
func (b *BuildStock) words() string {
	if len(b.Excluded) == 0 {
		return "the rack is empty"
	}
	var out []string
	for _, e := range b.Excluded {
		out = append(out, fmt.Sprintf("%s (%s)", plural(e.Count, "board", "boards"), e.Why))
	}
	return strings.Join(out, ", ")
}

// remedy says what would bring boards in, by why they were left out.
func (b *BuildStock) remedy() string {
	var out []string
	has := func(words ...string) bool {
		return slices.ContainsFunc(b.Excluded, func(e Excluded) bool {
			return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(e.Why, w) })
		})
	}
	if has("moisture", "wetter", "not read") {
		out = append(out, "read their moisture, or say why wet wood will do")
	}
	if has("swept", "metal") {
		out = append(out, "sweep them and mark what is found, or say why unswept wood will do")
	}
	if has("verdict hold") {
		out = append(out, "look on the Holds page what would lift a hold")
	}
	if has("another plan") {
		out = append(out, "set the other plan aside")
	}
	if has("thinner than any part needs") {
		out = append(out, "add less for planing, enter parts of your own at the thickness you have, or use thicker boards")
	}
	if len(out) == 0 {
		return "add boards to the stock, or change what is asked"
	}
	return strings.Join(out, "; ")
}

// whyNone says what would help when no part can be made.
func (d *PlanDocument) whyNone() string {
	if d.Extra != nil && len(d.Extra.Boards) > 0 {
		return d.Extra.would()
	}
	return "look at lengths, widths, thicknesses and allowances; wide parts may be glued up from strips"
}

// Words lists the boards.
func (e *ExtraBoards) Words() string {
	var out []string
	for _, b := range e.Boards {
		out = append(out, fmt.Sprintf("%d × %s", b.Count, b.Name))
	}
	return strings.Join(out, " and ")
}

// would says what the boards are for: everything, or all but what no usual board
// makes.
func (e *ExtraBoards) would() string {
	if len(e.Lacks) == 0 {
		return "it would take " + e.Words()
	}
	return "it would take " + e.Words() + " for all but " + strings.Join(e.Lacks, ", ") + ", which no usual size makes"
}

// planParts expands what is wanted into parts, the same part once.
func (s *Store) planParts(ctx context.Context, p *Plan, wants []Want) ([]PlanPart, error) {
	kits, err := s.Kits(ctx)
	if err != nil {
		return nil, err
	}
	var parts []PlanPart
	at := map[string]int{}
	var words []string
	for _, w := range wants {
		found, err := w.parts(kits)
		if err != nil {
			return nil, err
		}
		words = append(words, w.Words())
		for _, part := range found {
			part.split(p.GlueStrip)
			if i, again := at[part.Name()]; again {
				parts[i].Count += part.Count
			} else {
				at[part.Name()] = len(parts)
				parts = append(parts, part)
			}
		}
	}
	p.Wants = strings.Join(words, "\n")
	switch {
	case len(parts) == 0:
		return nil, FieldErrors{{Field: "want-0", Problem: "is missing", Remedy: "choose a kit or a part, and how many"}}
	case len(parts) > MaxPlanParts:
		return nil, FieldErrors{{Field: "want-0", Problem: fmt.Sprintf("comes to %d part sizes, at most %d are planned at once", len(parts), MaxPlanParts), Remedy: "make two plans"}}
	}
	for _, part := range parts {
		if part.Count > 20*MaxPlanCount {
			return nil, FieldErrors{{Field: "want-0", Problem: fmt.Sprintf("comes to %d of %s", part.Count, part.Name()), Remedy: "make fewer at once"}}
		}
	}
	return parts, nil
}

// parts finds what a want is made of.
func (w Want) parts(kits []grade.Kit) ([]PlanPart, error) {
	var out []PlanPart
	for _, k := range kits {
		if k.Name != w.Kit {
			continue
		}
		for _, part := range k.Parts {
			n := part.Count * w.Count
			if w.Part == part.Part {
				n = w.Count
			} else if w.Part != "" {
				continue
			}
			out = append(out, planPart(part, n))
		}
		break
	}
	if len(out) == 0 {
		return nil, FieldErrors{{Field: "want-0", Value: clip(w.Words()), Problem: "is no kit or part of the list", Remedy: "choose one of the list"}}
	}
	return out, nil
}

func planPart(p grade.Part, n int) PlanPart {
	of := 1
	if p.Glue {
		of = 0 // may be glued: split decides
	}
	return PlanPart{Kit: p.Kit, Part: p.Part, Count: n, Size: p.Finished, Zone: string(p.Zone), Faces: p.Faces, Of: of}
}

// split turns a part that may be glued up into strips no wider than widest.
func (p *PlanPart) split(widest wood.Length) {
	glue := p.Of == 0
	p.Of = 1
	if !glue || widest <= 0 || p.Size.Width <= widest {
		return
	}
	p.Of = int((p.Size.Width + widest - 1) / widest)
	p.Size.Width = (p.Size.Width + wood.Length(p.Of) - 1) / wood.Length(p.Of)
	p.Size.Width = roundUp(p.Size.Width, wood.Inch/16)
	p.Count *= p.Of
}

// storePlan writes the plan and its layouts in one transaction.
func (s *Store) storePlan(ctx context.Context, p *Plan, doc *PlanDocument, layouts []Layout) error {
	return s.storePlanWith(ctx, p, doc, func(tx pgx.Tx) error { return insertPlan(ctx, tx, *p, layouts) })
}

// storePlanWith writes the document into the plan, holds it against the
// independent checker and lets store store it.
func (s *Store) storePlanWith(ctx context.Context, p *Plan, doc *PlanDocument, store func(pgx.Tx) error) error {
	text, err := json.Marshal(doc)
	if err != nil {
		return err
	}
	if len(text) > maxPlanDocument {
		return FieldErrors{{Field: "only", Value: clip(p.Only), Problem: "leaves more boards and defects than one plan can hold", Remedy: "name fewer lots"}}
	}
	plan := doc.Cut.Plan
	p.Document, p.Status, p.Value, p.Bound = string(text), string(plan.Status), plan.Value, plan.Bound
	if faults := checkPlan(p, SheetEnv(s.Now())); len(faults) > 0 {
		return fmt.Errorf("a plan that was just made: %w", faults)
	}
	return s.Tx(ctx, store)
}

func insertPlan(ctx context.Context, tx pgx.Tx, p Plan, layouts []Layout) error {
	added, err := Plans.insert(ctx, tx, &p)
	if err != nil || !added {
		return err // the same form sent twice is one plan
	}
	if err := takeBoards(ctx, tx, layouts); err != nil {
		return err
	}
	for _, l := range layouts {
		if _, err := Layouts.insert(ctx, tx, &l); err != nil {
			return err
		}
	}
	return nil
}

// layouts draws each board that the plan cuts.
func (d *PlanDocument) layouts(p *Plan, boards []BuildBoard) ([]Layout, error) {
	var out []Layout
	part := map[string]int{}
	for i, shop := range d.Shop.Parts {
		part[shop.Code] = i
	}
	for i, b := range d.Cut.Boards {
		board := &boards[b.Board]
		start, end := d.Shop.Rules.Trims(d.Shop.Boards[b.Board])
		drawing := LayoutDrawing{
			Code: board.Code, Verdict: board.Verdict, Metal: board.Metal, Mapped: board.Mapped, TrimStart: start, TrimEnd: end,
			Thickness: board.Thickness, Length: board.Length, Width: board.Width, Pieces: []LayoutPiece{},
		}
		for i := range board.Defects {
			drawing.Defects = append(drawing.Defects, drawnDefect(&board.Defects[i]))
		}
		slices.SortFunc(b.Pieces, func(a, b cut.Piece) int { return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X)) })
		for n, piece := range b.Pieces {
			drawing.Pieces = append(drawing.Pieces, LayoutPiece{LayoutRect{piece.X, piece.Y, piece.DX, piece.DY}, n + 1, part[piece.Code]})
		}
		for _, o := range b.Offcuts {
			drawing.Offcuts = append(drawing.Offcuts, LayoutRect{o.X, o.Y, o.DX, o.DY})
		}
		l, err := newLayout(p, i+1, RefTo(board.ID), drawing)
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	return out, nil
}

// newLayout is a layout of a plan; its id follows from the plan's.
func newLayout(p *Plan, number int, board Ref, drawing LayoutDrawing) (Layout, error) {
	text, err := json.Marshal(drawing)
	if err == nil {
		err = checkDrawing(text)
	}
	if err != nil {
		return Layout{}, fmt.Errorf("draw board %s: %w", drawing.Code, err)
	}
	if len(text) > maxDrawing {
		return Layout{}, FieldErrors{{Field: "only", Problem: "names a board with too many defects for one drawing: " + drawing.Code, Remedy: "leave it out"}}
	}
	return Layout{
		Base: Base{ID: uuid.NewSHA1(p.ID, []byte{byte(number >> 8), byte(number)}), KeeperID: p.KeeperID, ReceivedAt: p.ReceivedAt},
		Plan: RefTo(p.ID), Board: board, Number: number, State: LayoutPlanned, PlannedM2: drawing.PiecesM2(), Drawing: string(text),
	}, nil
}
