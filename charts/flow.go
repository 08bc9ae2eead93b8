package charts

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg/draw"
)

// head writes a picture's title, a note below it, and returns where the
// picture goes on.
func (p *pen) head(title, note string) float64 {
	y := p.paragraph(margin, p.titleFace(), title)
	if note != "" {
		y = p.paragraph(y+2, p.noteFace(), note)
	}
	return y + 6
}

// axisNote names what a level axis shows, below it on the right, and returns
// the picture's height.
func (p *pen) axisNote(y float64, words string) float64 {
	face := p.noteFace()
	p.write(dot{p.right(), y + 14}, draw.XRight, face, face.fit(words, p.inner()))
	return y + 18 + margin
}

// keyItem explains one look: a sample and its words.
type keyItem struct {
	sample func(p *pen, b box)
	words  string
}

// The box of a sample in a key.
const (
	sampleWidth  = 22
	sampleHeight = 12
)

// key sets items side by side, in as many rows as they need.
func (p *pen) key(y float64, items []keyItem) float64 {
	if len(items) == 0 {
		return y
	}
	face := p.textFace()
	leading := math.Round(face.size * 1.6)
	x := p.left()
	for _, it := range items {
		words := face.fit(it.words, p.inner()-sampleWidth-6)
		w := sampleWidth + 6 + face.measure(words)
		if x > p.left() && x+w > p.right() {
			x, y = p.left(), y+leading
		}
		it.sample(p, box{x, y + (leading-sampleHeight)/2, sampleWidth, sampleHeight})
		p.write(dot{x + sampleWidth + 6, y + leading/2 + face.size*0.36}, draw.XLeft, face, words)
		x += w + 16
	}
	return y + leading + 4
}

// lineSample shows a line.
func lineSample(s stroke) func(p *pen, b box) {
	return func(p *pen, b box) { p.line(s, dot{b.x, b.y + b.h/2}, dot{b.x + b.w, b.y + b.h/2}) }
}

// glyphSample shows a shape.
func glyphSample(g draw.GlyphDrawer, ink color.Color) func(p *pen, b box) {
	return func(p *pen, b box) { p.mark(g, dot{b.x + b.w/2, b.y + b.h/2}, 5, ink) }
}

// nothing says in words that there is nothing to draw, and returns the height.
func (p *pen) nothing(title, words string) float64 {
	y := p.head(title, "")
	b := box{p.left(), y, p.inner(), 0}
	lines := p.noteFace().wrap(words, p.inner()-32)
	b.h = float64(len(lines))*18 + 48
	p.outline(stroke{ink: p.Line, width: 1, dash: []float64{4, 4}}, b)
	for i, line := range lines {
		p.write(dot{p.width / 2, y + 24 + 13 + 18*float64(i)}, draw.XCenter, p.noteFace(), line)
	}
	return y + b.h + margin
}
