package moisture_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

func TestEverySpeciesHasAPriorAndAScale(t *testing.T) {
	t.Parallel()
	for _, s := range wood.AllSpecies() {
		p, err := moisture.PriorFor(moisture.PriorInput{Species: s.ID})
		require.NoError(t, err, s.ID)
		// One-inch boards take weeks to a year from green to 20 %.
		days := p.Days(8.0 / 58)
		require.True(t, days > 20 && days < 300, "%s: %g days", s.ID, days)
		require.True(t, p.SDLog > 0.2 && p.SDLog < 1.2, "%s: %g", s.ID, p.SDLog)
		require.NotEmpty(t, p.Source)
		require.Contains(t, p.Source, "from memory")
		c, err := moisture.Correct(moisture.Reading{Raw: 14, Method: moisture.MethodPin, Species: s.ID})
		require.NoError(t, err, s.ID)
		require.InDelta(t, 14, c.Percent, 3.5, s.ID)
	}
}

func TestPriorIsThePublishedRange(t *testing.T) {
	t.Parallel()
	// Rietz and Page 1971 (from memory): northern red oak 70 to 200 days from
	// green to 20 %; we take the range as 80 % of stacks.
	p, err := moisture.PriorFor(moisture.PriorInput{Species: "oak_northern_red"})
	require.NoError(t, err)
	days := p.Days(8.0 / 58)
	require.InDelta(t, math.Sqrt(70*200), days, 0.1)
	require.InDelta(t, 200, days*math.Exp(1.2815515655446*p.SDLog), 0.5)
	require.InDelta(t, 70, days*math.Exp(-1.2815515655446*p.SDLog), 0.5)
	// Peck 1957 (FPL Report 2086, read): 4/4 sugar maple in Upper Michigan took
	// 40 to 205 days, 90 on average: within the prior.
	maple, err := moisture.PriorFor(moisture.PriorInput{Species: "maple_sugar"})
	require.NoError(t, err)
	require.InDelta(t, 90, maple.Days(8.0/58), 15)
}

func TestThickerIsSlower(t *testing.T) {
	t.Parallel()
	one, err := moisture.PriorFor(moisture.PriorInput{Species: "oak_white"})
	require.NoError(t, err)
	two, err := moisture.PriorFor(moisture.PriorInput{Species: "oak_white", ThicknessMM: 50.8})
	require.NoError(t, err)
	// Time goes with thickness to the power 1.5 (from memory).
	require.InDelta(t, math.Pow(2, 1.5), two.Days(0.5)/one.Days(0.5), 1e-9)
	require.Greater(t, two.SDLog, one.SDLog)
	for _, mm := range []float64{-1, 0.5, 301, math.NaN()} {
		_, err := moisture.PriorFor(moisture.PriorInput{ThicknessMM: mm})
		require.ErrorIs(t, err, moisture.ErrSetting)
	}
	_, err = moisture.PriorFor(moisture.PriorInput{Species: "plastic"})
	require.ErrorIs(t, err, moisture.ErrSpecies)
}

func TestPriorOverAGuessIsWider(t *testing.T) {
	t.Parallel()
	sure, err := moisture.PriorFor(moisture.PriorInput{Species: "oak_white"})
	require.NoError(t, err)
	unsure, err := moisture.PriorFor(moisture.PriorInput{Guess: []moisture.SpeciesShare{{ID: "oak_white", P: 0.5}, {ID: "pine_lodgepole", P: 0.4}, {P: 0.1}}})
	require.NoError(t, err)
	require.Greater(t, unsure.SDLog, sure.SDLog)
	require.Greater(t, unsure.MeanLog, sure.MeanLog)
}

func TestSeasonIsRelativeToTheYear(t *testing.T) {
	t.Parallel()
	// Rietz 1972 (from memory): 5 effective days in January, 30 in July, 215 a
	// year.
	season := moisture.SeasonUpperMidwest()
	var sum float64
	for _, s := range season {
		sum += s
	}
	require.InDelta(t, 12, sum, 1e-9)
	require.InDelta(t, 30.0/5, season[6]/season[0], 1e-9)
	require.InDelta(t, 5*12/215.0, season[0], 1e-9)
}

func TestMonthlyClimate(t *testing.T) {
	t.Parallel()
	var c, rh [12]float64
	for m := range 12 {
		c[m], rh[m] = 20, 65
	}
	got, err := moisture.MonthlyClimate(c, rh)
	require.NoError(t, err)
	require.InDelta(t, 12.00, got.EMC[4], 0.01) // Wood handbook eq. 4-5 at 20 °C and 65 %
	require.True(t, got.Uniform())
	rh[2] = 140
	_, err = moisture.MonthlyClimate(c, rh)
	require.ErrorIs(t, err, wood.ErrRange)
	require.ErrorContains(t, err, "March")
}
