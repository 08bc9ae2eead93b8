package screen

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
)

// Sentinel errors, to be tested with errors.Is.
var (
	// ErrUnknownVerdict is returned for a word that is no verdict.
	ErrUnknownVerdict = errors.New("unknown verdict")
	// ErrUnknownKind is returned for a finding whose kind is not in Kinds.
	ErrUnknownKind = errors.New("is no kind of finding the rules know")
	// ErrUnknownValue is returned for a value its kind does not know.
	ErrUnknownValue = errors.New("is no value the rules know")
	// ErrNoNumber is returned for text where a number is wanted.
	ErrNoNumber = errors.New("is no number that can be read")
	// ErrOutOfRange is returned for a number beyond the bounds of its kind.
	ErrOutOfRange = errors.New("is out of bounds")
	// ErrMissing is returned for a finding that lacks a value or a needed note.
	ErrMissing = errors.New("is missing")
	// ErrSaysNothing is returned for a needed note without letters or digits.
	ErrSaysNothing = errors.New("says nothing")
	// ErrTooLong is returned for a value or note beyond its bound.
	ErrTooLong = errors.New("is too long")
	// ErrDayAsPlace is returned for a place that is a day.
	ErrDayAsPlace = errors.New("is a day, not a piece of wood")
	// ErrBadPlace is returned for a place that cannot be the code of a board.
	ErrBadPlace = errors.New("is no code of a board")
	// ErrBadList is returned by ParseFindings for text that is no list of findings.
	ErrBadList = errors.New("no list of findings")
	// ErrFixedRule is returned by Policy.Validate for a rule no keeper may set.
	ErrFixedRule = errors.New("cannot be set")
	// ErrNoRule is returned by Policy.Validate for an id no rule has; it wraps
	// ErrFixedRule.
	ErrNoRule = fmt.Errorf("is no rule and %w", ErrFixedRule)
	// ErrOutOfBounds is returned by Policy.Validate for a verdict beyond the
	// published bounds of a rule.
	ErrOutOfBounds = errors.New("beyond the bounds of this rule")
	// ErrNoDate is returned by RiskTrend for a lot without a date.
	ErrNoDate = errors.New("a date is missing")
	// ErrBadSetting is returned for an option outside its range.
	ErrBadSetting = errors.New("setting out of range")
)

// FindingError says which field of a finding cannot be taken, why, and what to
// write instead. It unwraps to one of the sentinel errors.
type FindingError struct {
	Field string // "kind", "value", "note" or "on"
	Kind  Kind
	Value string // what was given, clipped for display
	Err   error
	Help  string // what to do, one sentence
}

// Error returns the fault and the advice in one line.
func (e *FindingError) Error() string {
	if e.Value == "" {
		return fmt.Sprintf("%s %v: %s", e.Field, e.Err, e.Help)
	}
	return fmt.Sprintf("%s %q: %v: %s", e.Field, e.Value, e.Err, e.Help)
}

// Unwrap returns the sentinel error.
func (e *FindingError) Unwrap() error { return e.Err }

// clip shortens text from people for a message, so that a megabyte pasted by
// accident does not end up in it, and drops what could garble a screen.
func clip(text string) string {
	const most = 40
	return cut(text, most)
}

// cut keeps at most so many characters. Control and format characters (line
// breaks, escape codes, marks that turn the direction of writing) become spaces.
func cut(text string, most int) string {
	var b strings.Builder
	n := 0
	for _, r := range text {
		if n == most {
			b.WriteRune('…')
			break
		}
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			r = ' '
		}
		b.WriteRune(r)
		n++
	}
	return strings.TrimSpace(b.String())
}
