package grade

import "skepwood/analytics/wood"

// DefaultClearance is the width kept free of saw and blank on every side of
// metal. A nail leaning 15 degrees moves 0.20 in sideways on its way through a
// 3/4 in board (3/4 x tan 15), and what shows is often only one end of it;
// 1/4 in covers that. The angle is common practice, no source.
const DefaultClearance = wood.Inch / 4

// Keepouts returns the rectangles that are not clear on face f, cut off at the
// board's edges, metal with clearance added on every side. With Both a defect
// on either face counts. The clearance of metal counts on both faces, because
// a saw goes through.
func (b Board) Keepouts(f Face, clearance wood.Length) []Rect { return nil }
