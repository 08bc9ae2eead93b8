package yield_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// simple is a pickup that brings wood usable inside at 100 dollars a m³ for no
// cost, so its net in cents is 10,000 times the volume.
func simple(source, on string, usable float64) yield.Pickup {
	return yield.Pickup{SourceID: source, Date: day(on), Volume: usable, Inside: usable, Empty: usable == 0}
}

var onlyWood = yield.Prices{Currency: "USD", Inside: yield.Schedule{{Minor: 10_000, Currency: "USD"}}}

// TestPlainFigures works the sums out by hand.
func TestPlainFigures(t *testing.T) {
	t.Parallel()
	second := good()
	second.Date, second.Estimated, second.Inside = day("2025-05-01"), true, 0.6
	second.Held, second.Lots = 0, 0
	empty := yield.Pickup{SourceID: "tile works", Kind: "tiles", Date: day("2025-02-01"), Miles: 10, Minutes: 20, Empty: true}
	all, err := yield.PlainFigures([]yield.Pickup{good(), second, empty}, plainPrices)
	require.NoError(t, err)
	require.Len(t, all, 1)
	p := all[0]
	require.Equal(t, 3, p.N)
	require.Equal(t, 1, p.Empty)
	require.Equal(t, 1, p.Estimated)
	require.Equal(t, "tiles", p.Kind)
	require.Equal(t, day("2025-05-01"), p.Last)
	require.InDelta(t, 30, p.Miles, 1e-9)
	require.InDelta(t, 200, p.Minutes, 1e-9)
	require.InDelta(t, 2, p.Volume, 1e-9)
	require.InDelta(t, 1.2, p.Usable, 1e-9)
	require.InDelta(t, 0.1, p.HeldShare, 1e-9)
	nets := []float64{1600, 6500 - 600 - 200 - 300 - 1800, -600 - 400}
	sum := nets[0] + nets[1] + nets[2]
	require.InDelta(t, sum, p.Net, 1e-9)
	require.InDelta(t, sum/3, p.PerPickup.Value, 1e-9)
	require.InDelta(t, sum/30, p.PerMile.Value, 1e-9)
	require.InDelta(t, sum/200*60, p.PerHour.Value, 1e-9)
	// Student's t on two degrees of freedom: 2.919986 at 95 % (standard table).
	mean, ss := sum/3, 0.0
	for _, n := range nets {
		ss += (n - mean) * (n - mean)
	}
	half := 2.919986 * math.Sqrt(ss/2/3)
	require.InDelta(t, mean-half, p.PerPickup.Low, 0.01)
	require.InDelta(t, mean+half, p.PerPickup.High, 0.01)
	require.True(t, p.PerPickup.Known)
}

func TestPlainFiguresKnowTheirLimits(t *testing.T) {
	t.Parallel()
	one, err := yield.PlainFigures([]yield.Pickup{simple("a", "2025-01-01", 1)}, onlyWood)
	require.NoError(t, err)
	require.False(t, one[0].PerPickup.Known, "one trip in the whole book shows no spread")
	require.NotEmpty(t, one[0].PerPickup.Why)
	require.False(t, one[0].PerHour.Known, "no minutes are noted")
	require.False(t, one[0].PerMile.Known)
	equal, err := yield.PlainFigures([]yield.Pickup{simple("a", "2025-01-01", 1), simple("a", "2025-01-02", 1)}, onlyWood)
	require.NoError(t, err)
	require.False(t, equal[0].PerPickup.Known, "equal trips are no certainty")
	borrowed, err := yield.PlainFigures([]yield.Pickup{
		simple("a", "2025-01-01", 1), simple("b", "2025-01-01", 2), simple("b", "2025-02-01", 4), simple("b", "2025-03-01", 3),
	}, onlyWood)
	require.NoError(t, err)
	require.True(t, borrowed[0].PerPickup.Known, "the spread within b serves a")
	require.Greater(t, borrowed[0].PerPickup.High-borrowed[0].PerPickup.Low, borrowed[1].PerPickup.High-borrowed[1].PerPickup.Low)
	none, err := yield.PlainFigures(nil, onlyWood)
	require.NoError(t, err)
	require.Empty(t, none)
}

// TestPlainCoverage covers the true mean 9 times in 10 where sources vary alike,
// with one trip as with twelve.
func TestPlainCoverage(t *testing.T) {
	t.Parallel()
	in, n := map[int]int{}, map[int]int{}
	for world := range 600 {
		r := rand.New(rand.NewPCG(12, uint64(world)))
		var pickups []yield.Pickup
		trips := map[string]int{"a": 1, "b": 3, "c": 5, "d": 12}
		for _, id := range []string{"a", "b", "c", "d"} {
			for range trips[id] {
				pickups = append(pickups, simple(id, "2025-01-01", math.Max(0.01, 3+0.7*r.NormFloat64())))
			}
		}
		plains, err := yield.PlainFigures(pickups, onlyWood)
		require.NoError(t, err)
		for _, p := range plains {
			n[p.N]++
			if p.PerPickup.Low <= 30_000 && 30_000 <= p.PerPickup.High {
				in[p.N]++
			}
		}
	}
	for trips, count := range n {
		require.InDelta(t, 0.9, float64(in[trips])/float64(count), 0.04, "%d trips", trips)
	}
}

// TestValueEachIsValue prices pickups in one go as one by one, in any order of days, and
// stops at the first that cannot be priced.
func TestValueEachIsValue(t *testing.T) {
	t.Parallel()
	book := []yield.Pickup{good(), good(), good(), good()}
	book[1].Date, book[2].Volume, book[3].Date = book[1].Date.AddDate(0, 1, 0), 2, book[3].Date.AddDate(-1, 0, 0)
	var got []yield.Worth
	require.NoError(t, yield.ValueEach(book, plainPrices, func(i int, w yield.Worth) {
		require.Len(t, got, i)
		got = append(got, w)
	}))
	for i, p := range book {
		want, err := yield.Value(p, plainPrices)
		require.NoError(t, err)
		require.Equal(t, want, got[i])
	}
	book[2].Miles = -1
	seen := 0
	require.ErrorIs(t, yield.ValueEach(book, plainPrices, func(int, yield.Worth) { seen++ }), yield.ErrPickup)
	require.Equal(t, 2, seen)
}
