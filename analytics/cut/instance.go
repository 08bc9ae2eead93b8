package cut

import "math"

// Pattern names a family of cutting patterns. Its value is the word used in
// instance files.
type Pattern string

// The patterns a shop can cut, in the words of instance files.
const (
	// Rip2 rips strips over the full length, each exactly as wide as its
	// parts, then crosscuts them.
	Rip2 Pattern = "rip2"
	// Crosscut2 is Rip2 with the axes exchanged.
	Crosscut2 Pattern = "crosscut2"
	// Rip3 rips strips of any width, crosscuts them into segments exactly as
	// long as their parts, then rips the segments.
	Rip3 Pattern = "rip3"
	// Crosscut3 is Rip3 with the axes exchanged.
	Crosscut3 Pattern = "crosscut3"
	// Rip2Trim is Rip2 where a part may be narrower than its strip; it lies
	// against the strip's low edge and is trimmed by one more rip.
	Rip2Trim Pattern = "rip2trim"
	// Crosscut2Trim is Rip2Trim with the axes exchanged.
	Crosscut2Trim Pattern = "crosscut2trim"
	// Guillotine allows edge-to-edge cuts in any number of stages.
	Guillotine Pattern = "guillotine_free"
)

// Objective says what a plan is for.
type Objective string

// The objectives, in the words of instance files.
const (
	// MaxValue makes at most Max copies of each part, for the greatest total
	// value.
	MaxValue Objective = "max_value"
	// MinBoardCost makes at least Max copies of each part, from boards of the
	// least total cost.
	MinBoardCost Objective = "min_board_cost"
)

// Face says which face of a board a defect shows on.
type Face string

// The faces of a defect, in the words of instance files.
const (
	Top    Face = "top"
	Bottom Face = "bottom"
	// Both marks a defect that goes through the board.
	Both Face = "both"
)

// Unlimited, as the Count of a board or the Max of a part, means as many as
// are of use.
const Unlimited = math.MaxInt32

// Defect is a rectangle of a board, [X, X+DX) by [Y, Y+DY) in ticks, in which
// the wood of its Face is not clear. An empty Face means Both.
type Defect struct {
	X, Y, DX, DY int
	Face         Face
}

// Board is a piece of stock, Length by Width ticks, there Count times (0 means
// once). Cost is counted once for each copy that a MinBoardCost plan uses. Has
// is a set of properties that parts may need, one bit each.
type Board struct {
	ID            int
	Length, Width int
	Cost          int
	Count         int
	Defects       []Defect
	Has           uint64
}

// Part is a piece that is wanted, Length along the grain by Width across it,
// in ticks. Faces is the number of faces, 0 to 2, that must be clear. Under
// MaxValue a plan makes at most Max, each worth Value, and at least Min where
// the boards allow it; under MinBoardCost it makes at least Max, and Min, which
// is never more, says nothing further. A part is cut only from boards whose Has
// holds every bit of Needs.
type Part struct {
	ID            int
	Length, Width int
	Value         int
	Min, Max      int
	Faces         int
	Needs         uint64
}

// Kerf is the width of wood, in ticks, that a saw turns to dust. Rip cuts run
// along the grain and part wood across the width; Crosscut cuts run across it.
type Kerf struct {
	Rip, Crosscut int
}

// Instance is one cutting problem.
type Instance struct {
	ID        string
	Pattern   Pattern
	Objective Objective
	Kerf      Kerf
	Boards    []Board
	Parts     []Part
}
