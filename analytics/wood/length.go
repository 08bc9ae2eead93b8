package wood

import (
	"errors"
	"fmt"
	"math"
	"strconv"
)

// Length is a distance in whole nanometres, in the manner of time.Duration.
// Both 1/64 in (396,875 nm) and 1 µm are exact, so sums of shop fractions
// compare with ==. The inch is exactly 25.4 mm (international yard and pound
// agreement, 1959).
//
// A Length is a plain int64 wherever it is stored: a bigint of nanometres in a
// database, a JSON number of nanometres in an API. It has no text marshalling,
// because text needs to know whose unit a bare number is in: [ParseLength] and
// [Length.Format] take it, [Length.Exact] prints without loss.
type Length int64

// Units of length.
const (
	Nanometre  Length = 1
	Micrometre        = 1_000 * Nanometre
	Millimetre        = 1_000 * Micrometre
	Centimetre        = 10 * Millimetre
	Metre             = 1_000 * Millimetre
	Inch              = 25_400 * Micrometre
	Foot              = 12 * Inch
)

// MaxLength is the longest length that is read from people: 100 m. The tallest
// living tree is a little over that, so anything longer is a slip of the pen
// or of the unit.
const MaxLength = 100 * Metre

// sixtyFourth is the finest step of an inch tape that Format prints.
const sixtyFourth = Inch / 64

// Inches returns the length in inches.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// Feet returns the length in feet.
func (l Length) Feet() float64 { return float64(l) / float64(Foot) }

// Millimetres returns the length in millimetres.
func (l Length) Millimetres() float64 { return float64(l) / float64(Millimetre) }

// Metres returns the length in metres.
func (l Length) Metres() float64 { return float64(l) / float64(Metre) }

// Unit is the unit a keeper reads and types lengths in.
type Unit string

// The units in which a bare number is read and a length printed.
const (
	UnitInch       Unit = "in"
	UnitMillimetre Unit = "mm"
)

// ErrUnit is returned, wrapped, for a Unit that is neither UnitInch nor
// UnitMillimetre.
var ErrUnit = errors.New("unknown unit of length")

// ParseUnit reads a keeper's unit: "in" or "mm". Anything else is ErrUnit.
func ParseUnit(s string) (Unit, error) {
	switch u := Unit(s); u {
	case UnitInch, UnitMillimetre:
		return u, nil
	default:
		return "", fmt.Errorf("%w %.40q: use in or mm", ErrUnit, s)
	}
}

// LengthOf returns v units as a Length, rounded to the nearest nanometre with
// halves away from zero: LengthOf(5.5, Inch). It refuses NaN and anything
// beyond MaxLength either way with a *LengthError.
func LengthOf(v float64, unit Length) (Length, error) {
	nm := v * float64(unit)
	if math.IsNaN(nm) {
		return 0, &LengthError{Input: formatFloat(v), Fault: FaultNotALength, Reason: "not a number"}
	}
	if math.Abs(nm) > float64(MaxLength) {
		return 0, &LengthError{Input: formatFloat(v), Fault: FaultTooLarge, Reason: tooLargeReason}
	}
	return Length(math.Round(nm)), nil
}

// Round returns the multiple of step nearest to l, halves away from zero, in
// the manner of time.Duration.Round; a step of zero or less returns l. For
// half millimetres: l.Round(Millimetre / 2).
func (l Length) Round(step Length) Length {
	if step <= 0 {
		return l
	}
	r := l % step
	switch {
	case r >= 0 && r >= step-r && l-r <= math.MaxInt64-step:
		return l - r + step
	case r < 0 && -r >= step+r && l-r >= math.MinInt64+step:
		return l - r - step
	default:
		return l - r
	}
}

// Format prints l for reading in unit u: inches as a reduced mixed number to
// the nearest 1/64 ("5 1/2 in"), millimetres to the nearest 0.1 ("139.7 mm").
// The text is exact when l is a multiple of that step and off by at most half
// of it otherwise; ParseLength reads it back to the rounded value. A negative
// difference prints with a minus sign. An unknown unit prints as millimetres.
func (l Length) Format(u Unit) string {
	if u == UnitInch {
		return formatSixtyFourths(l.Round(sixtyFourth))
	}
	return formatMillimetres(l.Round(Millimetre / 10))
}

// Exact prints l so that ParseLength reads back the very same l whatever its
// size below MaxLength: as Format does when that is exact in unit u, else as
// millimetres with as many decimals as it takes, at most six. Exports use it.
func (l Length) Exact(u Unit) string {
	if u == UnitInch && l%sixtyFourth == 0 {
		return formatSixtyFourths(l)
	}
	return formatMillimetres(l)
}

// String prints l in millimetres without loss, such as "139.7 mm".
func (l Length) String() string { return formatMillimetres(l) }

// formatSixtyFourths prints a multiple of 1/64 in as a reduced mixed number.
func formatSixtyFourths(l Length) string {
	sign, n := magnitude(l / sixtyFourth)
	whole, num, den := n/64, n%64, uint64(64)
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	switch {
	case num == 0:
		return fmt.Sprintf("%s%d in", sign, whole)
	case whole == 0:
		return fmt.Sprintf("%s%d/%d in", sign, num, den)
	default:
		return fmt.Sprintf("%s%d %d/%d in", sign, whole, num, den)
	}
}

// formatMillimetres prints l in millimetres without trailing zeros.
func formatMillimetres(l Length) string {
	sign, n := magnitude(l)
	whole, frac := n/uint64(Millimetre), n%uint64(Millimetre)
	if frac == 0 {
		return fmt.Sprintf("%s%d mm", sign, whole)
	}
	digits := 6
	for frac%10 == 0 {
		frac, digits = frac/10, digits-1
	}
	return fmt.Sprintf("%s%d.%0*d mm", sign, whole, digits, frac)
}

// magnitude splits l into its sign and size; the size of the least int64 does
// not fit an int64, hence uint64.
func magnitude(l Length) (sign string, n uint64) {
	if l < 0 {
		return "-", uint64(-(l + 1)) + 1
	}
	return "", uint64(l)
}

func formatFloat(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
