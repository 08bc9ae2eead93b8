package cut

import (
	"math/rand/v2"
	"slices"
	"sync"
)

const (
	// leastMatch and mostMatch bound how many boards are matched at once: few
	// have no other way to make the same, and of many too few combinations
	// can be looked at.
	leastMatch, mostMatch = 10, 34
	// mostMatchWood is the same where only wood has a price.
	mostMatchWood = 26
	// mostRows is up to how many part sizes are matched: each one more makes
	// a match rarer.
	mostRows = 80
	// matchAfter and matchAfterWarm are after how many failed attempts
	// matching joins in, which takes longer than they do and finds what they
	// do not; matchAfterWood is the same where only wood has a price, and
	// matchPatience how many failed attempts there make it come less often: it
	// may be that not all can be made.
	matchAfter, matchAfterWarm, matchAfterWood, matchPatience = 20, 15, 10, 300
	// deepAfter is after how many failed attempts matches get deeper.
	deepAfter = 400
	// matchOften and matchOftenWarm: one round of so many is one of matching.
	matchOften, matchOftenWarm = 2, 6
)

// matchNow reports whether the next round is one of matching: where there are
// enough boards, numbered, and losses tell plans apart, or all that is wanted
// may be made from the wood. Where boards are to be saved, nothing may be left
// out, and what the fitter finds in the same time is more.
func (s *solver) matchNow() bool {
	after, often := matchAfter, matchOften
	if s.warm != nil {
		after, often = matchAfterWarm, matchOftenWarm
	}
	if s.p.shade > 0 {
		after, often = matchAfterWood, matchOften+s.idle/matchPatience
	}
	return s.in.Objective == MaxValue && s.matches() && len(s.p.kinds) > manyBoards &&
		s.stale > after && s.rng.IntN(often) == 0
}

// tryMatches makes as many attempts as there are workers to better some boards
// by matching, and keeps what betters the working plan.
func (s *solver) tryMatches(busy []int) {
	effort := thorough
	switch {
	case s.warm != nil:
		effort = brief
	case s.idle > deepAfter && s.rng.IntN(2) == 0:
		effort = deepest
	}
	for len(s.matchers) < s.opts.Workers {
		s.matchers = append(s.matchers, &matcher{stop: s.stop, rng: rand.New(rand.NewPCG(s.rng.Uint64(), 0x3a7c))})
	}
	results := make([]attempt, s.opts.Workers)
	var wait sync.WaitGroup
	for w := range results {
		n := leastMatch + s.rng.IntN(mostMatch-leastMatch)
		if s.p.shade > 0 {
			n = leastMatch + s.rng.IntN(mostMatchWood-leastMatch)
		}
		s.matchers[w].effort = effort
		slots := s.drawLosers(busy, n, int(float64(n)*(0.2+0.5*s.rng.Float64())))
		r := &repair{p: s.now.p, pools: s.pools.at, stop: s.stop, step: s.step(), match: s.matchers[w]}
		if s.p.shade > 0 {
			r.p, r.all = s.woodProblem(), true
		}
		wait.Go(func() {
			found, _ := r.try(s.now, slots, 0)
			results[w] = attempt{slots, found}
		})
	}
	wait.Wait()
	s.keep(results)
}

// woodProblem is the problem where all that is wanted could be made and only
// wood has a price: a copy is worth twice the wood it takes at the best prices,
// a board's wood about a hundred. A plan that makes all loses so little there
// that the worth of parts would drown it.
func (s *solver) woodProblem() *problem {
	q := *s.now.p
	q.items, q.kinds = slices.Clone(q.items), slices.Clone(q.kinds)
	scale := s.woodScale()
	for i, g := range s.gains() {
		q.items[i].worth = 2*g*scale + 0.1
	}
	for k := range q.kinds {
		q.kinds[k].cost *= scale
	}
	return &q
}

// woodScale is by how much the price of wood is raised where only wood has one, so
// that a board costs about a hundred.
func (s *solver) woodScale() float64 { return 100 * float64(len(s.inc.slots)) / s.p.shade }

// matches reports whether boards may be matched: numbered ones, where losses
// tell plans apart or plans are made afresh.
func (s *solver) matches() bool {
	return s.refits() || s.p.shade > 0 && s.warm == nil && s.pools.at != nil && !s.p.unlimited()
}
