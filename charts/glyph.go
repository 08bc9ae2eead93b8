package charts

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// VerdictGlyph returns the shape of a verdict: a filled hexagon for inside, an
// open square for outside, a half-filled circle for hold, a barred octagon for
// never and for any other word, since wood is unsafe until shown safe.
func VerdictGlyph(verdict string) draw.GlyphDrawer {
	switch verdict {
	case "inside":
		return glyph{outline: polygon(6, math.Pi/2), solid: true}
	case "outside":
		return glyph{outline: square(0.85)}
	case "hold":
		return glyph{half: true}
	default:
		return glyph{outline: polygon(8, math.Pi/8), lines: [][]vg.Point{{{X: -0.6}, {X: 0.6}}}}
	}
}

// notOursGlyph is a cross, lostGlyph an open diamond: neither is a verdict.
var (
	notOursGlyph = glyph{lines: [][]vg.Point{{{X: -0.75, Y: -0.75}, {X: 0.75, Y: 0.75}}, {{X: -0.75, Y: 0.75}, {X: 0.75, Y: -0.75}}}}
	lostGlyph    = glyph{outline: polygon(4, 0)}
)

// glyph is a shape of radius 1 that takes radius and colour from its style.
type glyph struct {
	outline []vg.Point
	solid   bool
	// half is a circle filled on its left side.
	half  bool
	lines [][]vg.Point
}

// polygon returns the corners of a regular polygon, the first at an angle.
func polygon(n int, first float64) []vg.Point {
	out := make([]vg.Point, n)
	for i := range out {
		sin, cos := math.Sincos(first + 2*math.Pi*float64(i)/float64(n))
		out[i] = vg.Point{X: vg.Length(cos), Y: vg.Length(sin)}
	}
	return out
}

func square(half vg.Length) []vg.Point {
	return []vg.Point{{X: -half, Y: -half}, {X: half, Y: -half}, {X: half, Y: half}, {X: -half, Y: half}}
}

// DrawGlyph draws the shape about a point.
func (g glyph) DrawGlyph(c *draw.Canvas, sty draw.GlyphStyle, at vg.Point) {
	c.SetLineStyle(draw.LineStyle{Color: sty.Color, Width: sty.Radius * 0.26})
	place := func(p vg.Point) vg.Point { return vg.Point{X: at.X + p.X*sty.Radius, Y: at.Y + p.Y*sty.Radius} }
	if g.half {
		var ring, side vg.Path
		ring.Move(vg.Point{X: at.X + 0.9*sty.Radius, Y: at.Y})
		ring.Arc(at, 0.9*sty.Radius, 0, 2*math.Pi)
		ring.Close()
		c.Stroke(ring)
		side.Move(vg.Point{X: at.X, Y: at.Y + 0.9*sty.Radius})
		side.Arc(at, 0.9*sty.Radius, math.Pi/2, math.Pi)
		side.Close()
		c.Fill(side)
	}
	if len(g.outline) > 0 {
		path := pathOf(g.outline, place)
		path.Close()
		if g.solid {
			c.Fill(path)
		} else {
			c.Stroke(path)
		}
	}
	for _, l := range g.lines {
		c.Stroke(pathOf(l, place))
	}
}

func pathOf(points []vg.Point, place func(vg.Point) vg.Point) vg.Path {
	var path vg.Path
	for i, p := range points {
		if i == 0 {
			path.Move(place(p))
		} else {
			path.Line(place(p))
		}
	}
	return path
}

// The arrow heads of readings that only bound the moisture.
var (
	arrowDown = glyph{outline: []vg.Point{{X: -0.9, Y: 0.6}, {X: 0.9, Y: 0.6}, {X: 0, Y: -1}}, solid: true}
	arrowUp   = glyph{outline: []vg.Point{{X: -0.9, Y: -0.6}, {X: 0.9, Y: -0.6}, {X: 0, Y: 1}}, solid: true}
)
