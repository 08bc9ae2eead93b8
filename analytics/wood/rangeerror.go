package wood

import (
	"errors"
	"fmt"
	"math"
)

// ErrRange is matched by every error about a number outside what a formula
// covers; the error is a *RangeError.
var ErrRange = errors.New("out of range")

// ErrUnknown is matched by every error about a figure that the tables do not
// hold, because no published value was found.
var ErrUnknown = errors.New("not known")

// RangeError says which number is outside which limits.
type RangeError struct {
	// What names the number, such as "relative humidity".
	What string
	// Value is the number given; Low and High are the limits, both allowed
	// unless Above says that Low itself is not.
	Value, Low, High float64
	Above            bool
	// Unit follows the numbers in the message.
	Unit string
	// Hint says what to do about it; it may be empty.
	Hint string
}

// Error returns the name, the number, the limits and the hint.
func (e *RangeError) Error() string {
	limits := fmt.Sprintf("give %.6g to %.6g%s", e.Low, e.High, e.Unit)
	switch {
	case e.Above && e.High > e.Low:
		limits = fmt.Sprintf("give above %.6g and at most %.6g%s", e.Low, e.High, e.Unit)
	case e.Above:
		limits = fmt.Sprintf("give above %.6g%s", e.Low, e.Unit)
	}
	msg := fmt.Sprintf("%s %.6g%s is %v: %s", e.What, e.Value, e.Unit, ErrRange, limits)
	if e.Hint != "" {
		msg += " (" + e.Hint + ")"
	}
	return msg
}

// Is reports whether target is ErrRange.
func (e *RangeError) Is(target error) bool { return target == ErrRange }

// within returns a *RangeError unless low <= v <= high; NaN is outside.
func within(what string, v, low, high float64, unit string) error {
	if math.IsNaN(v) || v < low || v > high {
		return &RangeError{What: what, Value: v, Low: low, High: high, Unit: unit}
	}
	return nil
}

// above returns a *RangeError unless 0 < v <= high; NaN is outside.
func above(what string, v, high float64, unit string) error {
	if !(v > 0 && v <= high) {
		return &RangeError{What: what, Value: v, High: high, Unit: unit, Above: true}
	}
	return nil
}

// hint adds what to do to a *RangeError and leaves other errors alone.
func hint(err error, text string) error {
	var re *RangeError
	if !errors.As(err, &re) {
		return err
	}
	c := *re
	c.Hint = text
	return &c
}

// checkMC returns an error unless mc is a moisture content that can occur. The
// lightest woods hold somewhat over 400 % when waterlogged; nothing that is
// built with does.
func checkMC(what string, mc float64) error { return within(what, mc, 0, 400, " %") }
