package wood_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// Saturation pressures of water from the steam tables (IAPWS), hPa, from
// memory; the Magnus formula is stated to stay within about 0.6 %.
func TestSaturationPressure(t *testing.T) {
	t.Parallel()
	for c, want := range map[wood.Celsius]float64{
		0.01: 6.117, 10: 12.28, 20: 23.39, 30: 42.47, 40: 73.85, 50: 123.5, 60: 199.5,
	} {
		got, err := wood.SaturationPressure(c)
		require.NoError(t, err)
		require.InEpsilon(t, want, got, 0.006, "%v °C", c)
	}
	for _, c := range []wood.Celsius{-46, 61, wood.Celsius(math.NaN())} {
		_, err := wood.SaturationPressure(c)
		require.ErrorIs(t, err, wood.ErrRange)
	}
}

// US Army TM 5-3610-285-14 reads 71 % from its chart for a dry bulb of 68 °F
// and a wet one of 62 °F.
func TestWetBulbPublishedExample(t *testing.T) {
	t.Parallel()
	rh, err := wood.WetBulb{Dry: wood.FromFahrenheit(68), Wet: wood.FromFahrenheit(62)}.Humidity()
	require.NoError(t, err)
	require.InDelta(t, 71, rh, 0.5)
}

func TestWetBulbProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		dry := wood.Celsius(rapid.Float64Range(5, 60).Draw(t, "dry"))
		wet := dry - wood.Celsius(rapid.Float64Range(0, 3).Draw(t, "depression"))
		p := rapid.Float64Range(700, 1050).Draw(t, "p")
		rh, err := wood.WetBulb{Dry: dry, Wet: wet, PressureHPa: p}.Humidity()
		require.NoError(t, err)
		require.LessOrEqual(t, rh, 100.0)
		require.Greater(t, rh, 0.0)
		// The wet bulb lies between dew point and dry bulb.
		dew, err := wood.DewPoint(dry, rh)
		require.NoError(t, err)
		require.LessOrEqual(t, float64(dew), float64(wet)+1e-9)
		// Thinner air cools the wick less for the same humidity.
		thin, err := wood.WetBulb{Dry: dry, Wet: wet, PressureHPa: p - 100}.Humidity()
		require.NoError(t, err)
		require.GreaterOrEqual(t, thin, rh-1e-12)
	})
	saturated, err := wood.WetBulb{Dry: 20, Wet: 20}.Humidity()
	require.NoError(t, err)
	require.InDelta(t, 100, saturated, 1e-9)
}

func TestWetBulbRefuses(t *testing.T) {
	t.Parallel()
	for name, b := range map[string]wood.WetBulb{
		"swapped":    {Dry: 15, Wet: 20},
		"frozen":     {Dry: 5, Wet: -1},
		"too hot":    {Dry: 80, Wet: 60},
		"impossible": {Dry: 40, Wet: 5},
		"hPa in kPa": {Dry: 20, Wet: 15, PressureHPa: 101.3},
		"NaN":        {Dry: 20, Wet: wood.Celsius(math.NaN())},
	} {
		_, err := b.Humidity()
		require.ErrorIs(t, err, wood.ErrRange, name)
	}
	_, err := wood.WetBulb{Dry: 40, Wet: 5}.Humidity()
	require.ErrorContains(t, err, "check both thermometers")
}

func TestDewPoint(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := wood.Celsius(rapid.Float64Range(-30, 60).Draw(t, "t"))
		dew := wood.Celsius(rapid.Float64Range(-45, float64(c)).Draw(t, "dew"))
		rh, err := wood.HumidityFromDewPoint(c, dew)
		require.NoError(t, err)
		back, err := wood.DewPoint(c, rh)
		require.NoError(t, err)
		require.InDelta(t, float64(dew), float64(back), 1e-9)
	})
	rh, err := wood.HumidityFromDewPoint(20, 20)
	require.NoError(t, err)
	require.InDelta(t, 100, rh, 1e-12)
	_, err = wood.HumidityFromDewPoint(20, 21)
	require.ErrorIs(t, err, wood.ErrRange)
	_, err = wood.HumidityFromDewPoint(90, 20)
	require.ErrorIs(t, err, wood.ErrRange)
	_, err = wood.DewPoint(20, 0)
	require.ErrorIs(t, err, wood.ErrRange)
	_, err = wood.DewPoint(70, 50)
	require.ErrorIs(t, err, wood.ErrRange)
}

func TestFahrenheit(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 21.111, float64(wood.FromFahrenheit(70)), 0.001)
	require.InDelta(t, -40, wood.FromFahrenheit(-40).Fahrenheit(), 1e-9)
	require.InDelta(t, 212, wood.Celsius(100).Fahrenheit(), 1e-9)
}
