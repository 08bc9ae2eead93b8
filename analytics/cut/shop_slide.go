package cut

import (
	"math"
	"slices"
)

// stand is a place that a group may take: what the cuts up to it cost
// in metal met and in cuts, how far the groups up to it have moved, and the place before it.
type stand struct {
	at, cost, moved int
	before          int
}

// better reports whether a place costs less, or as much with less moving.
func (s stand) better(than stand) bool {
	return s.cost < than.cost || s.cost == than.cost && s.moved < than.moved
}

// lane is an area in which groups slide across one kind of cut. What every
// order of the groups asks for again is worked out once.
type lane struct {
	m               *slider
	p               area
	kind            CutKind
	low, edge, kerf int
	kerfs           []int // by place from low on: what a whole kerf there costs
}

// sliding is a group of boxes that move together.
type sliding struct {
	boxes    []int
	from, to int    // from where to where it reaches as it stands
	asked    []int  // the places that it, metal and defects ask for, ascending
	known    []int8 // by place from the lane's low edge on: 1 free, -1 not, 0 not yet looked at
}

func (s *sliding) long() int { return s.to - s.from }

// newLane prepares an area and the groups that slide in it.
func (m *slider) newLane(p area, groups [][]int, kind CutKind) (*lane, []*sliding) {
	low, size := kind.span(p.x, p.y, p.dx, p.dy)
	l := &lane{m: m, p: p, kind: kind, low: low, edge: low + size, kerf: m.in.Kerf.of(kind)}
	l.kerfs = make([]int, size+2)
	l.mark(m.metal, costMetal)
	l.mark(m.near, costNear)
	for i := range size + 1 {
		l.kerfs[i+1] += l.kerfs[i]
	}
	out := make([]*sliding, len(groups))
	for i, g := range groups {
		s := &sliding{boxes: g, known: make([]int8, size+1)}
		s.from, s.to = m.extent(g, kind)
		s.asked = append(m.standing(g, kind), low, l.edge-s.long())
		slices.Sort(s.asked)
		s.asked = slices.Compact(s.asked)
		out[i] = s
	}
	return l, out
}

// mark adds to kerfs, as a step up and one down, the places where a whole kerf
// meets one of the areas.
func (l *lane) mark(areas []area, cost int) {
	across, wide := l.kind.other().span(l.p.x, l.p.y, l.p.dx, l.p.dy)
	for _, a := range areas {
		beside, size := l.kind.other().span(a.x, a.y, a.dx, a.dy)
		if across >= beside+size || beside >= across+wide {
			continue
		}
		at, size := l.kind.span(a.x, a.y, a.dx, a.dy)
		first, last := max(at-l.kerf+1, l.low), min(at+size-1, l.edge)
		if first <= last {
			l.kerfs[first-l.low] += cost
			l.kerfs[last+1-l.low] -= cost
		}
	}
}

// dust is what a kerf costs that begins at a place.
func (l *lane) dust(at, kerf int) int {
	if kerf == l.kerf {
		return l.kerfs[at-l.low]
	}
	return l.m.cost(l.p.part(l.kind, at, at+kerf))
}

// below is what the cut costs that takes off what lies between the place behind
// a cut and the next group, if anything does.
func (l *lane) below(behind, at int) int {
	if at <= behind {
		return 0
	}
	kerf := min(l.kerf, at-behind)
	return costCut + l.dust(at-kerf, kerf)
}

// free reports whether a group, moved to a place within the lane, lies on no
// defect.
func (l *lane) free(s *sliding, at int) bool {
	known := &s.known[at-l.low]
	if *known == 0 {
		*known = -1
		if l.m.free(s.boxes, l.kind, at-s.from) {
			*known = 1
		}
	}
	return *known > 0
}

// places finds for groups, in their order within the lane, the places where the
// cuts between and around them cost the least, among those with the least
// moving, with what that comes to; ok is false where they do not fit in that
// order or cost more than most.
func (l *lane) places(groups []*sliding, most int) (at []int, end stand, ok bool) {
	table := make([][]stand, 0, len(groups))
	for i, tries := range l.tries(groups) {
		g := groups[i]
		var found []stand
		add := func(s stand) {
			if i == len(groups)-1 && s.at+g.long() < l.edge {
				over := s.at + g.long()
				s.cost += costCut + l.dust(over, min(l.kerf, l.edge-over))
			}
			if s.cost <= most {
				found = append(found, s)
			}
		}
		c := &chain{}
		if i > 0 {
			c = l.chainFrom(table[i-1], groups[i-1].long())
		}
		for _, at := range tries {
			if at < l.low || at+g.long() > l.edge || !l.free(g, at) {
				continue
			}
			s, ok := stand{at: at, before: -1, cost: l.below(l.low, at)}, true
			if i > 0 {
				s, ok = c.to(at)
			}
			if ok {
				s.moved += abs(at - g.from)
				add(s)
			}
		}
		if len(found) == 0 {
			return nil, end, false
		}
		table = append(table, found)
	}
	at, end = trace(table)
	return at, end, true
}

// chain ties places, ascending, to the best ones before them. Between a place
// and one at least two kerfs behind it are two whole cuts, whose costs do not
// depend on each other: of those far ones the best is kept on the way.
type chain struct {
	l      *lane
	before []stand
	long   int // of the group before
	next   int // the first place before that is not far
	far    stand
}

func (l *lane) chainFrom(before []stand, long int) *chain {
	return &chain{l: l, before: before, long: long, far: stand{before: -1}}
}

// to ties a place, no lower than the one asked for before.
func (c *chain) to(at int) (best stand, ok bool) {
	l := c.l
	for ; c.next < len(c.before); c.next++ {
		b := c.before[c.next]
		over := b.at + c.long
		if over+max(2*l.kerf, l.kerf+1) > at {
			break
		}
		if s := (stand{cost: b.cost + l.dust(over, l.kerf), moved: b.moved, before: c.next}); c.far.before < 0 || s.better(c.far) {
			c.far = s
		}
	}
	best = c.far
	if best.before >= 0 {
		best.cost += costCut + l.dust(at-l.kerf, l.kerf)
	}
	for i := c.next; i < len(c.before); i++ {
		b := c.before[i]
		over := b.at + c.long
		if over+l.kerf > at {
			break
		}
		s := stand{cost: b.cost + l.dust(over, l.kerf) + l.below(over+l.kerf, at), moved: b.moved, before: i}
		if best.before < 0 || s.better(best) {
			best = s
		}
	}
	best.at = at
	return best, best.before >= 0
}

// tries lists the places of each group that are worth trying, ascending. In a
// best plan groups stand in blocks, a kerf apart, and a block can be pushed
// towards the low edge until one of its groups stands at an edge, behind a
// defect, or where one of its cuts begins behind metal; where groups stood is
// tried too.
func (l *lane) tries(groups []*sliding) [][]int {
	out := make([][]int, len(groups))
	for i, g := range groups {
		out[i] = g.asked
		if i > 0 {
			out[i] = union(g.asked, out[i-1], groups[i-1].long()+l.kerf)
		}
	}
	for i := len(groups) - 2; i >= 0; i-- {
		out[i] = union(out[i], out[i+1], -l.kerf-groups[i].long())
	}
	return out
}

// union merges two ascending lists without doubles; by is added to the second.
func union(a, b []int, by int) []int {
	out := make([]int, 0, len(a)+len(b))
	for len(a) > 0 || len(b) > 0 {
		next := math.MaxInt
		if len(a) > 0 {
			next = a[0]
		}
		if len(b) > 0 {
			next = min(next, b[0]+by)
		}
		if len(a) > 0 && a[0] == next {
			a = a[1:]
		}
		if len(b) > 0 && b[0]+by == next {
			b = b[1:]
		}
		out = append(out, next)
	}
	return out
}

// trace reads the best places back, and what they come to.
func trace(table [][]stand) (at []int, end stand) {
	last := table[len(table)-1]
	pick := 0
	for j, s := range last {
		if s.better(last[pick]) {
			pick = j
		}
	}
	end, at = last[pick], make([]int, len(table))
	for i := len(table) - 1; i >= 0; i-- {
		at[i] = table[i][pick].at
		pick = table[i][pick].before
	}
	return at, end
}

// standing lists the places of a group that it, metal and defects ask for.
func (m *slider) standing(g []int, kind CutKind) []int {
	from, to := m.extent(g, kind)
	kerf := m.in.Kerf.of(kind)
	out := append(make([]int, 0, 3+2*len(m.metal)+2*len(m.near)+len(g)*len(m.board.Defects)), from)
	for _, list := range [][]area{m.metal, m.near} {
		for _, a := range list {
			at, size := kind.span(a.x, a.y, a.dx, a.dy)
			out = append(out, at+size+kerf, at+size-(to-from))
		}
	}
	for _, b := range g {
		at, _ := kind.span(m.at[b].x, m.at[b].y, m.at[b].dx, m.at[b].dy)
		for _, d := range m.board.Defects {
			behind, size := kind.span(d.X, d.Y, d.DX, d.DY)
			out = append(out, behind+size-(at-from))
		}
	}
	return out
}

// free reports whether the boxes, moved by so many ticks, lie on no defect.
func (m *slider) free(g []int, kind CutKind, by int) bool {
	for _, b := range g {
		moved := m.at[b]
		if kind == RipCut {
			moved.y += by
		} else {
			moved.x += by
		}
		if _, hit := onDefect(m.board, m.in.Parts[moved.part], moved); hit {
			return false
		}
	}
	return true
}

func abs(n int) int { return max(n, -n) }
