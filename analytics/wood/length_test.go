package wood_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// frac returns n/d inches; d divides 64.
func frac(whole, n, d wood.Length) wood.Length { return whole*wood.Inch + n*wood.Inch/d }

func TestParseLength(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		in   string
		bare wood.Unit
		want wood.Length
	}{
		{"5", "in", 5 * wood.Inch},
		{"5", "mm", 5 * wood.Millimetre},
		{"0", "in", 0},
		{"5 1/2", "in", frac(5, 1, 2)},
		{"5-1/2\"", "mm", frac(5, 1, 2)},
		{"5‑1/2″", "mm", frac(5, 1, 2)},
		{"3/4", "in", frac(0, 3, 4)},
		{"5/4", "in", frac(1, 1, 4)},
		{"5½", "in", frac(5, 1, 2)},
		{"5 ½", "in", frac(5, 1, 2)},
		{"5-½ in", "mm", frac(5, 1, 2)},
		{"¾", "in", frac(0, 3, 4)},
		{"⅝ in", "mm", frac(0, 5, 8)},
		{"5 5⁄8", "in", frac(5, 5, 8)},
		{"5¹⁄₂", "in", frac(5, 1, 2)},
		{"5¹¹/₁₆", "in", frac(5, 11, 16)},
		{"5 3∕8", "in", frac(5, 3, 8)},
		{"2 63/64", "in", frac(2, 63, 64)},
		{"5.5in", "mm", frac(5, 1, 2)},
		{"5,5 in", "mm", frac(5, 1, 2)},
		{".75", "in", frac(0, 3, 4)},
		{",75", "in", frac(0, 3, 4)},
		{"0,375 in", "mm", frac(0, 3, 8)},
		{"12,75 mm", "in", 12_750 * wood.Micrometre},
		{"140 mm", "in", 140 * wood.Millimetre},
		{"140mm", "in", 140 * wood.Millimetre},
		{"14cm", "in", 140 * wood.Millimetre},
		{"1.4 m", "in", 1400 * wood.Millimetre},
		{"2,4M", "in", 2400 * wood.Millimetre},
		{"3 1/2 cm", "in", 35 * wood.Millimetre},
		{"1/2 m", "in", 500 * wood.Millimetre},
		{"12 inches", "mm", wood.Foot},
		{"1 inch", "mm", wood.Inch},
		{"5 in.", "mm", 5 * wood.Inch},
		{"4.5 ft", "mm", 54 * wood.Inch},
		{"6' 2 1/2\"", "mm", 74*wood.Inch + wood.Inch/2},
		{"6′ 2 1/2″", "mm", 74*wood.Inch + wood.Inch/2},
		{"6’ 2 ½”", "mm", 74*wood.Inch + wood.Inch/2},
		{"6'-2 1/2\"", "mm", 74*wood.Inch + wood.Inch/2},
		{"6' - 2\"", "mm", 74 * wood.Inch},
		{"6'2", "mm", 74 * wood.Inch},
		{"6 ft 2 in", "mm", 74 * wood.Inch},
		{"6 ft. 2 in.", "mm", 74 * wood.Inch},
		{"6 feet 2 inches", "mm", 74 * wood.Inch},
		{"6FT2IN", "mm", 74 * wood.Inch},
		{"0' 11 3/4''", "mm", frac(11, 3, 4)},
		{"8'", "mm", 8 * wood.Foot},
		{"  5 1/2  in ", "mm", frac(5, 1, 2)},
		{"5\u00a01/2\u202fin", "mm", frac(5, 1, 2)},
		{"000005", "in", 5 * wood.Inch},
		{"010", "in", 10 * wood.Inch}, // decimal, whatever computers make of it
		{"010/8", "in", frac(1, 1, 4)},
		{"08/016", "in", frac(0, 1, 2)},
		{"5 02/04", "in", frac(5, 1, 2)},
		{"100 m", "in", wood.MaxLength},
		{"0.0000005 mm", "in", 1}, // half a nanometre goes up
		{"0.0000004 mm", "in", 0},
		{"1/3", "in", 8_466_667}, // 8,466,666.67 nm
		{"1⁄64", "in", 396_875},
	} {
		got, err := wood.ParseLength(tc.in, tc.bare)
		require.NoError(t, err, tc.in)
		require.Equal(t, tc.want, got, tc.in)
	}
}

func TestParseLengthRefuses(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		in    string
		bare  wood.Unit
		fault wood.LengthFault
	}{
		{"", "in", wood.FaultEmpty},
		{" \t", "in", wood.FaultEmpty},
		{strings.Repeat("1", 65), "in", wood.FaultTooLong},
		{"-5", "in", wood.FaultNegative},
		{"−5 1/2", "in", wood.FaultNegative},
		{"- 5", "in", wood.FaultNegative},
		{"1/0", "in", wood.FaultZeroDenominator},
		{"5 1/00", "in", wood.FaultZeroDenominator},
		{"100.1 m", "in", wood.FaultTooLarge},
		{"99999999999999999999999999999999999999999999999999", "in", wood.FaultTooLarge},
		{"400 ft", "in", wood.FaultTooLarge},
		{"1,250", "mm", wood.FaultAmbiguous},
		{"1,250.5", "mm", wood.FaultAmbiguous},
		{"1.250,5", "mm", wood.FaultAmbiguous},
		{"1.2.3", "mm", wood.FaultAmbiguous},
		{"5 1/2", "mm", wood.FaultAmbiguous},
		{"¾", "mm", wood.FaultAmbiguous},
		{"5 9/8", "in", wood.FaultAmbiguous},
		{"5 2/2", "in", wood.FaultAmbiguous},
		{"5 - 1/2", "in", wood.FaultAmbiguous},
		{"5 -1/2", "in", wood.FaultAmbiguous},
		{"6' 12\"", "in", wood.FaultAmbiguous},
		{"nonsense", "in", wood.FaultNotALength},
		{"NaN", "in", wood.FaultNotALength},
		{"Inf", "in", wood.FaultNotALength},
		{"1e3", "in", wood.FaultNotALength},
		{"0x10", "in", wood.FaultNotALength},
		{"5 6", "in", wood.FaultNotALength},
		{"5-6", "in", wood.FaultNotALength},
		{"5 in 6", "in", wood.FaultNotALength},
		{"5 mm in", "in", wood.FaultNotALength},
		{"in", "in", wood.FaultNotALength},
		{"\"", "in", wood.FaultNotALength},
		{"5.5 1/2", "in", wood.FaultNotALength},
		{"5.5/2", "in", wood.FaultNotALength},
		{"5/2.5", "in", wood.FaultNotALength},
		{"1/2/3", "in", wood.FaultNotALength},
		{"5/", "in", wood.FaultNotALength},
		{"/2", "in", wood.FaultNotALength},
		{"5.", "in", wood.FaultNotALength},
		{".", "in", wood.FaultNotALength},
		{"5²", "in", wood.FaultNotALength},
		{"²", "in", wood.FaultNotALength},
		{"6.5' 2\"", "in", wood.FaultNotALength},
		{"6' 2 cm", "in", wood.FaultNotALength},
		{"6' 2\" 3", "in", wood.FaultNotALength},
		{"6' 2' ", "in", wood.FaultNotALength},
		{"6'-", "in", wood.FaultNotALength},
		{"2 m 5", "in", wood.FaultNotALength},
		{"5 km", "in", wood.FaultNotALength},
		{"5 µm", "in", wood.FaultNotALength},
		{"+5", "in", wood.FaultNotALength},
		{"5\x00", "in", wood.FaultNotALength},
		{"5\xff", "in", wood.FaultNotALength},
		{"٥", "in", wood.FaultNotALength},
		{"=5", "in", wood.FaultNotALength},
	} {
		_, err := wood.ParseLength(tc.in, tc.bare)
		var le *wood.LengthError
		require.ErrorAs(t, err, &le, tc.in)
		require.Equal(t, tc.fault, le.Fault, "%q: %v", tc.in, err)
		require.ErrorIs(t, err, wood.ErrLength)
		require.Contains(t, err.Error(), "140 mm", "an example belongs to the message")
	}
	_, err := wood.ParseLength("5", "furlong")
	require.ErrorIs(t, err, wood.ErrUnit)
}

// The sum that floats get wrong and shops live by: two rails, two kerfs and a
// strip out of one 5 1/2 in board.
func TestShopFractionsAddUp(t *testing.T) {
	t.Parallel()
	var sum wood.Length
	for _, s := range []string{"2 1/4", "1/8", "2 1/4", "1/8", "3/4"} {
		l, err := wood.ParseLength(s, wood.UnitInch)
		require.NoError(t, err)
		sum += l
	}
	want, err := wood.ParseLength("5 1/2", wood.UnitInch)
	require.NoError(t, err)
	require.True(t, sum == want)
}

func TestFormat(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		l              wood.Length
		in, mm, exactI string
	}{
		{0, "0 in", "0 mm", "0 in"},
		{frac(5, 1, 2), "5 1/2 in", "139.7 mm", "5 1/2 in"},
		{frac(0, 3, 4), "3/4 in", "19.1 mm", "3/4 in"},
		{frac(0, 63, 64), "63/64 in", "25 mm", "63/64 in"},
		{100 * wood.Millimetre, "3 15/16 in", "100 mm", "100 mm"},
		{1, "0 in", "0 mm", "0.000001 mm"},
		{-frac(1, 1, 8), "-1 1/8 in", "-28.6 mm", "-1 1/8 in"},
		{wood.Inch - 1, "1 in", "25.4 mm", "25.399999 mm"},
	} {
		require.Equal(t, tc.in, tc.l.Format(wood.UnitInch))
		require.Equal(t, tc.mm, tc.l.Format(wood.UnitMillimetre))
		require.Equal(t, tc.exactI, tc.l.Exact(wood.UnitInch))
	}
	require.Equal(t, "0.396875 mm", (wood.Inch / 64).String())
	require.Equal(t, "9223372036854.775807 mm", wood.Length(math.MaxInt64).String())
	require.Equal(t, "-9223372036854.775808 mm", wood.Length(math.MinInt64).String())
	require.Equal(t, "38.5 mm", frac(1, 33, 64).Round(wood.Millimetre/2).Format(wood.UnitMillimetre))
}

func TestRound(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := wood.Length(rapid.Int64().Draw(t, "l"))
		step := wood.Length(rapid.Int64Range(1, 1<<40).Draw(t, "step"))
		got := l.Round(step)
		require.Zero(t, got%step)
		off := got - l
		if l < math.MaxInt64-step && l > math.MinInt64+step {
			require.LessOrEqual(t, max(off, -off), step/2)
		}
	})
	require.Equal(t, wood.Length(7), wood.Length(7).Round(0))
	require.Equal(t, wood.Length(10), wood.Length(5).Round(10))
	require.Equal(t, wood.Length(-10), wood.Length(-5).Round(10))
}

// parse(print(x)) is x when exact, and print(parse(print(x))) is print(x)
// always.
func TestPrintParseRoundTrip(t *testing.T) {
	t.Parallel()
	units := []wood.Unit{wood.UnitInch, wood.UnitMillimetre}
	rapid.Check(t, func(t *rapid.T) {
		x := wood.Length(rapid.Int64Range(0, int64(wood.MaxLength)).Draw(t, "nm"))
		u := rapid.SampledFrom(units).Draw(t, "unit")
		bare := rapid.SampledFrom(units).Draw(t, "bare")

		exact, err := wood.ParseLength(x.Exact(u), bare)
		require.NoError(t, err)
		require.Equal(t, x, exact)
		plain, err := wood.ParseLength(x.String(), bare)
		require.NoError(t, err)
		require.Equal(t, x, plain)

		step := wood.Millimetre / 10
		if u == wood.UnitInch {
			step = wood.Inch / 64
		}
		y := min(x.Round(step), wood.MaxLength/step*step)
		back, err := wood.ParseLength(y.Format(u), bare)
		require.NoError(t, err)
		require.Equal(t, y, back)
		require.Equal(t, y.Format(u), back.Format(u))
	})
}

func TestLengthOf(t *testing.T) {
	t.Parallel()
	l, err := wood.LengthOf(5.5, wood.Inch)
	require.NoError(t, err)
	require.Equal(t, frac(5, 1, 2), l)
	require.InDelta(t, 5.5, l.Inches(), 1e-12)
	require.InDelta(t, 5.5/12, l.Feet(), 1e-12)
	require.InDelta(t, 139.7, l.Millimetres(), 1e-12)
	require.InDelta(t, 0.1397, l.Metres(), 1e-12)
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 4000} {
		_, err := wood.LengthOf(v, wood.Inch)
		require.ErrorIs(t, err, wood.ErrLength)
	}
}

// A Length is a plain number of nanometres to encoding/json.
func TestLengthJSON(t *testing.T) {
	t.Parallel()
	b, err := json.Marshal(map[string]wood.Length{"width": frac(5, 1, 2)})
	require.NoError(t, err)
	require.JSONEq(t, `{"width":139700000}`, string(b))
	var back map[string]wood.Length
	require.NoError(t, json.Unmarshal(b, &back))
	require.Equal(t, frac(5, 1, 2), back["width"])
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{
		"5 1/2", "5-1/2\"", "6' 2 1/2\"", "140 mm", "5½", "5¹⁄₂", "1,250", "-1", "1/0", "", "NaN",
		"080/1", "1e9", "6ft2in", "99999999999 m", "٥", "5\xff", "6′ 2″", "0.0000005mm",
	} {
		f.Add(s, true)
		f.Add(s, false)
	}
	f.Fuzz(func(t *testing.T, s string, inch bool) {
		bare := wood.UnitMillimetre
		if inch {
			bare = wood.UnitInch
		}
		l, err := wood.ParseLength(s, bare)
		if err != nil {
			require.ErrorIs(t, err, wood.ErrLength)
			require.Less(t, len(err.Error()), 600)
			return
		}
		require.GreaterOrEqual(t, l, wood.Length(0))
		require.LessOrEqual(t, l, wood.MaxLength)
		back, err := wood.ParseLength(l.Exact(bare), bare)
		require.NoError(t, err)
		require.Equal(t, l, back)
	})
}
