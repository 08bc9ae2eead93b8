package grade

import (
	"fmt"

	"skepwood/analytics/wood"
)

// NotCertified is the first of a report's limits.
const NotCertified = "This is no certified grade: it is worked out from the rectangles written down, by the standard hardwood rules as far as they are listed here."

// limits names what a judgement leaves out.
func limits(b Board) []string {
	out := []string{
		NotCertified,
		"Not judged: pith, shake, warp and flatness, how far a split runs askew, miscut thickness, and whether knots are tight; a loose or rotten knot should be noted as decay.",
		"Not judged: species exceptions (walnut, cherry, butternut, quartersawn, cypress and others); softwoods have grades of their own.",
		"Stricter than the rule book: every check and stain counts as a defect on a clear face, no hole of 1/4 in or more counts as sound, and the reverse of a cutting must be sound in every grade.",
		"Wane, splits, knots and the board's ends are measured by their rectangles.",
	}
	if !b.Known() {
		out = append(out, "No defects are written down for this board, so it is judged as if clear; look it over first.")
	}
	if b.Thickness < wood.Inch {
		out = append(out, fmt.Sprintf("Rough hardwood of the thinnest usual size is 1 in thick; this board has %s, and thickness plays no part in the grade.", b.Thickness.Format(wood.UnitInch)))
	}
	return out
}

// fasFaults returns in words which limits of the FAS face a face breaks, ""
// when none: knots averaging over a third of the surface measure in inches,
// wane over half the length, splits over twice the surface measure in inches
// or 12 in, and over a quarter of unsound wood within a foot of an end. Read on
// the association's summary chart.
func fasFaults(b Board, f Face, sm int) string {
	var wane []Rect
	var split wood.Length
	for _, d := range b.Defects {
		if !b.Shows(d, f) {
			continue
		}
		switch d.Kind {
		case Knot:
			// The average of the two sizes in inches is over SM/3.
			if 3*(d.DX+d.DY) > 2*wood.Length(sm)*wood.Inch {
				return fmt.Sprintf("a knot averages over %d/3 in", sm)
			}
		case Wane:
			wane = append(wane, d.Rect())
		case Split:
			split += d.DX
		}
	}
	if long := unionLength(wane, b.Length); 2*long > b.Length {
		return fmt.Sprintf("wane runs along %s, more than half the length", long.Format(wood.UnitInch))
	}
	if most := max(2*wood.Length(sm)*wood.Inch, 12*wood.Inch); split > most {
		return fmt.Sprintf("splits add up to %s, more than %s", split.Format(wood.UnitInch), most.Format(wood.UnitInch))
	}
	return endFaults(b, f)
}

// endFaults judges the wood within a foot of each end.
func endFaults(b Board, f Face) string {
	var unsound []Rect
	for _, d := range b.Defects {
		if b.Shows(d, f) && !sound(d) {
			unsound = append(unsound, d.Rect())
		}
	}
	foot := min(wood.Foot, b.Length)
	for _, end := range []Rect{{DX: foot, DY: b.Width}, {X: b.Length - foot, DX: foot, DY: b.Width}} {
		if 4*unionArea(unsound, end) > woodSpan(end).area() {
			return "over a quarter of the wood within a foot of an end is not sound"
		}
	}
	return ""
}

// commonSideFaults returns which limits of the No. 1 Common side of F1F and
// Selects a face breaks: wane over a third of the width or over half the
// length. The chart gives both; each is held to.
func commonSideFaults(b Board, f Face) string {
	var wane []Rect
	for _, d := range b.Defects {
		if d.Kind != Wane || !b.Shows(d, f) {
			continue
		}
		if 3*d.DY > b.Width {
			return "wane on the poorer face is wider than a third of the width"
		}
		wane = append(wane, d.Rect())
	}
	if 2*unionLength(wane, b.Length) > b.Length {
		return "wane on the poorer face runs along more than half the length"
	}
	return ""
}
