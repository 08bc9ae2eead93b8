package charts

import "image/color"

// Colours are a theme's colours. Text, Soft and the hues reach a contrast of
// 4.5 against Ground and Line is for hairlines only (WCAG 2.2, success criteria
// 1.4.3 and 1.4.11).
type Colours struct {
	// Ground is the page, Text its ink, Soft the ink of notes and axes, Line
	// that of hairlines and the grid.
	Ground, Text, Soft, Line color.NRGBA
	// The hues of fates.
	Inside, Outside, Hold, Never, NotOurs, Lost color.NRGBA
	// Value, Cost and Accent are for lines over time; Band fills areas of
	// doubt and is faint.
	Value, Cost, Accent, Band color.NRGBA
}

// Palette returns the colours of a theme; an unknown theme gets Light's. The
// hues are the bluish green, blue, orange, vermillion and reddish purple of
// Okabe and Ito (2008), darkened for paper and lightened for a dark page; the
// ground and inks are those of the pages.
func Palette(t Theme) Colours {
	if t == Dark {
		return Colours{
			Ground: rgb(0x171614), Text: rgb(0xece8e0), Soft: rgb(0xb3aca0), Line: rgb(0x45413a),
			Inside: rgb(0x3fc79d), Outside: rgb(0x6cb8ea), Hold: rgb(0xeeb23c), Never: rgb(0xff8a4d), NotOurs: rgb(0xe0a3c8), Lost: rgb(0xb3aca0),
			Value: rgb(0x6cb8ea), Cost: rgb(0xff8a4d), Accent: rgb(0x7cc6e4), Band: color.NRGBA{0x7c, 0xc6, 0xe4, 0x40},
		}
	}
	return Colours{
		Ground: rgb(0xfcfbf8), Text: rgb(0x1d1c1a), Soft: rgb(0x57534c), Line: rgb(0xd3cdc2),
		Inside: rgb(0x00694d), Outside: rgb(0x0060a0), Hold: rgb(0x8a5a00), Never: rgb(0xb03d00), NotOurs: rgb(0x8f4a76), Lost: rgb(0x57534c),
		Value: rgb(0x0060a0), Cost: rgb(0xb03d00), Accent: rgb(0x0a5872), Band: color.NRGBA{0x0a, 0x58, 0x72, 0x33},
	}
}

func rgb(v uint32) color.NRGBA {
	return color.NRGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 0xff}
}
