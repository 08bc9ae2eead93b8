package cut

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// lookedThrough chooses as Look says it does, by listing for every thickness
// all boards that serve it.
func lookedThrough(rack, needs []Need, limit int) (chosen, serving []int) {
	first := map[int]int{}
	for _, t := range needs {
		n := 0
		for b, has := range rack {
			if !slices.ContainsFunc(needs, func(need Need) bool { return need.Thickness == t.Thickness && need.serves(has) }) {
				continue
			}
			if was, known := first[b]; !known || n < was {
				first[b] = n
			}
			n++
		}
	}
	for b := range rack {
		if _, ok := first[b]; ok {
			serving = append(serving, b)
		}
	}
	order := slices.Clone(serving)
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(first[a], first[b]) })
	chosen = order[:min(limit, len(order))]
	slices.Sort(chosen)
	return chosen, serving
}

// TestLookTakesTurns compares one pass with lists of all boards.
func TestLookTakesTurns(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		need := rapid.Custom(func(t *rapid.T) Need {
			size := func(name string) wood.Length { return wood.Length(rapid.IntRange(1, 6).Draw(t, name)) }
			return Need{size("thickness"), size("width"), size("length"), rapid.Bool().Draw(t, "inside")}
		})
		needs := rapid.SliceOfN(need, 0, 7).Draw(t, "needs")
		rack := rapid.SliceOfN(need, 0, 40).Draw(t, "rack")
		slices.SortStableFunc(rack, func(a, b Need) int { return cmp.Compare(a.Thickness, b.Thickness) })
		limit := rapid.IntRange(0, 45).Draw(t, "limit")
		look := NewLook(needs, limit)
		var serving, kept []int
		for b, has := range rack {
			if look.Take(has) {
				serving = append(serving, b)
			}
			if look.Kept() {
				kept = append(kept, b)
			}
		}
		wantChosen, wantServing := lookedThrough(rack, needs, limit)
		require.Equal(t, wantServing, serving)
		require.Equal(t, len(wantServing), look.Serving())
		require.Equal(t, append([]int{}, wantChosen...), look.Chosen())
		for _, b := range look.Chosen() {
			require.Contains(t, kept, b)
		}
		thick := map[wood.Length]bool{}
		for _, n := range needs {
			thick[n.Thickness] = true
		}
		require.LessOrEqual(t, len(kept), limit*len(thick), "what is kept on the way is bounded")
		for at := range thick {
			n, all := 0, 0
			for b, has := range rack {
				if slices.ContainsFunc(needs, func(need Need) bool { return need.Thickness == at && need.serves(has) }) {
					if all++; slices.Contains(look.Chosen(), b) {
						n++
					}
				}
			}
			require.GreaterOrEqual(t, n, min(all, limit/len(thick)), "each thickness has its share")
		}
	})
}

func TestLookWithoutPartsKeepsNothing(t *testing.T) {
	t.Parallel()
	look := NewLook(nil, 3)
	require.False(t, look.Take(Need{Thickness: 1, Width: 1, Length: 1, Inside: true}))
	require.Zero(t, look.Thinnest())
	require.Empty(t, look.Chosen())
}
