package cut

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestFreeListHoldsEveryPattern compares the listed patterns of one board with
// every one there is: each can be cut, and none that loses little is lacking
// unless another one makes all that it makes.
func TestFreeListHoldsEveryPattern(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := tinyInstance(t)
		in.Pattern, in.Objective, in.Boards = Guillotine, MaxValue, in.Boards[:1]
		in.Boards[0].Length, in.Boards[0].Width = min(in.Boards[0].Length, 6), min(in.Boards[0].Width, 4)
		for i := range in.Boards[0].Defects {
			d := &in.Boards[0].Defects[i]
			d.X, d.Y = min(d.X, in.Boards[0].Length-d.DX), min(d.Y, in.Boards[0].Width-d.DY)
		}
		p, e, gain := listed(in)
		for i := range gain { // one that gains nothing must be listed too
			if rapid.IntRange(0, 3).Draw(t, "worthless") == 0 {
				gain[i] = 0
			}
		}
		e.prepare(gain)
		best, _ := e.worker().best(0)
		l := e.lister(0, gain, 0)
		require.InDelta(t, best, l.best(), 1e-9)
		slack := best * rapid.Float64Range(0, 1).Draw(t, "slack")
		list := l.list(slack, &quota{left: math.MaxInt, stop: never})
		itemOf := map[int]int{}
		for i, it := range p.items {
			itemOf[it.part] = i
		}
		all := bruteBoard(in, 0)
		for _, pt := range list {
			counts := make([]int, len(in.Parts))
			for i, it := range pt.items {
				counts[p.items[it].part] = int(pt.n[i])
			}
			require.True(t, slices.ContainsFunc(all, func(v []int) bool { return slices.Equal(v, counts) }), "%v cannot be cut", counts)
			require.InDelta(t, best-gainOfCounts(counts, itemOf, gain), pt.loss, 1e-9)
		}
		for _, v := range all {
			made := make([]uint16, len(p.items))
			for part, n := range v {
				if n > 0 {
					made[itemOf[part]] = uint16(n)
				}
			}
			require.True(t, slices.Max(v) == 0 || gainOfCounts(v, itemOf, gain) < best-slack-1e-9 || slices.ContainsFunc(list, func(pt pattern) bool {
				return atLeast(madeBy(&pt, len(p.items)), made)
			}), "%v is not listed", v)
		}
	})
}

// gainOfCounts adds up the gains of copies by part.
func gainOfCounts(counts []int, itemOf map[int]int, gain []float64) float64 {
	sum := 0.0
	for part, n := range counts {
		if n > 0 {
			sum += float64(n) * gain[itemOf[part]]
		}
	}
	return sum
}

// TestTinyFreeAgainstBruteForce compares plans by any edge-to-edge cuts, copies
// counted, with every plan there is.
func TestTinyFreeAgainstBruteForce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := tinyInstance(t)
		in.Pattern = Guillotine
		plan := exact(t, in)
		best, possible := brute(in)
		require.Equal(t, possible, plan.Status == Optimal)
		if possible {
			require.Equal(t, best, plan.Value)
		}
	})
}

// TestFreedomIsNeverLess: any edge-to-edge cuts are worth no less than a simpler
// pattern, and both are proven.
func TestFreedomIsNeverLess(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := small(t)
		if rapid.Bool().Draw(t, "tiny") {
			in = tinyInstance(t)
		}
		in.Pattern = Guillotine
		free := exact(t, in)
		for _, p := range []Pattern{Rip2, Crosscut2, Rip2Trim, Crosscut2Trim, Rip3, Crosscut3} {
			in.Pattern = p
			require.True(t, worse(in, free, exact(t, in)), p)
		}
	})
}

// TestFreedomFallsBack begins with a plan that makes nothing, as if a search had
// found nothing: what comes of it is worth no less than any simpler plan, and
// nothing is looked for once the time is up.
func TestFreedomFallsBack(t *testing.T) {
	t.Parallel()
	in := generate(recipe{Guillotine, MaxValue, 3, 8, 100, 20, 4, 0.8}, 1)
	most := int(newProblem(in, 1).mostValue())
	idle := Plan{Status: Bounded, Bound: most, Gap: gapOf(0, most)}
	require.NoError(t, Check(in, idle))
	opts := Options{Workers: 1}
	same, err := idle.orSimpler(in, opts, func() bool { return true })
	require.NoError(t, err)
	require.Equal(t, idle, same)
	found, err := idle.orSimpler(in, opts, never)
	require.NoError(t, err)
	require.NoError(t, Check(in, found))
	require.Equal(t, most, found.Bound)
	values := map[int]bool{}
	for _, pattern := range in.Pattern.Simpler() {
		one := in
		one.Pattern = pattern
		plan, err := Solve(context.Background(), one, opts)
		require.NoError(t, err)
		require.GreaterOrEqual(t, found.Value, plan.Value, pattern)
		values[plan.Value] = true
	}
	require.Greater(t, len(values), 1, "or any of them would do")
}

// BenchmarkFree plans five boards by any cuts and by what is simpler, each in
// the same time. The ratio is of the values, to the best of the simpler plans.
func BenchmarkFree(b *testing.B) {
	for seed := range uint64(4) {
		in := generate(recipe{Guillotine, MaxValue, 5, 8, 200, 30, 5, 0.8}, seed)
		b.Run(fmt.Sprint(seed), func(b *testing.B) {
			value := func(pattern Pattern) float64 {
				in.Pattern = pattern
				ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
				defer cancel()
				plan, err := Solve(ctx, in, Options{})
				require.NoError(b, err)
				return float64(plan.Value)
			}
			for range b.N {
				best := 0.0
				for _, pattern := range Guillotine.Simpler() {
					best = max(best, value(pattern))
				}
				b.ReportMetric(value(Guillotine)/best, "ratio-to-simpler")
			}
		})
	}
}
