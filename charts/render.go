package charts

import (
	"bytes"
	"fmt"
	"math"

	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// The width of a picture that asks for none, and the limits of density.
const (
	usualWidth   = 640
	usualDensity = 2
	maxDensity   = 4
	// maxPixels bounds the memory of a PNG; beyond it the density gives way.
	maxPixels = 24_000_000
)

// Render draws the picture. Errors match ErrFormat, ErrTheme or ErrSize; a
// picture without usable data is no error but a picture saying so. It may be
// called from several goroutines at once.
func Render(pic Picture, f Format, s Style) ([]byte, error) {
	s, err := s.settled()
	if err != nil {
		return nil, err
	}
	if f != SVG && f != PNG {
		return nil, fmt.Errorf("%w %.40q: use svg or png", ErrFormat, string(f))
	}
	p := &pen{Colours: Palette(s.Theme), width: float64(s.Width), dry: true}
	p.height = math.Ceil(pic.draw(p))
	p.dry = false
	if f == PNG {
		return p.png(pic, s)
	}
	return p.svg(pic, s)
}

// settled fills in what a style leaves open and refuses what cannot be drawn.
func (s Style) settled() (Style, error) {
	if s.Width == 0 {
		s.Width = usualWidth
	}
	if s.Density == 0 {
		s.Density = usualDensity
	}
	if s.Theme == "" {
		s.Theme = Light
	}
	switch {
	case s.Width < MinWidth || s.Width > MaxWidth:
		return s, fmt.Errorf("%w: width %d, use %d to %d", ErrSize, s.Width, MinWidth, MaxWidth)
	case !(s.Density >= 1 && s.Density <= maxDensity):
		return s, fmt.Errorf("%w: density %v, use 1 to %d", ErrSize, s.Density, maxDensity)
	case s.Theme != Light && s.Theme != Dark:
		return s, fmt.Errorf("%w %.40q: use light or dark", ErrTheme, string(s.Theme))
	default:
		return s, nil
	}
}

func (p *pen) png(pic Picture, s Style) ([]byte, error) {
	s.Density = max(1, min(s.Density, math.Sqrt(maxPixels/(p.width*p.height))))
	c := vgimg.PngCanvas{Canvas: vgimg.NewWith(
		vgimg.UseWH(length(p.width), length(p.height)),
		vgimg.UseDPI(int(math.Round(96*s.Density))),
		vgimg.UseBackgroundColor(noColour),
	)}
	p.paint(draw.New(c), pic, s)
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("write the picture: %w", err)
	}
	return out.Bytes(), nil
}

func (p *pen) svg(pic Picture, s Style) ([]byte, error) {
	c := vgsvg.New(length(p.width), length(p.height))
	p.paint(draw.New(c), pic, s)
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("write the picture: %w", err)
	}
	return dress(out.Bytes(), cover{title: pic.heading(), words: pic.Words(), width: p.width, height: p.height})
}

// paint draws ground and picture.
func (p *pen) paint(c draw.Canvas, pic Picture, s Style) {
	p.canvas = c
	if !s.Transparent {
		p.fill(p.Ground, box{0, 0, p.width, p.height})
	}
	pic.draw(p)
}
