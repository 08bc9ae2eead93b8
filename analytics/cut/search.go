package cut

import (
	"math"
	"sync"
)

// run searches until the plan is good or the stop.
func (s *solver) run() {
	s.inc.greedy(s.stop)
	if s.good() || s.stop() {
		return
	}
	s.e = newEngine(s.p)
	s.d = newDuals(s.p, s.e, s.opts.Workers, s.stop)
	s.d.start()
	s.d.run(1e-6 * (1 + math.Abs(s.p.base)*1e-6))
	s.bound = min(s.bound, s.d.best.bound)
	s.round()
	if s.good() || s.stop() {
		return
	}
	s.search()
}

// round turns the master's mix into a plan: the whole part of each column,
// then, board by board, what is worth most of the rest.
func (s *solver) round() {
	inc := newIncumbent(s.p)
	free := make([][]int, len(s.p.kinds))
	for i, k := range inc.slots {
		free[k] = append(free[k], i)
	}
	m := s.d.m
	use := func(col int32, x float64) {
		c := &m.cols[col]
		for n := int(x + 1e-6); n > 0 && len(free[c.kind]) > 0 && len(c.bits) > 0; n-- {
			pt, w := s.p.clip(c.kind, patternOf(c.bits), inc.left())
			if w <= 0 {
				return
			}
			inc.set(free[c.kind][0], pt)
			free[c.kind] = free[c.kind][1:]
		}
	}
	for k, col := range m.key {
		if !math.IsInf(m.xkey[k], 1) {
			use(col, m.xkey[k])
		}
	}
	for i, col := range m.slot {
		if col >= 0 {
			use(col, m.x[i])
		}
	}
	for k := range free {
		for _, slot := range free[k] {
			best, worth := pattern{}, 0.0
			left := inc.left()
			for _, col := range m.of[k] {
				if pt, w := s.p.clip(k, patternOf(m.cols[col].bits), left); w > worth {
					best, worth = pt, w
				}
			}
			if worth > 0 {
				inc.set(slot, best)
			}
		}
	}
	inc.greedy(s.stop)
	if inc.worth > s.inc.worth {
		s.inc = inc
	}
}

// patience is how many attempts in a row may fail before a search without a
// deadline ends.
const patience = 3000

// search widens the pools and betters the plan from them, in turn.
func (s *solver) search() {
	many := s.p.unlimited()
	for seed := range uint64(4) {
		if !s.good() {
			s.plunge(s.inc.worth+s.grain, seed)
		}
	}
	loss := max(s.bound-s.ceiling(), math.Abs(s.bound-s.p.base)*5e-5)
	if many {
		loss = s.grain * 1e-3
	}
	size := 12.0
	for seed := uint64(4); !s.stop() && !s.good() && s.idle < patience; seed++ {
		before := s.need()
		s.fillPools(min(loss, before))
		if s.prove() || s.good() || s.stop() {
			return
		}
		if many {
			s.stockPlan(2)
			s.plunge(s.inc.worth+s.grain, seed)
		}
		if !many || loss >= before {
			s.repairs(&size, 40)
		}
		if after := s.need(); before-after < 0.2*before {
			loss = min(2*loss, after)
		}
	}
}

// need is how much the boards of a better plan can lose against the bound in
// all: what a pattern loses beyond that keeps it out of every better plan.
func (s *solver) need() float64 { return s.bound - s.inc.worth - s.grain + 1e-6*s.grain }

// prove searches all boards at once, where the pools hold everything that a
// better plan could use and are small. It reports whether that settled it.
func (s *solver) prove() bool {
	if !s.pools.full || s.pools.loss < s.need() || len(s.inc.slots) > 40 {
		return false
	}
	r := &repair{p: s.p, pools: s.pools.at, stop: s.stop, nodes: s.pools.nodes, backs: math.MaxInt, step: s.grain, count: true}
	s.pools.nodes *= 2
	all := make([]int, len(s.inc.slots))
	for i := range all {
		all[i] = i
	}
	found, proven := r.try(s.inc, all, 0)
	if found != nil {
		s.accept(all, found)
	}
	if proven && !s.stop() {
		s.bound = min(s.bound, s.inc.worth)
	}
	return proven
}

// repairs makes a number of attempts to better some boards, several at once.
func (s *solver) repairs(size *float64, rounds int) {
	type result struct {
		slots  []int
		found  []pattern
		proven bool
	}
	busy := s.busy()
	for range rounds {
		if s.stop() || s.good() || len(busy) == 0 {
			return
		}
		results := make([]result, s.opts.Workers)
		var wait sync.WaitGroup
		for w := range results {
			n := int(*size * (0.5 + s.rng.Float64()))
			slots := make([]int, 0, n)
			for _, i := range s.rng.Perm(len(busy))[:min(n, len(busy))] {
				slots = append(slots, busy[i])
			}
			seed := s.rng.Uint64()
			wait.Go(func() {
				r := &repair{p: s.p, pools: s.pools.at, stop: s.stop, nodes: 300, backs: 12, step: s.grain}
				found, proven := r.try(s.inc, slots, seed)
				results[w] = result{slots, found, proven}
			})
		}
		wait.Wait()
		for _, r := range results {
			s.idle++
			if r.found != nil && s.accept(r.slots, r.found) {
				s.idle = 0
			}
			if r.proven {
				*size = min(*size*1.05, 80)
			} else {
				*size = max(*size*0.97, 6)
			}
		}
	}
}

// busy lists the boards worth cutting anew: those in use and, of each kind,
// two that are whole.
func (s *solver) busy() []int {
	whole := make([]int, len(s.p.kinds))
	var list []int
	for i, k := range s.inc.slots {
		if len(s.inc.use[i].items) == 0 {
			if whole[k]++; whole[k] > 2 {
				continue
			}
		}
		list = append(list, i)
	}
	return list
}

// accept applies what a repair found if it betters the plan.
func (s *solver) accept(slots []int, found []pattern) bool {
	next := s.inc.clone()
	for _, slot := range slots {
		next.set(slot, pattern{})
	}
	for i, slot := range slots {
		pt, _ := s.p.clip(next.slots[slot], found[i], next.left())
		next.set(slot, pt)
	}
	if next.worth <= s.inc.worth {
		return false
	}
	s.inc = next
	return true
}
