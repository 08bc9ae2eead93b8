package wood_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/wood"
)

func TestParseMass(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]wood.Mass{
		"450 g": 0.45, "450g": 0.45, "1,2 kg": 1.2, "1.2kg": 1.2, "3 lb": 3 * wood.Pound, "3 lbs.": 3 * wood.Pound,
		"2 lb 3 oz": 2*wood.Pound + 3*wood.Ounce, "2lb3oz": 2*wood.Pound + 3*wood.Ounce, "12 oz": 12 * wood.Ounce,
		"59.20": 59.20 * wood.Gram, " 5 KG ": 5, "1 pound": wood.Pound,
	} {
		got, err := wood.ParseMass(in, wood.Gram)
		require.NoError(t, err, in)
		require.InEpsilon(t, float64(want), float64(got), 1e-12, in)
	}
	require.InDelta(t, 453.59237, wood.Pound.Grams(), 1e-9)
	require.InDelta(t, 0.45359237, wood.Pound.Kilograms(), 1e-12)
	require.InDelta(t, 2.2046226, wood.Kilogram.Pounds(), 1e-7)
	for _, in := range []string{
		"", " ", "kg", "0", "0 kg", "-1 kg", "−1 kg", "1 stone", "1,250 g", "1.2.3 g", "5 kg 3 g", "3 oz 2 lb", "2 lb 3", "1.",
		"2 lb 3 lb", "1e3", "NaN", "Inf", strings.Repeat("9", 39), strings.Repeat("9", 41), "5\x00", "5\xff g", "1 kg =",
	} {
		_, err := wood.ParseMass(in, wood.Gram)
		var qe *wood.QuantityError
		require.ErrorAs(t, err, &qe, in)
		require.ErrorIs(t, err, wood.ErrQuantity)
		require.ErrorContains(t, err, "2 lb 3 oz")
	}
}

func TestParseTemperature(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]wood.Celsius{
		"21": 21, "21 C": 21, "21°C": 21, "21 °c": 21, "70F": wood.FromFahrenheit(70), "70 °F": wood.FromFahrenheit(70),
		"-5": -5, "−5,5 C": -5.5, "14 Fahrenheit": -10, "0": 0,
	} {
		got, err := wood.ParseTemperature(in, wood.UnitCelsius)
		require.NoError(t, err, in)
		require.InDelta(t, float64(want), float64(got), 1e-12, in)
	}
	got, err := wood.ParseTemperature("68", wood.UnitFahrenheit)
	require.NoError(t, err)
	require.InDelta(t, 20, float64(got), 1e-12)
	for _, in := range []string{"", "C", "21 K", "21 C 5", "301", "-101 C", "20,000", "warm", "21°", "--5"} {
		_, err := wood.ParseTemperature(in, wood.UnitCelsius)
		if in == "21°" {
			require.NoError(t, err, "a bare degree sign leaves the keeper's unit")
			continue
		}
		require.ErrorIs(t, err, wood.ErrQuantity, in)
	}
	_, err = wood.ParseTemperature("20", "R")
	require.ErrorIs(t, err, wood.ErrQuantity)
}

func TestParsePercent(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]float64{"16": 16, "16.5 %": 16.5, "16,5%": 16.5, "0": 0, "-0": 0, "12 percent": 12, ".5": 0.5} {
		got, err := wood.ParsePercent(in)
		require.NoError(t, err, in)
		require.InDelta(t, want, got, 1e-12, in)
	}
	for _, in := range []string{"", "%", "-1", "1001", "16 % 2", "16 C", "16/2", "NaN", "1,000"} {
		_, err := wood.ParsePercent(in)
		require.ErrorIs(t, err, wood.ErrQuantity, in)
	}
}

func FuzzParseQuantities(f *testing.F) {
	for _, s := range []string{"450 g", "2 lb 3 oz", "21 °C", "-5F", "16 %", "1,250", "", "5\xff", "NaN", "9999999999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if m, err := wood.ParseMass(s, wood.Gram); err != nil {
			require.ErrorIs(t, err, wood.ErrQuantity)
		} else {
			require.Positive(t, float64(m))
		}
		if c, err := wood.ParseTemperature(s, wood.UnitFahrenheit); err != nil {
			require.ErrorIs(t, err, wood.ErrQuantity)
		} else {
			require.Less(t, float64(c), 301.0)
		}
		if p, err := wood.ParsePercent(s); err != nil {
			require.ErrorIs(t, err, wood.ErrQuantity)
		} else {
			require.GreaterOrEqual(t, p, 0.0)
		}
	})
}
