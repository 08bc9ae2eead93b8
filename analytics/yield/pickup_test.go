package yield_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/yield"
)

// plainPrices are 60 cents a mile, 100 dollars a m³ inside, 50 outside, 10 a m³
// of waste, 12 an hour.
var plainPrices = yield.Prices{
	Currency: "USD",
	Mile:     yield.Schedule{{Minor: 60, Currency: "USD"}},
	Inside:   yield.Schedule{{Minor: 10_000, Currency: "USD"}},
	Outside:  yield.Schedule{{Minor: 5_000, Currency: "USD"}},
	Disposal: yield.Schedule{{Minor: 1_000, Currency: "USD"}},
	Hour:     yield.Schedule{{Minor: 1_200, Currency: "USD"}},
}

// good is a pickup without fault.
func good() yield.Pickup {
	return yield.Pickup{
		SourceID: "tile works", Kind: "tiles", Date: day("2025-03-01"), Miles: 10, Minutes: 50, ShopMinutes: 40, Lots: 3,
		Cash: yield.Money{Minor: 200, Currency: "USD"}, Volume: 1, Inside: 0.4, Outside: 0.1, Held: 0.2, Never: 0.1, Lost: 0.05,
	}
}

func TestValueOfAPickup(t *testing.T) {
	t.Parallel()
	w, err := yield.Value(good(), plainPrices)
	require.NoError(t, err)
	require.InDelta(t, 4500, w.Wood, 1e-9)
	require.InDelta(t, 600, w.Driving, 1e-9)
	require.InDelta(t, 200, w.Cash, 1e-9)
	require.InDelta(t, 300, w.Disposal, 1e-9, "0.8 decided less 0.5 usable")
	require.InDelta(t, 1800, w.Time, 1e-9)
	require.InDelta(t, 1600, w.Net, 1e-9)
	require.InDelta(t, 2000, w.HeldMost, 1e-9)
}

func TestPickupThatCannotBe(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		field string
		spoil func(*yield.Pickup)
	}{
		"no source":          {"source", func(p *yield.Pickup) { p.SourceID = "" }},
		"no date":            {"date", func(p *yield.Pickup) { p.Date = time.Time{} }},
		"negative miles":     {"miles", func(p *yield.Pickup) { p.Miles = -3 }},
		"absurd miles":       {"miles", func(p *yield.Pickup) { p.Miles = 12_000 }},
		"no number":          {"miles", func(p *yield.Pickup) { p.Miles = math.NaN() }},
		"endless":            {"volume", func(p *yield.Pickup) { p.Volume = math.Inf(1) }},
		"negative minutes":   {"minutes", func(p *yield.Pickup) { p.Minutes = -1 }},
		"a month of minutes": {"minutes", func(p *yield.Pickup) { p.Minutes = 43_200 }},
		"shop minutes":       {"shop minutes", func(p *yield.Pickup) { p.ShopMinutes = -1 }},
		"volume":             {"volume", func(p *yield.Pickup) { p.Volume = 121 }},
		"usable above it":    {"usable", func(p *yield.Pickup) { p.Inside = 0.7 }},
		"parts above it":     {"usable", func(p *yield.Pickup) { p.Lost = 0.3 }},
		"negative part":      {"never", func(p *yield.Pickup) { p.Never = -0.1 }},
		"empty with wood":    {"volume", func(p *yield.Pickup) { p.Empty = true }},
		"negative cash":      {"cash", func(p *yield.Pickup) { p.Cash.Minor = -1 }},
		"cash of nowhere":    {"cash", func(p *yield.Pickup) { p.Cash.Currency = "" }},
		"odd currency":       {"cash", func(p *yield.Pickup) { p.Cash.Currency = "dollars" }},
		"lots":               {"lots", func(p *yield.Pickup) { p.Lots = -1 }},
	} {
		p := good()
		c.spoil(&p)
		err := yield.CheckPickup(4, p)
		var fault *yield.PickupError
		require.ErrorAs(t, err, &fault, name)
		require.ErrorIs(t, err, yield.ErrPickup, name)
		require.Equal(t, c.field, fault.Field, name)
		require.Equal(t, 4, fault.Index, name)
		require.NotEmpty(t, fault.Help, name)
		require.ErrorContains(t, err, "pickup 5", name)
		_, err = yield.Value(p, plainPrices)
		require.ErrorIs(t, err, yield.ErrPickup, name)
		_, err = yield.PlainFigures([]yield.Pickup{good(), p}, plainPrices)
		require.ErrorIs(t, err, yield.ErrPickup, name)
		_, err = yield.Fit([]yield.Pickup{good(), p}, yield.Options{Today: day("2025-04-01"), Prices: plainPrices})
		require.ErrorIs(t, err, yield.ErrPickup, name)
	}
	require.NoError(t, yield.CheckPickup(0, good()))
}

// TestPartsOfAPickup draws pickups and checks that their parts stay a whole.
func TestPartsOfAPickup(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		share := func(name string) float64 { return rapid.Float64Range(0, 0.2).Draw(t, name) }
		v := rapid.Float64Range(0, 10).Draw(t, "volume")
		p := yield.Pickup{
			SourceID: "a", Date: day("2025-01-01"), Volume: v, Inside: v * share("inside"), Outside: v * share("outside"),
			Held: v * share("held"), Never: v * share("never"), Lost: v * share("lost"),
		}
		if err := yield.CheckPickup(0, p); err != nil {
			t.Fatal(err)
		}
		if sum := p.Usable() + p.Waste() + p.Held; math.Abs(sum-v) > 1e-9 {
			t.Fatalf("usable, waste and held make %v of %v", sum, v)
		}
		w, err := yield.Value(p, plainPrices)
		if err != nil || math.Abs(w.Wood-w.Driving-w.Cash-w.Disposal-w.Time-w.Net) > 1e-9 {
			t.Fatalf("%+v %v", w, err)
		}
	})
}
