package cut

import (
	"math/rand/v2"
	"sync"
)

const (
	// leastMatch and mostMatch bound how many boards are matched at once: few
	// have no other way to make the same, and of many too few combinations
	// can be looked at.
	leastMatch, mostMatch = 10, 34
	// mostRows is up to how many part sizes are matched: each one more makes
	// a match rarer.
	mostRows = 80
	// matchAfter and matchAfterWarm are after how many failed attempts
	// matching joins in, which takes longer than they do and finds what they
	// do not.
	matchAfter, matchAfterWarm = 20, 15
	// matchOften and matchOftenWarm: one round of so many is one of matching.
	matchOften, matchOftenWarm = 2, 6
)

// matchNow reports whether the next round is one of matching: where there are
// enough boards, numbered, and losses tell plans apart. Where boards are to be saved,
// nothing may be left out, and what the fitter finds in the same time is more.
func (s *solver) matchNow() bool {
	after, often := matchAfter, matchOften
	if s.warm != nil {
		after, often = matchAfterWarm, matchOftenWarm
	}
	return s.in.Objective == MaxValue && s.refits() && len(s.p.kinds) > manyBoards &&
		s.stale > after && s.rng.IntN(often) == 0
}

// tryMatches makes as many attempts as there are workers to better some boards
// by matching, and keeps what betters the working plan.
func (s *solver) tryMatches(busy []int) {
	effort := thorough
	if s.warm != nil {
		effort = brief
	}
	for len(s.matchers) < s.opts.Workers {
		s.matchers = append(s.matchers, &matcher{stop: s.stop, effort: effort, rng: rand.New(rand.NewPCG(s.rng.Uint64(), 0x3a7c))})
	}
	results := make([]attempt, s.opts.Workers)
	var wait sync.WaitGroup
	for w := range results {
		n := leastMatch + s.rng.IntN(mostMatch-leastMatch)
		slots := s.drawLosers(busy, n, int(float64(n)*(0.2+0.5*s.rng.Float64())))
		r := &repair{p: s.now.p, pools: s.pools.at, stop: s.stop, step: s.step(), match: s.matchers[w]}
		wait.Go(func() {
			found, _ := r.try(s.now, slots, 0)
			results[w] = attempt{slots, found}
		})
	}
	wait.Wait()
	s.keep(results)
}
