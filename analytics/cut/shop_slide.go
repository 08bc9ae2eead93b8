package cut

import "slices"

// stand is a place that a group may take: how much metal the cuts up to it
// meet, how far the groups up to it have moved, and the place before it.
type stand struct {
	at, met, moved int
	before         int
}

// places finds for groups, in their order within p, the places where the cuts
// between and around them meet the least metal, among those the least moving,
// with what that comes to; ok is false where they do not fit in that order.
// A best plan can be pushed towards the low edge until each group stands where
// it was, at the edge, behind a defect, where its cut begins behind metal, or a
// kerf behind the group before; only such places are tried.
func (m *slider) places(p area, groups [][]int, kind CutKind) (at []int, end stand, ok bool) {
	low, size := kind.span(p.x, p.y, p.dx, p.dy)
	edge, kerf := low+size, m.in.Kerf.of(kind)
	var table [][]stand
	behind := 0 // from where the group before stands to where the next may
	for i, g := range groups {
		from, to := m.extent(g, kind)
		long := to - from
		stands := m.standing(low, g, kind)
		if i > 0 {
			for _, s := range table[i-1] {
				stands = append(stands, s.at+behind)
			}
		}
		behind = long + kerf
		slices.Sort(stands)
		var found []stand
		for _, at := range slices.Compact(stands) {
			if at < low || at+long > edge || !m.free(g, kind, at-from) {
				continue
			}
			s := stand{at: at, moved: abs(at - from), before: -1}
			if i == 0 {
				s.met = m.metBelow(p, kind, low, at)
			} else if !m.chain(&s, table[i-1], func(before int) int {
				prevFrom, prevTo := m.extent(groups[i-1], kind)
				over := before + prevTo - prevFrom
				if at < over+kerf {
					return -1
				}
				return m.met(p, kind, over, kerf) + m.metBelow(p, kind, over+kerf, at)
			}) {
				continue
			}
			if i == len(groups)-1 && at+long < edge {
				s.met += m.met(p, kind, at+long, min(kerf, edge-at-long))
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

// chain ties a place to the best one before it; cost is the metal met between
// the two, below 0 where they are too near.
func (m *slider) chain(s *stand, before []stand, cost func(at int) int) bool {
	best := stand{before: -1}
	for i, b := range before {
		c := cost(b.at)
		if c < 0 {
			continue
		}
		if one := (stand{met: b.met + c, moved: b.moved, before: i}); best.before < 0 || one.met < best.met || one.met == best.met && one.moved < best.moved {
			best = one
		}
	}
	s.met, s.before, s.moved = s.met+best.met, best.before, s.moved+best.moved
	return best.before >= 0
}

// trace reads the best places back, and what they come to.
func trace(table [][]stand) (at []int, end stand) {
	last := table[len(table)-1]
	pick := 0
	for j, s := range last {
		if b := last[pick]; s.met < b.met || s.met == b.met && s.moved < b.moved {
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

// standing lists the places of a group that are worth trying, but for those right
// behind the group before.
func (m *slider) standing(low int, g []int, kind CutKind) []int {
	from, to := m.extent(g, kind)
	kerf := m.in.Kerf.of(kind)
	out := []int{low, from}
	for _, a := range m.metal {
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

// met counts the metal in a kerf that begins at a place of p.
func (m *slider) met(p area, kind CutKind, at, kerf int) (n int) {
	dust := p.part(kind, at, at+kerf)
	for _, a := range m.metal {
		if dust.meets(a) {
			n++
		}
	}
	return n
}

// metBelow counts the metal in the cut that takes off what lies between the
// place behind a cut and the next group, if anything does.
func (m *slider) metBelow(p area, kind CutKind, behind, at int) int {
	if at <= behind {
		return 0
	}
	kerf := min(m.in.Kerf.of(kind), at-behind)
	return m.met(p, kind, at-kerf, kerf)
}

func abs(n int) int { return max(n, -n) }
