package server

import (
	"encoding/xml"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"skepwood/db"
)

// layoutPicture draws one board with its blanks, offcuts and defects.
func (b *builder) layoutPicture(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	style, err := styleOf(r)
	if err != nil {
		return err
	}
	layout, err := b.store.Layout(r.Context(), id)
	if err != nil {
		return err
	}
	width := style.Width
	if width == 0 {
		width = 928
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-cache")
	_, err = fmt.Fprint(w, drawLayout(&layout.LayoutDrawing, width, style.Theme == "dark"))
	return err
}

// inks of a drawing; it reads without colour, so they are few.
type inks struct{ line, paper, wood, piece string }

// drawing is a board on paper: x along the grain and y across it, each with
// its own scale where the board is too narrow to be read.
type drawing struct {
	strings.Builder
	sx, sy float64
	ink    inks
}

const (
	// sheetWide is the width of a picture on the cutting sheet: narrower than
	// the page, so that its words are larger there.
	sheetWide  = 640
	drawMargin = 2.0
	drawHead   = 18.0
	leastDrawn = 84.0
)

// drawScale returns the scales along and across the grain.
func drawScale(d *db.LayoutDrawing, width int) (sx, sy float64) {
	sx = (float64(width) - 2*drawMargin) / float64(d.Length)
	return sx, max(sx, leastDrawn/float64(d.Width))
}

// drawHigh is how high a drawing of a width is: the page keeps room for it.
func drawHigh(d *db.LayoutDrawing, width int) int {
	_, sy := drawScale(d, width)
	return int(float64(d.Width)*sy + drawHead + 2*drawMargin + 1)
}

// drawLayout draws a board with the near edge at the bottom, as one stands
// before it, the left end left.
func drawLayout(d *db.LayoutDrawing, width int, dark bool) string {
	g := &drawing{ink: inks{"#1d1c1a", "#fcfbf8", "#e7e0d3", "#ffffff"}}
	if dark {
		g.ink = inks{"#ece8e0", "#171614", "#3a362f", "#22201d"}
	}
	g.sx, g.sy = drawScale(d, width)
	high := drawHigh(d, width)
	fmt.Fprintf(g, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" font-family="system-ui, sans-serif" fill="%s">`, width, high, width, high, g.ink.line)
	fmt.Fprintf(g, `<title>Board %s</title><defs>%s%s%s</defs>`, d.Code, g.hatch("top", "M0 6L6 0"), g.hatch("bottom", "M0 0L6 6"), g.hatch("off", "M0 3H6"))
	fmt.Fprintf(g, `<rect width="%d" height="%d" fill="%s"/>`, width, high, g.ink.paper)
	head := d.Code + ", top face, near edge below"
	if g.sy > g.sx*1.001 {
		head += ", drawn too wide"
	}
	g.text(drawMargin, 13, 12, "start", head)
	g.box(d, db.LayoutRect{DX: d.Length, DY: d.Width}, fmt.Sprintf(`fill="%s" stroke="%s"`, g.ink.wood, g.ink.line))
	for _, end := range []db.LayoutRect{{DX: d.TrimStart, DY: d.Width}, {X: d.Length - d.TrimEnd, DX: d.TrimEnd, DY: d.Width}} {
		if end.DX > 0 {
			g.box(d, end, fmt.Sprintf(`fill="url(#off)" stroke="%s" stroke-dasharray="2 2"`, g.ink.line))
		}
	}
	for _, o := range d.Offcuts {
		g.box(d, o, fmt.Sprintf(`fill="none" stroke="%s" stroke-dasharray="5 3"`, g.ink.line))
		g.label(d, o, "offcut")
	}
	for _, p := range d.Pieces {
		g.box(d, p.LayoutRect, fmt.Sprintf(`fill="%s" stroke="%s" stroke-width="1.5"`, g.ink.piece, g.ink.line))
	}
	for _, f := range d.Defects {
		look := fmt.Sprintf(`fill="%s"`, g.ink.line)
		if f.Face == "top" || f.Face == "bottom" {
			look = fmt.Sprintf(`fill="url(#%s)" stroke="%s" stroke-width="0.7"`, f.Face, g.ink.line)
		}
		g.box(d, f.LayoutRect, look)
		if f.Metal {
			g.cross(d, f.LayoutRect)
		}
	}
	for _, p := range d.Pieces {
		g.label(d, p.LayoutRect, fmt.Sprintf("/%d", p.N))
	}
	g.WriteString("</svg>\n")
	return g.String()
}

// hatch is a pattern of lines.
func (g *drawing) hatch(id, path string) string {
	return fmt.Sprintf(`<pattern id="%s" width="6" height="6" patternUnits="userSpaceOnUse"><path d="%s" stroke="%s" stroke-width="0.8" fill="none"/></pattern>`, id, path, g.ink.line)
}

// low is where the far edge of a rectangle lies on the paper.
func (g *drawing) low(d *db.LayoutDrawing, r db.LayoutRect) float64 {
	return drawHead + drawMargin + float64(d.Width-r.Y-r.DY)*g.sy
}

func (g *drawing) box(d *db.LayoutDrawing, r db.LayoutRect, look string) {
	fmt.Fprintf(g, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" %s/>`, float64(r.X)*g.sx+drawMargin, g.low(d, r), float64(r.DX)*g.sx, float64(r.DY)*g.sy, look)
}

// cross marks metal, large enough to be seen however small it is.
func (g *drawing) cross(d *db.LayoutDrawing, r db.LayoutRect) {
	x, y := float64(r.X)*g.sx+drawMargin, g.low(d, r)
	dx, dy := float64(r.DX)*g.sx, float64(r.DY)*g.sy
	if more := 9 - dx; more > 0 {
		x, dx = x-more/2, 9
	}
	if more := 9 - dy; more > 0 {
		y, dy = y-more/2, 9
	}
	fmt.Fprintf(g, `<path d="M%.1f %.1fl%.1f %.1fM%.1f %.1fl%.1f %.1f" stroke="%s" stroke-width="1.6" fill="none"/>`, x, y, dx, dy, x+dx, y, -dx, dy, g.ink.line)
}

// label writes in the middle of a rectangle, as large as it takes, or not at
// all where it would not be read.
func (g *drawing) label(d *db.LayoutDrawing, r db.LayoutRect, text string) {
	size := min(16, 0.8*float64(r.DY)*g.sy, 1.5*float64(r.DX)*g.sx/float64(len(text)))
	if size < 6 {
		return
	}
	g.text(g.clearOf(d, r, 0.6*size*float64(len(text)), size), g.low(d, r)+float64(r.DY)*g.sy/2+size*0.35, size, "middle", text)
}

// labelPlaces are where along a rectangle a label may stand, the best first.
var labelPlaces = []float64{1. / 2, 1. / 4, 3. / 4, 3. / 8, 5. / 8}

// clearOf is where along a rectangle words so wide and high cover no defect; in
// its middle where they always do.
func (g *drawing) clearOf(d *db.LayoutDrawing, r db.LayoutRect, wide, high float64) float64 {
	left, long := float64(r.X)*g.sx+drawMargin, float64(r.DX)*g.sx
	middle := g.low(d, r) + float64(r.DY)*g.sy/2
	for _, place := range labelPlaces {
		x := left + place*long
		if x-wide/2 < left || x+wide/2 > left+long {
			continue
		}
		if !slices.ContainsFunc(d.Defects, func(f db.LayoutDefect) bool {
			fx, fy := float64(f.X)*g.sx+drawMargin, g.low(d, f.LayoutRect)
			return fx < x+wide/2 && x-wide/2 < fx+float64(f.DX)*g.sx && fy < middle+high/2 && middle-high/2 < fy+float64(f.DY)*g.sy
		}) {
			return x
		}
	}
	return left + long/2
}

func (g *drawing) text(x, y, size float64, anchor, text string) {
	fmt.Fprintf(g, `<text x="%.1f" y="%.1f" font-size="%.1f" text-anchor="%s">`, x, y, size, anchor)
	_ = xml.EscapeText(&g.Builder, []byte(text)) // a builder takes everything
	g.WriteString(`</text>`)
}
