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
// no width or length is rounded on the way. Lengths under a foot give 0, and so
// do negative sizes. Source: Wengert 1998; the rule for halves from memory of
// the rule book.
func SurfaceMeasure(width, length wood.Length, half Half) int {
	sm, isHalf := surfaceMeasure(width, length)
	if isHalf && half == HalfUp {
		sm++
	}
	return sm
}

// SurfaceMeasures returns the surface measures of a tally of boards, exact
// halves taken alternately up and down, the first one up.
func SurfaceMeasures(boards []Board) []int {
	out := make([]int, len(boards))
	up := true
	for i, b := range boards {
		sm, isHalf := surfaceMeasure(b.Width, b.Length)
		if isHalf {
			if up {
				sm++
			}
			up = !up
		}
		out[i] = sm
	}
	return out
}

// surfaceMeasure returns the measure with an exact half taken down, and
// whether there was one. Inches times feet over 12 is nanometres times feet
// over a foot in nanometres, so whole numbers do.
func surfaceMeasure(width, length wood.Length) (sm int, half bool) {
	if width <= 0 || length <= 0 {
		return 0, false
	}
	total := width * (length / wood.Foot)
	whole, rest := total/wood.Foot, total%wood.Foot
	if 2*rest > wood.Foot {
		whole++
	}
	return int(whole), 2*rest == wood.Foot
}

// BoardFeet returns the trade's board feet of a lot of one thickness: the sum
// of the surface measures times the nominal thickness in inches, thickness
// under one inch counted as one inch, rounded to the nearest board foot with
// halves up. A single board is a lot of one. Source: Wengert 1998.
func BoardFeet(surfaceMeasures []int, nominal wood.Length) int {
	sum := wood.Length(0)
	for _, sm := range surfaceMeasures {
		sum += wood.Length(sm)
	}
	nominal = max(nominal, wood.Inch)
	// Whole inches apart from the fraction keep the product small.
	fraction := sum * (nominal % wood.Inch)
	feet := sum*(nominal/wood.Inch) + (2*fraction+wood.Inch)/(2*wood.Inch)
	return int(feet)
}
