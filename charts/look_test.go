package charts

import (
	"bytes"
	"image"
	"image/color"
	_ "image/png"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg/draw"
)

// luminance follows WCAG 2.2, relative luminance.
func luminance(c color.NRGBA) float64 {
	part := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*part(c.R) + 0.7152*part(c.G) + 0.0722*part(c.B)
}

func contrast(a, b color.NRGBA) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrast(t *testing.T) {
	t.Parallel()
	for _, theme := range []Theme{Light, Dark} {
		c := Palette(theme)
		for name, ink := range map[string]color.NRGBA{
			"text": c.Text, "soft": c.Soft, "inside": c.Inside, "outside": c.Outside, "hold": c.Hold, "never": c.Never,
			"not ours": c.NotOurs, "lost": c.Lost, "value": c.Value, "cost": c.Cost, "accent": c.Accent,
		} {
			require.GreaterOrEqual(t, contrast(ink, c.Ground), 4.5, "%s %s", theme, name)
		}
	}
	require.Equal(t, Palette(Light), Palette("sepia"))
}

// swatch is a picture of one pattern or shape in one ink.
type swatch struct{ paint func(p *pen) }

func (swatch) Words() string   { return "" }
func (swatch) heading() string { return "" }
func (s swatch) draw(p *pen) float64 {
	s.paint(p)
	return 60
}

// grey renders a swatch and returns its pixels as grey values.
func grey(t *testing.T, paint func(p *pen)) []float64 {
	t.Helper()
	raw, err := Render(swatch{paint}, PNG, Style{Width: MinWidth, Density: 1})
	require.NoError(t, err)
	img, _, err := image.Decode(bytes.NewReader(raw))
	require.NoError(t, err)
	var out []float64
	for y := 10; y < 40; y++ {
		for x := 10; x < 40; x++ {
			out = append(out, float64(color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y)/255)
		}
	}
	return out
}

// apart returns the share of pixels that differ clearly.
func apart(a, b []float64) float64 {
	n := 0
	for i := range a {
		if math.Abs(a[i]-b[i]) > 0.3 {
			n++
		}
	}
	return float64(n) / float64(len(a))
}

// TestPatternsWithoutColour draws all fates in one ink, as a grey printer
// might: patterns and shapes alone must keep them apart.
func TestPatternsWithoutColour(t *testing.T) {
	t.Parallel()
	looks := Palette(Light).fates()
	for i, a := range looks {
		for _, b := range looks[i+1:] {
			hatch := func(h hatching) func(p *pen) {
				return func(p *pen) { p.hatch(h, p.Text, box{10, 10, 30, 30}) }
			}
			require.Greater(t, apart(grey(t, hatch(a.hatch)), grey(t, hatch(b.hatch))), 0.1, "patterns of %s and %s", a.word, b.word)
			shape := func(g draw.GlyphDrawer) func(p *pen) {
				return func(p *pen) { p.mark(g, dot{25, 25}, 14, p.Text) }
			}
			require.Greater(t, apart(grey(t, shape(a.glyph)), grey(t, shape(b.glyph))), 0.08, "shapes of %s and %s", a.word, b.word)
		}
	}
}

// TestUnknownVerdictLooksUnsafe: what is not known is drawn as never.
func TestUnknownVerdictLooksUnsafe(t *testing.T) {
	t.Parallel()
	require.Equal(t, VerdictGlyph("never"), VerdictGlyph("fine"))
	require.NotEqual(t, VerdictGlyph("inside"), VerdictGlyph(""))
}
