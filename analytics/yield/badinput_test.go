package yield_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// TestBadInput has one named case for each book that a person may bring though
// it can hardly be answered: either all answers are finite and say how little is known,
// or the error says what is wrong and what to do.
func TestBadInput(t *testing.T) {
	t.Parallel()
	opts := yield.Options{Today: day("2025-06-01"), Prices: plainPrices}
	many := func(n int, change func(i int, p *yield.Pickup)) []yield.Pickup {
		all := make([]yield.Pickup, n)
		for i := range all {
			all[i] = good()
			all[i].Date = all[i].Date.AddDate(0, 0, i%60)
			if change != nil {
				change(i, &all[i])
			}
		}
		return all
	}
	answers := map[string]struct {
		pickups []yield.Pickup
		check   func(t *testing.T, a *yield.Answers)
	}{
		"one source": {many(6, nil), func(t *testing.T, a *yield.Answers) {
			require.InDelta(t, 1, a.Sources[0].BestChance, 0)
			require.InDelta(t, 1, a.Sources[0].ExpectedRank, 0)
		}},
		"one trip": {many(1, nil), func(t *testing.T, a *yield.Answers) {
			require.Equal(t, yield.FewTrips, a.Sources[0].Evidence)
			require.Contains(t, a.Sources[0].Sentence, "after one trip, not enough to know it well")
			require.Less(t, a.Sources[0].Next.Most.Low, 0.0, "one good trip is no certainty")
		}},
		"all trips empty": {many(8, func(_ int, p *yield.Pickup) {
			*p = yield.Pickup{SourceID: p.SourceID, Date: p.Date, Miles: 10, Minutes: 30, Empty: true}
		}), func(t *testing.T, a *yield.Answers) {
			require.Greater(t, a.Sources[0].EmptyChance.Value, 0.6)
			require.Less(t, a.Sources[0].EmptyChance.High, 1.0)
			require.True(t, a.Next.Choices[0].Home)
			require.Contains(t, a.Sources[0].Sentence, "expected to lose")
		}},
		"all equal": {many(12, func(_ int, p *yield.Pickup) { p.Date = good().Date }), func(t *testing.T, a *yield.Answers) {
			require.Greater(t, a.Sources[0].Next.Most.Width(), 100.0, "a copied line is no certainty")
		}},
		"zero minutes": {many(5, func(_ int, p *yield.Pickup) { p.Minutes, p.ShopMinutes = 0, 0 }), func(t *testing.T, a *yield.Answers) {
			require.False(t, a.Sources[0].PerHour.Known)
			require.Equal(t, "no trip in the book has its minutes noted", a.Sources[0].PerHour.Why)
		}},
		"zero miles": {many(5, func(_ int, p *yield.Pickup) { p.Miles = 0 }), func(t *testing.T, a *yield.Answers) {
			require.Equal(t, "no extra miles are driven for it", a.Sources[0].PerMile.Why)
		}},
		"100,000 trips to one source": {many(100_000, nil), func(t *testing.T, a *yield.Answers) {
			require.Equal(t, 100_000, a.Sources[0].N)
			require.Equal(t, yield.OwnTrips, a.Sources[0].Evidence)
		}},
	}
	for name, c := range answers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			a := fit(t, c.pickups, opts).Answers()
			require.Len(t, a.Sources, 1)
			finite(t, a.Sources[0])
			c.check(t, a)
		})
	}
	refused := map[string]struct {
		spoil func(*yield.Pickup)
		says  []string
	}{
		"negative miles":      {func(p *yield.Pickup) { p.Miles = -3 }, []string{"pickup 2", "tile works", "miles", "enter zero or more"}},
		"absurd miles":        {func(p *yield.Pickup) { p.Miles = 40_000 }, []string{"miles", "look for a slipped digit or a wrong unit"}},
		"no number of miles":  {func(p *yield.Pickup) { p.Miles = math.NaN() }, []string{"miles", "not a quantity"}},
		"usable above volume": {func(p *yield.Pickup) { p.Inside = 2 }, []string{"usable", "may not add up to more than the volume"}},
		"two currencies":      {func(p *yield.Pickup) { p.Cash = yield.Money{Minor: 100, Currency: "EUR"} }, []string{"EUR", "enter the rate at which one became the other"}},
	}
	for name, c := range refused {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			pickups := many(2, nil)
			c.spoil(&pickups[1])
			_, err := yield.Fit(pickups, opts)
			require.Error(t, err)
			for _, part := range c.says {
				require.ErrorContains(t, err, part)
			}
		})
	}
	t.Run("merged and split", func(t *testing.T) {
		t.Parallel()
		pickups := many(6, func(i int, p *yield.Pickup) {
			if i%2 == 0 {
				p.SourceID = "tile yard"
			}
		})
		before := fit(t, pickups, opts).Answers()
		merged, err := yield.Merge(pickups, "tile yard", "tile works")
		require.NoError(t, err)
		require.Len(t, fit(t, merged, opts).Answers().Sources, 1)
		i := -1
		split, err := yield.Split(merged, "tile works", "tile yard", func(yield.Pickup) bool { i++; return i%2 == 0 })
		require.NoError(t, err)
		after := fit(t, split, opts).Answers()
		require.Equal(t, before.Sources, after.Sources, "one undoes the other")
	})
}
