package cut

import (
	"context"
	"errors"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"skepwood/analytics/wood"
)

// keeps reports whether an offcut is large enough to keep.
func (r Rules) keeps(length, width wood.Length) bool {
	return r.OffcutLength > 0 && r.OffcutWidth > 0 && length >= r.OffcutLength && width >= r.OffcutWidth
}

// volume is in cubic metres, or in square metres where the thickness is not
// compared.
func volume(thickness, length, width wood.Length) float64 {
	v := length.Metres() * width.Metres()
	if thickness > 0 {
		v *= thickness.Metres()
	}
	return v
}

// kept returns the waste of a board that is large enough to keep.
func (g *gridder) kept(s *sawyer) []Piece {
	var out []Piece
	for _, w := range s.waste {
		if piece := g.piece(s.board, w); g.s.Rules.keeps(piece.DX, piece.DY) {
			out = append(out, piece)
		}
	}
	return out
}

// worthOf adds up what the kept offcuts of a board are worth: what is clear of
// defects, with the clearance round metal, on both faces.
func (g *gridder) worthOf(in Instance, s *sawyer) (sum int) {
	thick := g.s.Boards[g.from[s.board]].Thickness
	for _, w := range s.waste {
		if piece := g.piece(s.board, w); g.s.Rules.keeps(piece.DX, piece.DY) {
			clear := float64(clearOf(in.Boards[s.board], w)) / float64(w.dx*w.dy)
			sum += int(math.Round(g.s.Rules.OffcutRate * clear * volume(thick, piece.DX, piece.DY)))
		}
	}
	return sum
}

// clearOf is how many square ticks of an area no defect touches. Where defects
// overlap it is a little too small.
func clearOf(b Board, a area) int {
	left := a.dx * a.dy
	for _, d := range b.Defects {
		dx := min(a.x+a.dx, d.X+d.DX) - max(a.x, d.X)
		dy := min(a.y+a.dy, d.Y+d.DY) - max(a.y, d.Y)
		if dx > 0 && dy > 0 {
			left -= dx * dy
		}
	}
	return max(0, left)
}

// Worth returns what a plan for the shop is worth with the wood it leaves: the
// parts, and the kept offcuts at the rules' rate, less the boards it cuts up at
// the same rate. Without a rate it is the value of the parts. It has a meaning
// under MostValue only.
func (s Shop) Worth(p ShopPlan) float64 {
	sum := float64(p.Plan.Value + p.OffcutValue)
	for _, b := range p.Boards {
		board := s.Boards[b.Board]
		sum -= s.Rules.OffcutRate * volume(board.Thickness, board.Length, board.Width)
	}
	return sum
}

// ArrangeShop moves the parts of each board that p still means to cut so that
// its cuts meet as little metal as can be found, and, with a rate, so that the
// offcuts kept of it are worth the most, and then so that its cuts are fewer.
// What each board makes stays the same. p
// must be a plan for s, one copy of each board. A board that ctx leaves no time
// for stays as it is. Errors match ErrInstance or ErrPlan.
func ArrangeShop(ctx context.Context, s Shop, p ShopPlan, opts Options) (ShopPlan, error) {
	g, err := s.gridderOf(p)
	if err != nil {
		return p, err
	}
	plan := p.Plan
	plan.Placements = slices.Clone(plan.Placements)
	open := map[int]bool{}
	for _, b := range p.Boards {
		open[b.Board] = true
	}
	byBoard := map[int][]int{}
	var done [][2]int
	for i, pl := range plan.Placements {
		if !open[p.FromBoard[pl.Board]] {
			done = append(done, [2]int{pl.Board, pl.Copy})
			continue
		}
		byBoard[pl.Board] = append(byBoard[pl.Board], i)
	}
	if err := g.arrangeAll(ctx, p.Instance, &plan, byBoard, opts); err != nil {
		return p, err
	}
	return g.finish(p.Instance, plan, done)
}

// arrangeAll arranges board by board, several at once: each has placements of
// its own.
func (g *gridder) arrangeAll(ctx context.Context, in Instance, plan *Plan, byBoard map[int][]int, opts Options) error {
	workers := opts.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	opts.Workers = 1                 // one board is no work for two
	for _, places := range byBoard { // at once, should time run out
		if ctx.Err() == nil {
			g.tuckIn(in, plan, places, boxesOf(in, plan, places))
		}
	}
	faults := make([]error, len(in.Boards))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range workers {
		wait.Go(func() {
			for board := int(next.Add(1)) - 1; board < len(in.Boards) && ctx.Err() == nil; board = int(next.Add(1)) - 1 {
				if places := byBoard[board]; len(places) > 0 {
					faults[board] = g.arrange(ctx, in, plan, places, opts)
				}
			}
		})
	}
	wait.Wait()
	return errors.Join(faults...)
}

// arrange finds other places for the parts of one board and takes them if
// their cuts meet less metal, or as much and leave more worth keeping, or as
// much of both and are fewer.
func (g *gridder) arrange(ctx context.Context, in Instance, plan *Plan, places []int, opts Options) error {
	boxes, err := g.anew(ctx, in, plan, places, opts)
	if err == nil {
		g.tuckIn(in, plan, places, boxes)
	}
	return err
}

// tuckIn puts the boxes, tucked, into the placements of their board.
func (g *gridder) tuckIn(in Instance, plan *Plan, places []int, boxes []box) {
	for i, b := range g.tuck(in, plan.Placements[places[0]].Board, boxes) {
		p := &plan.Placements[places[i]]
		p.Part, p.X, p.Y = b.part, b.x, b.y
	}
}

func boxesOf(in Instance, plan *Plan, places []int) []box {
	out := make([]box, len(places))
	for i, p := range places {
		out[i] = boxOf(in, plan.Placements[p])
	}
	return out
}

// anew plans a board afresh for what it makes and for offcuts, and returns its
// boxes, as they are where nothing better is found.
func (g *gridder) anew(ctx context.Context, in Instance, plan *Plan, places []int, opts Options) ([]box, error) {
	board := plan.Placements[places[0]].Board
	h, boxes := g.hazardsOn(board, in.Boards[board]), boxesOf(in, plan, places)
	met, worth := h.met(in, board, boxes), g.s.Rules.OffcutRate > 0 && g.mayLeave(in.Boards[board], boxes)
	if !worth && met == 0 {
		return boxes, nil
	}
	one, parts := g.alone(in, plan, places)
	found, err := Solve(ctx, one, opts)
	if err != nil {
		return nil, err
	}
	var fresh []box
	for _, pl := range found.Placements {
		if pl.Part < len(parts) {
			pl.Part = parts[pl.Part]
			fresh = append(fresh, boxOf(in, pl))
		}
	}
	if len(fresh) != len(boxes) {
		return boxes, nil // out of time
	}
	fresh = slide(in, board, fresh, h)
	now := h.met(in, board, fresh)
	if now > met || now == met && (!worth || g.leaves(in, board, fresh) <= g.leaves(in, board, boxes)) {
		return boxes, nil
	}
	return fresh, nil
}

// tuck returns the boxes of a board slid so that fewer cuts free them: a strip
// that ends just before the board's edge is pushed to it, so that nothing is
// trimmed off. No more metal is met and no less is left that is worth keeping.
// It looks at all levels of the cuts, then at the first alone.
func (g *gridder) tuck(in Instance, board int, boxes []box) []box {
	b := in.Boards[board]
	h := g.hazardsOn(board, b)
	was, left := h.of(in, board, boxes), g.leaves(in, board, boxes)
	order := make([]int, len(boxes))
	for i := range order {
		order[i] = i
	}
	first := RipCut
	if in.Pattern.flipped() {
		first = CrossCut
	}
	m := &slider{in: in, board: b, hazards: h}
	for _, levels := range []int{m.levelsOf(len(boxes)), 1} {
		m.at = slices.Clone(boxes)
		m.level(area{0, 0, b.Length, b.Width}, order, first, levels)
		if h.of(in, board, m.at) < was && g.leaves(in, board, m.at) >= left && checkBoard(in, board, slices.Clone(m.at)) == nil {
			return m.at
		}
	}
	return boxes
}

// mayLeave reports whether what a board does not make is enough, all in one
// piece, for an offcut to keep.
func (g *gridder) mayLeave(b Board, boxes []box) bool {
	r := g.s.Rules
	if r.OffcutLength == 0 || r.OffcutWidth == 0 {
		return false
	}
	waste := b.Length * b.Width
	for _, x := range boxes {
		waste -= x.dx * x.dy
	}
	return waste >= up(r.OffcutLength, g.grid.X)*up(r.OffcutWidth, g.grid.Y)
}

func boxOf(in Instance, p Placement) box {
	return box{p.X, p.Y, in.Parts[p.Part].Length, in.Parts[p.Part].Width, p.Part}
}

// leaves is what the kept offcuts of a board are worth, in square ticks.
func (g *gridder) leaves(in Instance, board int, boxes []box) (sum int) {
	s, _ := sawOne(in, board, boxes)
	b := in.Boards[board]
	for _, w := range s.waste {
		if piece := g.piece(board, w); g.s.Rules.keeps(piece.DX, piece.DY) {
			sum += clearOf(b, w)
		}
	}
	return sum
}

// alone is the instance of one board that makes again what the plan makes of
// it, and offcuts that count by their area; parts are the plan's.
func (g *gridder) alone(in Instance, plan *Plan, places []int) (one Instance, parts []int) {
	count := map[int]int{}
	for _, p := range places {
		part := plan.Placements[p].Part
		if count[part]++; count[part] == 1 {
			parts = append(parts, part)
		}
	}
	b := in.Boards[plan.Placements[places[0]].Board]
	b.Count = 1
	one = Instance{Pattern: in.Pattern, Objective: MaxValue, Kerf: in.Kerf, Boards: []Board{b}}
	for _, part := range parts {
		p := in.Parts[part]
		p.ID, p.Value, p.Min, p.Max = len(one.Parts), b.Length*b.Width+1, count[part], count[part]
		one.Parts = append(one.Parts, p)
	}
	g.addOffcuts(&one, arrangeSteps, func(l, w int) int { return l * w })
	return one, parts
}

// In what multiples of the smallest offcut larger ones are offered to the
// planner, along and across: together they make up any length to a half of it.
var (
	arrangeSteps = []float64{1, 1.5, 2, 3, 4, 6}
	batchSteps   = []float64{1, 1.5, 3}
)

// addOffcuts adds pieces to keep as parts without number: multiples of the
// smallest one, and, since a pattern's first cuts fit its pieces to parts, as
// wide (or, crosscut first, as long) as each part.
func (g *gridder) addOffcuts(in *Instance, steps []float64, value func(l, w int) int) {
	r := g.s.Rules
	least, narrow := up(r.OffcutLength, g.grid.X), up(r.OffcutWidth, g.grid.Y)
	lengths, widths := []int{}, []int{narrow}
	for _, s := range steps {
		lengths = append(lengths, int(math.Ceil(s*float64(least))))
	}
	if in.Pattern.flipped() {
		lengths, widths = []int{least}, widths[:0]
		for _, s := range steps {
			widths = append(widths, int(math.Ceil(s*float64(narrow))))
		}
	}
	for _, p := range in.Parts {
		if in.Pattern.flipped() && p.Length > least {
			lengths = append(lengths, p.Length)
		} else if !in.Pattern.flipped() && p.Width > narrow {
			widths = append(widths, p.Width)
		}
	}
	slices.Sort(lengths)
	slices.Sort(widths)
	for _, w := range slices.Compact(widths) {
		for _, l := range slices.Compact(lengths) {
			if v := value(l, w); v > 0 {
				in.Parts = append(in.Parts, Part{ID: len(in.Parts), Length: l, Width: w, Value: v, Max: Unlimited})
			}
		}
	}
}
