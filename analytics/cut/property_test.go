package cut

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// exact solves an instance that is small enough to be proven.
func exact(t *rapid.T, in Instance) Plan {
	plan, err := Solve(context.Background(), in, Options{Workers: 1})
	require.NoError(t, err)
	require.NoError(t, Check(in, plan))
	require.Contains(t, []Status{Optimal, Infeasible}, plan.Status)
	return plan
}

// small draws an instance somewhat larger than brute force can take.
func small(t *rapid.T) Instance {
	return generate(recipe{
		pattern:   rapid.SampledFrom([]Pattern{Rip2, Crosscut2, Rip3, Crosscut3, Rip2Trim}).Draw(t, "pattern"),
		objective: rapid.SampledFrom([]Objective{MaxValue, MinBoardCost}).Draw(t, "objective"),
		boards:    rapid.IntRange(1, 2).Draw(t, "boards"), parts: 4, length: 60, width: 14, defects: 3, plenty: 0.4,
	}, rapid.Uint64().Draw(t, "seed"))
}

// worse reports whether plan b is no better than a.
func worse(in Instance, a, b Plan) bool {
	switch {
	case in.Objective == MaxValue:
		return b.Value <= a.Value
	case a.Status == Infeasible:
		return b.Status == Infeasible
	default:
		return b.Status == Infeasible || b.Value >= a.Value
	}
}

// TestOrderIsNoMatter permutes parts and boards.
func TestOrderIsNoMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := small(t)
		turned := in
		turned.Boards, turned.Parts = slices.Clone(in.Boards), slices.Clone(in.Parts)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1))
		rng.Shuffle(len(turned.Boards), func(i, j int) { turned.Boards[i], turned.Boards[j] = turned.Boards[j], turned.Boards[i] })
		rng.Shuffle(len(turned.Parts), func(i, j int) { turned.Parts[i], turned.Parts[j] = turned.Parts[j], turned.Parts[i] })
		a, b := exact(t, in), exact(t, turned)
		require.Equal(t, a.Status, b.Status)
		if a.Status == Optimal {
			require.Equal(t, a.Value, b.Value)
		}
	})
}

// TestMoreTroubleIsNoGain adds a defect, then widens the kerfs.
func TestMoreTroubleIsNoGain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := small(t)
		clean := exact(t, in)
		spoilt := in
		spoilt.Boards = slices.Clone(in.Boards)
		b := &spoilt.Boards[rapid.IntRange(0, len(in.Boards)-1).Draw(t, "board")]
		b.Defects = append(slices.Clone(b.Defects), blemish(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "defect"), 1)), *b))
		require.True(t, worse(in, clean, exact(t, spoilt)), "a defect more")
		wide := in
		wide.Kerf.Rip += rapid.IntRange(0, 2).Draw(t, "rip")
		wide.Kerf.Crosscut += rapid.IntRange(0, 2).Draw(t, "crosscut")
		require.True(t, worse(in, clean, exact(t, wide)), "more kerf")
	})
}

// TestFreedomIsGain compares patterns that contain one another.
func TestFreedomIsGain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := small(t)
		in.Pattern = Rip2
		narrow := exact(t, in)
		for _, p := range []Pattern{Rip3, Rip2Trim} {
			in.Pattern = p
			require.True(t, worse(in, exact(t, in), narrow), p)
		}
	})
}

// TestMinimumComesFirst asks for a part of little value that takes the place
// of a better one.
func TestMinimumComesFirst(t *testing.T) {
	t.Parallel()
	in := Instance{
		Pattern: Rip2, Objective: MaxValue, Boards: []Board{{Length: 10, Width: 4}},
		Parts: []Part{{ID: 0, Length: 10, Width: 4, Value: 9, Max: 1}, {ID: 1, Length: 5, Width: 4, Value: 1, Min: 1, Max: 3}},
	}
	plan, err := Solve(context.Background(), in, Options{})
	require.NoError(t, err)
	require.Equal(t, 2, plan.Value)
	require.Equal(t, Optimal, plan.Status)
	in.Parts[1].Min = 3
	plan, err = Solve(context.Background(), in, Options{})
	require.NoError(t, err)
	require.Equal(t, Infeasible, plan.Status)
	require.Equal(t, []int{0, 1}, plan.Missing)
}

// TestSameSeedSamePlan solves twice.
func TestSameSeedSamePlan(t *testing.T) {
	t.Parallel()
	in := generate(recipe{Rip2, MaxValue, 3, 8, 200, 30, 5, 0.7}, 3)
	a, err := Solve(context.Background(), in, Options{Workers: 2, Seed: 5})
	require.NoError(t, err)
	b, err := Solve(context.Background(), in, Options{Workers: 2, Seed: 5})
	require.NoError(t, err)
	require.Equal(t, a, b)
}
