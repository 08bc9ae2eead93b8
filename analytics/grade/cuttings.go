package grade

import (
	"fmt"
	"math"
	"slices"

	"skepwood/analytics/wood"
)

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
	// Keepouts are the rectangles that no cutting may reach into.
	Keepouts []Rect
	// Count is the greatest number of cuttings, up to 64; 0 or less means
	// unlimited.
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
const DefaultEffort = 100_000

// maxEffort keeps the memory of a search below some hundred megabytes.
const maxEffort = 2_000_000

// maxCount is far above the seven cuttings that any grade allows.
const maxCount = 64

// Cuttings is what a Search found.
type Cuttings struct {
	// Rects are the cuttings, the largest first. No two overlap, each is
	// clear and reaches one of the sizes, and saw cuts that go right across
	// the piece in hand free them all.
	Rects []Rect
	// Units is their sum in cutting units.
	Units float64
	// Bound is proven: no such cuttings give more.
	Bound float64
	// Proven says that Units is the maximum, or, with a Goal, that the goal
	// was reached or cannot be.
	Proven bool
}

// MaxCuttings returns the cuttings with the most cutting units in all.
//
// A cutting is a rectangle along the grain that can be freed by ripping and
// crosscutting, each cut right across the piece in hand, so the maximum is
// taken over arrangements of that kind, with any number of stages. Saw kerf is
// not counted, as the trade does not. Faults of the search are ErrOption.
//
// It is a dynamic programme over pieces of the board with branch and bound.
// With the least sizes fixed, the area as a function of where the cuts lie is
// linear in each cut, so some best arrangement has every cut at the edge of a
// largest clear rectangle, or a sum of least sizes away from one; only those
// places are tried (the argument of normal patterns: Herz 1972, IBM Journal of
// Research and Development 16:462-469; Christofides and Whitlock 1977,
// Operations Research 25:30-44). A piece cannot give more than the wood in it
// that lies in clear rectangles of a least size, nor more than the n largest of
// these together, which is the bound.
func MaxCuttings(s Search) (Cuttings, error) {
	if err := s.check(); err != nil {
		return Cuttings{}, err
	}
	h := newHunt(s)
	if len(h.clear) == 0 {
		return Cuttings{Proven: true}, nil
	}
	h.run()
	return h.result(), nil
}

// check refuses what is no search.
func (s Search) check() error {
	fault := func(i int, field, problem, remedy string) error {
		return &Error{ErrOption, i, field, problem, remedy}
	}
	for i, r := range s.Keepouts {
		if !r.sane() {
			return fault(i, "keepouts", "is out of range", "stay within 100 m")
		}
	}
	if !s.Area.sane() || s.Area.X < 0 || s.Area.Y < 0 || s.Area.Right() > wood.MaxLength || s.Area.Far() > wood.MaxLength {
		return fault(-1, "area", "is not within 0 to 100 m", "measure from the left end and the near edge")
	}
	for i, m := range s.Sizes {
		if m.Width < 0 || m.Length < 0 || m.Units < 0 || m.Width > wood.MaxLength || m.Length > wood.MaxLength || m.Units > 1_000_000 {
			return fault(i, "sizes", "is out of range", "give 0 or a size up to 100 m")
		}
	}
	switch {
	case len(s.Keepouts) > MaxDefects:
		return fault(-1, "keepouts", fmt.Sprintf("are %d", len(s.Keepouts)), fmt.Sprintf("give at most %d", MaxDefects))
	case s.Count > maxCount:
		return fault(-1, "count", fmt.Sprintf("is %d", s.Count), fmt.Sprintf("give at most %d, or 0 for unlimited", maxCount))
	case math.IsNaN(s.Goal) || s.Goal < 0 || s.Goal > 1e9:
		return fault(-1, "goal", fmt.Sprintf("is %v", s.Goal), "give cutting units, 0 or more")
	case s.Effort < 0 || s.Effort > maxEffort:
		return fault(-1, "effort", fmt.Sprintf("is %d", s.Effort), fmt.Sprintf("give 0 to %d", maxEffort))
	default:
		return nil
	}
}

// result turns what the hunt found into cutting units.
func (h *hunt) result() Cuttings {
	units := func(area int64) float64 { return float64(area) / float64(unitArea) }
	found := h.trace()
	slices.SortFunc(found, bySize)
	c := Cuttings{}
	var area int64
	for _, f := range found {
		c.Rects = append(c.Rects, f.rect())
		area += f.area()
	}
	bound := max(h.bound, area)
	c.Units, c.Bound = units(area), units(bound)
	c.Proven = area == bound || (h.goal > 0 && (area >= h.goal || bound < h.goal))
	return c
}
