package charts

import (
	"image/color"
	"math"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// pointsPerPixel is the size of a CSS pixel in the points of vg: 72 to 96 in an
// inch.
const pointsPerPixel = 0.75

// The sizes of text in CSS pixels, and the margin round a picture.
const (
	sizeTitle = 16
	sizeLabel = 14
	sizeNote  = 12.5
	sizeTick  = 12
	margin    = 8
)

// pen draws in CSS pixels from the upper left corner. A dry pen draws nothing
// and only measures, so that a picture's height comes from the very code that
// draws it.
type pen struct {
	Colours
	width, height float64
	dry           bool
	canvas        draw.Canvas
}

func length(px float64) vg.Length { return vg.Length(px * pointsPerPixel) }

func (p *pen) point(x, y float64) vg.Point {
	return vg.Point{X: length(x), Y: length(p.height - y)}
}

// left and right are the sides within the margin.
func (p *pen) left() float64  { return margin }
func (p *pen) right() float64 { return p.width - margin }
func (p *pen) inner() float64 { return p.width - 2*margin }

// typeface is a size, a weight and an ink.
type typeface struct {
	size float64
	bold bool
	ink  color.Color
}

func (t typeface) font() font.Font {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Size: length(t.size)}
	if t.bold {
		f.Weight = xfont.WeightBold
	}
	return f
}

func (t typeface) style(align draw.XAlignment) text.Style {
	return text.Style{Color: t.ink, Font: t.font(), XAlign: align, YAlign: draw.YBottom, Handler: plot.DefaultTextHandler}
}

// measure returns the width of a line of text.
func (t typeface) measure(s string) float64 {
	return float64(t.style(draw.XLeft).Width(s)) / pointsPerPixel
}

func (p *pen) titleFace() typeface { return typeface{sizeTitle, true, p.Text} }
func (p *pen) labelFace() typeface { return typeface{sizeLabel, true, p.Text} }
func (p *pen) noteFace() typeface  { return typeface{sizeNote, false, p.Soft} }
func (p *pen) tickFace() typeface  { return typeface{sizeTick, false, p.Soft} }
func (p *pen) textFace() typeface  { return typeface{sizeNote, false, p.Text} }

// write sets a line of text with its baseline at a place.
func (p *pen) write(place dot, align draw.XAlignment, t typeface, s string) {
	if p.dry || s == "" {
		return
	}
	// The handler sets the baseline as far above the point as the size is
	// larger than the letters' ascent.
	sty := t.style(align)
	at := p.point(place.x, place.y)
	at.Y -= sty.Font.Size - sty.FontExtents().Ascent
	p.canvas.FillText(sty, at, s)
}

// fit returns as much of s as room holds, ending in an ellipsis where cut.
func (t typeface) fit(s string, room float64) string {
	if t.measure(s) <= room {
		return s
	}
	runes := []rune(s)
	low, high := 0, len(runes)
	for low < high {
		mid := (low + high + 1) / 2
		if t.measure(strings.TrimRight(string(runes[:mid]), " ")+"…") <= room {
			low = mid
		} else {
			high = mid - 1
		}
	}
	if low == 0 {
		return ""
	}
	return strings.TrimRight(string(runes[:low]), " ") + "…"
}

// wrap breaks s into lines that room holds; a word too long is cut.
func (t typeface) wrap(s string, room float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		word = t.fit(word, room)
		switch {
		case line == "":
			line = word
		case t.measure(line+" "+word) <= room:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// paragraph writes wrapped text from y down and returns where it ends.
func (p *pen) paragraph(y float64, t typeface, s string) float64 {
	leading := math.Round(t.size * 1.4)
	for _, line := range t.wrap(s, p.inner()) {
		p.write(dot{p.left(), y + t.size}, draw.XLeft, t, line)
		y += leading
	}
	return y
}

// stroke is the look of a line.
type stroke struct {
	ink   color.Color
	width float64
	dash  []float64
}

func (s stroke) style() draw.LineStyle {
	sty := draw.LineStyle{Color: s.ink, Width: length(s.width)}
	for _, d := range s.dash {
		sty.Dashes = append(sty.Dashes, length(d))
	}
	return sty
}

// dot is a place in CSS pixels.
type dot struct{ x, y float64 }

// line draws one line through the places.
func (p *pen) line(s stroke, dots ...dot) {
	if p.dry || len(dots) < 2 {
		return
	}
	p.canvas.SetLineStyle(s.style())
	p.canvas.Stroke(p.path(dots, false))
}

// area fills the shape with the places as corners.
func (p *pen) area(ink color.Color, dots ...dot) {
	if p.dry || len(dots) < 3 {
		return
	}
	p.canvas.SetColor(ink)
	p.canvas.Fill(p.path(dots, true))
}

// box is a rectangle in CSS pixels.
type box struct{ x, y, w, h float64 }

func (b box) corners() []dot {
	return []dot{{b.x, b.y}, {b.x + b.w, b.y}, {b.x + b.w, b.y + b.h}, {b.x, b.y + b.h}}
}

func (p *pen) fill(ink color.Color, b box) { p.area(ink, b.corners()...) }

// outline draws a box's sides inside it.
func (p *pen) outline(s stroke, b box) {
	d := s.width / 2
	in := box{b.x + d, b.y + d, b.w - s.width, b.h - s.width}
	if p.dry || in.w <= 0 || in.h <= 0 {
		return
	}
	p.canvas.SetLineStyle(s.style())
	p.canvas.Stroke(p.path(in.corners(), true))
}

func (p *pen) path(dots []dot, closed bool) vg.Path {
	var path vg.Path
	for i, d := range dots {
		if i == 0 {
			path.Move(p.point(d.x, d.y))
		} else {
			path.Line(p.point(d.x, d.y))
		}
	}
	if closed {
		path.Close()
	}
	return path
}

// mark draws a glyph about a place.
func (p *pen) mark(g draw.GlyphDrawer, at dot, radius float64, ink color.Color) {
	if p.dry {
		return
	}
	g.DrawGlyph(&p.canvas, draw.GlyphStyle{Color: ink, Radius: length(radius), Shape: g}, p.point(at.x, at.y))
}

// disc draws a filled circle with an edge.
func (p *pen) disc(at dot, radius float64, ink color.Color, edge stroke) {
	if p.dry {
		return
	}
	var path vg.Path
	c := p.point(at.x, at.y)
	path.Move(vg.Point{X: c.X + length(radius), Y: c.Y})
	path.Arc(c, length(radius), 0, 2*math.Pi)
	path.Close()
	p.canvas.SetColor(ink)
	p.canvas.Fill(path)
	if edge.width > 0 {
		p.canvas.SetLineStyle(edge.style())
		p.canvas.Stroke(path)
	}
}
