package grade

import (
	"errors"
	"fmt"
)

// Sentinel kinds of fault. An *Error matches exactly one of them with
// errors.Is.
var (
	// ErrBoard marks a board that cannot be: no size, too large.
	ErrBoard = errors.New("bad board")
	// ErrDefect marks a defect that cannot be on its board.
	ErrDefect = errors.New("bad defect")
	// ErrPattern marks a quick pattern that does not fit its board.
	ErrPattern = errors.New("bad pattern")
	// ErrOption marks an option or a part out of range.
	ErrOption = errors.New("bad option")
)

// Error says what is wrong, where, and what to do about it.
type Error struct {
	// Of is one of the sentinels of this package.
	Of error
	// Index is the place of the defect or part in its list, -1 where there is
	// no list.
	Index int
	// Field is the name of the wrong field in small letters: "x", "dx",
	// "face", "thickness".
	Field string
	// Problem and Remedy are clauses for a person: "is off the far edge",
	// "measure from the near edge".
	Problem, Remedy string
}

// Error returns one line: kind and place, field, problem, remedy.
func (e *Error) Error() string {
	where := e.Of.Error()
	if e.Index >= 0 {
		where = fmt.Sprintf("%s %d", where, e.Index+1)
	}
	return fmt.Sprintf("%s: %s %s; %s", where, e.Field, e.Problem, e.Remedy)
}

// Is reports whether target is the error's kind.
func (e *Error) Is(target error) bool { return e.Of == target }
