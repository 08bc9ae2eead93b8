package wood

import (
	"errors"
	"fmt"
)

// ErrLength is matched by every error about a text that is no length; the
// error is a *LengthError.
var ErrLength = errors.New("bad length")

// LengthFault is the kind of thing that is wrong with a length.
type LengthFault string

// What can be wrong with a length.
const (
	FaultEmpty           LengthFault = "empty"
	FaultTooLong         LengthFault = "too long a text"
	FaultNegative        LengthFault = "negative"
	FaultZeroDenominator LengthFault = "zero denominator"
	FaultTooLarge        LengthFault = "too large"
	// FaultAmbiguous is a text that two people would read differently.
	FaultAmbiguous LengthFault = "ambiguous"
	// FaultNotALength is every other text.
	FaultNotALength LengthFault = "not a length"
)

// lengthExample ends every message, so that the reader sees what would do.
const lengthExample = `write it like 5 1/2, 5.5 in, 6' 2 1/2" or 140 mm`

const tooLargeReason = "longer than 100 m"

// LengthError says what is wrong with a length that a person typed.
type LengthError struct {
	// Input is the text as typed, shortened if it was very long.
	Input string
	// Fault is the kind of fault, for machines.
	Fault LengthFault
	// Reason says in words what is wrong, without the input or an example.
	Reason string
}

// Error returns the input, the reason and an example of a good length.
func (e *LengthError) Error() string {
	return fmt.Sprintf("%v %q: %s; %s", ErrLength, e.Input, e.Reason, lengthExample)
}

// Is reports whether target is ErrLength.
func (e *LengthError) Is(target error) bool { return target == ErrLength }

// shorten keeps an error message readable whatever was pasted into the field.
func shorten(s string) string {
	const keep = 40
	runes := []rune(s)
	if len(runes) <= keep {
		return s
	}
	return string(runes[:keep]) + "…"
}
