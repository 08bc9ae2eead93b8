package cut

import (
	"cmp"
	"math"
	"slices"
)

// fitter looks for cheap plans in two steps. It chooses boards whose best
// patterns are together worth a little more, at the dual prices, than all that
// must be made, which fixes what the plan costs; then it tries to fit all of
// it onto them. Searching for board and pattern at once sticks where one more
// copy would need a whole board more.
type fitter struct {
	s      *solver
	gain   []float64 // by item: what a copy is worth to the boards
	full   []float64 // by kind: what the best pattern is worth
	want   float64   // what all copies are worth
	room   float64   // how much more than that the next choice is to hold
	weight []float64 // by item: how much a missing copy counts
	chosen []bool    // by slot; nil before the first choice
	tries  int       // how often weights may still be raised for this choice
}

// newFitter prepares the search.
func newFitter(s *solver) *fitter {
	f := &fitter{s: s, weight: make([]float64, len(s.p.items))}
	for i, it := range s.p.items {
		f.gain = append(f.gain, max(0, it.worth-s.d.best.price[i]))
		f.want += f.gain[i] * float64(it.want)
	}
	for k := range s.p.kinds {
		f.full = append(f.full, s.d.best.raw[k]+s.p.kinds[k].cost)
	}
	f.room = 0.4 * (s.d.best.bound - s.inc.worth)
	return f
}

// fit works at one choice of boards after another.
func (f *fitter) fit(rounds int) {
	s := f.s
	for range rounds {
		if s.stop() || s.good() {
			return
		}
		if (f.chosen == nil || s.stale > staleAfter || s.now.lacks() == nil) && !f.next() {
			f.chosen, s.now = nil, nil // back to cutting the best plan better
			return
		}
		busy := s.now.busy(f.chosen)
		if s.stale > staleAfter/4 && s.rng.IntN(6) == 0 {
			s.tryDeep(busy, 30)
		}
		s.tryAttempts(busy)
		if s.now.lacks() == nil {
			f.polish()
		}
	}
}

// polishing is how many refits in a row may fail before a complete plan is
// left as it is.
const polishing = 60

// polish refits a complete plan until that stops helping.
func (f *fitter) polish() {
	s := f.s
	chosen := f.chosen
	f.chosen, s.now = nil, s.inc.clone()
	for fails := 0; fails < polishing && s.refits() && !s.stop() && !s.good(); fails++ {
		if s.tryRefits() {
			fails = 0
		}
	}
	f.chosen, s.now = chosen, s.inc.clone()
}

// next lets what is missing count more or, after a few times, chooses other
// boards. It reports false where there are none to choose.
func (f *fitter) next() bool {
	s := f.s
	if f.chosen != nil {
		whole := s.now.lacks() == nil
		if f.tries--; !whole && f.tries > 0 {
			for i, it := range s.p.items {
				if int(s.now.made[i]) < it.want {
					f.weight[i] *= 1.3
				}
			}
			f.start(s.now)
			return true
		}
		if whole {
			f.room *= 0.6
		} else {
			f.room *= 1.25
		}
	}
	from := s.now
	if f.chosen == nil {
		from = s.inc
	}
	limit := s.d.best.bound - s.inc.worth - s.step()
	f.room = min(f.room, 0.8*limit)
	if limit <= 0 || !f.choose(from, limit) {
		f.room *= 0.6
		return false
	}
	f.tries = 4
	for i := range f.weight {
		f.weight[i] = 1
	}
	f.start(from)
	return true
}

// start puts a plan onto the chosen boards.
func (f *fitter) start(from *incumbent) {
	now := from.clone()
	now.p, now.worth = f.problem(), 0
	for i, k := range now.slots {
		if !f.chosen[i] {
			for j, it := range now.use[i].items {
				now.made[it] -= now.use[i].n[j]
			}
			now.use[i] = pattern{}
		}
		now.worth += now.p.worthOf(k, now.use[i])
	}
	f.s.now, f.s.stale = now, 0
}

// problem returns the problem of fitting: boards are paid for, and copies are
// worth what boards gain by them and as much again, times their weight.
func (f *fitter) problem() *problem {
	q := *f.s.p
	q.items, q.kinds = slices.Clone(q.items), slices.Clone(q.kinds)
	for i := range q.items {
		q.items[i].worth = f.gain[i]*(1+f.weight[i]) + 1e-3
	}
	for k := range q.kinds {
		q.kinds[k].cost = 0
	}
	return &q
}

// flip is a board used against what the prices say, or not used against them:
// what that adds to what the chosen boards hold, and what it costs. lean is
// below 0 where it leaves the working plan as it is.
type flip struct {
	slot             int
	adds, cost, lean float64
}

// maxFlips bounds how many boards a choice may turn over.
const maxFlips = 150

// choose picks boards that hold at least room more than all that must be made
// and that cost less than limit above the bound. It reports false where it
// finds none.
func (f *fitter) choose(from *incumbent, limit float64) bool {
	s := f.s
	chosen := make([]bool, len(s.inc.slots))
	holds := -f.want
	var flips []flip
	for i, k := range s.inc.slots {
		raw := s.d.best.raw[k]
		if raw > 0 {
			chosen[i] = true
			holds += f.full[k]
		}
		if math.Abs(raw) >= limit || s.rng.IntN(5) == 0 {
			continue
		}
		fl := flip{i, f.full[k], math.Abs(raw), 3e-5 * f.want}
		if raw > 0 {
			fl.adds = -fl.adds
		}
		if used := len(from.use[i].items) > 0; used != chosen[i] {
			fl.lean = -fl.lean
		}
		flips = append(flips, fl)
	}
	slices.SortStableFunc(flips, func(a, b flip) int { return cmp.Compare(a.cost, b.cost) })
	flips = flips[:min(len(flips), maxFlips)]
	turn := f.cheapest(flips, holds, limit)
	for _, i := range turn {
		chosen[i] = !chosen[i]
	}
	if turn != nil {
		f.chosen = chosen
	}
	return turn != nil
}

// holding is the cheapest choice found that holds about so much.
type holding struct{ holds, cost, lean float64 }

// back tells how a holding came about: from which one, and whether by a flip.
type back struct {
	from int32
	take bool
}

// holdings is how finely what boards hold is told apart.
const holdings = 4000

// cheapest returns the slots to turn over, by a knapsack over what the boards
// hold; nil where no choice holds enough within limit.
func (f *fitter) cheapest(flips []flip, holds, limit float64) []int {
	span := 1 + math.Abs(holds)
	for _, fl := range flips {
		span = max(span, math.Abs(holds)+3*math.Abs(fl.adds))
	}
	at := func(holds float64) int { return int((holds + span) / (2 * span) * holdings) }
	now := make([]holding, holdings+1)
	for i := range now {
		now[i].cost = math.Inf(1)
	}
	now[at(holds)] = holding{holds: holds}
	steps := make([][]back, len(flips))
	for n, fl := range flips {
		next, way := slices.Clone(now), make([]back, len(now))
		for i := range way {
			way[i].from = int32(i)
		}
		for i, h := range now {
			h = holding{h.holds + fl.adds, h.cost + fl.cost, h.lean + fl.lean}
			if h.cost >= limit || math.Abs(h.holds) >= span {
				continue
			}
			if j := at(h.holds); h.cost+h.lean < next[j].cost+next[j].lean {
				next[j], way[j] = h, back{int32(i), true}
			}
		}
		now, steps[n] = next, way
	}
	best, least := -1, math.Inf(1)
	for i, h := range now {
		if sum := h.holds + h.cost; h.holds >= f.room && sum < limit && sum+h.lean < least {
			best, least = i, sum+h.lean
		}
	}
	if best < 0 {
		return nil
	}
	turn := []int{}
	for n := len(flips) - 1; n >= 0; n-- {
		if steps[n][best].take {
			turn = append(turn, flips[n].slot)
		}
		best = int(steps[n][best].from)
	}
	return turn
}
