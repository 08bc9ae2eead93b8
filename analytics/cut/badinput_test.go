package cut

import (
	"context"
	"math"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// oneBoard is a sound instance to spoil: one board of 40 x 8, two parts.
func oneBoard() Instance {
	return Instance{
		Pattern: Rip2, Objective: MaxValue, Kerf: Kerf{1, 1},
		Boards: []Board{{ID: 3, Length: 40, Width: 8, Cost: 5, Defects: []Defect{{4, 1, 2, 2, Both}}}},
		Parts:  []Part{{ID: 1, Length: 12, Width: 3, Value: 7, Max: 4, Faces: 1}, {ID: 2, Length: 20, Width: 4, Value: 11, Max: 2}},
	}
}

// refused asks for an error that says where and what.
func refused(t *testing.T, in Instance, message string) {
	t.Helper()
	_, err := Solve(context.Background(), in, Options{})
	require.ErrorIs(t, err, ErrInstance)
	require.EqualError(t, err, "bad cutting instance: "+message)
}

// TestBadInput goes through what people get wrong: each is a clear answer.
func TestBadInput(t *testing.T) {
	t.Parallel()
	t.Run("defect off the board", func(t *testing.T) {
		in := oneBoard()
		in.Boards[0].Defects[0].X = 39
		refused(t, in, "boards[0].defects[0]: 39,1 to 41,3 lies off the board of 40 x 8")
		in.Boards[0].Defects[0].X = -1
		refused(t, in, "boards[0].defects[0]: -1,1 to 1,3 lies off the board of 40 x 8")
		in.Boards[0].Defects[0].X = math.MaxInt
		_, err := Solve(context.Background(), in, Options{})
		require.ErrorIs(t, err, ErrInstance, "sums near overflow")
	})
	t.Run("defect of no size", func(t *testing.T) {
		in := oneBoard()
		in.Boards[0].Defects[0].DY = 0
		refused(t, in, "boards[0].defects[0]: size 2 x 0: a defect covers at least one tick each way")
	})
	t.Run("overlapping defects", func(t *testing.T) {
		in := oneBoard()
		in.Boards[0].Defects = []Defect{{4, 1, 3, 3, Top}, {5, 2, 3, 3, Bottom}, {4, 1, 3, 3, Top}}
		apart := solved(t, in, time.Second)
		in.Boards[0].Defects = []Defect{{4, 1, 3, 3, Top}, {5, 2, 3, 3, Bottom}}
		require.Equal(t, Optimal, apart.Status)
		require.Equal(t, solved(t, in, time.Second).Value, apart.Value, "saying it twice changes nothing")
	})
	t.Run("part larger than any board", func(t *testing.T) {
		in := oneBoard()
		in.Parts = append(in.Parts, Part{ID: 9, Length: 41, Width: 1, Value: 1000, Max: 1})
		plan := solved(t, in, time.Second)
		require.Equal(t, Optimal, plan.Status)
		require.Zero(t, plan.Made(in)[2])
		in.Objective = MinBoardCost
		in.Parts = in.Parts[2:]
		plan = solved(t, in, time.Second)
		require.Equal(t, Infeasible, plan.Status, "proven, not given up")
		require.Equal(t, []int{1}, plan.Missing)
	})
	t.Run("kerf 0", func(t *testing.T) {
		in := oneBoard()
		in.Boards[0].Defects, in.Kerf = nil, Kerf{}
		in.Parts = []Part{{ID: 1, Length: 10, Width: 2, Value: 1, Max: 99}}
		require.Equal(t, 16, solved(t, in, time.Second).Value, "4 by 4 with nothing lost")
	})
	t.Run("kerf wider than the board", func(t *testing.T) {
		in := oneBoard()
		in.Boards[0].Defects, in.Kerf = nil, Kerf{9, 41}
		in.Parts = []Part{{ID: 1, Length: 10, Width: 2, Value: 1, Max: 99}}
		require.Equal(t, 1, solved(t, in, time.Second).Value)
		in.Kerf.Rip = -1
		refused(t, in, "kerf: -1 and 41: give 0 to 1048576 ticks")
	})
	t.Run("duplicate codes", func(t *testing.T) {
		in := oneBoard()
		in.Boards = append(in.Boards, in.Boards[0])
		refused(t, in, "boards[1].id: 3 is already the id of boards[0]; give each board its own")
		in = oneBoard()
		in.Parts[1].ID = 1
		refused(t, in, "parts[1].id: 1 is already the id of parts[0]; give each part its own")
	})
	t.Run("contradictory minimum and maximum", func(t *testing.T) {
		in := oneBoard()
		in.Parts[0].Min = 5
		refused(t, in, "parts[0].min: at least 5 but at most 4 are wanted")
		in.Objective = MinBoardCost
		refused(t, in, "parts[0].min: at least 5 but at most 4 are wanted")
	})
}

// TestTenThousandBoards plans 10,000 boards and 500 part sizes: the plan is
// valid within the time given and memory stays bounded. It runs alone, so that
// the memory is its own.
func TestTenThousandBoards(t *testing.T) {
	in := generate(recipe{Rip2, MaxValue, 10_000, 500, 400, 46, 6, 0.9}, 1)
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	plan := solved(t, in, time.Second)
	runtime.ReadMemStats(&after)
	require.NotEmpty(t, plan.Placements)
	require.GreaterOrEqual(t, plan.Bound, plan.Value)
	require.Less(t, after.Sys-before.Sys, uint64(600_000_000), "bytes taken from the system")
}

// TestOneMillisecond asks for plans in a millisecond: poorer ones, but valid
// and with a bound.
func TestOneMillisecond(t *testing.T) {
	t.Parallel()
	cases, best := cutting(t, "large.json")
	plan := solved(t, cases[0].Instance, time.Millisecond)
	require.GreaterOrEqual(t, plan.Bound, best[0])
	require.LessOrEqual(t, plan.Value, plan.Bound)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	plan, err := Solve(ctx, cases[0].Instance, Options{})
	require.NoError(t, err)
	require.NoError(t, Check(cases[0].Instance, plan))
	require.GreaterOrEqual(t, plan.Bound, best[0])
}
