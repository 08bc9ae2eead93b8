package cut

import (
	"cmp"
	"math"
	"slices"

	"skepwood/analytics/wood"
)

// besideMetal is how near a cut may come to metal: as near as one does that
// runs right beside a part which keeps its clearance.
func (r Rules) besideMetal(kerf wood.Length) wood.Length { return max(0, r.Clearance-kerf) }

// metalOn returns where metal lies on an instance board, grown by a margin, in
// ticks, rounded outward.
func (g *gridder) metalOn(board int, b Board, x, y wood.Length) []area {
	bare := &gridder{grid: g.grid}
	var out []area
	for _, d := range g.s.Boards[g.from[board]].Defects {
		if !d.Metal {
			continue
		}
		d.X, d.DX, d.Y, d.DY = d.X-x, d.DX+2*x, d.Y-y, d.DY+2*y
		if spot, on := bare.defect(d, g.starts[board], b); on {
			out = append(out, area{spot.X, spot.Y, spot.DX, spot.DY})
		}
	}
	return out
}

// hazards are a board's metal, and round it what no cut should come into
// without need.
type hazards struct{ metal, near []area }

func (g *gridder) hazardsOn(board int, b Board) hazards {
	r := g.s.Rules
	return hazards{g.metalOn(board, b, 0, 0), g.metalOn(board, b, r.besideMetal(r.CrosscutKerf), r.besideMetal(r.RipKerf))}
}

// What a cut costs that meets metal, one more cut, and a cut that comes near
// metal: a sliver is not sawn off for the sake of a near miss.
const (
	costMetal = 1_000_000
	costCut   = 1_000
	costNear  = 1
)

// cost is what a kerf meets.
func (h hazards) cost(kerf area) (n int) {
	for _, a := range h.metal {
		if kerf.meets(a) {
			n += costMetal
		}
	}
	for _, a := range h.near {
		if kerf.meets(a) {
			n += costNear
		}
	}
	return n
}

// of adds up the cuts of a board; boxes that cannot be cut cost more than any.
func (h hazards) of(in Instance, board int, boxes []box) int {
	s, ok := sawOne(in, board, boxes)
	if !ok {
		return math.MaxInt
	}
	n := costCut * len(s.steps)
	for _, st := range s.steps {
		n += h.cost(st.kerf())
	}
	return n
}

// met counts how often the cuts of a board meet metal.
func (h hazards) met(in Instance, board int, boxes []box) int {
	return h.of(in, board, boxes) / costMetal
}

// clearMetal moves parts within the spare wood of their boards where a cut
// would meet metal, as far as that helps. What the plan makes stays the same.
func (g *gridder) clearMetal(in Instance, plan *Plan, done [][2]int) {
	at := map[[2]int][]int{}
	for i, p := range plan.Placements {
		key := [2]int{p.Board, p.Copy}
		at[key] = append(at[key], i)
	}
	for key, places := range at {
		h := g.hazardsOn(key[0], in.Boards[key[0]])
		if len(h.metal) == 0 || slices.Contains(done, key) {
			continue
		}
		boxes := make([]box, len(places))
		for i, p := range places {
			pl := plan.Placements[p]
			boxes[i] = box{pl.X, pl.Y, in.Parts[pl.Part].Length, in.Parts[pl.Part].Width, pl.Part}
		}
		moved := slide(in, key[0], boxes, h)
		for i, p := range places {
			plan.Placements[p].X, plan.Placements[p].Y = moved[i].x, moved[i].y
		}
	}
}

// slide returns the boxes of a board, in their order, moved so that fewer cuts
// meet metal or, with no more cuts, come near it; the boxes as they are where
// moving does not help. Level by level
// of the cuts, from the board down, the pieces of each slide along it and, where
// they are few, change places: which order and places meet the least metal is
// found exactly, among equals the fewest cuts, then the least moving. A level does not look ahead to
// the next.
func slide(in Instance, board int, boxes []box, h hazards) []box {
	b := in.Boards[board]
	was := h.of(in, board, boxes)
	if was%costCut == 0 && was < costMetal {
		return boxes
	}
	m := &slider{in: in, board: b, hazards: h, at: slices.Clone(boxes)}
	order := make([]int, len(boxes))
	for i := range order {
		order[i] = i
	}
	first := RipCut
	if in.Pattern.flipped() {
		first = CrossCut
	}
	m.level(area{0, 0, b.Length, b.Width}, order, first, m.levelsOf(len(boxes)))
	if h.of(in, board, m.at) < was && checkBoard(in, board, slices.Clone(m.at)) == nil {
		return m.at
	}
	return boxes
}

// sawOne cuts one board and reports whether its boxes come free.
func sawOne(in Instance, board int, boxes []box) (*sawyer, bool) {
	s := &sawyer{in: in, board: board}
	first := RipCut
	if in.Pattern.flipped() {
		first = CrossCut
	}
	b := in.Boards[board]
	return s, s.saw(area{0, 0, b.Length, b.Width}, boxes, first, 1, false)
}

// kerf returns what the cut turns to dust.
func (s Step) kerf() area {
	if s.Kind == RipCut {
		return area{s.X, s.At, s.DX, s.Kerf}
	}
	return area{s.At, s.Y, s.Kerf, s.DY}
}

// meets reports whether two areas share a tick.
func (a area) meets(b area) bool {
	return a.x < b.x+b.dx && b.x < a.x+a.dx && a.y < b.y+b.dy && b.y < a.y+a.dy
}

// slider moves the boxes of one board.
type slider struct {
	in    Instance
	board Board
	hazards
	at []box
}

// levelsOf is how many levels of cuts may slide for so many boxes: under the
// trimming patterns the last one frees a part that lies against its strip's edge.
func (m *slider) levelsOf(boxes int) int {
	switch m.in.Pattern {
	case Rip2, Crosscut2, Rip2Trim, Crosscut2Trim:
		return 2
	case Rip3, Crosscut3:
		return 3
	}
	return 2 * boxes
}

// level slides the pieces that one kind of cut frees from an area, then goes on
// with each of them.
func (m *slider) level(p area, boxes []int, kind CutKind, left int) {
	if left == 0 || partOf(p, []box{m.at[boxes[0]]}) >= 0 {
		return // nothing is left to cut off
	}
	groups := m.groups(boxes, kind)
	if len(groups) == 1 && len(boxes) > 1 && left > 1 && m.idle(boxes, kind.other()) {
		return
	}
	groups, places := m.order(p, groups, kind)
	for i, g := range groups {
		from, to := m.extent(g, kind)
		for _, b := range g {
			if kind == RipCut {
				m.at[b].y += places[i] - from
			} else {
				m.at[b].x += places[i] - from
			}
		}
		m.level(p.part(kind, places[i], places[i]+to-from), g, kind.other(), left-1)
	}
}

// mostOrdered is how many pieces may change places: their orders are all tried.
const mostOrdered = 5

// order finds the order of the groups, and their places in it, that meet the
// least metal; where none is met as they stand, they keep their order.
func (m *slider) order(p area, groups [][]int, kind CutKind) (best [][]int, places []int) {
	var least stand
	l, slides := m.newLane(p, groups, kind)
	most := math.MaxInt // no order that costs more is of use
	try := func(order []*sliding) {
		at, end, ok := l.places(order, most)
		if ok && (places == nil || end.better(least)) {
			best, places, least, most = best[:0], at, end, end.cost
			for _, s := range order {
				best = append(best, s.boxes)
			}
		}
	}
	try(slides) // as they are: everything may stay
	if least.cost >= costMetal && len(groups) <= mostOrdered {
		permute(slides, 0, try)
	}
	return best, places
}

// permute tries every order of a list from i on.
func permute[T any](list []T, i int, try func([]T)) {
	if i == len(list) {
		try(list)
		return
	}
	for j := i; j < len(list); j++ {
		list[i], list[j] = list[j], list[i]
		permute(list, i+1, try)
		list[i], list[j] = list[j], list[i]
	}
}

// idle reports whether neither kind of cut parts the boxes: then nothing does.
func (m *slider) idle(boxes []int, other CutKind) bool { return len(m.groups(boxes, other)) == 1 }

// groups parts boxes wherever a cut of the kind passes between them, in order.
func (m *slider) groups(boxes []int, kind CutKind) [][]int {
	low := func(i int) (int, int) { return kind.span(m.at[i].x, m.at[i].y, m.at[i].dx, m.at[i].dy) }
	sorted := slices.Clone(boxes)
	slices.SortStableFunc(sorted, func(a, b int) int {
		x, _ := low(a)
		y, _ := low(b)
		return cmp.Compare(x, y)
	})
	var groups [][]int
	end := 0
	for i, b := range sorted {
		at, size := low(b)
		if i == 0 || at >= end+m.in.Kerf.of(kind) {
			groups = append(groups, nil)
			end = at + size
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], b)
		end = max(end, at+size)
	}
	return groups
}

// extent returns from where to where boxes reach across a kind of cut.
func (m *slider) extent(boxes []int, kind CutKind) (from, to int) {
	from = math.MaxInt
	for _, b := range boxes {
		at, size := kind.span(m.at[b].x, m.at[b].y, m.at[b].dx, m.at[b].dy)
		from, to = min(from, at), max(to, at+size)
	}
	return from, to
}
