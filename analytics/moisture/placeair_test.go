package moisture_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// records draws a logger's rows at odd intervals over some months.
func records(seed uint64, days int) []moisture.LoggerRow {
	r := rand.New(rand.NewPCG(seed, 1))
	var out []moisture.LoggerRow
	at := time.Date(2025, 11, 3, 4, 0, 0, 0, time.UTC)
	for end := at.AddDate(0, 0, days); at.Before(end); at = at.Add(time.Duration(30+r.IntN(900)) * time.Minute) {
		out = append(out, moisture.LoggerRow{Line: len(out) + 2, At: at, TempC: -5 + 30*r.Float64(), RH: 30 + 60*r.Float64()})
	}
	return out
}

func TestMonthsOfALoggerMakeItsClimate(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rows := records(rapid.Uint64().Draw(t, "seed"), rapid.IntRange(30, 500).Draw(t, "days"))
		whole, err := moisture.ClimateFrom(rows)
		require.NoError(t, err)
		months, err := moisture.LoggerMonths(rows)
		require.NoError(t, err)
		place, err := moisture.AirOfPlace(months)
		require.NoError(t, err)
		require.Equal(t, whole.Days, place.Days)
		require.Equal(t, whole.Filled, place.Filled)
		require.InDelta(t, whole.Climate.SD, place.Climate.SD, 1e-12)
		for m := range 12 {
			require.InDelta(t, whole.Climate.EMC[m], place.Climate.EMC[m], 1e-9, "month %d", m+1)
		}
	})
}

// usual is a mean somebody looked up.
func usual(month time.Month, c, rh float64) moisture.MonthAir {
	return moisture.MonthAir{Month: month, TempC: c, RH: rh, EMC: math.NaN()}
}

func TestRecordsOfAWeekComeBeforeAUsualMean(t *testing.T) {
	t.Parallel()
	march, err := wood.EMC(5, 70)
	require.NoError(t, err)
	few := moisture.MonthAir{Month: time.March, Days: 6, EMC: 10}
	enough := moisture.MonthAir{Month: time.March, Days: 7, EMC: 11}
	for name, c := range map[string]struct {
		months []moisture.MonthAir
		march  float64
		usual  bool
	}{
		"six days are no month":                 {[]moisture.MonthAir{few, usual(time.March, 5, 70)}, march, true},
		"a week is":                             {[]moisture.MonthAir{enough, usual(time.March, 5, 70)}, 11, false},
		"two springs are one month":             {[]moisture.MonthAir{few, enough}, (6*10 + 7*11) / 13.0, false},
		"the nearest months fill in":            {[]moisture.MonthAir{usual(time.February, 5, 70), usual(time.April, 5, 70)}, march, false},
		"one month fills in for all the others": {[]moisture.MonthAir{usual(time.July, 5, 70)}, march, false},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p, err := moisture.AirOfPlace(c.months)
			require.NoError(t, err)
			require.InDelta(t, c.march, p.Climate.EMC[2], 1e-9)
			require.Equal(t, c.usual, p.Usual[2])
			require.NotEmpty(t, p.Climate.Source)
			require.Equal(t, moisture.StatusDerived, p.Climate.Status)
		})
	}
}

func TestAirOfNoPlaceIsRefused(t *testing.T) {
	t.Parallel()
	_, err := moisture.AirOfPlace(nil)
	require.ErrorIs(t, err, moisture.ErrLogger)
	_, err = moisture.AirOfPlace([]moisture.MonthAir{{Month: time.May, Days: 3, EMC: 12}})
	require.ErrorIs(t, err, moisture.ErrLogger)
	for _, month := range []time.Month{0, 13} {
		_, err = moisture.AirOfPlace([]moisture.MonthAir{usual(month, 10, 50)})
		require.ErrorIs(t, err, moisture.ErrSetting)
	}
	for _, wrong := range []moisture.MonthAir{usual(time.May, 10, 101), usual(time.May, 10, -1), usual(time.May, math.NaN(), 50), usual(time.May, 700, 50)} {
		_, err = moisture.AirOfPlace([]moisture.MonthAir{wrong})
		require.ErrorContains(t, err, "May")
	}
	_, err = moisture.LoggerMonths([]moisture.LoggerRow{{Line: 7, At: time.Now(), TempC: 10, RH: 130}})
	require.ErrorContains(t, err, "line 7")
}

// TestDampestAirIsAClimate shows that any air of a place can be fitted in.
func TestDampestAirIsAClimate(t *testing.T) {
	t.Parallel()
	p, err := moisture.AirOfPlace([]moisture.MonthAir{usual(time.May, -20, 100)})
	require.NoError(t, err)
	_, err = moisture.Fit(moisture.FitInput{Obs: []moisture.Obs{{At: simStart, Percent: 40}}, Climate: p.Climate, Prior: moisture.RatePrior{MeanLog: -4, SDLog: 0.5}})
	require.NoError(t, err)
}

func TestStackDriesInTheAirOfEachPlaceItStoodIn(t *testing.T) {
	t.Parallel()
	const k, damp, dry = 0.05, 18.0, 8.0
	moved := simStart.AddDate(0, 0, 40)
	// The curve by hand: toward the damp air for forty days, then toward the dry.
	curve := func(day float64) float64 {
		if day <= 40 {
			return damp + (60-damp)*math.Exp(-k*day)
		}
		at := damp + (60-damp)*math.Exp(-k*40)
		return dry + (at-dry)*math.Exp(-k*(day-40))
	}
	var obs []moisture.Obs
	for day := 0.0; day <= 90; day += 10 {
		obs = append(obs, moisture.Obs{At: simStart.Add(time.Duration(day*24) * time.Hour), Percent: curve(day), SD: 0.2})
	}
	climate := moisture.ConstantClimate(dry, 0.1)
	climate.Earlier = []moisture.Spell{{Until: moved, Climate: moisture.ConstantClimate(damp, 0.1)}}
	require.InDelta(t, damp, climate.At(moved.Add(-time.Hour)), 0)
	require.InDelta(t, dry, climate.At(moved), 0)
	require.InDelta(t, dry, climate.Lowest(), 0)
	require.False(t, climate.Uniform())
	p, err := moisture.Fit(moisture.FitInput{Obs: obs, Climate: climate, Prior: moisture.RatePrior{MeanLog: -4, SDLog: 0.8}})
	require.NoError(t, err)
	require.Empty(t, p.Notices)
	require.InDelta(t, math.Log(k), p.LogRate.Mean, 0.02)
	for _, day := range []float64{5, 39, 41, 70, 120} {
		require.InDelta(t, curve(day), p.Moisture(simStart.Add(time.Duration(day*24)*time.Hour)).Median, 0.4, "day %g", day)
	}
	d, err := p.Ready(12)
	require.NoError(t, err)
	require.Equal(t, moisture.StateReached, d.State)
	stayed, err := moisture.Fit(moisture.FitInput{Obs: obs[:4], Climate: climate.Earlier[0].Climate, Prior: moisture.RatePrior{MeanLog: -4, SDLog: 0.8}})
	require.NoError(t, err)
	d, err = stayed.Ready(12)
	require.NoError(t, err)
	require.Equal(t, moisture.StateNever, d.State, "in the damp place it never is")
}

func TestMovesOutOfOrderAreRefused(t *testing.T) {
	t.Parallel()
	in := moisture.FitInput{Obs: []moisture.Obs{{At: simStart, Percent: 40}}, Prior: moisture.RatePrior{MeanLog: -4, SDLog: 0.5}}
	air := moisture.ConstantClimate(12, 1)
	for name, earlier := range map[string][]moisture.Spell{
		"no day":       {{Climate: air}},
		"out of order": {{simStart, air}, {simStart, air}},
	} {
		in.Climate = air
		in.Climate.Earlier = earlier
		_, err := moisture.Fit(in)
		require.ErrorIs(t, err, moisture.ErrNoTime, name)
	}
	in.Climate.Earlier = []moisture.Spell{{simStart, moisture.ConstantClimate(70, 1)}}
	_, err := moisture.Fit(in)
	require.ErrorIs(t, err, moisture.ErrSetting)
}
