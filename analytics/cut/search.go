package cut

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

// run searches until the plan is good or the stop.
func (s *solver) run() {
	if s.warm != nil {
		s.warm.cut(s.inc)
	}
	s.inc.greedy(s.stop)
	if s.good() || s.stop() {
		return
	}
	if s.e = newEngine(s.p); s.stop() {
		return
	}
	s.bounds()
	if s.loose() {
		s.p.shadeBoards(0.4 * s.grain)
		s.inc.worth = s.worthOf(s.inc)
		s.bounds()
	}
	if s.good() || s.stop() {
		return
	}
	if s.inc.lacks() != nil && s.hopeless() {
		s.never = true
	}
	s.search()
}

// bounds generates columns for the problem, takes over the bound and rounds
// the mix to a plan.
func (s *solver) bounds() {
	s.d = newDuals(s.p, s.e, s.opts.Workers, s.stop)
	if s.warm == nil || !s.d.price(s.warm.prices(s.p)) {
		s.d.start()
	}
	s.d.run(1e-6*(1+math.Abs(s.p.base)*1e-6), math.MaxInt)
	s.bound = min(s.bound, s.d.best.bound+s.p.shade)
	s.round()
	s.properBound()
}

// loose reports whether the mix makes all that is wanted and no plan is known
// that does: then no pattern is dearer than another, and prices tell nothing.
func (s *solver) loose() bool {
	all := 0.0
	for _, it := range s.p.items {
		all += it.worth * float64(it.want)
	}
	return !s.good() && !s.stop() && s.in.Objective == MaxValue && s.bound > all-1e-6*(1+all)
}

// hurry is from how many boards on even a rounding ends at the stop.
const hurry = 1000

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
			if len(inc.slots) > hurry && s.stop() {
				break
			}
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

const (
	// patience is how many attempts in a row may fail before a search without
	// a deadline ends.
	patience = 10_000
	// patienceFar and patienceNear are the same for a search near a good plan,
	// which it betters soon if at all: while the plan is further than nearby
	// from its bound, as a share of it, and after. patienceCost is the same
	// where boards are to be saved, since plans are seldom that near there.
	patienceFar, patienceNear, patienceCost = 110, 20, 50
	// triesNear is how many attempts such a search makes at most.
	triesNear = 150
	nearby    = 2.8e-4
)

// search widens the pools and betters the plan from them, in turn.
func (s *solver) search() {
	many := s.p.unlimited()
	tries := uint64(4)
	if len(s.p.kinds) > 20 {
		tries = 1
	}
	rich, rounds := 15, 40
	if s.warm != nil && len(s.p.kinds) > 20 {
		tries, rich, rounds = 0, 8, 15
	}
	for seed := range tries {
		if !s.good() {
			s.plunge(s.inc.worth+s.better(), seed)
		}
	}
	if s.subsets(100); s.good() {
		return
	}
	loss := max(s.bound-s.ceiling(), math.Abs(s.bound-s.p.base)*5e-5)
	if s.p.shade > 0 { // only wood has a price
		loss = 0.02 * s.p.shade / float64(max(1, len(s.inc.slots)))
	}
	if many {
		loss = s.grain * 1e-3
	}
	dived := 0
	for seed := tries; !s.stop() && !s.good() && s.idle < s.mayFail(); seed++ {
		before := s.need()
		loss = min(loss, before)
		s.fillPools(loss)
		for !many && s.pools.size < rich*len(s.p.kinds) && loss < before && !s.pools.allRich() && !s.stop() {
			loss = min(1.5*loss, before)
			s.fillPools(loss)
		}
		if seed == tries {
			s.boundByClasses()
		}
		if s.prove() || s.good() || s.stop() {
			return
		}
		if many {
			s.stockPlan(2)
			s.plunge(s.inc.worth+s.better(), seed)
		}
		if !many && s.warm == nil && s.pools.size != dived {
			dived = s.pools.size
			s.whole(seed)
		}
		if !many || loss >= before {
			s.repairs(rounds)
		}
		if after := s.need(); before-after < 0.2*before && !s.ample() {
			loss *= 1.5
		}
	}
}

// mayFail returns how many attempts in a row may fail before the search ends.
func (s *solver) mayFail() int {
	switch {
	case s.never: // what is missing is said; how much is made need not be proven
		return 200
	case s.warm == nil || len(s.p.kinds) <= 20:
		return patience
	case s.tries >= triesNear:
		return 0
	case s.in.Objective == MinBoardCost:
		return patienceCost
	case s.need() > nearby*math.Abs(s.bound-s.p.base):
		return patienceFar
	}
	return patienceNear
}

// ample reports whether the pools hold more than repairs can use; only where
// there are few boards may more of them lead to a proof.
func (s *solver) ample() bool { return len(s.p.kinds) > 12 && s.pools.size > 60*len(s.p.kinds) }

// need is how much the boards of a better plan can lose against the bound in
// all: what a pattern loses beyond that keeps it out of every better plan.
func (s *solver) need() float64 {
	return s.d.best.bound - s.inc.worth - s.better() + 1e-6*s.grain
}

// better is by how much a plan of greater value is worth more, at least.
func (s *solver) better() float64 { return s.grain - s.p.shade }

// step is by how much a plan must be worth more to be called better.
func (s *solver) step() float64 {
	if s.p.shade > 0 {
		return 1e-4 * s.p.shade
	}
	return s.grain
}

// prove searches all boards at once, where the pools hold everything that a
// better plan could use and are small. It reports whether that settled it.
func (s *solver) prove() bool {
	if !s.pools.full(s.need()) || len(s.inc.slots) > 40 {
		return false
	}
	r := &repair{p: s.p, pools: s.pools.at, stop: s.stop, nodes: s.pools.nodes, backs: math.MaxInt, step: s.better(), count: true}
	s.pools.nodes *= 2
	all := make([]int, len(s.inc.slots))
	for i := range all {
		all[i] = i
	}
	found, proven := r.try(s.inc, all, 0)
	if found != nil {
		s.inc.accept(all, found)
	}
	if proven && !s.stop() {
		s.bound = min(s.bound, s.inc.worth+s.p.shade)
	}
	return proven
}

// whole dives once through all boards.
func (s *solver) whole(seed uint64) {
	slots := s.inc.busy(nil)
	if len(slots) > 600 {
		return
	}
	r := &repair{p: s.p, pools: s.pools.at, stop: s.stop, nodes: 2000, backs: 20, step: s.step(), columns: 20_000}
	found, _ := r.try(s.inc, slots, seed)
	if found != nil {
		s.inc.accept(slots, found)
	}
}

// manyBoards is from how many kinds of board on cheap plans are sought by
// choosing the boards first.
const manyBoards = 20

// repairs makes a number of attempts to better some boards, several at once.
// Where attempts keep failing it moves on from a plan near the best one.
func (s *solver) repairs(rounds int) {
	if s.fitter != nil && s.fitter.chosen != nil {
		s.fitter.fit(rounds)
		return
	}
	if s.now == nil || s.now.worth < s.inc.worth {
		s.now, s.stale = s.inc.clone(), 0
	}
	for range rounds {
		if s.stop() || s.good() || len(s.now.slots) == 0 {
			return
		}
		if s.matchNow() {
			s.tryMatches(s.now.busy(nil))
			continue
		}
		if s.cascadeSuits() {
			s.tryCascades()
		}
		if s.stale > s.patienceHere() {
			if s.in.Objective == MinBoardCost && len(s.p.kinds) > manyBoards && s.inc.lacks() == nil {
				if s.fitter == nil {
					s.fitter = newFitter(s)
				}
				s.fitter.fit(rounds)
				return
			}
			s.kick()
		}
		busy := s.now.busy(nil)
		if s.in.Objective == MinBoardCost {
			s.tryDeep(busy, 40)
		}
		s.tryAttempts(busy)
		for i := 0; i < s.shareOfRefits() && s.refits() && !s.stop(); i++ {
			s.tryRefits()
		}
	}
}

// shareOfRefits is how many refits go with one round of attempts. One takes
// about a tenth of the time; where boards are chosen too, the fitter, which has
// its own, does more than they do.
func (s *solver) shareOfRefits() int {
	switch {
	case s.warm != nil: // attempts find more in the little time there is
		return 0
	case s.in.Objective == MinBoardCost:
		return 1
	}
	return 10
}

// refits reports whether whole boards may be refitted: where boards are
// numbered and not too many, nor so few that a proof is near, and losses tell
// plans apart.
func (s *solver) refits() bool {
	few := len(s.p.kinds) <= manyBoards
	if few && s.in.Objective == MinBoardCost || !few && s.p.shade > 0 {
		return false
	}
	return s.pools.at != nil && !s.p.unlimited() && len(s.inc.slots) <= 600
}

// tryDeep cuts up to most boards anew by patterns made for them. Where single
// boards take long to price it does so for few boards and seldom.
func (s *solver) tryDeep(busy []int, most float64) {
	if _, fast := s.e.(*stripEngine); !fast {
		if most = min(most, 8); s.rng.IntN(8) > 0 {
			return
		}
	}
	s.idle++
	s.stale++
	if next := s.deep(s.now, s.draw(busy, int(4*math.Pow(most/4, s.rng.Float64()))), s.rng.Uint64()); next != nil {
		s.now = next
		s.improved()
	}
}

// tryAttempts makes as many attempts as there are workers and keeps what
// betters the working plan.
func (s *solver) tryAttempts(busy []int) {
	s.keep(s.attempts(busy))
}

// keep takes over what attempts found, where it betters the working plan.
func (s *solver) keep(attempts []attempt) {
	for _, r := range attempts {
		s.tries++
		s.idle++
		s.stale++
		if r.found != nil && s.now.accept(r.slots, r.found) {
			s.improved()
		}
	}
}

// improved notes that the working plan got better.
func (s *solver) improved() {
	s.stale = 0
	if w := s.worthOf(s.now); w > s.inc.worth {
		s.inc, s.idle, s.kicks = s.now.clone(), 0, 0
		s.inc.p, s.inc.worth = s.p, w
	}
}

// staleAfter is how many failed attempts make the search move on.
const staleAfter = 80

// patienceHere is how many attempts may fail before the search moves on.
func (s *solver) patienceHere() int {
	if s.in.Objective == MinBoardCost {
		return staleAfter // the fitter does more
	}
	return 3 * staleAfter
}

// attempt is some boards and the patterns found for them, nil for none.
type attempt struct {
	slots []int
	found []pattern
}

// attempts tries to better as many lots of boards as there are workers.
func (s *solver) attempts(busy []int) []attempt {
	results := make([]attempt, s.opts.Workers)
	var wait sync.WaitGroup
	for w := range results {
		// Few boards are settled fast and often; many now and then.
		slots := s.draw(busy, int(5*math.Pow(10, s.rng.Float64())))
		r := &repair{p: s.now.p, pools: s.pools.at, stop: s.stop, nodes: 300, backs: 12, step: s.step()}
		if s.in.Objective == MinBoardCost {
			r.odd = s.pools.odd // for most value they only make searching longer
		}
		if s.rng.IntN(2) == 0 {
			r.nodes, r.backs = 1000, 40
		}
		r.columns = 400 << s.rng.IntN(4)
		seed := s.rng.Uint64()
		wait.Go(func() {
			found, _ := r.try(s.now, slots, seed)
			results[w] = attempt{slots, found}
		})
	}
	wait.Wait()
	return results
}

// kicksBefore is how many kicks in vain make the search begin elsewhere.
const kicksBefore = 5

// kick moves from the best plan to one near it: a few boards are cut by other
// good patterns. After many in vain it moves far away.
func (s *solver) kick() {
	s.now, s.stale = s.inc.clone(), 0
	if s.kicks++; s.kicks%kicksBefore == 0 && len(s.p.kinds) > manyBoards && s.warm == nil {
		s.now = s.dive(math.Inf(-1), s.rng.Uint64())
		return
	}
	for range 3 + len(s.now.slots)/40 {
		slot := s.rng.IntN(len(s.now.slots))
		k := s.now.slots[slot]
		list := s.pools.at[k]
		if len(list) == 0 {
			continue
		}
		s.now.set(slot, pattern{})
		pt, _ := s.now.p.clip(k, list[s.rng.IntN(min(len(list), 30))], s.now.left())
		s.now.set(slot, pt)
	}
}

// draw picks n boards: a third of them by how much they lose, the rest at
// random.
func (s *solver) draw(busy []int, n int) []int {
	return s.drawLosers(busy, n, min(n, len(busy))/3)
}

// drawLosers picks n boards: losers of them by how much they lose, the rest at
// random.
func (s *solver) drawLosers(busy []int, n, losers int) []int {
	n = min(n, len(busy))
	losers = min(losers, n)
	type scored struct {
		slot int
		key  float64
	}
	scale := 1.0 // below 1e-3 all losses are alike
	if s.p.shade > 0 {
		scale = s.woodScale()
	}
	list := make([]scored, len(busy))
	for i, slot := range busy {
		// The n greatest of u^(1/weight) are a weighted draw (Efraimidis and
		// Spirakis 2006).
		list[i] = scored{slot, math.Log(s.rng.Float64()) / (s.loses(s.now, slot)*scale + 1e-3)}
	}
	slices.SortFunc(list, func(a, b scored) int { return cmp.Compare(b.key, a.key) })
	rest := list[losers:]
	s.rng.Shuffle(len(rest), func(i, j int) { rest[i], rest[j] = rest[j], rest[i] })
	slots := make([]int, n)
	for i := range slots {
		slots[i] = list[i].slot
	}
	return slots
}

// loses returns what a board's present pattern loses against its best one.
func (s *solver) loses(inc *incumbent, slot int) float64 {
	k := inc.slots[slot]
	gain, most := 0.0, s.d.best.gains[k]
	switch {
	case s.fitter != nil && s.fitter.chosen != nil:
		most = s.fitter.full[k]
	case len(inc.use[slot].items) > 0:
		gain = -s.p.kinds[k].cost
	}
	for i, it := range inc.use[slot].items {
		gain += max(0, s.p.items[it].worth-s.d.best.price[it]) * float64(inc.use[slot].n[i])
	}
	return max(0, most-gain)
}

// busy lists the boards worth cutting anew: those in use and, of each kind,
// two that are whole; of those chosen, unless that is nil.
func (inc *incumbent) busy(chosen []bool) []int {
	whole := make([]int, len(inc.p.kinds))
	var list []int
	for i, k := range inc.slots {
		if chosen != nil && !chosen[i] {
			continue
		}
		if len(inc.use[i].items) == 0 {
			if whole[k]++; whole[k] > 2 {
				continue
			}
		}
		list = append(list, i)
	}
	return list
}

// accept cuts the boards by what a repair found, if that betters the plan.
func (inc *incumbent) accept(slots []int, found []pattern) bool {
	next := inc.clone()
	for _, slot := range slots {
		next.set(slot, pattern{})
	}
	for i, slot := range slots {
		pt, _ := inc.p.clip(next.slots[slot], found[i], next.left())
		next.set(slot, pt)
	}
	if next.worth <= inc.worth {
		return false
	}
	*inc = *next
	return true
}
