package cut

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestReplan loses boards of the reference batch, keeps those that are cut,
// and asks for a plan that is as near to its bound as the first.
func TestReplan(t *testing.T) {
	t.Parallel()
	cases, _ := cutting(t, "large.json")
	in := cases[0].Instance
	first := solved(t, in, 2*time.Second)
	ch := Change{
		Done: [][2]int{{0, 0}, {1, 0}, {2, 0}},
		Lost: [][2]int{{5, 0}, {6, 0}},
		Cut:  []Placement{{Board: 6, Part: first.Placements[0].Part}},
	}
	out, plan, d, err := Replan(context.Background(), in, first, ch, Options{})
	require.NoError(t, err)
	require.NoError(t, Check(out, plan))
	require.Less(t, plan.Gap, 0.002)
	was, is := onCopies(first), onCopies(plan)
	for _, c := range ch.Done {
		require.Equal(t, was[c], is[c], "a board that is cut stays as it is")
	}
	for _, c := range ch.Lost {
		require.Empty(t, is[c])
		require.NotContains(t, d.Changed, c)
	}
	require.Equal(t, in.Parts[first.Placements[0].Part].Max-1, out.Parts[first.Placements[0].Part].Max)
	for _, c := range d.Kept {
		require.Equal(t, was[c], is[c])
	}
	made, before := plan.Made(out), first.Made(in)
	made[first.Placements[0].Part]++
	for i := range made {
		require.Equal(t, made[i]-before[i], d.More[i]-d.Fewer[i])
	}
}

// TestReplanAdds gives a plan that lacked a part the board it needs, and
// counts copies of one board apart.
func TestReplanAdds(t *testing.T) {
	t.Parallel()
	in := Instance{
		Pattern: Rip2, Objective: MinBoardCost, Boards: []Board{{ID: 7, Length: 10, Width: 4, Cost: 5, Count: 2}},
		Parts: []Part{{ID: 0, Length: 10, Width: 4, Max: 3}},
	}
	first := solved(t, in, time.Second)
	require.Equal(t, Infeasible, first.Status)
	require.Equal(t, []int{1}, first.Missing)
	out, plan, d, err := Replan(context.Background(), in, first, Change{
		Done: [][2]int{{0, 1}}, Added: []Board{{ID: 8, Length: 12, Width: 4, Cost: 9}},
	}, Options{})
	require.NoError(t, err)
	require.Equal(t, Optimal, plan.Status)
	require.Equal(t, 19, plan.Value)
	require.Len(t, out.Boards, 2)
	require.Equal(t, []int{1}, d.More)
	require.Equal(t, [][2]int{{1, 0}}, d.Changed)
}

// TestReplanRefuses reports changes that name nothing.
func TestReplanRefuses(t *testing.T) {
	t.Parallel()
	in := Instance{Pattern: Rip2, Objective: MaxValue, Boards: []Board{{Length: 10, Width: 4}}, Parts: []Part{{Length: 5, Width: 4, Value: 1, Max: 1}}}
	plan := solved(t, in, time.Second)
	for _, ch := range []Change{
		{Done: [][2]int{{1, 0}}}, {Lost: [][2]int{{0, 1}}}, {Cut: []Placement{{Part: 0}}},
		{Lost: [][2]int{{0, 0}}, Cut: []Placement{{Part: 3}}}, {Added: []Board{{Length: 1, Width: 1}}},
	} {
		_, _, _, err := Replan(context.Background(), in, plan, ch, Options{})
		require.Error(t, err)
	}
}

// TestShortage finds the one board of four that closes a gap, proves that two
// are needed where two are, and says so where none would do.
func TestShortage(t *testing.T) {
	t.Parallel()
	in := Instance{
		Pattern: Rip2, Objective: MinBoardCost, Kerf: Kerf{1, 1}, Boards: []Board{{ID: 0, Length: 30, Width: 8, Cost: 3}},
		Parts: []Part{{ID: 0, Length: 20, Width: 8, Max: 2, Faces: 2}, {ID: 1, Length: 9, Width: 8, Max: 1}},
	}
	spare := []Board{
		{Length: 19, Width: 8, Cost: 1}, {Length: 25, Width: 7, Cost: 1},
		{Length: 25, Width: 8, Cost: 1, Defects: []Defect{{10, 2, 1, 1, Top}}}, {Length: 22, Width: 8, Cost: 9},
	}
	extra, err := Shortage(context.Background(), in, spare, Options{})
	require.NoError(t, err)
	require.Equal(t, []int{3}, extra.Boards)
	require.True(t, extra.Proven)
	require.Equal(t, 12, extra.Plan.Value)
	require.NoError(t, Check(extra.Instance, extra.Plan))

	in.Parts[0].Max = 4
	extra, err = Shortage(context.Background(), in, append(spare, Board{Length: 41, Width: 8, Cost: 2}), Options{})
	require.NoError(t, err)
	require.Equal(t, []int{3, 4}, extra.Boards)
	require.True(t, extra.Proven)

	in.Parts[0].Max = 9
	extra, err = Shortage(context.Background(), in, spare, Options{})
	require.NoError(t, err)
	require.Nil(t, extra.Boards)
	require.Equal(t, Infeasible, extra.Plan.Status)
}
