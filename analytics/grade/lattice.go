package grade

import "skepwood/analytics/wood"

// The search for cuttings counts in steps of 125 nm. Both 1/64 in (3,175 steps)
// and 1 µm (8 steps) are whole numbers of them, so sizes as people write them
// stay exact, and the area of the largest board, 100 m by 100 m, fits an int64.
// A length finer than that is taken against the cutting: wood rounded in,
// keepouts rounded out, least sizes rounded up.
const step = 125 * wood.Nanometre

// unitArea is one cutting unit, 1 in by 1 ft, in square steps.
const unitArea = int64(wood.Inch/step) * int64(wood.Foot/step)

func stepsDown(l wood.Length) int64 { return int64(l / step) }

func stepsUp(l wood.Length) int64 { return int64((l + step - 1) / step) }

// span is a rectangle in steps.
type span struct{ x0, x1, y0, y1 int64 }

func (s span) area() int64 { return (s.x1 - s.x0) * (s.y1 - s.y0) }

func (s span) empty() bool { return s.x1 <= s.x0 || s.y1 <= s.y0 }

// within returns the part of s within t.
func (s span) within(t span) span {
	return span{max(s.x0, t.x0), min(s.x1, t.x1), max(s.y0, t.y0), min(s.y1, t.y1)}
}

func (s span) rect() Rect {
	return Rect{
		X: wood.Length(s.x0) * step, Y: wood.Length(s.y0) * step,
		DX: wood.Length(s.x1-s.x0) * step, DY: wood.Length(s.y1-s.y0) * step,
	}
}

// woodSpan rounds the wood of r inwards. Coordinates are not negative.
func woodSpan(r Rect) span {
	return span{stepsUp(r.X), stepsDown(r.Right()), stepsUp(r.Y), stepsDown(r.Far())}
}

// keepoutSpan rounds a keepout outwards.
func keepoutSpan(r Rect) span {
	return span{stepsDown(r.X), stepsUp(r.Right()), stepsDown(r.Y), stepsUp(r.Far())}
}

// floorSize is a least size in steps and square steps.
type floorSize struct{ length, width, area int64 }

func floorOf(m MinSize) floorSize {
	return floorSize{stepsUp(m.Length), stepsUp(m.Width), int64(m.Units) * unitArea}
}

// fits reports whether a piece reaches one of the sizes.
func fits(s span, sizes []floorSize) bool {
	if s.empty() {
		return false
	}
	for _, f := range sizes {
		if s.x1-s.x0 >= f.length && s.y1-s.y0 >= f.width && s.area() >= f.area {
			return true
		}
	}
	return len(sizes) == 0
}
