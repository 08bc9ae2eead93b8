package db

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"golang.org/x/text/currency"

	"skepwood/analytics/wood"
)

// parseFloat reads a number with a point or, where there is no point, a
// comma before the decimals; it refuses anything that is not finite.
func parseFloat(text string) (float64, bool) {
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	if strings.ContainsAny(text, "xXpP_nNiI") { // hex, infinities, NaN
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

func printFloat(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// bounds is a closed range and the words for its unit.
type bounds struct {
	min, max float64
	unit     string
}

func (b bounds) check(v float64) *FieldError {
	switch {
	case v < b.min && b.min == 0:
		return fault("is negative", "give a number from 0 up")
	case v < b.min, v > b.max:
		return fault("is outside %s to %s%s", "check the number and its unit", printFloat(b.min), printFloat(b.max), b.unit)
	}
	return nil
}

// numberCodec is a number in a *float64; scale converts the typed unit to the
// stored one by multiplication.
type numberCodec struct {
	bounds
	// most is the largest number in the stored unit, whatever was typed; 0 sets none.
	most  float64
	scale func(Env) float64
	// units are the words for units that may stand behind the number, longest
	// first, each with its size in stored units; sheets write the first.
	units []unitWord
}

// unitWord is the name of a unit and its size in the stored unit.
type unitWord struct {
	word string
	size float64
}

func (c numberCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(*float64) = 0
		return nil
	}
	v, f := c.read(text, env)
	if f == nil {
		*dst.(*float64) = v
	}
	return f
}

func (c numberCodec) read(text string, env Env) (float64, *FieldError) {
	size := 1.0
	if c.scale != nil {
		size = c.scale(env)
	}
	lower := strings.ToLower(text)
	for _, u := range c.units {
		if rest, ok := strings.CutSuffix(lower, u.word); ok {
			lower, size = strings.TrimSpace(rest), u.size
			break
		}
	}
	v, ok := parseFloat(lower)
	if !ok {
		return 0, fault("is not a number", "")
	}
	if f := c.check(v); f != nil {
		return 0, f
	}
	if c.most > 0 && v*size > c.most {
		return 0, bounds{c.min, math.Floor(c.most / size), c.unit}.check(v)
	}
	return v * size, nil
}

func (c numberCodec) print(src any, env Env) string { return c.write(*src.(*float64), env) }

// write prints v in the typed unit; in sheets with the unit behind it. Twelve
// significant digits hide the last bit of a conversion and keep every typed
// figure as it was.
func (c numberCodec) write(v float64, env Env) string {
	size, behind := 1.0, ""
	switch {
	case env.Sheet && len(c.units) > 0:
		size = c.units[0].size
		if c.scale != nil {
			behind = " " + c.units[0].word
		}
	case c.scale != nil:
		size = c.scale(env)
	}
	shown, err := strconv.ParseFloat(strconv.FormatFloat(v/size, 'g', 12, 64), 64)
	if err != nil {
		shown = v / size
	}
	return printFloat(shown) + behind
}

// optionalNumberCodec is a number that may be missing, in a **float64.
type optionalNumberCodec struct{ numberCodec }

func (c optionalNumberCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(**float64) = nil
		return nil
	}
	v, f := c.read(text, env)
	if f == nil {
		*dst.(**float64) = &v
	}
	return f
}

func (c optionalNumberCodec) print(src any, env Env) string {
	v := *src.(**float64)
	if v == nil {
		return ""
	}
	return c.write(*v, env)
}

// wholeCodec is a whole number in a *int; empty means fallback.
type wholeCodec struct {
	min, max, fallback int
}

func (c wholeCodec) parse(dst any, text string, _ Env) *FieldError {
	if text == "" {
		*dst.(*int) = c.fallback
		return nil
	}
	v, err := strconv.Atoi(text)
	if err != nil {
		return fault("is not a whole number", "")
	}
	if v < c.min || v > c.max {
		return fault("is outside %d to %d", "check the number", c.min, c.max)
	}
	*dst.(*int) = v
	return nil
}

func (wholeCodec) print(src any, _ Env) string { return strconv.Itoa(*src.(*int)) }

// Metres per unit of road. The mile is exact (1959 agreement).
const (
	metresPerMile      = 1609.344
	metresPerKilometre = 1000
)

// roadScale converts the keeper's unit of distance to metres.
func roadScale(env Env) float64 {
	if env.Distance == "km" {
		return metresPerKilometre
	}
	return metresPerMile
}

// boardFootScale converts board feet to cubic metres where the keeper works
// in inches; sheets always use board feet.
func boardFootScale(env Env) float64 {
	if env.Length == wood.UnitMillimetre {
		return 1
	}
	return cubicMetresPerBoardFoot
}

// cubicMetresPerBoardFoot is 144 cubic inches.
const cubicMetresPerBoardFoot = 144 * 0.0254 * 0.0254 * 0.0254

// zeroLength is the problem of a length of nothing.
const zeroLength = "is zero"

// lengthCodec is a length in a *wood.Length.
type lengthCodec struct {
	// zero allows an empty or zero length: a defect may begin at the edge.
	zero bool
}

func (c lengthCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" && c.zero {
		*dst.(*wood.Length) = 0
		return nil
	}
	l, err := wood.ParseLength(text, env.Length)
	if err != nil {
		return LengthFault(err)
	}
	if l == 0 && !c.zero {
		return fault(zeroLength, "give the size that was measured")
	}
	*dst.(*wood.Length) = l
	return nil
}

func (c lengthCodec) print(src any, env Env) string {
	l := *src.(*wood.Length)
	if env.Sheet {
		return exactLength(l)
	}
	return l.Format(env.Length)
}

// LengthFault says what is wrong with a text that wood.ParseLength refused,
// once, and what to do.
func LengthFault(err error) *FieldError {
	reason := "not one that can be read"
	if wrong := (*wood.LengthError)(nil); errors.As(err, &wrong) {
		reason = wrong.Reason
	}
	return fault("is no length: %s", "write it like 5 1/2 in, 140 mm or 14 cm", reason)
}

// optionalLength is a length in a *wood.Length that may be left empty, which
// means that it is not known and is stored as zero; zero prints as empty. A zero
// that was typed is refused, since it would be kept as not known.
type optionalLength struct {
	// remedy says what to do instead of typing zero.
	remedy string
}

func (c optionalLength) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(*wood.Length) = 0
		return nil
	}
	f := lengthCodec{}.parse(dst, text, env)
	if f != nil && f.Problem == zeroLength {
		f.Remedy = c.remedy
	}
	return f
}

func (optionalLength) print(src any, env Env) string {
	if *src.(*wood.Length) == 0 {
		return ""
	}
	return lengthCodec{}.print(src, env)
}

// openLength is a length in a **wood.Length that may be left open; zero is a
// length like any other.
type openLength struct{}

func (openLength) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(**wood.Length) = nil
		return nil
	}
	var l wood.Length
	if f := (lengthCodec{zero: true}).parse(&l, text, env); f != nil {
		return f
	}
	*dst.(**wood.Length) = &l
	return nil
}

func (openLength) print(src any, env Env) string {
	l := *src.(**wood.Length)
	if l == nil {
		return ""
	}
	return lengthCodec{}.print(l, env)
}

// exactLength prints l so that reading it back gives l: inches where it is a
// whole number of sixty-fourths, millimetres with their decimals otherwise.
func exactLength(l wood.Length) string {
	if l%(wood.Inch/64) == 0 {
		return l.Format(wood.UnitInch)
	}
	whole, rest := l/wood.Millimetre, l%wood.Millimetre
	s := strconv.FormatInt(int64(whole), 10)
	if rest != 0 {
		s += "." + strings.TrimRight(strconv.FormatInt(int64(wood.Millimetre+rest), 10)[1:], "0")
	}
	return s + " mm"
}

// moneyCodec is an amount in minor units of the record's currency, in a *int64.
type moneyCodec struct{}

// minorDigits returns how many decimals a currency has; 2 where unknown.
func minorDigits(code string) int {
	unit, err := currency.ParseISO(code)
	if err != nil {
		return 2
	}
	scale, _ := currency.Standard.Rounding(unit)
	return scale
}

func (moneyCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(*int64) = 0
		return nil
	}
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(text, env.Currency), env.Currency))
	text = strings.TrimSpace(strings.TrimLeft(text, "$€£"))
	v, ok := parseFloat(text)
	if !ok {
		return fault("is not an amount of money", "")
	}
	if v < 0 {
		return fault("is negative", "write what was paid as a positive amount")
	}
	if v > 1e9 {
		return fault("is more than a thousand million", "check the amount")
	}
	scaled := v * math.Pow10(minorDigits(env.Currency))
	if math.Abs(scaled-math.Round(scaled)) > 1e-6 {
		return fault("has more decimals than %s has", "round it", env.Currency)
	}
	*dst.(*int64) = int64(math.Round(scaled))
	return nil
}

func (moneyCodec) print(src any, env Env) string {
	digits := minorDigits(env.Currency)
	return strconv.FormatFloat(float64(*src.(*int64))/math.Pow10(digits), 'f', digits, 64)
}

// currencyCodec is an ISO 4217 code in a *string; empty means the keeper's.
type currencyCodec struct{}

func (currencyCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(*string) = env.Currency
		return nil
	}
	unit, err := currency.ParseISO(strings.ToUpper(text))
	if err != nil {
		return fault("is not an ISO 4217 currency code", "write three letters, for example USD or EUR")
	}
	*dst.(*string) = unit.String()
	return nil
}

func (currencyCodec) print(src any, _ Env) string { return *src.(*string) }

// temperatureCodec is a temperature that may be missing, stored in °C in a
// **float64. A bare number is in the keeper's unit; 68 F and 20 C say theirs.
type temperatureCodec struct{ bounds }

func (c temperatureCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(**float64) = nil
		return nil
	}
	unit := env.Temperature
	upper := strings.ToUpper(text)
	for _, u := range []string{"F", "C"} {
		if rest, ok := strings.CutSuffix(upper, u); ok {
			unit, upper = u, strings.TrimRight(rest, " °")
		}
	}
	v, ok := parseFloat(strings.TrimSpace(upper))
	if !ok {
		return fault("is not a temperature", "write it like 68 F or 20 C")
	}
	if unit == "F" {
		v = (v - 32) / 1.8
	}
	if f := c.check(v); f != nil {
		return fault("is not a temperature wood has (%s to %s °C)", "check the number and its unit, like 68 F or 20 C",
			printFloat(c.min), printFloat(c.max))
	}
	*dst.(**float64) = &v
	return nil
}

func (temperatureCodec) print(src any, env Env) string {
	v := *src.(**float64)
	if v == nil {
		return ""
	}
	shown, unit := *v, "C"
	if env.Temperature == "F" && !env.Sheet {
		shown, unit = *v*1.8+32, "F"
		shown = math.Round(shown*10) / 10
	}
	return printFloat(shown) + " " + unit
}

// MoneyText prints an amount in minor units with its currency.
func MoneyText(minor int64, code string) string {
	return moneyCodec{}.print(&minor, Env{Currency: code}) + " " + code
}
