package charts

import (
	"errors"
	"image/color"
)

// Format is the kind of file a picture becomes.
type Format string

// The formats.
const (
	SVG Format = "svg"
	PNG Format = "png"
)

// ContentType returns the format's media type.
func (f Format) ContentType() string {
	if f == PNG {
		return "image/png"
	}
	return "image/svg+xml"
}

// Theme is the ground a picture stands on.
type Theme string

// The themes. An empty theme is Light.
const (
	Light Theme = "light"
	Dark  Theme = "dark"
)

// Sentinel errors of Render.
var (
	// ErrFormat marks a format that is neither SVG nor PNG.
	ErrFormat = errors.New("unknown picture format")
	// ErrTheme marks a theme that is neither Light nor Dark.
	ErrTheme = errors.New("unknown theme")
	// ErrSize marks a width or density that no picture can have.
	ErrSize = errors.New("picture size out of range")
)

// The widths that Render accepts, in CSS pixels.
const (
	MinWidth = 240
	MaxWidth = 2400
)

// Style says how a picture is drawn. The zero value works.
type Style struct {
	// Width is in CSS pixels, MinWidth to MaxWidth; 0 means 640. The height
	// follows from what is drawn.
	Width int
	// Theme is Light or Dark; "" means Light.
	Theme Theme
	// Transparent leaves the ground out, so that the page shows through.
	Transparent bool
	// Density is the number of PNG pixels for one CSS pixel, 1 to 4; 0 means
	// 2. A very large picture gets less. SVG has no pixels and ignores it.
	Density float64
}

// Picture is anything that Render can draw.
type Picture interface {
	// Words returns one or two sentences saying what the picture shows, for
	// people who do not see it. It is the <desc> of the SVG.
	Words() string
	// heading is the <title> of the SVG.
	heading() string
	// draw draws the picture, or with a dry pen only measures it, and returns
	// its height in CSS pixels.
	draw(p *pen) float64
}

// noColour lets the page show through a PNG.
var noColour = color.NRGBA{}
