package cut

import (
	"cmp"
	"fmt"
	"slices"
)

// CutKind says which saw makes a cut.
type CutKind string

// The two kinds of cut.
const (
	// RipCut runs along the grain; its fence distance is a width.
	RipCut CutKind = "rip"
	// CrossCut runs across the grain; its stop distance is a length.
	CrossCut CutKind = "crosscut"
)

// Step is one saw cut, made on the piece X, Y, DX, DY of a copy of a board.
// The kerf begins At ticks from the board's low edge across the cut and is
// Kerf wide, less where it runs off the piece. Fence is the size of the piece
// between fence and blade: what the cut frees at the low side or, where it
// only trims the low side by no more than a kerf, the rest. Part is the part
// that the freed piece is, Rest the part that what remains is, -1 for none;
// Waste says that the freed piece is waste.
type Step struct {
	Board, Copy  int
	Stage        int
	Kind         CutKind
	Fence        int
	X, Y, DX, DY int
	At, Kerf     int
	Part, Rest   int
	Waste        bool
}

// area is a rectangle on a board.
type area struct{ x, y, dx, dy int }

// sawyer works out the cuts of one board copy.
type sawyer struct {
	in          Instance
	board, copy int
	steps       []Step
	waste       []area
}

// Steps lists the saw cuts of a plan board by board, each board's in an order
// in which they can be made: stage by stage, from the low edge up. The plan
// must pass Check; errors match ErrPlan.
func Steps(in Instance, plan Plan) ([]Step, error) {
	sawyers, err := sawAll(in, plan)
	if err != nil {
		return nil, err
	}
	var steps []Step
	for _, s := range sawyers {
		steps = append(steps, s.steps...)
	}
	return steps, nil
}

// sawAll cuts every board copy that the plan uses, in order.
func sawAll(in Instance, plan Plan) ([]*sawyer, error) {
	if err := checkPlaces(in, plan.Placements); err != nil {
		return nil, err
	}
	byCopy := map[[2]int][]box{}
	var order [][2]int
	for _, p := range plan.Placements {
		key := [2]int{p.Board, p.Copy}
		if byCopy[key] == nil {
			order = append(order, key)
		}
		byCopy[key] = append(byCopy[key], box{p.X, p.Y, in.Parts[p.Part].Length, in.Parts[p.Part].Width, p.Part})
	}
	slices.SortFunc(order, func(a, b [2]int) int { return cmp.Or(a[0]-b[0], a[1]-b[1]) })
	var all []*sawyer
	for _, key := range order {
		s := &sawyer{in: in, board: key[0], copy: key[1]}
		b := in.Boards[key[0]]
		first := RipCut
		if in.Pattern.flipped() {
			first = CrossCut
		}
		if !s.saw(area{0, 0, b.Length, b.Width}, byCopy[key], first, 1, false) {
			return nil, &PlanError{key[0], -1, fmt.Sprintf("parts cannot be freed by %s cuts with their kerf", in.Pattern)}
		}
		slices.SortStableFunc(s.steps, func(a, b Step) int { return a.Stage - b.Stage })
		all = append(all, s)
	}
	return all, nil
}

// span returns a box's or piece's low edge and size across a kind of cut.
func (k CutKind) span(x, y, dx, dy int) (at, size int) {
	if k == RipCut {
		return y, dy
	}
	return x, dx
}

// other returns the other kind of cut.
func (k CutKind) other() CutKind {
	if k == RipCut {
		return CrossCut
	}
	return RipCut
}

// of returns the kerf of a kind of cut.
func (k Kerf) of(kind CutKind) int {
	if kind == RipCut {
		return k.Rip
	}
	return k.Crosscut
}

// saw frees the boxes of a piece by cuts of one kind, then turns to the other
// kind on the pieces. idle says that the stage before freed nothing; twice in
// a row means that nothing can.
func (s *sawyer) saw(p area, boxes []box, kind CutKind, stage int, idle bool) bool {
	if len(boxes) == 1 && p == (area{boxes[0].x, boxes[0].y, boxes[0].dx, boxes[0].dy}) {
		return true
	}
	groups := s.layers(boxes, kind)
	before := len(s.steps)
	type piece struct {
		area
		boxes []box
	}
	var pieces []piece
	low, size := kind.span(p.x, p.y, p.dx, p.dy)
	end, at := low+size, low
	for i, g := range groups {
		from, to := s.extent(g, kind)
		whole := p.part(kind, at, end)
		if from > at { // waste below the first box
			s.cutWaste(whole, kind, stage, at, from, end)
			whole = p.part(kind, from, end)
		}
		mine := p.part(kind, from, to)
		if to < end {
			s.steps = append(s.steps, Step{Board: s.board, Copy: s.copy, Stage: stage, Kind: kind, Fence: to - from,
				X: whole.x, Y: whole.y, DX: whole.dx, DY: whole.dy, At: to, Kerf: min(s.in.Kerf.of(kind), end-to),
				Part: partOf(mine, g), Rest: -1})
		} else if n := len(s.steps); n > before {
			s.steps[n-1].Rest = partOf(mine, g)
		}
		at = min(end, to+s.in.Kerf.of(kind))
		if i == len(groups)-1 && at < end {
			s.waste = append(s.waste, p.part(kind, at, end))
		}
		pieces = append(pieces, piece{mine, g})
	}
	freed := len(s.steps) > before
	if !freed && idle {
		return false
	}
	next := stage
	if freed {
		next++
	}
	for _, piece := range pieces {
		if !s.saw(piece.area, piece.boxes, kind.other(), next, !freed) {
			return false
		}
	}
	return true
}

// cutWaste cuts off what lies below the first box. No more than a kerf of it
// is only trimmed away, with the rest against the fence.
func (s *sawyer) cutWaste(whole area, kind CutKind, stage, at, from, end int) {
	kerf := s.in.Kerf.of(kind)
	st := Step{Board: s.board, Copy: s.copy, Stage: stage, Kind: kind, Fence: from - at - kerf,
		X: whole.x, Y: whole.y, DX: whole.dx, DY: whole.dy, At: from - kerf, Kerf: kerf, Part: -1, Rest: -1, Waste: true}
	if st.Fence <= 0 {
		st.Fence, st.At, st.Kerf = end-from, at, from-at
	} else {
		s.waste = append(s.waste, whole.part(kind, at, from-kerf))
	}
	s.steps = append(s.steps, st)
}

// part returns the part of a piece between two places across a kind of cut.
func (p area) part(kind CutKind, from, to int) area {
	if kind == RipCut {
		return area{p.x, from, p.dx, to - from}
	}
	return area{from, p.y, to - from, p.dy}
}

// partOf returns the part that a piece is, or -1.
func partOf(p area, boxes []box) int {
	if b := boxes[0]; len(boxes) == 1 && p == (area{b.x, b.y, b.dx, b.dy}) {
		return b.part
	}
	return -1
}

// layers parts boxes wherever a cut of the kind passes between them.
func (s *sawyer) layers(boxes []box, kind CutKind) [][]box {
	low := func(b box) int { at, _ := kind.span(b.x, b.y, b.dx, b.dy); return at }
	sorted := slices.Clone(boxes)
	slices.SortStableFunc(sorted, func(a, b box) int { return low(a) - low(b) })
	var groups [][]box
	end := 0
	for i, b := range sorted {
		at, size := kind.span(b.x, b.y, b.dx, b.dy)
		if i == 0 || at >= end+s.in.Kerf.of(kind) {
			groups = append(groups, nil)
			end = at + size
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], b)
		end = max(end, at+size)
	}
	return groups
}

// extent returns from where to where boxes reach across a kind of cut.
func (s *sawyer) extent(boxes []box, kind CutKind) (from, to int) {
	for i, b := range boxes {
		at, size := kind.span(b.x, b.y, b.dx, b.dy)
		if i == 0 || at < from {
			from = at
		}
		to = max(to, at+size)
	}
	return from, to
}
