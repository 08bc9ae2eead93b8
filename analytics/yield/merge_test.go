package yield_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// TestMerge counts two names of one place as one: the answer is that of a book
// that knew it all along, and the book given stays as it was.
func TestMerge(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(80, 1))
	w := newWorld(r, worldOptions{sources: 6})
	pickups := w.visit(r).pickups
	before := append([]yield.Pickup(nil), pickups...)
	merged, err := yield.Merge(pickups, "s04", "s05")
	require.NoError(t, err)
	require.Equal(t, before, pickups)
	a, b := 0, 0
	for i := range pickups {
		if pickups[i].SourceID == "s04" {
			a++
		}
		if pickups[i].SourceID == "s05" {
			b++
		}
	}
	m := fit(t, merged, options(w.prices))
	require.Equal(t, a+b, answer(t, m, "s05").N)
	known := append([]yield.Pickup(nil), pickups...)
	for i := range known {
		if known[i].SourceID == "s04" {
			known[i].SourceID, known[i].Kind = "s05", w.sources[5].kind
		}
	}
	require.Equal(t, answer(t, fit(t, known, options(w.prices)), "s05"), answer(t, m, "s05"))
	_, err = yield.Merge(pickups, "nowhere", "s05")
	require.ErrorIs(t, err, yield.ErrUnknownSource)
	_, err = yield.Merge(pickups, "s05", "s05")
	require.ErrorIs(t, err, yield.ErrOption)
}

// TestSplit undoes a merge.
func TestSplit(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(81, 1))
	w := newWorld(r, worldOptions{sources: 5})
	pickups := w.visit(r).pickups
	for i := range pickups {
		pickups[i].Lots = i + 1 // to know them again
		pickups[i].Kind = ""
	}
	mine := map[int]bool{}
	for _, p := range pickups {
		mine[p.Lots] = p.SourceID == "s03"
	}
	merged, err := yield.Merge(pickups, "s03", "s04")
	require.NoError(t, err)
	again, err := yield.Split(merged, "s04", "s03", func(p yield.Pickup) bool { return mine[p.Lots] })
	require.NoError(t, err)
	require.Equal(t, pickups, again)
	_, err = yield.Split(pickups, "s04", "s02", func(yield.Pickup) bool { return true })
	require.ErrorIs(t, err, yield.ErrOption, "s02 has trips already")
	_, err = yield.Split(pickups, "s04", "new", func(yield.Pickup) bool { return false })
	require.ErrorIs(t, err, yield.ErrUnknownSource)
	_, err = yield.Split(pickups, "s04", "s04", func(yield.Pickup) bool { return true })
	require.ErrorIs(t, err, yield.ErrOption)
}
