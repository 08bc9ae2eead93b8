package wood_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

func TestOvenDryMC(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		wet, dry wood.Mass
		want     float64
	}{
		{6, 5, 20.0}, // flooring training unit, read
		{98.55 * wood.Gram, 59.20 * wood.Gram, 66.47}, // Agriculture Handbook 188 kiln sample, from memory
		{5, 5, 0},
		{3 * wood.Pound, 1 * wood.Pound, 200},
	} {
		got, err := wood.OvenDryMC(tc.wet, tc.dry)
		require.NoError(t, err)
		require.InDelta(t, tc.want, got, 0.005)
	}
	for _, m := range [][2]wood.Mass{{5, 6}, {0, 0}, {5, 0}, {-1, -2}, {wood.Mass(math.NaN()), 1}, {5, wood.Mass(math.NaN())}, {100, 1}} {
		_, err := wood.OvenDryMC(m[0], m[1])
		require.ErrorIs(t, err, wood.ErrRange, "%v", m)
	}
	_, err := wood.OvenDryMC(5, 6)
	require.ErrorContains(t, err, "swapped")
}

func TestWetBasis(t *testing.T) {
	t.Parallel()
	wb, err := wood.WetBasis(100)
	require.NoError(t, err)
	require.InDelta(t, 50, wb, 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		mc := rapid.Float64Range(0, 400).Draw(t, "mc")
		wb, err := wood.WetBasis(mc)
		require.NoError(t, err)
		back, err := wood.FromWetBasis(wb)
		require.NoError(t, err)
		require.InDelta(t, mc, back, 1e-9)
	})
	_, err = wood.WetBasis(401)
	require.ErrorIs(t, err, wood.ErrRange)
	_, err = wood.FromWetBasis(81)
	require.ErrorIs(t, err, wood.ErrRange)
}

func TestSample(t *testing.T) {
	t.Parallel()
	// Two sections at 60 and 70 %: the piece of 3.3 kg holds 2 kg of dry wood.
	s := wood.Sample{Mass: 3.3, SectionMC: []float64{60, 70}}
	dry, err := s.OvenDry()
	require.NoError(t, err)
	require.InDelta(t, 2, float64(dry), 1e-12)
	mc, err := s.MC(2.4)
	require.NoError(t, err)
	require.InDelta(t, 20, mc, 1e-9)
	mc, err = s.MC(3.3)
	require.NoError(t, err)
	require.InDelta(t, 65, mc, 1e-9)

	for name, f := range map[string]func() error{
		"lighter than dry": func() error { _, err := s.MC(1.9); return err },
		"grams as kg":      func() error { _, err := s.MC(2400); return err },
		"no sections":      func() error { _, err := wood.Sample{Mass: 3}.MC(2); return err },
		"bad section":      func() error { _, err := wood.Sample{Mass: 3, SectionMC: []float64{-1}}.OvenDry(); return err },
		"no mass":          func() error { _, err := wood.Sample{SectionMC: []float64{30}}.OvenDry(); return err },
	} {
		require.ErrorIs(t, f(), wood.ErrRange, name)
	}
}

func TestSagRadius(t *testing.T) {
	t.Parallel()
	// A half circle: sag is the radius, chord the diameter.
	r, err := wood.SagRadius(wood.Metre, 2*wood.Metre)
	require.NoError(t, err)
	require.Equal(t, wood.Metre, r)
	rapid.Check(t, func(t *rapid.T) {
		radius := rapid.Float64Range(1, 50).Draw(t, "radius")
		angle := rapid.Float64Range(0.05, 1.5).Draw(t, "half angle")
		sag, err := wood.LengthOf(radius*(1-math.Cos(angle)), wood.Metre)
		require.NoError(t, err)
		chord, err := wood.LengthOf(2*radius*math.Sin(angle), wood.Metre)
		require.NoError(t, err)
		r, err := wood.SagRadius(sag, chord)
		require.NoError(t, err)
		require.InEpsilon(t, radius, r.Metres(), 1e-5)
	})
	r, err = wood.SagRadius(1, wood.MaxLength)
	require.NoError(t, err)
	require.Positive(t, r)
	for _, in := range [][2]wood.Length{{0, 1}, {1, 0}, {-1, 5}, {60, 100}, {1, wood.MaxLength + 1}} {
		_, err := wood.SagRadius(in[0], in[1])
		require.ErrorIs(t, err, wood.ErrRange)
	}
}
