package cut

import (
	"cmp"
	"slices"
)

// deep tries to cut some boards of the working plan better by patterns made
// for just what those boards must give: it generates columns for them alone
// and searches the tree of these columns.
func (s *solver) deep(slots []int, seed uint64) bool {
	rest := s.now.clone()
	before := 0.0
	for _, slot := range slots {
		before += s.p.worthOf(rest.slots[slot], rest.use[slot])
		rest.set(slot, pattern{})
	}
	q := s.p.residual(rest)
	for k := range q.kinds {
		q.kinds[k].count = 0
	}
	for _, slot := range slots {
		q.kinds[rest.slots[slot]].count++
	}
	d := newDuals(q, s.e, s.opts.Workers, s.stop)
	if !d.price(s.d.best.price) {
		return false
	}
	for _, slot := range slots {
		if bits := s.now.use[slot].bits; len(bits) > 0 {
			d.m.add(d.columnOf(rest.slots[slot], bits))
		}
	}
	d.run(s.grain*0.1, 25)
	if d.best.bound < before+s.step()-1e-6 {
		return false
	}
	own := make([][]pattern, len(q.kinds))
	for _, slot := range slots {
		k := rest.slots[slot]
		if own[k] != nil {
			continue
		}
		for _, c := range d.m.of[k] {
			if col := &d.m.cols[c]; len(col.bits) > 0 {
				pt := patternOf(col.bits)
				pt.loss = -col.reduced(d.m.dual)
				own[k] = append(own[k], pt)
			}
		}
		slices.SortFunc(own[k], func(a, b pattern) int { return cmp.Compare(a.loss, b.loss) })
		own[k] = append(own[k], s.pools.at[k][:min(10, len(s.pools.at[k]))]...)
	}
	r := &repair{p: s.p, pools: own, stop: s.stop, nodes: 300, backs: 15, step: s.step()}
	found, _ := r.try(s.now, slots, seed)
	return found != nil && s.now.accept(slots, found)
}
