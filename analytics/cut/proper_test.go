package cut

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestProperBound compares, on the reference cases for most value, the bound by
// any patterns with the one by proper patterns: never below the proven optimum
// nor above the other, and on the case of the largest gap the optimum itself.
func TestProperBound(t *testing.T) {
	t.Parallel()
	cases, best := cutting(t, "solved.json")
	lower := 0
	for i, c := range cases {
		if c.Instance.Objective != MaxValue {
			continue
		}
		s := newSolver(c.Instance, Options{Workers: 2}, 1, func() bool { return false })
		s.e = newEngine(s.p)
		s.d = newDuals(s.p, s.e, 2, s.stop)
		s.d.start()
		s.d.run(1e-6, math.MaxInt)
		plain := s.d.best.bound - s.p.base
		s.bound, s.inc.worth = s.d.best.bound, math.Inf(-1)
		s.properBound()
		proper := s.bound - s.p.base
		require.GreaterOrEqual(t, proper, float64(best[i])-1e-6, c.Instance.ID)
		require.LessOrEqual(t, proper, plain+1e-6, c.Instance.ID)
		if proper < plain-1 {
			lower++
		}
		if c.Instance.ID == "db-09-rip2-large-max_value" {
			require.Greater(t, plain, 1.05*float64(best[i]))
			require.InDelta(t, best[i], proper, 1e-3)
		}
	}
	require.GreaterOrEqual(t, lower, 3, "cases on which it tells")
}
