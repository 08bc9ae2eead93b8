package cut

import (
	"math"
	"slices"
)

// repair is one attempt to cut some boards of an incumbent better: the rest
// stay as they are, and the chosen boards' patterns are picked anew from the
// pools by a search of the linear programme's tree.
type repair struct {
	p     *problem
	pools [][]pattern // by kind, those that lose least first
	odd   [][]pattern // by kind: some that change its class; nil for none
	stop  func() bool
	nodes int
	backs int
	count bool
	step  float64
	paid  float64 // for the boards tried
	// columns bounds how many patterns are taken in; 0 takes all.
	columns int
	// match, if there is one, searches in the tree's stead; all lets it look for
	// what makes all that is wanted.
	match *matcher
	all   bool
}

// try returns patterns for the given boards with which the plan is worth more,
// copies beyond those wanted left out; or nil. proven reports that the pools
// hold none.
func (r *repair) try(inc *incumbent, slots []int, seed uint64) (found []pattern, proven bool) {
	left := inc.left()
	now := 0.0
	r.paid = 0
	for _, s := range slots {
		r.paid += r.p.kinds[inc.slots[s]].cost
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
	source := make([]pattern, len(slots)) // by column; the first are the empty ones
	each := math.MaxInt
	if r.columns > 0 {
		each = max(20, r.columns/len(slots))
	}
	for i, s := range slots {
		k := inc.slots[s]
		list := r.pools[k][:min(each, len(r.pools[k]))]
		if r.odd != nil {
			list = slices.Concat(list, r.odd[k])
		}
		for _, pt := range list {
			if col := r.p.clipped(k, pt, left, rowOf); col.worth > 0 {
				col.kind = i
				m.add(col)
				source = append(source, pt)
			}
		}
		if use := inc.use[s]; len(use.items) > 0 {
			col := r.p.clipped(k, use, left, rowOf)
			col.kind = i
			m.add(col)
			source = append(source, use)
		}
	}
	best, proven := r.search(m, now+r.step, seed)
	if best == nil {
		return nil, proven
	}
	found = make([]pattern, len(slots))
	for _, c := range best {
		found[m.cols[c.col].kind] = source[c.col]
	}
	return found, proven
}

// search looks for a choice of columns worth at least target.
func (r *repair) search(m *master, target float64, seed uint64) (best []choice, proven bool) {
	if r.match != nil {
		if m.solve(1e-7); !m.stop() {
			if r.all {
				target = r.complete(m)
			}
			r.match.run(m, target)
			return r.match.best, false
		}
		return nil, false
	}
	t := newTree(m, target, r.step, seed)
	t.limit, t.backs, t.counts = r.nodes, r.backs, r.count
	proven = t.run()
	return t.best, proven
}

// complete returns what a choice is worth that makes all that is wanted, every
// board paid for.
func (r *repair) complete(m *master) float64 {
	worth := 0.0
	for i, want := range m.want {
		worth += math.Round(want) * m.drop[i]
	}
	return worth - r.paid
}

// clipped returns a pattern as a column, without copies beyond left.
func (p *problem) clipped(kind int, pt pattern, left, rowOf []int32) column {
	col := column{worth: -p.kinds[kind].cost, costs: p.kinds[kind].cost > 0, items: make([]int32, 0, len(pt.items)), n: make([]float64, 0, len(pt.items))}
	for i, it := range pt.items {
		if n := min(pt.n[i], left[it]); n > 0 {
			col.items = append(col.items, rowOf[it])
			col.n = append(col.n, float64(n))
			col.worth += p.items[it].worth * float64(n)
		}
	}
	return col
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
