package cut

import "math"

// branchStock settles on the column that is nearest to one more whole board:
// it sets that many boards aside for it and searches on; failing that, it
// keeps the whole part and bars the rest.
func (t *tree) branchStock(depth int) bool {
	m := t.m
	pick, score := share{col: -1}, -1.0
	see := func(c int32, x float64) {
		if f := x - math.Floor(x); f > 1e-6 && f < 1-1e-6 && len(m.cols[c].items) > 0 {
			if v := f + 0.3*t.rng.Float64(); v > score {
				pick, score = share{c, x}, v
			}
		}
	}
	for s, c := range m.slot {
		if c >= 0 {
			see(c, m.x[s])
		}
	}
	if pick.col < 0 {
		t.record()
		return false
	}
	t.aside(depth, pick.col, math.Ceil(pick.x))
	if t.backs--; t.backs < 0 {
		return false
	}
	done := t.ban([]int32{pick.col})
	t.aside(depth, pick.col, math.Floor(pick.x))
	t.unban(done)
	return false
}

// aside searches on with n boards set aside for a column.
func (t *tree) aside(depth int, col int32, n float64) {
	if n <= 0 {
		t.node(depth + 1)
		return
	}
	m := t.m
	k := m.addKind(n)
	c := m.cols[col]
	c.kind = k
	if m.off[col] {
		c.worth += t.big
	}
	set := m.add(c)
	done := t.ban([]int32{m.of[k][0]})
	t.node(depth + 1)
	t.unban(done)
	// The boards set aside are whole again and stay so.
	t.ban([]int32{set})
}

// stockPlan dives through the pools' patterns for kinds without number, until
// a plan is proven or the tries are used up.
func (s *solver) stockPlan(tries int) {
	left := newIncumbent(s.p).left()
	rowOf, want, drop := s.p.rowsOf(left)
	var count []float64
	for _, k := range s.p.kinds {
		count = append(count, float64(k.count))
		if k.count >= Unlimited {
			count[len(count)-1] = math.Inf(1)
		}
	}
	for try := range tries {
		if s.stop() || s.good() {
			return
		}
		m := newMaster(want, drop, count, s.stop)
		for k := range s.p.kinds {
			for _, pt := range s.pools.at[k] {
				c, w := s.p.clip(k, pt, left)
				if len(c.items) == 0 {
					continue
				}
				col := column{kind: k, of: k, worth: w, bits: c.bits}
				for j, it := range c.items {
					col.items, col.n = append(col.items, rowOf[it]), append(col.n, float64(c.n[j]))
				}
				m.add(col)
			}
		}
		t := newTree(m, s.inc.worth+s.better(), s.grain, s.opts.Seed+uint64(try))
		t.stock, t.limit, t.backs = true, 4000, 10
		t.run()
		if t.best != nil {
			s.stock(t)
		}
	}
}

// stock turns a tree's choice into a plan and keeps it if it is better.
func (s *solver) stock(t *tree) {
	inc := newIncumbent(s.p)
	free := make([][]int, len(s.p.kinds))
	for i, k := range inc.slots {
		free[k] = append(free[k], i)
	}
	for _, c := range t.best {
		col := &t.m.cols[c.col]
		if len(col.items) == 0 {
			continue
		}
		k := col.of
		for n := c.times; n > 0 && len(free[k]) > 0; n-- {
			pt, w := s.p.clip(k, patternOf(col.bits), inc.left())
			if w <= 0 {
				break
			}
			inc.set(free[k][0], pt)
			free[k] = free[k][1:]
		}
	}
	inc.greedy(s.stop)
	if inc.worth > s.inc.worth {
		s.inc = inc
	}
}
