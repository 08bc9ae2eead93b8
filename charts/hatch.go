package charts

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// hatching is how a surface is filled, so that fates stay apart without
// colour.
type hatching int

const (
	solid hatching = iota
	// level draws lines along, rising lines slantwise up, crossed both
	// slants, dotted dots; bare leaves the surface empty.
	level
	rising
	crossed
	dotted
	bare
)

// hatchGap is the distance between hatch lines in CSS pixels.
const hatchGap = 5.0

// hatch fills a box in a pattern and draws its sides.
func (p *pen) hatch(h hatching, ink color.Color, b box) {
	if p.dry || b.w <= 0 || b.h <= 0 {
		return
	}
	if h == solid {
		p.fill(ink, b)
		return
	}
	var path vg.Path
	switch h {
	case level:
		for y := b.y + hatchGap; y < b.y+b.h-1; y += hatchGap {
			p.segment(&path, dot{b.x, y}, dot{b.x + b.w, y})
		}
	case rising:
		p.slants(&path, b, 1)
	case crossed:
		p.slants(&path, b, 1)
		p.slants(&path, b, -1)
	case dotted:
		p.dots(ink, b)
	}
	if len(path) > 0 {
		p.canvas.SetLineStyle(stroke{ink: ink, width: 1.5}.style())
		p.canvas.Stroke(path)
	}
	p.outline(stroke{ink: ink, width: min(1.25, b.w)}, b)
}

func (p *pen) segment(path *vg.Path, from, to dot) {
	path.Move(p.point(from.x, from.y))
	path.Line(p.point(to.x, to.y))
}

// slants adds lines at 45 degrees, cut off at the box. They run from the
// picture's corner, so that neighbouring boxes line up.
func (p *pen) slants(path *vg.Path, b box, direction float64) {
	step := hatchGap * 1.4
	low, high := b.x, b.x+b.w+b.h
	if direction < 0 {
		low, high = b.x-b.h, b.x+b.w
	}
	for at := step * float64(int(low/step)); at <= high; at += step {
		// At the box's top edge the line is at x = at, and moves left or
		// right on the way down.
		from, to := dot{at, b.y}, dot{at - direction*b.h, b.y + b.h}
		if from, to, ok := clipX(from, to, b.x, b.x+b.w); ok {
			p.segment(path, from, to)
		}
	}
}

// clipX cuts a line off at two uprights.
func clipX(a, b dot, low, high float64) (dot, dot, bool) {
	at := func(x float64) dot { return dot{x, a.y + (x-a.x)/(b.x-a.x)*(b.y-a.y)} }
	if a.x > b.x {
		a, b = b, a
	}
	if b.x <= low || a.x >= high {
		return a, b, false
	}
	if a.x < low {
		a = at(low)
	}
	if b.x > high {
		b = at(high)
	}
	return a, b, true
}

// dots fills a box with small squares.
func (p *pen) dots(ink color.Color, b box) {
	var path vg.Path
	const side = 2.0
	row := 0
	for y := b.y + hatchGap - side/2; y+side < b.y+b.h; y += hatchGap {
		for x := b.x + hatchGap/2 + hatchGap/2*float64(row%2); x+side < b.x+b.w; x += hatchGap {
			for i, c := range (box{x, y, side, side}).corners() {
				if i == 0 {
					path.Move(p.point(c.x, c.y))
				} else {
					path.Line(p.point(c.x, c.y))
				}
			}
			path.Close()
		}
		row++
	}
	if len(path) > 0 {
		p.canvas.SetColor(ink)
		p.canvas.Fill(path)
	}
}
