package cut

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// The solver works in one orientation: strips run along u and are stacked
// along v. For rip patterns u is x; for crosscut patterns the axes are
// exchanged, so that one programme serves both.

// Face levels of an item: how many faces must be clear.
const levels = 3

// Defect faces as bits.
const (
	onTop     = 1
	onBottom  = 2
	isThrough = 4
)

// spot is a defect in solver orientation.
type spot struct {
	u, v, du, dv int
	face         uint8
}

// item is a part in solver orientation. worth is what a copy adds to the
// objective, want how many copies count. Several items may stand for one part.
type item struct {
	l, w  int
	level int
	part  int
	needs uint64
	worth float64
	want  int
}

// kind is a set of identical boards: the same size, cost, properties and
// defects. copies[i] names the boards, and each board's copies, in order.
type kind struct {
	L, W  int
	cost  float64
	has   uint64
	spots []spot
	count int
	slots []slot
	group int // index into problem.groups
}

// slot names copies of one board of the instance: count of them.
type slot struct{ board, count int }

// problem is an instance in solver terms: maximise the worth of parts made, up
// to want of each, less the cost of boards used. Cheapest boards is the same
// with a worth so large that lacking a part never pays.
type problem struct {
	in     Instance
	flip   bool
	ku, kv int
	items  []item
	kinds  []kind
	groups []group
	// base is the worth of all copies that must be made: the cost of a
	// complete MinBoardCost plan is base less its solver value, the value of a
	// complete MaxValue plan is its solver value less base.
	base float64
	// penalty is what lacking one copy that must be made costs.
	penalty float64
	// shade is the sum of small costs laid on boards so that, where all that
	// is wanted fits, plans that use less wood come first; it is less than
	// half a grain.
	shade float64
	stop  func() bool
}

// group holds what boards with equal properties have in common: which items
// they may give, by width.
type group struct {
	has        uint64
	shelves    []shelf
	maxL, maxW int
}

// shelf is the items of one width.
type shelf struct {
	w     int
	items []int
}

// flipped reports whether the pattern works with exchanged axes.
func (p Pattern) flipped() bool {
	return p == Crosscut2 || p == Crosscut3 || p == Crosscut2Trim
}

// newProblem turns a valid instance into solver terms.
func newProblem(in Instance, penalty float64) *problem {
	p := &problem{in: in, flip: in.Pattern.flipped(), penalty: penalty, stop: func() bool { return false }, ku: in.Kerf.Crosscut, kv: in.Kerf.Rip}
	if p.flip {
		p.ku, p.kv = p.kv, p.ku
	}
	p.addKinds()
	longest, widest := 1, 1
	for _, k := range p.kinds {
		longest, widest = max(longest, k.L), max(widest, k.W)
	}
	// A kerf as long as the longest board already keeps two parts apart.
	p.ku, p.kv = min(p.ku, longest), min(p.kv, widest)
	p.addItems()
	p.addGroups()
	return p
}

// addKinds gathers identical boards.
func (p *problem) addKinds() {
	index := map[string]int{}
	var key []byte
	for i, b := range p.in.Boards {
		k := kind{L: b.Length, W: b.Width, cost: 0, has: b.Has, spots: spotsOf(b, p.flip)}
		if p.flip {
			k.L, k.W = k.W, k.L
		}
		if p.in.Objective == MinBoardCost {
			k.cost = float64(b.Cost)
		}
		key = k.key(key[:0])
		at, known := index[string(key)]
		if !known {
			at = len(p.kinds)
			index[string(key)] = at
			p.kinds = append(p.kinds, k)
		}
		n := max(1, b.Count)
		p.kinds[at].count = min(Unlimited, p.kinds[at].count+n)
		p.kinds[at].slots = append(p.kinds[at].slots, slot{i, n})
	}
}

// key appends what makes a board alike to another one.
func (k *kind) key(key []byte) []byte {
	for _, n := range []uint64{uint64(k.L), uint64(k.W), uint64(k.cost), k.has} {
		key = binary.AppendUvarint(key, n)
	}
	for _, s := range k.spots {
		for _, n := range []int{s.u, s.v, s.du, s.dv, int(s.face)} {
			key = binary.AppendUvarint(key, uint64(n))
		}
	}
	return key
}

// shadeBoards lays costs on boards by area, in all as given.
func (p *problem) shadeBoards(total float64) {
	area := 0.0
	for i := range p.kinds {
		area += p.kinds[i].area() * float64(min(p.kinds[i].count, maxBoards))
	}
	for i := range p.kinds {
		p.kinds[i].cost += total * p.kinds[i].area() / area
	}
	p.shade += total
}

// area returns a board's area in square ticks.
func (k *kind) area() float64 { return float64(k.L) * float64(k.W) }

// spotsOf turns, and sorts, a board's defects, so that equal boards compare
// equal. Defects that another one covers are dropped.
func spotsOf(b Board, flip bool) []spot {
	spots := make([]spot, 0, len(b.Defects))
	for _, d := range b.Defects {
		s := spot{d.X, d.Y, d.DX, d.DY, isThrough}
		if flip {
			s = spot{d.Y, d.X, d.DY, d.DX, isThrough}
		}
		switch d.Face {
		case Top:
			s.face = onTop
		case Bottom:
			s.face = onBottom
		}
		spots = append(spots, s)
	}
	slices.SortFunc(spots, func(a, b spot) int {
		return cmp.Or(a.u-b.u, a.v-b.v, b.du-a.du, b.dv-a.dv, int(b.face)-int(a.face))
	})
	kept := spots[:0]
	for i, s := range spots {
		covered := slices.ContainsFunc(kept, s.coveredBy)
		for _, later := range spots[i+1:] {
			covered = covered || s != later && s.coveredBy(later)
		}
		if !covered {
			kept = append(kept, s)
		}
	}
	return slices.Clone(kept)
}

// coveredBy reports whether o spoils at least what s spoils.
func (s spot) coveredBy(o spot) bool {
	return (o.face == isThrough || o.face == s.face) &&
		o.u <= s.u && o.v <= s.v && o.u+o.du >= s.u+s.du && o.v+o.dv >= s.v+s.dv
}

// addItems turns parts into items with their worth. Copies that must be made
// are worth the penalty more.
func (p *problem) addItems() {
	for i, part := range p.in.Parts {
		it := item{l: part.Length, w: part.Width, level: part.Faces, part: i, needs: part.Needs}
		if p.flip {
			it.l, it.w = it.w, it.l
		}
		value, must, may := float64(part.Value), part.Min, part.Max-part.Min
		if p.in.Objective == MinBoardCost {
			value, must, may = 0, part.Max, 0
		}
		if must > 0 {
			it.worth, it.want = value+p.penalty, must
			p.base += p.penalty * float64(must)
			p.items = append(p.items, it)
		}
		if may > 0 && value > 0 {
			it.worth, it.want = value, may
			p.items = append(p.items, it)
		}
	}
}

// penalties returns a first and a last penalty for lacking a copy: the first
// is more than one more board costs or one part is worth, which is enough
// where wood is not scarce; the last is more than all there is to lose.
func penalties(in Instance) (first, last float64) {
	first, last = 1, 1
	for _, b := range in.Boards {
		if in.Objective == MinBoardCost {
			first = max(first, 2*float64(b.Cost)+1)
			last += float64(b.Cost) * float64(min(max(1, b.Count), 1000))
		}
	}
	for _, part := range in.Parts {
		if in.Objective == MaxValue {
			first = max(first, 2*float64(part.Value)+1)
			last += float64(part.Value) * float64(min(part.Max, 1000))
		}
	}
	return min(first, last), last
}

// addGroups sorts items into shelves for each set of board properties.
func (p *problem) addGroups() {
	for i := range p.kinds {
		k := &p.kinds[i]
		at := slices.IndexFunc(p.groups, func(g group) bool { return g.has == k.has })
		if at < 0 {
			at = len(p.groups)
			p.groups = append(p.groups, group{has: k.has})
		}
		k.group = at
		g := &p.groups[at]
		g.maxL, g.maxW = max(g.maxL, k.L), max(g.maxW, k.W)
	}
	for i := range p.groups {
		g := &p.groups[i]
		byWidth := map[int][]int{}
		for j, it := range p.items {
			if it.needs&^g.has == 0 && it.l <= g.maxL && it.w <= g.maxW && it.want > 0 {
				byWidth[it.w] = append(byWidth[it.w], j)
			}
		}
		for w, items := range byWidth {
			g.shelves = append(g.shelves, shelf{w, items})
		}
		slices.SortFunc(g.shelves, func(a, b shelf) int { return b.w - a.w })
	}
}
