package grade

import "skepwood/analytics/wood"

// Rect is a rectangle on a board: X and Y its corner nearest to the left end
// and the near edge, DX its size along the grain, DY across.
type Rect struct {
	X, Y, DX, DY wood.Length
}

// Right returns the x of the end farther from the left end.
func (r Rect) Right() wood.Length { return r.X + r.DX }

// Far returns the y of the side farther from the near edge.
func (r Rect) Far() wood.Length { return r.Y + r.DY }

// Empty reports whether the rectangle holds no wood.
func (r Rect) Empty() bool { return r.DX <= 0 || r.DY <= 0 }

// Overlaps reports whether r and s share wood. Touching sides share none, and
// an empty rectangle shares none with anything.
func (r Rect) Overlaps(s Rect) bool {
	return !r.Empty() && !s.Empty() &&
		r.X < s.Right() && s.X < r.Right() && r.Y < s.Far() && s.Y < r.Far()
}

// Contains reports whether all of s lies in r.
func (r Rect) Contains(s Rect) bool {
	return s.X >= r.X && s.Y >= r.Y && s.Right() <= r.Right() && s.Far() <= r.Far()
}

// Intersect returns the common part of r and s, which is empty when they share
// no wood.
func (r Rect) Intersect(s Rect) Rect {
	x, y := max(r.X, s.X), max(r.Y, s.Y)
	return Rect{X: x, Y: y, DX: min(r.Right(), s.Right()) - x, DY: min(r.Far(), s.Far()) - y}
}

// Grow returns the rectangle with by added on every side.
func (r Rect) Grow(by wood.Length) Rect {
	return Rect{X: r.X - by, Y: r.Y - by, DX: r.DX + 2*by, DY: r.DY + 2*by}
}

// Units returns the rectangle's cutting units: width in inches times length in
// feet, fractions kept in both.
func (r Rect) Units() float64 {
	if r.Empty() {
		return 0
	}
	return r.DY.Inches() * r.DX.Feet()
}

// sane reports whether sums of the rectangle's numbers cannot overflow.
func (r Rect) sane() bool {
	for _, v := range [4]wood.Length{r.X, r.Y, r.DX, r.DY} {
		if v < -2*wood.MaxLength || v > 2*wood.MaxLength {
			return false
		}
	}
	return true
}
