package cut

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

const (
	// refitNodes bounds one refit.
	refitNodes = 3000
	// refitWarmth is how much more than the working plan a refit may lose, as
	// a share of what that loses: the mean of an exponential draw, as in
	// annealing (Metropolis and others 1953).
	refitWarmth = 0.02
	// mostRefit bounds how many boards are refitted at once.
	mostRefit = 40
)

// refit is some boards taken out of the working plan and what came of it.
type refit struct {
	rest   *incumbent // the plan without those boards
	most   float64    // the new plan must lose less
	was    *incumbent // the plan with them
	taken  []int      // their slots
	change int        // the slot whose pattern must change, so that the plan does
	next   *incumbent
	within bool // the search came to its end
}

// tryRefits takes some boards of the working plan, as many lots as there are
// workers, and makes what they made anew, from them and from spare boards, by
// the exact search of whole boards. How many boards it takes follows from how
// many can be searched to the end. It reports whether the best plan got better.
func (s *solver) tryRefits() bool {
	list := make([]refit, s.opts.Workers)
	var wait sync.WaitGroup
	for i := range list {
		r := &list[i]
		*r = s.drawRefit()
		wait.Go(func() { s.finish(r) })
	}
	wait.Wait()
	best := s.inc.worth
	for i := range list {
		if list[i].within {
			s.reach += 0.02
		} else {
			s.reach -= 0.06
		}
		if next := list[i].next; next != nil {
			if s.now = next; next.worth > s.inc.worth {
				s.improved()
			}
		}
	}
	s.reach = max(2, min(mostRefit, s.reach))
	return s.inc.worth > best
}

// drawRefit takes out boards: those that lose most, and good ones among them
// so that there is something to trade with.
func (s *solver) drawRefit() refit {
	type scored struct {
		slot int
		key  float64
	}
	var list []scored
	for slot := range s.now.slots {
		if len(s.now.use[slot].items) > 0 {
			// As in draw; 0.3 is about what a good board loses.
			list = append(list, scored{slot, math.Log(s.rng.Float64()) / (s.loses(s.now, slot) + 0.3)})
		}
	}
	slices.SortFunc(list, func(a, b scored) int { return cmp.Compare(b.key, a.key) })
	list = list[:min(len(list), int(s.reach+2*s.rng.Float64()))]
	lost := s.d.best.bound - s.now.worth
	r := refit{rest: s.now.clone(), was: s.now, change: -1, most: lost - math.Log(s.rng.Float64())*refitWarmth*lost}
	if len(list) > 0 {
		r.change = list[s.rng.IntN(len(list))].slot
	}
	for _, l := range list {
		r.taken = append(r.taken, l.slot)
		r.rest.set(l.slot, pattern{})
	}
	return r
}

// finish searches for the plan that r.rest becomes.
func (s *solver) finish(r *refit) {
	c := &cover{nodes: refitNodes, stop: s.stop, price: s.d.best.price, gain: s.gains(), budget: r.most, first: s.p.shade}
	for slot := range r.rest.slots {
		if len(r.rest.use[slot].items) > 0 {
			c.budget -= s.loses(r.rest, slot)
		}
	}
	boards := s.offer(c, r)
	found := c.run(r.rest.left())
	r.within = c.nodes >= 0
	if found == nil {
		return
	}
	r.next = r.rest.clone()
	for _, at := range found {
		if at < 0 {
			continue
		}
		o := &c.options[at]
		slot := boards[o.board]
		pt, _ := s.p.clip(r.next.slots[slot], *o.pt, r.next.left())
		r.next.set(slot, pt)
	}
}

// gains returns what a copy of each item gains at the best prices.
func (s *solver) gains() []float64 {
	gain := make([]float64, len(s.p.items))
	for i, it := range s.p.items {
		gain[i] = max(0, it.worth-s.d.best.price[i])
	}
	return gain
}

// offer lists the whole boards of a plan and their patterns; it returns the
// boards' slots.
func (s *solver) offer(c *cover, r *refit) []int {
	var boards []int
	for slot, k := range r.rest.slots {
		under := max(0, -s.d.best.raw[k])
		if len(r.rest.use[slot].items) > 0 || under >= c.budget {
			continue
		}
		b := int32(len(boards))
		boards = append(boards, slot)
		c.idle = append(c.idle, s.d.best.gains[k])
		full := s.d.best.gains[k] + s.p.kinds[k].cost
		pool, was := s.pools.at[k], &r.was.use[slot]
		for i := range pool {
			if loss := pool[i].loss + under; loss < c.budget && (slot != r.change || !pool[i].same(was)) {
				c.options = append(c.options, coverOption{b, loss, full, &pool[i]})
			}
		}
		if slot != r.change && len(was.items) > 0 {
			c.options = append(c.options, coverOption{b, s.loses(r.was, slot), full, was})
		}
	}
	return boards
}

// same reports whether both patterns make the same.
func (pt *pattern) same(other *pattern) bool {
	if len(pt.items) != len(other.items) {
		return false
	}
	for i, it := range pt.items {
		if j := slices.Index(other.items, it); j < 0 || other.n[j] != pt.n[i] {
			return false
		}
	}
	return true
}
