package cut

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// TestSimplerPlansAreFreerOnes: what a simpler pattern gives passes the checker
// of the freer one, and is no better where that is proven.
func TestSimplerPlansAreFreerOnes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := tinyInstance(t)
		solved := func(p Pattern) Plan {
			one := in
			one.Pattern = p
			ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
			defer cancel()
			plan, err := Solve(ctx, one, Options{Workers: 1})
			require.NoError(t, err)
			return plan
		}
		for _, freer := range []Pattern{Guillotine, Rip3, Crosscut3} {
			in.Pattern = freer
			best := solved(freer)
			for _, pattern := range freer.Simpler() {
				plan := solved(pattern)
				require.NoError(t, Check(in, plan), "%s as %s", pattern, freer)
				require.False(t, best.Status == Optimal && plan.boundedBy(best).beats(in, best), "%s as %s", pattern, freer)
			}
		}
	})
}

// TestFreePatternOfALargeRack asks for few parts of many boards by any cuts,
// for which pricing every board takes longer than there is time: the plan is
// no dearer than the one by rips and crosscuts.
func TestFreePatternOfALargeRack(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(7, 2026))
	s := Shop{Rules: Rules{Objective: CheapestBoards, RipKerf: eighth, CrosscutKerf: eighth}}
	for i := range 200 {
		b := ShopBoard{Code: fmt.Sprint(i), Length: wood.Length(30+rng.IntN(60)) * wood.Inch, Width: wood.Length(28+rng.IntN(32)) * eighth, Cost: 1}
		for _, x := range []wood.Length{2 * wood.Inch, b.Length / 2, b.Length - 3*wood.Inch} {
			b.Defects = append(b.Defects, ShopDefect{X: x, Y: wood.Length(rng.IntN(20)) * eighth, DX: 3 * eighth, DY: 3 * eighth, Face: Both})
		}
		s.Boards = append(s.Boards, b)
	}
	for i, size := range [][2]wood.Length{{20, 10}, {16, 10}, {15, 4}, {22, 14}, {22, 4}} {
		s.Parts = append(s.Parts, ShopPart{Code: fmt.Sprint(i), Length: size[0] * wood.Inch, Width: 2 * size[1] * eighth, Max: 2 + i})
	}
	plan := func(p Pattern) ShopPlan {
		s.Rules.Pattern = p
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		defer cancel()
		out, err := PlanShop(ctx, s, Options{GapGoal: 1e-5})
		require.NoError(t, err)
		return out
	}
	plain, slow := plan(Rip2Trim), plan(Guillotine)
	require.Greater(t, slow.Plan.Value, plain.Plan.Value, "or this is no case for it")
	free := slow
	for _, pattern := range Guillotine.Simpler() {
		ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
		var err error
		free, err = SimplerShop(ctx, s, free, pattern, Options{GapGoal: 1e-5})
		cancel()
		require.NoError(t, err)
	}
	require.NoError(t, Check(free.Instance, free.Plan))
	require.Equal(t, Guillotine, free.Instance.Pattern)
	require.Nil(t, free.Plan.Missing)
	require.LessOrEqual(t, free.Plan.Value, plain.Plan.Value)
	require.Equal(t, slow.Plan.Bound, free.Plan.Bound)
	require.InDelta(t, free.Stock, free.PartArea+free.OffcutArea+free.KerfArea+free.WasteArea, 1e-9)

	again, err := SimplerShop(context.Background(), s, plain, Rip2Trim, Options{GapGoal: 1})
	require.NoError(t, err)
	require.Equal(t, plain, again, "good enough already")
}
