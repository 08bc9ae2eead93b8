package cut

// repair is one attempt to cut some boards of an incumbent better: the rest
// stay as they are, and the chosen boards' patterns are picked anew from the
// pools by a search of the linear programme's tree.
type repair struct {
	p     *problem
	pools [][]pattern
	stop  func() bool
	nodes int
	backs int
	count bool
	step  float64
}

// try returns new patterns for the given boards that are worth more than the
// present ones, or nil. proven reports that the pools hold none.
func (r *repair) try(inc *incumbent, slots []int, seed uint64) (found []pattern, proven bool) {
	left := inc.left()
	now := 0.0
	for _, s := range slots {
		for i, it := range inc.use[s].items {
			left[it] += inc.use[s].n[i]
		}
		now += inc.p.worthOf(inc.slots[s], inc.use[s])
	}
	rowOf, want, drop := r.p.rowsOf(left)
	count := make([]float64, len(slots))
	for i := range count {
		count[i] = 1
	}
	m := newMaster(want, drop, count, r.stop)
	clipped := []pattern{}
	for i, s := range slots {
		k := inc.slots[s]
		for _, pt := range r.pools[k] {
			c, w := r.p.clip(k, pt, left)
			if len(c.items) == 0 {
				continue
			}
			col := column{kind: i, worth: w}
			for j, it := range c.items {
				col.items = append(col.items, rowOf[it])
				col.n = append(col.n, float64(c.n[j]))
			}
			m.add(col)
			clipped = append(clipped, c)
		}
	}
	t := newTree(m, now+r.step, r.step, seed)
	t.limit, t.backs, t.counts = r.nodes, r.backs, r.count
	proven = t.run()
	if t.best == nil {
		return nil, proven
	}
	found = make([]pattern, len(slots))
	for _, c := range t.best {
		if int(c.col) >= len(slots) {
			found[m.cols[c.col].kind] = clipped[int(c.col)-len(slots)]
		}
	}
	return found, proven
}

// rowsOf numbers the items that are still wanted.
func (p *problem) rowsOf(left []int32) (rowOf []int32, want, drop []float64) {
	rowOf = make([]int32, len(left))
	for i, n := range left {
		rowOf[i] = -1
		if n > 0 {
			rowOf[i] = int32(len(want))
			want, drop = append(want, float64(n)), append(drop, p.items[i].worth)
		}
	}
	return rowOf, want, drop
}
