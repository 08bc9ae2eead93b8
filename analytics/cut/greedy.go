package cut

import (
	"cmp"
	"slices"
)

// Greedy plans in by placing the most valuable part first: board after board,
// strip after strip from the low edge, each strip filled from the low end
// with the most valuable part of its width that fits. It is the baseline that
// Solve is measured against, and its plan carries no bound worth the name.
// Errors match ErrInstance.
func Greedy(in Instance) (Plan, error) {
	if err := in.Validate(); err != nil {
		return Plan{}, err
	}
	p := newProblem(in, 1)
	inc := newIncumbent(p)
	inc.greedy(func() bool { return false })
	return inc.plan(), nil
}

// greedy fills whole boards with the most valuable part first.
func (inc *incumbent) greedy(stop func() bool) {
	order := make([]int, len(inc.p.items))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(inc.p.preference(b), inc.p.preference(a))
	})
	for s := range inc.slots {
		if len(inc.use[s].items) > 0 {
			continue
		}
		if stop() {
			return
		}
		if pt := inc.p.fill(inc.slots[s], order, inc.left()); len(pt.items) > 0 {
			inc.set(s, pt)
		}
	}
}

// preference ranks items: by value or, where parts have none, by area.
func (p *problem) preference(i int) float64 {
	it := p.items[i]
	if p.in.Objective == MinBoardCost {
		return float64(it.l) * float64(it.w)
	}
	return it.worth
}

// fill cuts one board greedily.
func (p *problem) fill(kind int, order []int, left []int32) pattern {
	k := &p.kinds[kind]
	var bits []bit
	for v := 0; v < k.W; {
		w := 0
		for _, i := range order {
			it := p.items[i]
			if left[i] <= 0 || it.needs&^k.has != 0 || v+it.w > k.W || w != 0 && it.w != w {
				continue
			}
			bits, w = p.fillStrip(k, v, i, bits, left, w)
		}
		if w == 0 {
			v++
			continue
		}
		v += w + p.kv
	}
	return patternOf(bits)
}

// fillStrip places copies of one item at height v wherever there is room, and
// returns the strip's width once it holds anything.
func (p *problem) fillStrip(k *kind, v, i int, bits []bit, left []int32, w int) ([]bit, int) {
	it := p.items[i]
	var crossed []spot
	for _, s := range k.spots {
		if s.v < v+it.w && v < s.v+s.dv {
			crossed = append(crossed, s)
		}
	}
	edges := edgesOf(crossed, k.L)
	for u := 0; u+it.l <= k.L && left[i] > 0; {
		if end := p.inWay(bits, int32(v), u, it.l); end > u {
			u = end
			continue
		}
		e := edgeAt(edges, int32(u))
		if u+it.l <= int(edges[e].reach[it.level]) {
			bits = append(bits, bit{int32(i), int32(u), int32(v)})
			left[i]--
			w = it.w
			u += it.l + p.ku
			continue
		}
		if e+1 >= len(edges) {
			break
		}
		u = int(edges[e+1].at)
	}
	return bits, w
}

// inWay returns where a piece of length l at u could next start, past the
// first piece of the strip that it would hit, or u.
func (p *problem) inWay(bits []bit, v int32, u, l int) int {
	for _, b := range bits {
		if b.v == v && u < int(b.u)+p.items[b.item].l+p.ku && int(b.u) < u+l+p.ku {
			return int(b.u) + p.items[b.item].l + p.ku
		}
	}
	return u
}
