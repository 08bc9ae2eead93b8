package cut

import (
	"cmp"
	"slices"
)

// deep tries to cut some boards of a plan better by patterns made for just
// what those boards must give: it generates columns for them alone and
// searches the tree of these columns. It returns the better plan or nil.
func (s *solver) deep(now *incumbent, slots []int, seed uint64) *incumbent {
	rest := now.clone()
	for _, slot := range slots {
		rest.set(slot, pattern{})
	}
	q := now.p.residual(rest)
	for k := range q.kinds {
		q.kinds[k].count = 0
	}
	for _, slot := range slots {
		q.kinds[rest.slots[slot]].count++
	}
	d := newDuals(q, s.e, s.opts.Workers, s.stop)
	if !d.price(s.pricesFor(q)) {
		return nil
	}
	for _, slot := range slots {
		if bits := now.use[slot].bits; len(bits) > 0 {
			d.m.add(d.columnOf(rest.slots[slot], bits))
		}
	}
	d.run(s.grain*0.1, 25)
	if rest.worth+d.best.bound < now.worth+s.step()-1e-6 {
		return nil
	}
	r := &repair{p: now.p, pools: s.poolsFrom(d, rest, slots), stop: s.stop, nodes: 300, backs: 15, step: s.step()}
	found, _ := r.try(now, slots, seed)
	if next := now.clone(); found != nil && next.accept(slots, found) {
		return next
	}
	return nil
}

// pricesFor returns the best prices for a problem whose copies are worth
// something else: the boards gain by them what they gained.
func (s *solver) pricesFor(q *problem) []float64 {
	price := make([]float64, len(q.items))
	for i, it := range q.items {
		price[i] = max(0, it.worth-max(0, s.p.items[i].worth-s.d.best.price[i]))
	}
	return price
}

// poolsFrom returns, for the kinds of the slots, the patterns that d made,
// those that lose least first, and the best of the common ones.
func (s *solver) poolsFrom(d *duals, rest *incumbent, slots []int) [][]pattern {
	own := make([][]pattern, len(s.p.kinds))
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
	return own
}
