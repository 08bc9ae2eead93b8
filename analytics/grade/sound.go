package grade

import "skepwood/analytics/wood"

// smallHole is the size below which the rule book lets a hole stand in sound
// wood (from memory; it allows a few of 1/4 in and 1/2 in too, which are not
// counted in here, so that the judgement errs to the strict side).
const smallHole = wood.Inch / 4

// sound reports whether wood with the defect still counts as sound: free of
// rot, pith, shake and wane, whatever it looks like. A knot counts as sound; a
// loose or rotten one should be noted as decay. The definition is from memory
// of the rule book.
func sound(d Defect) bool {
	if d.Metal {
		return false
	}
	switch d.Kind {
	case Knot, Stain, Check:
		return true
	case NailHole, InsectHole:
		return max(d.DX, d.DY) < smallHole
	default:
		return false
	}
}

// unionArea returns the area in square steps that the rectangles cover
// together within a window.
func unionArea(rects []Rect, window Rect) int64 {
	if window.Empty() {
		return 0
	}
	spans := make([]span, 0, len(rects))
	for _, r := range rects {
		if r = r.Intersect(window); !r.Empty() {
			spans = append(spans, keepoutSpan(r))
		}
	}
	g := newCellGrid(woodSpan(window), spans)
	total := int64(0)
	for j := range g.ny {
		for i := range g.nx {
			if g.blocked(i, j) {
				total += (g.xs[i+1] - g.xs[i]) * (g.ys[j+1] - g.ys[j])
			}
		}
	}
	return total
}

// unionLength returns the length along the board that the rectangles cover
// together.
func unionLength(rects []Rect, length wood.Length) wood.Length {
	flat := make([]Rect, len(rects))
	for i, r := range rects {
		flat[i] = Rect{X: r.X, DX: r.DX, DY: step}
	}
	return wood.Length(unionArea(flat, Rect{DX: length, DY: step})) * step
}
