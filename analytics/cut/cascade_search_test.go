package cut

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestCascadesBetterAPlan lets cascades work at a batch of 200 boards, from the
// rounded mix alone: the plan gets better, can be cut and stays within the
// bound.
func TestCascadesBetterAPlan(t *testing.T) {
	t.Parallel()
	in := generate(recipe{Crosscut2, MaxValue, 200, 24, 400, 46, 8, 1.0}, 102)
	first, _ := penalties(in)
	s := newSolver(in, Options{Workers: 2}, first, never)
	s.inc.greedy(never)
	s.e = newEngine(s.p)
	s.bounds()
	for loss := s.need() / 50; s.pools.size < 15*len(s.p.kinds); loss *= 1.5 {
		s.fillPools(loss)
	}
	s.boundByClasses()
	s.now = s.inc.clone()
	before, need := s.inc.worth, s.need()
	require.True(t, s.cascadeSuits())
	for range 12 {
		s.casc = nextRound(s.casc)
		s.tryCascades()
	}
	assert.Greater(t, s.inc.worth, before+need/4)
	plan := s.plan()
	require.NoError(t, Check(in, plan))
	assert.LessOrEqual(t, plan.Value, plan.Bound)
}

// nextRound lets the next round be one of cascades.
func nextRound(c *cascades) *cascades {
	if c != nil {
		c.wait = 0
	}
	return c
}
