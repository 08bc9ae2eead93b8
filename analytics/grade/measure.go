package grade

import "skepwood/analytics/wood"

// Half says what becomes of an exact half in the surface measure. The rule
// book takes them alternately up and down (from memory), which evens out over
// a tally; a single board needs one of the two.
type Half int

// The two roundings.
const (
	HalfUp Half = iota
	HalfDown
)

// SurfaceMeasure returns a board's surface measure in whole square feet: width
// in inches with its fraction times the standard length in whole feet, odd
// inches dropped, over 12, rounded to the nearest whole number. It is exact:
// no width or length is rounded on the way. Lengths under a foot give 0;
// negative sizes give 0. Source: Wengert 1998; the rule for halves from memory
// of the NHLA rule book.
func SurfaceMeasure(width, length wood.Length, half Half) int { return 0 }

// SurfaceMeasures returns the surface measures of a tally of boards, exact
// halves taken alternately up and down, the first one up.
func SurfaceMeasures(boards []Board) []int { return nil }

// BoardFeet returns the trade's board feet of a lot of one thickness: the sum
// of the surface measures times the nominal thickness in inches, thickness
// under one inch counted as one inch, rounded to the nearest board foot with
// halves up. A single board is a lot of one. Source: Wengert 1998.
func BoardFeet(surfaceMeasures []int, nominal wood.Length) int { return 0 }
