package grade

import "skepwood/analytics/wood"

// DefaultClearance is the width kept free of saw and blank on every side of
// metal. A nail leaning 15 degrees moves 0.20 in sideways on its way through a
// 3/4 in board (3/4 x tan 15), and what shows is often only one end of it;
// 1/4 in covers that. The angle is common practice, no source.
const DefaultClearance = wood.Inch / 4

// Keepouts returns the rectangles that are not clear on face f, cut off at the
// board's edges, metal with clearance added on every side. With Both a defect
// on either face counts. Metal counts on both faces, because a saw goes
// through. A clearance below zero counts as zero.
func (b Board) Keepouts(f Face, clearance wood.Length) []Rect {
	return b.keepouts(clearance, func(d Defect) bool { return d.Metal || b.Shows(d, f) })
}

// keepouts returns the rectangles of the defects that count, in their order.
func (b Board) keepouts(clearance wood.Length, counts func(Defect) bool) []Rect {
	var out []Rect
	for _, d := range b.Defects {
		if !counts(d) {
			continue
		}
		r := d.Rect()
		if d.Metal {
			r = r.Grow(max(clearance, 0))
		}
		if r = r.Intersect(b.Rect()); !r.Empty() {
			out = append(out, r)
		}
	}
	return out
}
