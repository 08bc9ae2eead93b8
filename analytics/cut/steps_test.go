package cut

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawn draws an instance of any size a test can afford and plans it.
func drawn(t *rapid.T) (Instance, Plan) {
	in := tinyInstance(t)
	if rapid.Bool().Draw(t, "larger") {
		in = generate(recipe{in.Pattern, MaxValue, rapid.IntRange(1, 4).Draw(t, "boards"), 6, 90, 24, 4, 0.8}, rapid.Uint64().Draw(t, "seed"))
		in.Kerf = Kerf{rapid.IntRange(0, 3).Draw(t, "rip"), rapid.IntRange(0, 3).Draw(t, "cross")}
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer cancel()
	plan, err := Solve(ctx, in, Options{Workers: 1})
	require.NoError(t, err)
	return in, plan
}

// TestStepsUseUpBoards checks that parts, waste and sawdust of every board add
// up to the board exactly, and that every part comes free by some cut or is
// the whole board.
func TestStepsUseUpBoards(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in, plan := drawn(t)
		sawyers, err := sawAll(in, plan)
		require.NoError(t, err)
		freed := make([]int, len(in.Parts))
		used := map[[2]int]int{}
		for _, p := range plan.Placements {
			used[[2]int{p.Board, p.Copy}] += in.Parts[p.Part].Length * in.Parts[p.Part].Width
		}
		for _, s := range sawyers {
			total := used[[2]int{s.board, s.copy}]
			for _, w := range s.waste {
				total += w.dx * w.dy
			}
			for _, st := range s.steps {
				if st.Kind == RipCut {
					total += st.Kerf * st.DX
				} else {
					total += st.Kerf * st.DY
				}
				require.Positive(t, st.Fence)
				for _, p := range [2]int{st.Part, st.Rest} {
					if p >= 0 {
						freed[p]++
					}
				}
			}
			b := in.Boards[s.board]
			require.Equal(t, b.Length*b.Width, total, "board %d", s.board)
			if len(s.steps) == 0 { // the whole board is the part
				for _, p := range plan.Placements {
					if p.Board == s.board && p.Copy == s.copy {
						freed[p.Part]++
					}
				}
			}
		}
		for i, n := range plan.Made(in) {
			require.GreaterOrEqual(t, n, freed[i])
			require.LessOrEqual(t, n, freed[i]+len(sawyers)*8, "part %d", i)
		}
	})
}

// TestGroupCuts checks that grouping keeps every cut and each piece's order
// and moves the fence no more than board order does.
func TestGroupCuts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in, plan := drawn(t)
		steps, err := Steps(in, plan)
		require.NoError(t, err)
		sheet, err := GroupCuts(in, plan)
		require.NoError(t, err)
		var all []Step
		for _, s := range sheet.Setups {
			for _, st := range s.Steps {
				require.Equal(t, s.Fence, st.Fence)
			}
			all = append(all, s.Steps...)
		}
		require.ElementsMatch(t, steps, all)
		require.Equal(t, len(sheet.Setups), sheet.Moves)
		for _, stage := range stages(steps) {
			require.ElementsMatch(t, chains(steps, stage), chains(all, stage), "each piece's cuts in order")
		}
		// No order can do with fewer settings than there are distances.
		type distance struct {
			at    stageKind
			fence int
		}
		distances := map[distance]bool{}
		for _, st := range steps {
			distances[distance{stageKind{st.Stage, st.Kind}, st.Fence}] = true
		}
		require.GreaterOrEqual(t, sheet.Moves, len(distances))
	})
}

// TestGroupCutsSaves counts by hand: three boards, each ripped 4 then 2 wide.
// Board by board the fence is set six times, grouped twice.
func TestGroupCutsSaves(t *testing.T) {
	t.Parallel()
	in := Instance{Pattern: Rip2, Objective: MaxValue, Kerf: Kerf{1, 1}}
	var plan Plan
	for i := range 3 {
		in.Boards = append(in.Boards, Board{ID: i, Length: 10, Width: 9})
		plan.Placements = append(plan.Placements, Placement{Board: i, Part: 0, Y: 0}, Placement{Board: i, Part: 1, Y: 5})
	}
	in.Parts = []Part{{ID: 0, Length: 10, Width: 4, Max: 9, Value: 1}, {ID: 1, Length: 10, Width: 2, Max: 9, Value: 1}}
	sheet, err := GroupCuts(in, plan)
	require.NoError(t, err)
	require.Equal(t, 6, sheet.BoardOrder)
	require.Equal(t, 2, sheet.Moves)
	require.Equal(t, 4, sheet.Setups[0].Fence)
	require.Len(t, sheet.Setups[0].Steps, 3)
}

// TestStepsRefuses reports plans that no saw can make: a pinwheel.
func TestStepsRefuses(t *testing.T) {
	t.Parallel()
	in := Instance{Pattern: Guillotine, Objective: MaxValue, Boards: []Board{{Length: 3, Width: 3}}, Parts: []Part{
		{ID: 0, Length: 2, Width: 1, Value: 1, Max: 2}, {ID: 1, Length: 1, Width: 2, Value: 1, Max: 2},
	}}
	plan := Plan{Placements: []Placement{{Part: 0}, {Part: 1, X: 2}, {Part: 0, X: 1, Y: 2}, {Part: 1, Y: 1}}}
	_, err := Steps(in, plan)
	require.ErrorIs(t, err, ErrPlan)
	_, err = GroupCuts(in, plan)
	require.ErrorIs(t, err, ErrPlan)
	require.ErrorIs(t, Check(in, plan), ErrPlan)
}
