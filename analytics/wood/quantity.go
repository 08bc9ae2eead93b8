package wood

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// ErrQuantity is matched by every error about a text that is no mass,
// temperature or percentage; the error is a *QuantityError.
var ErrQuantity = errors.New("bad quantity")

// QuantityError says what is wrong with a quantity that a person typed.
type QuantityError struct {
	// Kind is "mass", "temperature" or "percentage".
	Kind string
	// Input is the text as typed, shortened if it was very long.
	Input string
	// Reason says in words what is wrong.
	Reason string
	// Example is a text that would do.
	Example string
}

// Error returns the input, the reason and an example.
func (e *QuantityError) Error() string {
	return fmt.Sprintf("bad %s %q: %s; write it like %s", e.Kind, e.Input, e.Reason, e.Example)
}

// Is reports whether target is ErrQuantity.
func (e *QuantityError) Is(target error) bool { return target == ErrQuantity }

const maxQuantityText = 40

// quantityText is what is left to read of a quantity.
type quantityText struct {
	kind, input, example string
	rest                 string
}

func newQuantityText(kind, s, example string) (*quantityText, error) {
	q := &quantityText{kind: kind, input: s, example: example, rest: strings.TrimSpace(s)}
	switch {
	case len(s) > maxQuantityText:
		return nil, q.fault("more than 40 bytes long")
	case !utf8.ValidString(s):
		return nil, q.fault("not valid text")
	case q.rest == "":
		return nil, q.fault("nothing is written")
	}
	return q, nil
}

func (q *quantityText) fault(reason string) error {
	return &QuantityError{Kind: q.kind, Input: shorten(q.input), Reason: reason, Example: q.example}
}

// number reads a decimal number with point or comma, perhaps negative.
func (q *quantityText) number() (float64, error) {
	s := q.rest
	sign := 1.0
	if r, size := utf8.DecodeRuneInString(s); plainMark(r) == '-' {
		sign, s = -1, strings.TrimSpace(s[size:])
	}
	whole, s := leadingDigits(s)
	frac := ""
	if s != "" && (s[0] == '.' || s[0] == ',') {
		comma := s[0] == ','
		frac, s = leadingDigits(s[1:])
		if frac == "" {
			return 0, q.fault("a digit must follow the decimal point")
		}
		if comma && looksLikeThousands(whole, frac) {
			return 0, q.fault("the comma could separate thousands or decimals")
		}
	}
	if whole == "" && frac == "" {
		return 0, q.fault("a number is missing")
	}
	v, err := strconv.ParseFloat("0"+whole+"."+frac+"0", 64)
	if err != nil {
		return 0, q.fault("the number cannot be read")
	}
	q.rest = strings.TrimSpace(s)
	return sign * v, nil
}

func leadingDigits(s string) (digits, rest string) {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return s[:n], s[n:]
}

// word reads letters and the signs that stand for units, in lower case.
func (q *quantityText) word() string {
	n := strings.IndexFunc(q.rest, func(r rune) bool {
		return !unicode.IsLetter(r) && r != '°' && r != 'º' && r != '%' && r != ' '
	})
	if n < 0 {
		n = len(q.rest)
	}
	w := strings.ReplaceAll(strings.ToLower(q.rest[:n]), " ", "")
	q.rest = strings.TrimSpace(strings.TrimPrefix(q.rest[n:], "."))
	return w
}

// massUnits are the units of mass in words.
var massUnits = map[string]Mass{
	"kg": Kilogram, "kilogram": Kilogram, "kilograms": Kilogram, "kilo": Kilogram, "kilos": Kilogram,
	"g": Gram, "gram": Gram, "grams": Gram,
	"lb": Pound, "lbs": Pound, "pound": Pound, "pounds": Pound,
	"oz": Ounce, "ounce": Ounce, "ounces": Ounce,
}

// maxMass is more than any board: 100 m of 1 m by 1 m wet oak.
const maxMass = 200_000 * Kilogram

// ParseMass reads a mass such as "450 g", "1,2 kg", "3 lb" or "2 lb 3 oz"; a
// number without a unit is in bare (Gram, Kilogram, Pound or Ounce). It
// refuses, with a *QuantityError, what is no mass above zero.
func ParseMass(s string, bare Mass) (Mass, error) {
	q, err := newQuantityText("mass", s, "450 g, 1.2 kg or 2 lb 3 oz")
	if err != nil {
		return 0, err
	}
	var total, last Mass
	for first := true; first || q.rest != ""; first = false {
		v, err := q.number()
		if err != nil {
			return 0, err
		}
		unit, ok := bare, true
		if w := q.word(); w != "" {
			unit, ok = massUnits[w]
		}
		switch {
		case !ok:
			return 0, q.fault("only g, kg, lb and oz are known as units")
		case v < 0:
			return 0, q.fault("a mass is never negative")
		case !first && (unit != Ounce || last != Pound):
			return 0, q.fault("only ounces may follow pounds")
		}
		total, last = total+Mass(v)*unit, unit
	}
	if !(total > 0 && total <= maxMass) {
		return 0, q.fault("the mass must be above 0 and that of a piece of wood")
	}
	return total, nil
}

// TemperatureUnit is the unit a keeper reads and types temperatures in.
type TemperatureUnit string

// The units in which a bare temperature is read.
const (
	UnitCelsius    TemperatureUnit = "C"
	UnitFahrenheit TemperatureUnit = "F"
)

// ParseTemperature reads a temperature such as "21 °C", "70F" or "-5"; a
// number without a unit is in bare. It refuses, with a *QuantityError, what is
// no temperature between -100 and 300 °C.
func ParseTemperature(s string, bare TemperatureUnit) (Celsius, error) {
	q, err := newQuantityText("temperature", s, "21 C or 70 F")
	if err != nil {
		return 0, err
	}
	v, err := q.number()
	if err != nil {
		return 0, err
	}
	unit := strings.TrimLeft(q.word(), "°º")
	if unit == "" {
		unit = strings.ToLower(string(bare))
	}
	var t Celsius
	switch unit {
	case "c", "celsius":
		t = Celsius(v)
	case "f", "fahrenheit":
		t = FromFahrenheit(v)
	default:
		return 0, q.fault("only C and F are known as units")
	}
	switch {
	case q.rest != "":
		return 0, q.fault("something follows the temperature")
	case math.Abs(float64(t)-100) > 200:
		return 0, q.fault("no wood is that hot or cold: is the unit right?")
	}
	return t, nil
}

// ParsePercent reads a percentage such as "16", "16.5 %" or "16,5". It
// refuses, with a *QuantityError, what is no number from 0 to 1000; narrower
// limits are those of the formula it goes into.
func ParsePercent(s string) (float64, error) {
	q, err := newQuantityText("percentage", s, "16 or 16.5 %")
	if err != nil {
		return 0, err
	}
	v, err := q.number()
	if err != nil {
		return 0, err
	}
	switch w := q.word(); {
	case w != "" && w != "%" && w != "percent":
		return 0, q.fault("only % may follow the number")
	case q.rest != "":
		return 0, q.fault("something follows the percentage")
	case !(v >= 0 && v <= 1000):
		return 0, q.fault("it must lie between 0 and 1000")
	}
	return v + 0, nil
}
