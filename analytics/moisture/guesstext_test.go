package moisture_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

func TestGuessesAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][]moisture.SpeciesShare{
		"":                                     nil,
		" ; ,":                                 nil,
		"spruce_norway 60, pine_scots 30 %":    {{"spruce_norway", 0.6}, {"pine_scots", 0.3}, {"", 0.1}},
		"pine_scots: 30; spruce_norway=70":     {{"spruce_norway", 0.7}, {"pine_scots", 0.3}},
		"else 100":                             {{"", 1}},
		"Norway spruce 50; else 25":            {{"spruce_norway", 0.5}, {"", 0.5}},
		"spruce_norway 66.7; pine_scots 33.35": {{"spruce_norway", 66.7 / 100.05}, {"pine_scots", 33.35 / 100.05}},
		"spruce_norway 0; pine_scots 40; Else 60 %": {{"pine_scots", 0.4}, {"spruce_norway", 0}, {"", 0.6}},
	} {
		got, err := moisture.ParseGuess(text)
		require.NoError(t, err, text)
		require.Len(t, got, len(want), text)
		for i := range want {
			require.Equal(t, want[i].ID, got[i].ID, text)
			require.InDelta(t, want[i].P, got[i].P, 1e-9, text)
		}
	}
	for _, text := range []string{"spruce_norway", "spruce_norway sixty", "spruce_norway -1", "spruce_norway 101", "unobtainium 50",
		"spruce_norway 60; pine_scots 50", "pine_scots 30; pine_scots 30", "50", "spruce_norway NaN", "spruce_norway 60 70x"} {
		_, err := moisture.ParseGuess(text)
		require.ErrorIs(t, err, moisture.ErrClue, text)
	}
}

func TestWrittenGuessesReadBack(t *testing.T) {
	t.Parallel()
	ids := []string{""}
	for _, s := range wood.AllSpecies() {
		ids = append(ids, s.ID)
	}
	rapid.Check(t, func(t *rapid.T) {
		chosen := rapid.SliceOfNDistinct(rapid.SampledFrom(ids), 1, 12, rapid.ID[string]).Draw(t, "ids")
		var shares []moisture.SpeciesShare
		var total float64
		for _, id := range chosen {
			p := rapid.Float64Range(0.001, 1).Draw(t, "p")
			shares, total = append(shares, moisture.SpeciesShare{ID: id, P: p}), total+p
		}
		for i := range shares {
			shares[i].P /= total
		}
		text := moisture.WriteGuess(shares, 6)
		back, err := moisture.ParseGuess(text)
		require.NoError(t, err, text)
		require.Equal(t, text, moisture.WriteGuess(back, 6), "writing is settled after once")
		var sum float64
		for _, b := range back {
			sum += b.P
			for _, s := range shares {
				if s.ID == b.ID && s.ID != "" {
					require.InDelta(t, s.P, b.P, 0.00101, text)
				}
			}
		}
		require.InDelta(t, 1, sum, 1e-9)
	})
}

func FuzzParseGuess(f *testing.F) {
	for _, seed := range []string{"", "spruce_norway 60, pine_scots 30 %", "else 100", "x 1e309", "spruce_norway\t=\t5", ";;;,"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		shares, err := moisture.ParseGuess(text)
		if err != nil {
			require.ErrorIs(t, err, moisture.ErrClue)
			return
		}
		var sum float64
		for _, s := range shares {
			require.GreaterOrEqual(t, s.P, 0.0)
			sum += s.P
		}
		if len(shares) > 0 {
			require.InDelta(t, 1, sum, 1e-9)
		}
	})
}
