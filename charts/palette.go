package charts

import (
	"image/color"

	"gonum.org/v1/plot/vg/draw"
)

// Colours are a theme's colours. Text reaches a contrast of 4.5 and marks of 3
// against Ground (WCAG 2.2, success criteria 1.4.3 and 1.4.11).
type Colours struct {
	// Ground is the page, Text its ink, Soft the ink of notes and axes, Line
	// that of hairlines and the grid.
	Ground, Text, Soft, Line color.NRGBA
	// Verdict hues by fate.
	Inside, Outside, Hold, Never, NotOurs, Lost color.NRGBA
	// Value, Cost, Accent and Band are for lines over time.
	Value, Cost, Accent, Band color.NRGBA
}

// Palette returns the colours of a theme; an unknown theme gets Light's.
func Palette(t Theme) Colours { return Colours{} }

// VerdictGlyph returns the shape of a verdict: a filled hexagon for inside, an
// open square for outside, a half-filled circle for hold, a barred octagon for
// never and for any other word, since wood is unsafe until shown safe.
func VerdictGlyph(verdict string) draw.GlyphDrawer { return draw.CircleGlyph{} }
