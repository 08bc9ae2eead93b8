package yield_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// nearAndFar is a book of a poor place next door and a rich one far away that
// takes long.
func nearAndFar() []yield.Pickup {
	r := rand.New(rand.NewPCG(60, 1))
	var all []yield.Pickup
	for i := range 8 {
		near := yield.Pickup{SourceID: "near", Date: day("2025-01-01").AddDate(0, 0, 7*i), Miles: 4, Minutes: 40, Lots: 2, Volume: 0.1 + 0.05*r.Float64()}
		far := yield.Pickup{SourceID: "far", Date: day("2025-01-02").AddDate(0, 0, 7*i), Miles: 40, Minutes: 160, Lots: 8, Volume: 0.25 + 0.1*r.Float64()}
		near.Inside, far.Inside = 0.6*near.Volume, 0.6*far.Volume
		all = append(all, near, far)
	}
	return all
}

var dear = yield.Prices{
	Currency: "USD", Mile: yield.Schedule{{Minor: 20, Currency: "USD"}}, Inside: yield.Schedule{{Minor: 100_000, Currency: "USD"}},
	Outside: yield.Schedule{{Minor: 50_000, Currency: "USD"}}, Hour: yield.Schedule{{Minor: 500, Currency: "USD"}},
}

// TestFlips drives every term to the value at which the first two change places.
func TestFlips(t *testing.T) {
	t.Parallel()
	m := fit(t, nearAndFar(), yield.Options{Today: day("2025-04-01"), Prices: dear})
	what, err := m.WhatIf(m.Terms())
	require.NoError(t, err)
	require.Empty(t, what.Moves, "nothing changed")
	require.Equal(t, "far", what.Before.Sources[0].SourceID)
	exist := 0
	for _, f := range what.Flips {
		if !f.Exists {
			continue
		}
		exist++
		at := func(x float64) *yield.Answers {
			terms := m.Terms()
			switch f.Term {
			case "mile":
				terms.Mile = x
			case "price":
				terms.Outside *= x / terms.Inside
				terms.Inside = x
			case "hour":
				terms.Hour = x
			case "lot_minutes":
				terms.LotMinutes = x
			}
			a, err := m.AnswersAt(terms)
			require.NoError(t, err)
			return a
		}
		even := at(f.At)
		require.InDelta(t, even.Sources[0].Expected.Mean, even.Sources[1].Expected.Mean, 1e-3*math.Abs(even.Sources[0].Expected.Mean)+1, f.Term)
		beyond := f.At + 0.05*(f.At-f.Now)
		require.Equal(t, "near", at(beyond).Sources[0].SourceID, "%s beyond %v", f.Term, f.At)
		require.Equal(t, "far", at(f.Now + 0.9*(f.At-f.Now)).Sources[0].SourceID, "%s before %v", f.Term, f.At)
	}
	require.GreaterOrEqual(t, exist, 3, "fuel, price and hours all can turn this")
}

// TestWhatIf doubles fuel and values hours and says what moved.
func TestWhatIf(t *testing.T) {
	t.Parallel()
	m := fit(t, nearAndFar(), yield.Options{Today: day("2025-04-01"), Prices: dear})
	terms := m.Terms()
	terms.Mile, terms.Hour = 400, 3000
	what, err := m.WhatIf(terms)
	require.NoError(t, err)
	require.Equal(t, []yield.Move{{SourceID: "near", From: 2, To: 1}, {SourceID: "far", From: 1, To: 2}}, what.Moves)
	require.Equal(t, terms, what.After.Terms)
	saw := m.Terms()
	saw.LotMinutes = -10
	quick, err := m.AnswersAt(saw)
	require.NoError(t, err)
	require.Greater(t, quick.Sources[0].Expected.Mean, what.Before.Sources[0].Expected.Mean)
	require.Less(t, quick.Sources[0].Minutes, what.Before.Sources[0].Minutes)
	unnoted := nearAndFar()
	for i := range unnoted {
		unnoted[i].Lots = 0
	}
	_, err = fit(t, unnoted, yield.Options{Today: day("2025-04-01"), Prices: dear}).WhatIf(saw)
	require.ErrorIs(t, err, yield.ErrNotEnough, "a saw cannot be valued where nobody counted lots")
	one := fit(t, nearAndFar()[:1], yield.Options{Today: day("2025-04-01"), Prices: dear})
	alone, err := one.WhatIf(one.Terms())
	require.NoError(t, err)
	for _, f := range alone.Flips {
		require.False(t, f.Exists, "one source has none to change places with")
	}
}

// TestAdviceWeighsTrying puts the doubtful place above the known one while the
// season is long, and below it on the last day.
func TestAdviceWeighsTrying(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(61, 1))
	var all []yield.Pickup
	for i := range 30 {
		all = append(all, simple("known", "2025-01-01", 0.1*math.Exp(0.3*r.NormFloat64())))
		if i < 8 { // others of very different worth, so a new place may be anything
			all = append(all, simple("other"+string(rune('a'+i)), "2025-01-02", 0.08*math.Exp(0.9*r.NormFloat64())))
		}
	}
	first := func(horizon int) yield.Choice {
		m := fit(t, all, yield.Options{Today: day("2025-02-01"), Prices: onlyWood, Horizon: horizon, Sources: []yield.Source{{ID: "new"}}})
		next := m.Answers().Next
		require.Equal(t, horizon, next.Horizon)
		for i := 1; i < len(next.Choices); i++ {
			require.GreaterOrEqual(t, next.Choices[i-1].Score, next.Choices[i].Score)
		}
		for _, c := range next.Choices {
			if c.SourceID == "new" {
				if horizon == 1 {
					require.Zero(t, c.Premium, "nothing to learn for on the last day")
				} else {
					require.Greater(t, c.Premium, 0.0)
					require.Equal(t, yield.WorthFindingOut, c.Reason)
					require.Contains(t, c.Sentence, "worth finding out")
				}
			}
			if c.SourceID == "known" {
				require.Equal(t, yield.KnownToPay, c.Reason)
			}
		}
		return next.Choices[0]
	}
	require.NotEqual(t, "known", first(200).SourceID)
	last := first(1)
	require.InDelta(t, last.Net, last.Score, 1e-9)
}
