package cut

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMatchesUseUpWood: where all that is wanted can just be made from 200
// boards, matching helps to make it, though no part is worth more than another
// for its wood. It may take more than one beginning.
func TestMatchesUseUpWood(t *testing.T) {
	t.Parallel()
	in := generate(recipe{Crosscut2, MaxValue, 200, 24, 400, 46, 8, 1.0}, 2)
	for seed := uint64(2); seed < 8; seed++ {
		s := woodSolver(t, in, seed)
		require.Positive(t, addUp(s.inc.left()), "the rounded plan makes all")
		if matchUp(s, 150) == 0 || addUp(s.inc.left()) > 0 {
			continue
		}
		plan := s.plan()
		require.NoError(t, Check(in, plan))
		assert.Equal(t, Optimal, plan.Status)
		return
	}
	assert.Fail(t, "copies lack from every beginning")
}

// woodSolver is a run at an instance all of which the mix makes, before its
// search.
func woodSolver(t *testing.T, in Instance, seed uint64) *solver {
	t.Helper()
	first, _ := penalties(in)
	s := newSolver(in, Options{Workers: 2, Seed: seed}, first, never)
	s.inc.greedy(never)
	s.e = newEngine(s.p)
	s.bounds()
	require.True(t, s.loose())
	s.p.shadeBoards(0.4 * s.grain)
	s.inc.worth = s.worthOf(s.inc)
	s.bounds()
	s.fillPools(0.02 * s.p.shade / float64(len(s.inc.slots)))
	s.now = s.inc.clone()
	return s
}

// matchUp searches until all is made, in so many rounds, and returns how many
// matches bettered the plan.
func matchUp(s *solver, rounds int) (matched int) {
	for ; rounds > 0 && addUp(s.inc.left()) > 0; rounds-- {
		if !s.matchNow() {
			s.tryAttempts(s.now.busy(nil))
			continue
		}
		before := s.inc.worth
		if s.tryMatches(s.now.busy(nil)); s.inc.worth > before {
			matched++
		}
	}
	return matched
}

// addUp adds up copies.
func addUp(left []int32) (sum int) {
	for _, n := range left {
		sum += int(n)
	}
	return sum
}
