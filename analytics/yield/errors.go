package yield

import (
	"errors"
	"fmt"
)

// Sentinel errors, to be tested with errors.Is.
var (
	// ErrPickup is matched by every error about a pickup that cannot be true;
	// the error is a *PickupError.
	ErrPickup = errors.New("bad pickup")
	// ErrCurrency is returned where two currencies would have to be added.
	ErrCurrency = errors.New("two currencies cannot be added")
	// ErrNoRate is returned where a price or rate has no entry for a day.
	ErrNoRate = errors.New("no rate for this day")
	// ErrOption is returned for an option outside its range.
	ErrOption = errors.New("option out of range")
	// ErrNotEnough is returned where the data cannot carry the question.
	ErrNotEnough = errors.New("not enough evidence")
	// ErrUnknownSource is returned for a source that is not in the book.
	ErrUnknownSource = errors.New("unknown source")
	// ErrRound is returned for stops that cannot be planned.
	ErrRound = errors.New("bad round")
	// ErrHours is returned for dock hours that are not understood.
	ErrHours = errors.New("hours not understood")
)

// PickupError says which pickup cannot be true, in which field, and what to do.
type PickupError struct {
	Index  int    // place in the slice given, from 0
	Source string // its source
	Field  string // name of the field in lower case, such as "miles"
	What   string // what is wrong
	Help   string // what to do, one sentence
}

// Error returns place, field, fault and remedy in one line.
func (e *PickupError) Error() string {
	return fmt.Sprintf("%v: pickup %d (source %q), %s: %s: %s", ErrPickup, e.Index+1, e.Source, e.Field, e.What, e.Help)
}

// Is reports whether target is ErrPickup.
func (e *PickupError) Is(target error) bool { return target == ErrPickup }
