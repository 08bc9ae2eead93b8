package cut

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// TestShareGotByHand checks the ratio estimator on five boards worked through
// by hand: planned 1 each, got 1, 1, 0.5, 1, 0: share 0.7, residuals 0.3, 0.3,
// -0.2, 0.3, -0.7, their squares 0.8, standard error sqrt(0.8/4/5) = 0.2, and
// t at 0.95 on four degrees of freedom 2.131847 (R 4: qt(0.95, 4)).
func TestShareGotByHand(t *testing.T) {
	t.Parallel()
	var o []Outcome
	for _, got := range []float64{1, 1, 0.5, 1, 0} {
		o = append(o, Outcome{1, got})
	}
	s := ShareGot(o)
	require.True(t, s.Known)
	require.Equal(t, 5, s.N)
	require.InDelta(t, 0.7, s.Share, 1e-12)
	require.InDelta(t, 0.7-2.131847*0.2, s.Low, 1e-6)
	require.InDelta(t, 0.7+2.131847*0.2, s.High, 1e-6)
	require.False(t, ShareGot(o[:4]).Known, "four boards say too little")
	require.False(t, ShareGot([]Outcome{{1, 1}, {2, 2}, {3, 3}, {1, 1}, {2, 2}}).Known, "boards that all did alike")
	require.Zero(t, ShareGot(nil).N)
	require.Equal(t, 1, ShareGot([]Outcome{{0, 1}, {math.NaN(), 1}, {1, math.Inf(1)}, {1, -1}, {2, 1}}).N)
}

// TestShareGotProperties: order and unit do not matter, and the interval holds
// the share.
func TestShareGotProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Outcome {
			return Outcome{rapid.Float64Range(0.1, 10).Draw(t, "planned"), rapid.Float64Range(0, 12).Draw(t, "got")}
		}), 1, 30).Draw(t, "boards")
		s := ShareGot(o)
		require.LessOrEqual(t, s.Low, s.Share)
		require.GreaterOrEqual(t, s.High, s.Share)
		turned := make([]Outcome, len(o))
		for i, b := range o {
			turned[len(o)-1-i] = Outcome{b.Planned * 3, b.Got * 3}
		}
		r := ShareGot(turned)
		require.InDelta(t, s.Share, r.Share, 1e-9)
		require.InDelta(t, s.Low, r.Low, 1e-6)
		require.Equal(t, s.Known, r.Known)
	})
}

// TestReplanShop cuts one of three boards, loses one that gave one part all
// the same, and plans the rest: the new plan passes the checker and wants what
// is still to be made.
func TestReplanShop(t *testing.T) {
	t.Parallel()
	board := ShopBoard{Length: 1000 * wood.Millimetre, Width: 100 * wood.Millimetre, Cost: 1}
	s := Shop{
		Rules: Rules{Pattern: Rip2, Objective: CheapestBoards, RipKerf: 3 * wood.Millimetre, CrosscutKerf: 3 * wood.Millimetre, EndTrim: 10 * wood.Millimetre,
			OffcutLength: 50 * wood.Millimetre, OffcutWidth: 20 * wood.Millimetre},
		Parts: []ShopPart{{Code: "p", Length: 300 * wood.Millimetre, Width: 90 * wood.Millimetre, Max: 8}},
	}
	for _, code := range []string{"A", "B", "C", "D", "E"} {
		board.Code = code
		s.Boards = append(s.Boards, board)
	}
	old := planned(t, s)
	require.Len(t, old.Boards, 3)
	done, lost := old.Boards[0].Board, old.Boards[1].Board
	ch := ShopChange{Done: []int{done}, Lost: []int{lost}, Got: map[int]map[int]int{lost: {0: 1}}}
	next, diff, err := ReplanShop(context.Background(), s, old, ch, Options{})
	require.NoError(t, err)
	require.NoError(t, Check(next.Instance, next.Plan))
	require.Equal(t, 7, next.Instance.Parts[0].Max, "one of eight was got otherwise")
	made := 0
	for _, b := range next.Boards {
		require.NotContains(t, []int{done, lost}, b.Board)
		for _, p := range b.Pieces {
			require.Equal(t, 10*wood.Millimetre, min(p.X, 10*wood.Millimetre), "behind the trim")
			made++
		}
	}
	require.GreaterOrEqual(t, made, 7-3)
	require.InDelta(t, next.Stock, next.PartArea+next.OffcutArea+next.KerfArea+next.WasteArea, 1e-9)
	require.Len(t, diff.More, 1)

	for name, ch := range map[string]ShopChange{"no such board": {Done: []int{99}}, "unknown lost": {Lost: []int{-1}}} {
		_, _, err := ReplanShop(context.Background(), s, old, ch, Options{})
		require.ErrorIs(t, err, ErrPlan, name)
	}
	_, _, err = ReplanShop(context.Background(), Shop{Parts: s.Parts}, old, ShopChange{}, Options{})
	require.ErrorIs(t, err, ErrPlan, "another shop")
}
