package cut

import (
	"errors"
	"fmt"
)

// ErrInstance is matched by every error about an instance that cannot be
// planned; the error is an *InstanceError.
var ErrInstance = errors.New("bad cutting instance")

// ErrPlan is matched by every error of Check about a plan that cannot be cut;
// the error is a *PlanError.
var ErrPlan = errors.New("bad cutting plan")

// InstanceError says where an instance is wrong and what is wrong there.
type InstanceError struct {
	// Where is a path such as "boards[3].defects[0]".
	Where string
	// What says what is wrong and what would be right.
	What string
}

// Error returns the place and the fault in one line.
func (e *InstanceError) Error() string {
	return fmt.Sprintf("%v: %s: %s", ErrInstance, e.Where, e.What)
}

// Is reports whether target is ErrInstance.
func (e *InstanceError) Is(target error) bool { return target == ErrInstance }

// PlanError says what is wrong with a plan. Board and Part are indices into
// the instance, or -1 where the fault is not about one board or part.
type PlanError struct {
	Board, Part int
	What        string
}

// Error returns the place and the fault in one line.
func (e *PlanError) Error() string {
	switch {
	case e.Board >= 0 && e.Part >= 0:
		return fmt.Sprintf("%v: board %d, part %d: %s", ErrPlan, e.Board, e.Part, e.What)
	case e.Board >= 0:
		return fmt.Sprintf("%v: board %d: %s", ErrPlan, e.Board, e.What)
	case e.Part >= 0:
		return fmt.Sprintf("%v: part %d: %s", ErrPlan, e.Part, e.What)
	default:
		return fmt.Sprintf("%v: %s", ErrPlan, e.What)
	}
}

// Is reports whether target is ErrPlan.
func (e *PlanError) Is(target error) bool { return target == ErrPlan }
