package cut

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestEasyBounds holds what is bounded before anything is solved: the cost of
// the wood by area, and the value of a plan that lacks something.
func TestEasyBounds(t *testing.T) {
	t.Parallel()
	in := Instance{
		ID: "two boards", Pattern: Rip2, Objective: MinBoardCost,
		Boards: []Board{{ID: 0, Length: 100, Width: 10, Cost: 50}, {ID: 1, Length: 100, Width: 20, Cost: 200}},
		Parts:  []Part{{ID: 0, Length: 50, Width: 10, Max: 3}},
	}
	p := newProblem(in, 1000)
	require.InDelta(t, 50+0.1*500, p.leastCost(), 1e-9, "1,000 at 0.05 and 500 at 0.1")
	require.Zero(t, newProblem(in, 1).leastCost(), "leaving parts out would be cheaper")

	for _, limit := range []time.Duration{0, time.Second} {
		ctx, cancel := context.WithTimeout(context.Background(), limit)
		plan, err := Solve(ctx, in, Options{})
		cancel()
		require.NoError(t, err)
		require.GreaterOrEqual(t, plan.Bound, 100, "no plan is cheaper than its wood")
	}

	lacks := Instance{
		ID: "too much", Pattern: Rip2, Objective: MaxValue, Kerf: Kerf{1, 1},
		Boards: []Board{{ID: 0, Length: 400, Width: 46}},
		Parts:  []Part{{ID: 0, Length: 100, Width: 10, Value: 5, Min: 40, Max: 50}},
	}
	plan, err := Solve(context.Background(), lacks, Options{})
	require.NoError(t, err)
	require.Equal(t, Infeasible, plan.Status)
	require.Equal(t, 60, plan.Value)
	require.Equal(t, 92, plan.Bound, "5 for each 1,000 of 18,400")
}

// TestEasyBoundHolds solves random cases for cheapest boards: none costs less.
func TestEasyBoundHolds(t *testing.T) {
	t.Parallel()
	for seed := range uint64(30) {
		in := generate(recipe{Rip2, MinBoardCost, 6, 5, 120, 24, 2, 0.4}, seed)
		ctx, cancel := context.WithTimeout(context.Background(), 200*time.Millisecond)
		plan, err := Solve(ctx, in, Options{})
		cancel()
		require.NoError(t, err)
		if _, last := penalties(in); plan.Missing == nil {
			require.GreaterOrEqual(t, float64(plan.Value), newProblem(in, last).leastCost()-1e-9, in.ID)
		}
	}
}
