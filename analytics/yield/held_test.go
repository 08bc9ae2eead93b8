package yield_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// TestDecidedPartOfALoadCounts compares places of whose loads nothing is usable so
// far: the more of them is decided, the less is expected of the next one, and what is
// on hold alone says nothing.
func TestDecidedPartOfALoadCounts(t *testing.T) {
	t.Parallel()
	var book []yield.Pickup
	for k := range 6 {
		for i := range 5 {
			book = append(book, yield.Pickup{SourceID: fmt.Sprintf("others %d", i), Date: day0.AddDate(0, 2*k, i), Miles: 8, Volume: 0.1, Inside: 0.05 + 0.008*float64((i+k)%4)})
		}
		for _, never := range []float64{0, 25, 50, 75, 100} {
			book = append(book, yield.Pickup{SourceID: fmt.Sprintf("%.0f %% never", never), Date: day0.AddDate(0, 2*k, 9), Miles: 8,
				Volume: 0.1, Never: 0.001 * never, Held: 0.001 * (100 - never)})
		}
	}
	m, err := yield.Fit(book, yield.Options{Today: day0.AddDate(1, 0, 0), Prices: plainPrices, Sources: []yield.Source{{ID: "not seen", Miles: 8}}})
	require.NoError(t, err)
	share := map[string]float64{}
	for _, a := range m.Answers().Sources {
		share[a.SourceID] = a.UsableShare.Value
	}
	require.InDelta(t, share["not seen"], share["0 % never"], 0.03)
	require.Greater(t, share["0 % never"], share["25 % never"]+0.05)
	require.Greater(t, share["25 % never"], share["50 % never"]+0.05)
	require.Greater(t, share["50 % never"], share["75 % never"]+0.03)
	require.Greater(t, share["75 % never"], share["100 % never"]+0.02)
	require.Less(t, share["100 % never"], 0.25)
}

// TestKnownToPayTakesTripsThatTold calls a place known to pay by its own trips alone:
// neither four of them nor six whose wood is all on hold make it known.
func TestKnownToPayTakesTripsThatTold(t *testing.T) {
	t.Parallel()
	reason := func(n int, held bool) (yield.Reason, string) {
		var book []yield.Pickup
		for i := range n {
			p := yield.Pickup{SourceID: "mill", Date: day0.AddDate(0, 0, 9*i), Miles: 2, Volume: 0.6, Inside: 0.5}
			if held {
				p.Inside, p.Held = 0, 0.6
			}
			book = append(book, p)
		}
		m, err := yield.Fit(book, yield.Options{Today: day0.AddDate(1, 0, 0), Prices: prices(60, 256, 128, 0)})
		require.NoError(t, err)
		a := m.Answers()
		return choice(t, a.Next, "mill").Reason, a.Sources[0].Sentence
	}
	known, sentence := reason(5, false)
	require.Equal(t, yield.KnownToPay, known)
	require.NotContains(t, sentence, "guess")
	few, _ := reason(4, false)
	require.Equal(t, yield.WorthFindingOut, few)
	open, sentence := reason(6, true)
	require.Equal(t, yield.WorthFindingOut, open)
	require.Contains(t, sentence, "how much of it can be used is a guess")
}
