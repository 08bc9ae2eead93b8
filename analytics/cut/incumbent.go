package cut

import (
	"cmp"
	"math"
	"slices"
)

// incumbent is the best plan so far: a pattern for every board, in which
// copies beyond those wanted are left out.
type incumbent struct {
	p     *problem
	slots []int // kind of each board
	use   []pattern
	made  []int32 // by item
	worth float64
}

// newIncumbent starts with every board whole. Of kinds without number there
// are as many boards as pieces that could come from them.
func newIncumbent(p *problem) *incumbent {
	inc := &incumbent{p: p, made: make([]int32, len(p.items))}
	for k := range p.kinds {
		for range p.useful(k) {
			inc.slots = append(inc.slots, k)
		}
	}
	inc.use = make([]pattern, len(inc.slots))
	return inc
}

// useful returns how many boards of a kind can be of use.
func (p *problem) useful(kind int) int {
	k, pieces := &p.kinds[kind], 0
	for _, it := range p.items {
		if it.l <= k.L && it.w <= k.W && it.needs&^k.has == 0 {
			pieces = min(maxBoards, pieces+min(it.want, maxBoards))
		}
	}
	return min(k.count, pieces)
}

// left returns how many more of each item are wanted.
func (inc *incumbent) left() []int32 {
	left := make([]int32, len(inc.made))
	for i, it := range inc.p.items {
		left[i] = int32(min(it.want, math.MaxInt32)) - inc.made[i]
	}
	return left
}

// worthOf returns what a pattern is worth to the objective.
func (p *problem) worthOf(kind int, pt pattern) float64 {
	if len(pt.items) == 0 {
		return 0
	}
	w := -p.kinds[kind].cost
	for i, it := range pt.items {
		w += p.items[it].worth * float64(pt.n[i])
	}
	return w
}

// clip returns the pattern without copies beyond left, and its worth; a
// pattern not worth its board becomes the empty one.
func (p *problem) clip(kind int, pt pattern, left []int32) (pattern, float64) {
	out := pattern{loss: pt.loss}
	for i, it := range pt.items {
		if n := min(pt.n[i], left[it]); n > 0 {
			out.items, out.n = append(out.items, it), append(out.n, n)
		}
	}
	w := p.worthOf(kind, out)
	if len(out.items) == 0 || w <= 0 {
		return pattern{}, 0
	}
	allowed := make(map[int32]int32, len(out.items))
	for i, it := range out.items {
		allowed[it] = out.n[i]
	}
	for _, b := range pt.bits {
		if allowed[b.item] > 0 {
			allowed[b.item]--
			out.bits = append(out.bits, b)
		}
	}
	return out, w
}

// set cuts a board by a pattern, which must fit into what is left once the
// board's old pattern is taken back.
func (inc *incumbent) set(slot int, pt pattern) {
	old := inc.use[slot]
	for i, it := range old.items {
		inc.made[it] -= old.n[i]
	}
	for i, it := range pt.items {
		inc.made[it] += pt.n[i]
	}
	inc.worth += inc.p.worthOf(inc.slots[slot], pt) - inc.p.worthOf(inc.slots[slot], old)
	inc.use[slot] = pt
}

// clone copies the incumbent.
func (inc *incumbent) clone() *incumbent {
	c := *inc
	c.use = append([]pattern(nil), inc.use...)
	c.made = append([]int32(nil), inc.made...)
	return &c
}

// patternOf counts the items of bits.
func patternOf(bits []bit) pattern {
	count := map[int32]int32{}
	pt := pattern{bits: bits}
	for _, b := range bits {
		if count[b.item] == 0 {
			pt.items = append(pt.items, b.item)
		}
		count[b.item]++
	}
	for _, it := range pt.items {
		pt.n = append(pt.n, count[it])
	}
	return pt
}

// lacks returns, by part, how many copies that must be made are not; nil when
// there are none.
func (inc *incumbent) lacks() []int {
	made := make([]int, len(inc.p.in.Parts))
	for i, it := range inc.p.items {
		made[it.part] += int(inc.made[i])
	}
	var lacks []int
	for i, part := range inc.p.in.Parts {
		must := part.Min
		if inc.p.in.Objective == MinBoardCost {
			must = part.Max
		}
		if made[i] < must {
			if lacks == nil {
				lacks = make([]int, len(made))
			}
			lacks[i] = must - made[i]
		}
	}
	return lacks
}

// plan turns the incumbent into a plan whose bound is its own value.
func (inc *incumbent) plan() Plan {
	p := inc.p
	plan := Plan{Status: Bounded, Missing: inc.lacks()}
	if plan.Missing != nil {
		plan.Status = Short
	}
	next := make([]slot, len(p.kinds))
	at := make([]int, len(p.kinds))
	for s, k := range inc.slots {
		for next[k].count >= p.kinds[k].slots[at[k]].count {
			at[k]++
			next[k].count = 0
		}
		where := Placement{Board: p.kinds[k].slots[at[k]].board, Copy: next[k].count}
		next[k].count++
		for _, b := range inc.use[s].bits {
			where.Part, where.X, where.Y = p.items[b.item].part, int(b.u), int(b.v)
			if p.flip {
				where.X, where.Y = where.Y, where.X
			}
			plan.Placements = append(plan.Placements, where)
		}
		if len(inc.use[s].bits) > 0 && p.in.Objective == MinBoardCost {
			plan.Value += p.in.Boards[where.Board].Cost
		}
	}
	slices.SortFunc(plan.Placements, func(a, b Placement) int {
		return cmp.Or(a.Board-b.Board, a.Copy-b.Copy, a.Y-b.Y, a.X-b.X)
	})
	if p.in.Objective == MaxValue {
		for _, pl := range plan.Placements {
			plan.Value += p.in.Parts[pl.Part].Value
		}
	}
	plan.Bound = plan.Value
	return plan
}
