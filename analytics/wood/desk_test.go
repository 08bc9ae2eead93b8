package wood_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/wood"
)

func ptr[T any](v T) *T { return &v }

func TestAskAir(t *testing.T) {
	t.Parallel()
	a, err := wood.AskAir(wood.AirQuestion{Temperature: 20, Humidity: ptr(65.0)})
	require.NoError(t, err)
	require.InDelta(t, 12.00, a.MoisturePercent, 0.006)
	require.Equal(t, "humidity", a.From)
	require.False(t, a.Extrapolated)

	back, err := wood.AskAir(wood.AirQuestion{Temperature: 20, Moisture: &a.MoisturePercent})
	require.NoError(t, err)
	require.InDelta(t, 65, back.HumidityPercent, 1e-9)

	wet, err := wood.AskAir(wood.AirQuestion{Temperature: wood.FromFahrenheit(68), WetBulb: ptr(wood.FromFahrenheit(62))})
	require.NoError(t, err)
	require.InDelta(t, 71, wet.HumidityPercent, 0.5)
	require.Contains(t, wet.Sources, wood.SourcePsychrometer)

	dew, err := wood.AskAir(wood.AirQuestion{Temperature: 20, DewPoint: ptr(wood.Celsius(20))})
	require.NoError(t, err)
	require.InDelta(t, 100, dew.HumidityPercent, 1e-9)
	require.True(t, dew.Extrapolated)

	_, err = wood.AskAir(wood.AirQuestion{Temperature: 20})
	require.ErrorIs(t, err, wood.ErrQuestion)
	_, err = wood.AskAir(wood.AirQuestion{Temperature: 20, Humidity: ptr(50.0), Moisture: ptr(9.0)})
	require.ErrorIs(t, err, wood.ErrQuestion)
	_, err = wood.AskAir(wood.AirQuestion{Temperature: 20, Humidity: ptr(150.0)})
	require.ErrorIs(t, err, wood.ErrRange)
}

func TestAskDensity(t *testing.T) {
	t.Parallel()
	q := wood.DensityQuestion{Species: "white ash", MC: 12}
	a, err := wood.AskDensity(q)
	require.NoError(t, err)
	require.InDelta(t, 669, a.DensityKgM3, 0.6)
	require.Zero(t, a.MassKg)
	require.NotEmpty(t, a.Status)

	q.Thickness, q.Width, q.Length = wood.Inch, 6*wood.Inch, 4*wood.Foot
	a, err = wood.AskDensity(q)
	require.NoError(t, err)
	require.InDelta(t, a.DensityKgM3*a.VolumeM3, a.MassKg, 1e-12)

	// The species' mean board put on the scales is that species' mean.
	q.Mass = wood.Mass(a.MassKg)
	w, err := wood.AskDensity(q)
	require.NoError(t, err)
	require.True(t, w.Weighed)
	require.InDelta(t, 0.55, w.BasicGravity, 1e-9)
	require.InDelta(t, a.DensityKgM3, w.SpeciesDensityKgM3, 1e-9)
	require.InDelta(t, a.OvenDryKg, w.OvenDryKg, 1e-12)

	q.Species = ""
	w, err = wood.AskDensity(q)
	require.NoError(t, err)
	require.Empty(t, w.Status)
	require.InDelta(t, 0.545, w.BasicGravity, 0.01, "26.5 Gb in place of the measured shrinkage")

	for name, tc := range map[string]struct {
		q    wood.DensityQuestion
		want error
	}{
		"nothing":    {wood.DensityQuestion{MC: 12}, wood.ErrQuestion},
		"two sides":  {wood.DensityQuestion{Species: "white ash", Width: 1, Length: 1}, wood.ErrQuestion},
		"mass alone": {wood.DensityQuestion{Species: "white ash", Mass: 1}, wood.ErrQuestion},
		"no species": {wood.DensityQuestion{Species: "plastic"}, wood.ErrSpecies},
		"no figure":  {wood.DensityQuestion{Species: "mango", MC: 12}, wood.ErrUnknown},
		"negative":   {wood.DensityQuestion{Mass: 1, Thickness: -1, Width: 1, Length: 1}, wood.ErrRange},
		"moisture":   {wood.DensityQuestion{Species: "white ash", MC: 300}, wood.ErrRange},
	} {
		_, err := wood.AskDensity(tc.q)
		require.ErrorIs(t, err, tc.want, name)
	}
}

func TestAskResize(t *testing.T) {
	t.Parallel()
	q := wood.ResizeQuestion{Species: "white fir", Width: 232 * wood.Millimetre, Grain: wood.FlatSawn, From: 8, To: 11}
	a, err := wood.AskResize(q)
	require.NoError(t, err)
	require.Len(t, a.Sides, 1)
	require.InDelta(t, 233.7, a.Sides[0].Low.Millimetres(), 0.05)

	q.Wanted, q.Width = true, a.Sides[0].Low
	back, err := wood.AskResize(q)
	require.NoError(t, err)
	require.InDelta(t, 232, back.Sides[0].High.Millimetres(), 1e-5)

	any, err := wood.AskResize(wood.ResizeQuestion{Width: wood.Foot, Thickness: wood.Inch, From: 16, To: 9})
	require.NoError(t, err)
	require.Len(t, any.Sides, 2)
	require.Equal(t, wood.UnknownGrain, any.Grain)
	soft, err := wood.AskResize(wood.ResizeQuestion{Group: wood.Softwood, Width: wood.Foot, From: 16, To: 9})
	require.NoError(t, err)
	require.Greater(t, soft.Sides[0].Worst, any.Sides[0].Worst, "knowing the group narrows the bounds")

	for name, tc := range map[string]struct {
		q    wood.ResizeQuestion
		want error
	}{
		"no size": {wood.ResizeQuestion{Species: "white fir"}, wood.ErrQuestion},
		"species": {wood.ResizeQuestion{Species: "oak", Width: 1}, wood.ErrSpecies},
		"unknown": {wood.ResizeQuestion{Species: "sugi", Width: 1}, wood.ErrUnknown},
		"group":   {wood.ResizeQuestion{Group: "grass", Width: 1}, wood.ErrUnknown},
		"range":   {wood.ResizeQuestion{Width: 1, From: -3}, wood.ErrRange},
		"grain":   {wood.ResizeQuestion{Width: 1, Grain: "curly"}, wood.ErrGrain},
	} {
		_, err := wood.AskResize(tc.q)
		require.ErrorIs(t, err, tc.want, name)
	}
}

func TestAskBoardFeet(t *testing.T) {
	t.Parallel()
	q := wood.BoardFeetQuestion{Thickness: inches(t, "3/4"), Width: inches(t, "7 1/4"), Length: 10 * wood.Foot}
	a, err := wood.AskBoardFeet(q)
	require.NoError(t, err)
	require.InDelta(t, 4.53, a.BoardFeet, 0.005)
	require.InDelta(t, 6.67, a.Softwood.BoardFeet, 0.005)
	require.True(t, a.Softwood.Guessed)

	n, err := wood.AskBoardFeet(wood.BoardFeetQuestion{
		Thickness: wood.Inch, Width: 8 * wood.Inch, Length: 10 * wood.Foot, Count: 3, Nominal: true,
	})
	require.NoError(t, err)
	require.InDelta(t, 3*a.BoardFeet, n.BoardFeet, 1e-9)
	require.InDelta(t, 3*a.Softwood.BoardFeet, n.Softwood.BoardFeet, 1e-9)
	require.False(t, n.Softwood.Guessed)

	rough, err := wood.AskBoardFeet(wood.BoardFeetQuestion{Thickness: wood.Inch, Width: 6 * wood.Inch, Length: 96 * wood.Inch})
	require.NoError(t, err)
	require.Nil(t, rough.Softwood)
	require.InDelta(t, 4, rough.BoardFeet, 1e-9)

	for name, q := range map[string]wood.BoardFeetQuestion{
		"no width":  {Thickness: 1, Length: 1},
		"negative":  {Thickness: -1, Width: 1, Length: 1},
		"too long":  {Thickness: 1, Width: 1, Length: wood.MaxLength + 1},
		"count":     {Thickness: 1, Width: 1, Length: 1, Count: -2},
		"too many":  {Thickness: 1, Width: 1, Length: 1, Count: 1_000_001},
		"no height": {},
	} {
		_, err := wood.AskBoardFeet(q)
		require.ErrorIs(t, err, wood.ErrQuestion, name)
	}
	_, err = wood.AskBoardFeet(wood.BoardFeetQuestion{Thickness: wood.Inch, Width: 13 * wood.Inch, Length: 1, Nominal: true})
	require.ErrorIs(t, err, wood.ErrNominal)
}

func TestAskOvenDry(t *testing.T) {
	t.Parallel()
	a, err := wood.AskOvenDry(wood.OvenDryQuestion{Wet: 6, Dry: 5})
	require.NoError(t, err)
	require.InDelta(t, 20, a.MoisturePercent, 1e-9)
	require.InDelta(t, 16.667, a.WetBasisPercent, 0.001)

	a, err = wood.AskOvenDry(wood.OvenDryQuestion{Sample: wood.Sample{Mass: 3.3, SectionMC: []float64{60, 70}}, Now: 2.4})
	require.NoError(t, err)
	require.InDelta(t, 20, a.MoisturePercent, 1e-9)
	require.InDelta(t, 2, a.OvenDryKg, 1e-12)

	for _, q := range []wood.OvenDryQuestion{{MC: ptr(20.0)}, {WetBasis: ptr(100.0 / 6)}} {
		a, err = wood.AskOvenDry(q)
		require.NoError(t, err)
		require.InDelta(t, 20, a.MoisturePercent, 1e-9)
		require.InDelta(t, 16.667, a.WetBasisPercent, 0.001)
	}
	for name, tc := range map[string]struct {
		q    wood.OvenDryQuestion
		want error
	}{
		"nothing":    {wood.OvenDryQuestion{}, wood.ErrQuestion},
		"two ways":   {wood.OvenDryQuestion{Wet: 6, Dry: 5, MC: ptr(20.0)}, wood.ErrQuestion},
		"only wet":   {wood.OvenDryQuestion{Wet: 6}, wood.ErrRange},
		"swapped":    {wood.OvenDryQuestion{Wet: 5, Dry: 6}, wood.ErrRange},
		"no section": {wood.OvenDryQuestion{Sample: wood.Sample{Mass: 3}, Now: 2}, wood.ErrRange},
		"too wet":    {wood.OvenDryQuestion{MC: ptr(500.0)}, wood.ErrRange},
		"all water":  {wood.OvenDryQuestion{WetBasis: ptr(99.0)}, wood.ErrRange},
	} {
		_, err := wood.AskOvenDry(tc.q)
		require.ErrorIs(t, err, tc.want, name)
	}
	_, err = wood.AskOvenDry(wood.OvenDryQuestion{Wet: 5, Dry: 6})
	require.ErrorContains(t, err, "give above 0 and at most 5000 g")
}
