package cut

import (
	"context"
	"slices"
)

// Instance returns the shop problem in ticks and the grid that turns them back
// into lengths: boards are rounded down, parts and kerfs up, defects outward,
// and nothing is rounded where the grid is exact. Errors match ErrInstance.
func (s Shop) Instance() (Instance, Grid, error) {
	in, g, err := s.instance()
	if err != nil {
		return Instance{}, Grid{}, err
	}
	return in, g.grid, nil
}

// PlanShop plans a shop problem: lengths go to a grid, the grid is solved as
// by Solve, boards that add nothing are left whole, what can be moved aside so
// that no cut meets metal is moved, and the plan comes back in lengths with
// its offcuts and areas. Errors match ErrInstance.
func PlanShop(ctx context.Context, s Shop, opts Options) (ShopPlan, error) {
	in, g, err := s.instance()
	if err != nil {
		return ShopPlan{}, err
	}
	plan, err := Solve(ctx, in, opts)
	if err != nil {
		return ShopPlan{}, err
	}
	dropIdle(in, &plan)
	return g.finish(in, plan, nil)
}

// dropIdle takes the parts off boards that are all worth nothing and that
// nobody asked for, so that such a board stays whole. Under MinBoardCost every
// part is asked for.
func dropIdle(in Instance, plan *Plan) {
	if in.Objective == MinBoardCost {
		return
	}
	counts := map[[2]int]bool{}
	for _, p := range plan.Placements {
		part := in.Parts[p.Part]
		counts[[2]int{p.Board, p.Copy}] = counts[[2]int{p.Board, p.Copy}] || part.Value > 0 || part.Min > 0
	}
	plan.Placements = slices.DeleteFunc(plan.Placements, func(p Placement) bool { return !counts[[2]int{p.Board, p.Copy}] })
}

// finish moves cuts of a plan off metal and turns it into shop lengths. Copies
// that are done stay as they were cut and are left out.
func (g *gridder) finish(in Instance, plan Plan, done [][2]int) (ShopPlan, error) {
	plan.Placements = slices.Clone(plan.Placements)
	g.clearMetal(in, &plan, done)
	if err := Check(in, plan); err != nil {
		return ShopPlan{}, err
	}
	out, err := g.shopPlan(in, rest(plan, done))
	out.Plan = plan
	return out, err
}

// shopPlan turns a plan into shop lengths.
func (g *gridder) shopPlan(in Instance, plan Plan) (ShopPlan, error) {
	out := ShopPlan{Instance: in, Grid: g.grid, Plan: plan, FromBoard: g.from}
	if plan.Missing != nil {
		out.Missing = plan.Missing[:g.wants]
	}
	sawyers, err := sawAll(in, plan)
	if err != nil {
		return out, err
	}
	pieces := map[[2]int][]Placement{}
	for _, p := range plan.Placements {
		key := [2]int{p.Board, p.Copy}
		pieces[key] = append(pieces[key], p)
	}
	for _, s := range sawyers {
		board := BoardPlan{Board: g.from[s.board], Copy: s.copy, Offcuts: g.kept(s)}
		for _, p := range pieces[[2]int{s.board, s.copy}] {
			part := in.Parts[p.Part]
			piece := g.piece(s.board, area{p.X, p.Y, part.Length, part.Width})
			piece.Code = g.s.Parts[p.Part].Code
			board.Pieces = append(board.Pieces, piece)
		}
		out.Boards = append(out.Boards, board)
		out.OffcutValue += g.worthOf(in, s)
		out.addAreas(g, s, board)
	}
	return out, nil
}

// piece returns a rectangle of an instance board in lengths from the untrimmed
// board's corner.
func (g *gridder) piece(board int, a area) Piece {
	return Piece{
		X: g.starts[board] + g.grid.Along(a.x), Y: g.grid.Across(a.y),
		DX: g.grid.Along(a.dx), DY: g.grid.Across(a.dy),
	}
}

// addAreas adds up what becomes of a board.
func (out *ShopPlan) addAreas(g *gridder, s *sawyer, board BoardPlan) {
	b := g.s.Boards[board.Board]
	stock := b.Length.Metres() * b.Width.Metres()
	parts, offcuts, kerf := 0.0, 0.0, 0.0
	for _, p := range board.Pieces {
		parts += p.DX.Metres() * p.DY.Metres()
	}
	for _, p := range board.Offcuts {
		offcuts += p.DX.Metres() * p.DY.Metres()
	}
	for _, st := range s.steps {
		if st.Kind == RipCut {
			kerf += g.grid.Along(st.DX).Metres() * g.grid.Across(st.Kerf).Metres()
		} else {
			kerf += g.grid.Along(st.Kerf).Metres() * g.grid.Across(st.DY).Metres()
		}
	}
	out.Stock += stock
	out.PartArea += parts
	out.OffcutArea += offcuts
	out.KerfArea += kerf
	out.WasteArea += stock - parts - offcuts - kerf
}
