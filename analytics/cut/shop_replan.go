package cut

import (
	"context"
	"slices"
)

// ShopChange is what happened to a shop plan at the saw, by index of the
// shop's boards; each board is there once.
type ShopChange struct {
	// Done are boards cut as planned, Lost those that broke, were rejected or
	// were cut otherwise.
	Done, Lost []int
	// Got counts, by board of Lost, how many copies of each of the shop's
	// parts came of it all the same.
	Got map[int]map[int]int
	// Added are boards of the shop that the plan was not made for and that may
	// be used from now on.
	Added []int
}

// ReplanShop keeps what is cut of a shop plan and plans the rest again from
// where it stood, as Replan does for an instance. old must be a plan for s, at
// most one copy of each board; of s the rules, the parts, the boards' sizes and
// ends and where metal lies are read, since the old plan's instance holds the
// rest. Boards of s behind those that old was made for, named in the change,
// join them. The new plan has the boards of old and the added ones; its
// BoardPlans are those still to be cut. Errors match ErrInstance or ErrPlan.
func ReplanShop(ctx context.Context, s Shop, old ShopPlan, ch ShopChange, opts Options) (ShopPlan, Diff, error) {
	g, err := s.gridderOf(old)
	if err != nil {
		return ShopPlan{}, Diff{}, err
	}
	change, err := ch.ticks(old)
	if err == nil {
		change.Added, err = g.added(old, ch.Added)
	}
	if err != nil {
		return ShopPlan{}, Diff{}, err
	}
	in, plan, diff, err := Replan(ctx, old.Instance, old.Plan, change, opts)
	if err != nil {
		return ShopPlan{}, Diff{}, err
	}
	out, err := g.finish(in, plan, change.Done)
	return out, diff, err
}

// gridderOf rebuilds the grid that a plan was made on.
func (s Shop) gridderOf(old ShopPlan) (*gridder, error) {
	g := &gridder{s: s, grid: old.Grid, from: slices.Clone(old.FromBoard), wants: len(s.Parts)}
	if len(old.FromBoard) != len(old.Instance.Boards) || len(old.Instance.Parts) < len(s.Parts) || old.Grid.X <= 0 || old.Grid.Y <= 0 {
		return nil, &PlanError{-1, -1, "the plan was not made for this shop"}
	}
	for _, b := range old.FromBoard {
		if b < 0 || b >= len(s.Boards) {
			return nil, &PlanError{b, -1, "the plan names a board that the shop does not have"}
		}
		start, _ := s.Rules.Trims(s.Boards[b])
		g.starts = append(g.starts, start)
	}
	return g, nil
}

// added turns boards that join a plan into ticks of its grid; those that are
// nothing once trimmed do not join.
func (g *gridder) added(old ShopPlan, boards []int) ([]Board, error) {
	for _, b := range boards {
		if b < 0 || b >= len(g.s.Boards) || slices.Contains(g.from, b) {
			return nil, &PlanError{b, -1, "it cannot join the plan: no board of the shop, or one of the plan's"}
		}
	}
	g.setThick()
	in := Instance{}
	for _, b := range boards {
		g.addBoard(&in, b)
	}
	if g.s.Rules.Objective == ShortFirst {
		longest, widest := largest(old.Instance.Boards)
		shortCosts(in.Boards, longest, widest)
	}
	return in.Boards, nil
}

// ticks turns the change into one for the plan's instance. Where on its board
// a part lay that was cut otherwise does not matter.
func (ch ShopChange) ticks(old ShopPlan) (Change, error) {
	var out Change
	at := map[int]int{}
	for i, b := range old.FromBoard {
		at[b] = i
	}
	find := func(board int) (int, error) {
		i, ok := at[board]
		if !ok {
			return 0, &PlanError{board, -1, "it is no board of the plan"}
		}
		return i, nil
	}
	for _, b := range ch.Done {
		i, err := find(b)
		if err != nil {
			return out, err
		}
		out.Done = append(out.Done, [2]int{i, 0})
	}
	for _, b := range ch.Lost {
		i, err := find(b)
		if err != nil {
			return out, err
		}
		out.Lost = append(out.Lost, [2]int{i, 0})
		for part := range old.Instance.Parts {
			for range min(ch.Got[b][part], maxBoards) {
				out.Cut = append(out.Cut, Placement{Board: i, Part: part})
			}
		}
	}
	return out, nil
}

// rest returns the plan without the boards that are cut.
func rest(plan Plan, done [][2]int) Plan {
	gone := map[[2]int]bool{}
	for _, c := range done {
		gone[c] = true
	}
	out := plan
	out.Placements = nil
	for _, p := range plan.Placements {
		if !gone[[2]int{p.Board, p.Copy}] {
			out.Placements = append(out.Placements, p)
		}
	}
	return out
}

// Unchanged reports whether a board, as it is known now, is still what a plan
// for s took it for: its size once trimmed, its thickness as far as the parts
// ask, its verdict and its defects. board is the index of one of s's boards.
func (s Shop) Unchanged(old ShopPlan, board int, now ShopBoard) bool {
	g, err := s.gridderOf(old)
	at := slices.Index(old.FromBoard, board)
	if err != nil || at < 0 || board >= len(s.Boards) {
		return false
	}
	g.setThick()
	g.s.Boards = slices.Clone(s.Boards)
	g.s.Boards[board] = now
	in := Instance{}
	g.addBoard(&in, board)
	if len(in.Boards) == 0 || g.starts[len(g.starts)-1] != g.starts[at] {
		return false
	}
	was, is := old.Instance.Boards[at], in.Boards[0]
	return was.Length == is.Length && was.Width == is.Width && was.Has == is.Has && sameDefects(was.Defects, is.Defects)
}

// sameDefects reports whether two lists hold the same defects in any order.
func sameDefects(a, b []Defect) bool {
	if len(a) != len(b) {
		return false
	}
	count := map[Defect]int{}
	for i := range a {
		count[a[i]]++
		count[b[i]]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}
