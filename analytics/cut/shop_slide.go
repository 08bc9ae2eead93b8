package cut

import "slices"

// stand is a place that a group may take: what the cuts up to it cost
// in metal met and in cuts, how far the groups up to it have moved, and the place before it.
type stand struct {
	at, cost, moved int
	before          int
}

// places finds for groups, in their order within p, the places where the cuts
// between and around them cost the least, among those with the least moving,
// with what that comes to; ok is false where they do not fit in that order.
func (m *slider) places(p area, groups [][]int, kind CutKind) (at []int, end stand, ok bool) {
	low, size := kind.span(p.x, p.y, p.dx, p.dy)
	edge, kerf := low+size, m.in.Kerf.of(kind)
	var table [][]stand
	for i, tries := range m.tries(low, edge, groups, kind) {
		g := groups[i]
		from, to := m.extent(g, kind)
		long := to - from
		var found []stand
		for _, at := range tries {
			if at < low || at+long > edge || !m.free(g, kind, at-from) {
				continue
			}
			s := stand{at: at, moved: abs(at - from), before: -1}
			if i == 0 {
				s.cost = m.below(p, kind, low, at)
			} else if !m.chain(&s, table[i-1], func(before int) int {
				prevFrom, prevTo := m.extent(groups[i-1], kind)
				over := before + prevTo - prevFrom
				if at < over+kerf {
					return -1
				}
				return m.dust(p, kind, over, kerf) + m.below(p, kind, over+kerf, at)
			}) {
				continue
			}
			if i == len(groups)-1 && at+long < edge {
				s.cost += costCut + m.dust(p, kind, at+long, min(kerf, edge-at-long))
			}
			found = append(found, s)
		}
		if len(found) == 0 {
			return nil, end, false
		}
		table = append(table, found)
	}
	at, end = trace(table)
	return at, end, true
}

// tries lists the places of each group that are worth trying. In a best plan
// groups stand in blocks, a kerf apart, and a block can be pushed towards the
// low edge until one of its groups stands at an edge, behind a defect, or where
// one of its cuts begins behind metal; where groups stood is tried too.
func (m *slider) tries(low, edge int, groups [][]int, kind CutKind) [][]int {
	out, kerf := make([][]int, len(groups)), m.in.Kerf.of(kind)
	long := func(i int) int {
		from, to := m.extent(groups[i], kind)
		return to - from
	}
	for i, g := range groups {
		out[i] = append(m.standing(g, kind), low, edge-long(i))
		if i > 0 {
			for _, at := range out[i-1] {
				out[i] = append(out[i], at+long(i-1)+kerf)
			}
		}
	}
	for i := len(groups) - 1; i >= 0; i-- {
		if i+1 < len(groups) {
			for _, at := range out[i+1] {
				out[i] = append(out[i], at-kerf-long(i))
			}
		}
		slices.Sort(out[i])
		out[i] = slices.Compact(out[i])
	}
	return out
}

// chain ties a place to the best one before it; cost is that of the cuts between
// the two, below 0 where they are too near.
func (m *slider) chain(s *stand, before []stand, cost func(at int) int) bool {
	best := stand{before: -1}
	for i, b := range before {
		c := cost(b.at)
		if c < 0 {
			continue
		}
		if one := (stand{cost: b.cost + c, moved: b.moved, before: i}); best.before < 0 || one.cost < best.cost || one.cost == best.cost && one.moved < best.moved {
			best = one
		}
	}
	s.cost, s.before, s.moved = s.cost+best.cost, best.before, s.moved+best.moved
	return best.before >= 0
}

// trace reads the best places back, and what they come to.
func trace(table [][]stand) (at []int, end stand) {
	last := table[len(table)-1]
	pick := 0
	for j, s := range last {
		if b := last[pick]; s.cost < b.cost || s.cost == b.cost && s.moved < b.moved {
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
	out := []int{from}
	for _, a := range slices.Concat(m.metal, m.near) {
		at, size := kind.span(a.x, a.y, a.dx, a.dy)
		out = append(out, at+size+kerf, at+size-(to-from))
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

// dust is what a kerf costs that begins at a place of p.
func (m *slider) dust(p area, kind CutKind, at, kerf int) int {
	return m.cost(p.part(kind, at, at+kerf))
}

// below is what the cut costs that takes off what lies between the place behind
// a cut and the next group, if anything does.
func (m *slider) below(p area, kind CutKind, behind, at int) int {
	if at <= behind {
		return 0
	}
	kerf := min(m.in.Kerf.of(kind), at-behind)
	return costCut + m.dust(p, kind, at-kerf, kerf)
}

func abs(n int) int { return max(n, -n) }
