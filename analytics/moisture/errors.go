package moisture

import (
	"errors"
	"fmt"
)

// Sentinel errors, to be tested with errors.Is; most arrive wrapped in an
// *InputError that says where and what to do.
var (
	// ErrPercent is returned for a percentage outside 0 to 400.
	ErrPercent = errors.New("percent outside 0 to 400")
	// ErrNotFinite is returned for NaN and infinities.
	ErrNotFinite = errors.New("not a finite number")
	// ErrResistance is returned for a resistance that is zero or negative.
	ErrResistance = errors.New("resistance must be above zero megohms")
	// ErrTemperatureUnit is returned for a wood temperature that can only be
	// one in another unit.
	ErrTemperatureUnit = errors.New("temperature looks like another unit")
	// ErrMassOrder is returned when the dry mass is above the wet mass.
	ErrMassOrder = errors.New("dry mass above wet mass")
	// ErrMass is returned for a mass that is missing, zero or negative.
	ErrMass = errors.New("mass must be above zero grams")
	// ErrMethod is returned for a method this package does not know.
	ErrMethod = errors.New("unknown method")
	// ErrSpecies is returned for a species id that is not in the table.
	ErrSpecies = errors.New("unknown species")
	// ErrNoReadings is returned when a curve is asked for without readings.
	ErrNoReadings = errors.New("no readings")
	// ErrNoTime is returned for a reading without a time.
	ErrNoTime = errors.New("reading without a time")
	// ErrFuture is returned for a reading dated after now.
	ErrFuture = errors.New("date in the future")
	// ErrSetting is returned for an option outside its range.
	ErrSetting = errors.New("setting out of range")
	// ErrNoConvergence is returned when a least-squares fit does not settle.
	ErrNoConvergence = errors.New("the fit does not settle")
	// ErrPlan is returned when no number of probes can meet the demand.
	ErrPlan = errors.New("no probing plan can show this")
	// ErrLogger is returned for a logger file without a usable row.
	ErrLogger = errors.New("no usable logger row")
	// ErrDryFile is returned for a file of readings that cannot be read.
	ErrDryFile = errors.New("cannot read the readings")
	// ErrClue is returned for a clue or an answer that is not known.
	ErrClue = errors.New("unknown clue")
)

// InputError says which input cannot be taken, why, and what to do. It
// unwraps to one of the sentinel errors.
type InputError struct {
	Field string  // "percent", "wood temperature", "reading"…
	Index int     // position in the input, -1 when there is only one
	Value float64 // what was given
	Err   error
	Help  string // what to do, one sentence
}

// Error returns the fault and the advice in one line.
func (e *InputError) Error() string {
	where := e.Field
	if e.Index >= 0 {
		where = fmt.Sprintf("%s of reading %d", e.Field, e.Index+1)
	}
	return fmt.Sprintf("%s %g: %v: %s", where, e.Value, e.Err, e.Help)
}

// Unwrap returns the sentinel error.
func (e *InputError) Unwrap() error { return e.Err }

// bad builds an *InputError about a single value.
func bad(field string, value float64, err error, help string) *InputError {
	return &InputError{Field: field, Index: -1, Value: value, Err: err, Help: help}
}
