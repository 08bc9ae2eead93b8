package grade

import "skepwood/analytics/wood"

// Kind is what spoils the wood.
type Kind string

// The kinds of defect, in the words of the book.
const (
	NailHole   Kind = "nail_hole"
	Knot       Kind = "knot"
	Split      Kind = "split"
	Check      Kind = "check"
	Wane       Kind = "wane"
	Decay      Kind = "decay"
	Stain      Kind = "stain"
	InsectHole Kind = "insect_hole"
)

// Kinds returns every kind of defect in the order in which forms list them.
func Kinds() []Kind {
	return []Kind{NailHole, Knot, Split, Check, Wane, Decay, Stain, InsectHole}
}

// Face is the face of a board on which a defect shows. The top is the face
// that was up when the board was written down; what looks worse does not
// matter.
type Face string

// The faces.
const (
	Top    Face = "top"
	Bottom Face = "bottom"
	// Both marks a defect that goes through the board.
	Both Face = "both"
)

// Defect is a rectangle of wood that is not clear.
//
// X and Y are its corner nearest to the left end and the near edge, DX and DY
// its size along and across the grain, all seen with the top face up; a defect
// on the bottom is noted where it would show through the top, so that one
// frame serves both faces. [Board.Drawn] turns a defect into what is seen with
// the board rolled over.
type Defect struct {
	Kind Kind
	Face Face
	X, Y wood.Length
	DX   wood.Length
	DY   wood.Length
	// Depth is how deep it goes from its face; 0 means not measured. A depth
	// of the board's thickness or more makes it go through.
	Depth wood.Length
	// Metal says that metal is still in it: a nail, a staple, wire.
	Metal bool
}

// Rect returns the defect's rectangle.
func (d Defect) Rect() Rect { return Rect{X: d.X, Y: d.Y, DX: d.DX, DY: d.DY} }
