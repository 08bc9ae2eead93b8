package cut

import (
	"math"
	"math/rand/v2"
	"slices"
)

// residual returns the problem that is left once an incumbent's boards are cut.
func (p *problem) residual(inc *incumbent) *problem {
	q := *p
	q.items = slices.Clone(p.items)
	for i := range q.items {
		if q.items[i].want < Unlimited {
			q.items[i].want -= int(inc.made[i])
		}
	}
	q.kinds = slices.Clone(p.kinds)
	for s, k := range inc.slots {
		if len(inc.use[s].items) > 0 && q.kinds[k].count < Unlimited {
			q.kinds[k].count--
		}
	}
	return &q
}

// plunge dives for a plan worth target and keeps it if it is the best.
func (s *solver) plunge(target float64, seed uint64) {
	if inc := s.dive(target, seed); inc != nil && inc.worth > s.inc.worth {
		s.inc = inc
	}
}

// dive builds a plan from the master's mix: it cuts the boards that the mix
// settles, or failing any the one it nearly settles, generates columns for
// what is left, and so on. It returns nil where the rest cannot reach target.
func (s *solver) dive(target float64, seed uint64) *incumbent {
	rng := rand.New(rand.NewPCG(seed, 0xd1fe))
	inc := newIncumbent(s.p)
	free := make([][]int, len(s.p.kinds))
	for i, k := range inc.slots {
		free[k] = append(free[k], i)
	}
	d := s.d
	for !s.stop() {
		if !s.settle(inc, free, d, rng, seed > 0) {
			break
		}
		q := s.p.residual(inc)
		next := newDuals(q, s.e, s.opts.Workers, s.stop)
		next.inherit(d)
		rounds := math.MaxInt
		if len(q.kinds) > 20 {
			rounds = 3
		}
		next.run(1e-4*(1+math.Abs(s.grain)), rounds)
		next.m.solve(1e-6)
		if inc.worth+next.best.bound < target-1e-6 {
			return nil
		}
		d = next
	}
	inc.greedy(s.stop)
	return inc
}

// inherit takes over another run's columns, cut down to what is wanted now,
// and its prices.
func (d *duals) inherit(from *duals) {
	left := make([]int32, len(d.p.items))
	for i, it := range d.p.items {
		left[i] = int32(min(it.want, math.MaxInt32))
	}
	for i := range from.m.cols {
		c := &from.m.cols[i]
		if d.p.kinds[c.kind].count == 0 || len(c.bits) == 0 {
			continue
		}
		if from.m.place[i] == outside && c.reduced(from.m.dual)-from.m.cols[from.m.key[c.kind]].reduced(from.m.dual) < -0.05*math.Abs(c.worth) {
			continue
		}
		pt, w := d.p.clip(c.kind, patternOf(c.bits), left)
		if w > 0 {
			d.m.add(d.columnOf(c.kind, pt.bits))
		}
	}
	d.rounds = 2
	if from.best.price != nil {
		d.price(from.best.price)
	}
}

// settle cuts boards by the whole part of the mix, nearly whole ones counted
// in; failing any, by the column that is nearest to a whole board, with some
// noise. It reports whether it cut any.
func (s *solver) settle(inc *incumbent, free [][]int, d *duals, rng *rand.Rand, noisy bool) bool {
	cut, nearly := false, 1e-6
	if len(s.p.kinds) > 20 {
		nearly = 0.2
	}
	use := func(c *column, times int) {
		for ; times > 0 && len(free[c.kind]) > 0; times-- {
			pt, w := s.p.clip(c.kind, patternOf(c.bits), inc.left())
			if w <= 0 {
				return
			}
			inc.set(free[c.kind][0], pt)
			free[c.kind] = free[c.kind][1:]
			cut = true
		}
	}
	var best *column
	score := 0.0
	see := func(col int32, x float64) {
		c := &d.m.cols[col]
		if len(c.bits) == 0 || math.IsInf(x, 1) || x < 1e-6 {
			return
		}
		v := x
		if noisy {
			v += 0.4 * rng.Float64()
		}
		if v > score {
			best, score = c, v
		}
		use(c, int(x+nearly))
	}
	for k, col := range d.m.key {
		see(col, d.m.xkey[k])
	}
	for i, col := range d.m.slot {
		if col >= 0 {
			see(col, d.m.x[i])
		}
	}
	if !cut && best != nil {
		use(best, 1)
	}
	return cut
}
