package charts

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg/draw"
)

// frame is a pair of axes drawn in a box, and where values lie in it.
type frame struct {
	x, y func(v float64) float64
	// inside is the box of the data.
	inside box
}

// axes draws axes and grid in a box. A scale without ticks leaves its axis
// out.
func (p *pen) axes(b box, x, y scale) frame {
	if p.dry {
		zero := func(float64) float64 { return 0 }
		return frame{x: zero, y: zero, inside: b}
	}
	pl := plot.New()
	pl.BackgroundColor = nil
	p.axis(&pl.X, x)
	p.axis(&pl.Y, y)
	grid := plotter.NewGrid()
	grid.Vertical, grid.Horizontal = stroke{ink: p.Line, width: 1}.style(), stroke{ink: p.Line, width: 1}.style()
	if y.ticks == nil {
		// Rows of their own draw the grid where it crosses no words.
		grid.Vertical.Width = 0
	}
	if len(x.ticks) == 0 {
		pl.HideX()
	}
	if len(y.ticks) == 0 {
		pl.HideY()
	}
	// Room enough that the lowest number of one axis and the first of the
	// other stay apart.
	pl.X.Padding, pl.Y.Padding = length(8), length(3)
	pl.Add(grid)
	low, high := p.point(b.x, b.y+b.h), p.point(b.x+b.w, b.y)
	c := p.canvas
	c.Min, c.Max = low, high
	pl.Draw(c)
	data := pl.DataCanvas(c)
	toX, toY := pl.Transforms(&data)
	fr := frame{
		x: func(v float64) float64 { return float64(toX(v)) / pointsPerPixel },
		y: func(v float64) float64 { return p.height - float64(toY(v))/pointsPerPixel },
	}
	fr.inside = box{fr.x(x.min), fr.y(y.max), fr.x(x.max) - fr.x(x.min), fr.y(y.min) - fr.y(y.max)}
	return fr
}

// axis dresses an axis.
func (p *pen) axis(a *plot.Axis, s scale) {
	a.Min, a.Max = s.min, s.max
	a.Tick.Marker = s
	a.LineStyle = draw.LineStyle{}
	a.Tick.LineStyle = draw.LineStyle{}
	a.Tick.Length = 0
	face := p.tickFace()
	sty := a.Tick.Label
	a.Tick.Label = text.Style{Color: face.ink, Font: face.font(), XAlign: sty.XAlign, YAlign: sty.YAlign, Handler: sty.Handler}
}

// ticksAcross returns how many numbers of up to 8 characters, and how many
// dates, find room side by side.
func (p *pen) ticksAcross() (numbers, dates int) {
	return min(9, int(p.inner()/56)), min(13, int(p.inner()/64))
}
