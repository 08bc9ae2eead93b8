package grade

import "skepwood/analytics/wood"

// MinSize is the smallest cutting that counts. A cutting must be at least
// Width by Length and hold at least Units cutting units; fields at 0 ask
// nothing.
type MinSize struct {
	Width, Length wood.Length
	Units         int
}

// Search asks for clear cuttings in a rectangle of wood.
type Search struct {
	// Area is the board.
	Area Rect
	// Keepouts are the rectangles that no cutting may touch inside.
	Keepouts []Rect
	// Count is the greatest number of cuttings; 0 or less means unlimited.
	Count int
	// Sizes are the sizes of which a cutting must reach at least one. None
	// means that any clear rectangle counts.
	Sizes []MinSize
	// Goal ends the search as soon as so many cutting units are found, or are
	// shown to be out of reach; 0 asks for the maximum.
	Goal float64
	// Effort bounds the work in pieces looked at; 0 means DefaultEffort.
	Effort int
}

// DefaultEffort is the number of pieces a search looks at before it gives its
// best so far with a bound: some tens of milliseconds.
const DefaultEffort = 400_000

// Cuttings is what a Search found.
type Cuttings struct {
	// Rects are the cuttings, the largest first. No two overlap, each is
	// clear and reaches one of the sizes, and saw cuts that go right across
	// the piece in hand free them all.
	Rects []Rect
	// Units is their sum in cutting units.
	Units float64
	// Bound is proven: no such cuttings give more. It equals Units where
	// Proven.
	Bound float64
	// Proven says that Units is the maximum, or, with a Goal, that the goal
	// was reached or cannot be.
	Proven bool
}

// MaxCuttings returns the cuttings with the most cutting units in all.
//
// A cutting is a rectangle along the grain that can be freed by ripping and
// crosscutting, each cut right across the piece in hand, so the maximum is
// taken over arrangements of that kind, with any number of stages; saw kerf is
// not counted, as the trade does not. Faults of the search are ErrOption.
func MaxCuttings(s Search) (Cuttings, error) { return Cuttings{}, nil }
