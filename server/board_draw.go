package server

import (
	"fmt"
	"html"
	"math"
	"strings"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// boardPicture is a board drawn face by face: what spoils it, and what is cut
// of it. The bottom face is drawn as it is seen with the board rolled over
// towards oneself, its ends where they were.
type boardPicture struct {
	Board grade.Board
	// Faces are drawn one below the other.
	Faces []grade.Face
	// Label names what is drawn, for those who do not see it, Code the board on
	// the picture itself, which may be printed by itself.
	Label, Code string
	// Clearance is drawn round metal; 0 leaves it out.
	Clearance wood.Length
	// Pieces are rectangles in the board's own frame, by face; a piece of
	// face both is drawn on each.
	Pieces []drawnPiece
	// Width is the picture's, in pixels; Dark chooses its colours.
	Width int
	Dark  bool
	// Live marks it for the script that places defects by tap.
	Live bool
	Unit wood.Unit
}

// drawnPiece is a cutting, a blank or a piece of a board.
type drawnPiece struct {
	grade.Rect
	Face  grade.Face
	Label string
}

// Sizes of a picture in pixels.
const (
	pictureMargin = 8
	pictureLabel  = 18
	// A board is drawn at least so high, however long it is, so that a finger
	// and an eye find its edges; its width is then drawn larger than its length.
	leastHigh, mostHigh = 84, 300
)

// ink are the colours of a picture shown by its own address. The page's style
// sheet takes their place where it is drawn into a page.
type ink struct{ paper, wood, line, text, bad, piece string }

func (p boardPicture) ink() ink {
	if p.Dark {
		return ink{"#171614", "#2b2823", "#b3aca0", "#ece8e0", "#ff9b80", "#7cc6e4"}
	}
	return ink{"#ffffff", "#f6efe0", "#57534c", "#1d1c1a", "#a3260a", "#0a5872"}
}

// scale says how many pixels a nanometre is along and across.
func (p boardPicture) scale() (along, across float64, high float64) {
	along = float64(p.Width-2*pictureMargin) / float64(p.Board.Length)
	high = min(max(along*float64(p.Board.Width), leastHigh), mostHigh)
	return along, high / float64(p.Board.Width), high
}

// each is how high one face with its labels is.
func (p boardPicture) each() float64 {
	_, _, high := p.scale()
	return pictureLabel*2 + high + pictureMargin
}

// PictureHigh is how high a picture of the board is that shows so many faces: a
// page keeps room for it, so that nothing moves under a finger when it comes.
func (b bench) PictureHigh(faces, width int) int {
	p := boardPicture{Board: b.Wood, Width: width}
	return int(math.Round(p.each()*float64(faces) + pictureMargin))
}

// SVG draws the picture.
func (p boardPicture) SVG() string {
	var b strings.Builder
	each := p.each()
	total := each*float64(len(p.Faces)) + pictureMargin
	c := p.ink()
	live := ""
	if p.Live {
		live = fmt.Sprintf(` data-map="%s"`, p.Faces[0])
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="board-picture" viewBox="0 0 %d %.0f" width="%d" height="%.0f" role="img" aria-label="%s"%s>`,
		p.Width, total, p.Width, total, html.EscapeString(p.Label), live)
	if !p.Live {
		fmt.Fprintf(&b, `<rect class="ground" width="%d" height="%.0f" fill="%s"/>`, p.Width, total, c.paper)
	}
	fmt.Fprintf(&b, `<defs><pattern id="through" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M0 0v6M3 0v6" stroke="%s" stroke-width="1.6"/></pattern></defs>`, c.bad)
	for i, f := range p.Faces {
		p.face(&b, f, float64(i)*each)
	}
	b.WriteString("</svg>")
	return b.String()
}

// face draws one face, its upper label at y.
func (p boardPicture) face(b *strings.Builder, f grade.Face, y float64) {
	c := p.ink()
	_, _, high := p.scale()
	top := y + pictureLabel + 4
	name, near := "Top face", "near edge"
	if f == grade.Bottom {
		name, near = "Bottom face, rolled over towards you", "far edge of the top face"
	}
	if p.Code != "" && f == p.Faces[0] {
		name = p.Code + ": " + strings.ToLower(name[:1]) + name[1:]
	}
	text := func(x, y float64, anchor, s string) {
		fmt.Fprintf(b, `<text class="note" x="%.1f" y="%.1f" text-anchor="%s" font-family="system-ui, sans-serif" font-size="12" fill="%s">%s</text>`, x, y, anchor, c.text, html.EscapeString(s))
	}
	text(pictureMargin, y+pictureLabel-3, "start", name)
	fmt.Fprintf(b, `<rect class="wood" x="%d" y="%.2f" width="%d" height="%.2f" fill="%s" stroke="%s" stroke-width="1.5"/>`,
		pictureMargin, top, p.Width-2*pictureMargin, high, c.wood, c.line)
	for _, d := range p.Board.Defects {
		p.defect(b, d, f, top)
	}
	for _, q := range p.Pieces {
		if q.Face == f || q.Face == grade.Both {
			p.piece(b, q, f, top)
		}
	}
	text(pictureMargin, top+high+pictureLabel-4, "start", "◂ left end")
	text(float64(p.Width)-pictureMargin, top+high+pictureLabel-4, "end", near)
}

// box returns a rectangle of the board as it is seen on a face, in pixels.
func (p boardPicture) box(r grade.Rect, f grade.Face, top float64) (x, y, dx, dy float64) {
	along, across, high := p.scale()
	r = p.Board.Drawn(f, r)
	// One stands before the board: the near edge is the lower one.
	return pictureMargin + along*float64(r.X), top + high - across*float64(r.Far()), along * float64(r.DX), across * float64(r.DY)
}

// defect draws one defect: hatched where it goes through, filled where it shows
// on this face alone, a dashed outline where it is on the other face. Metal
// bears a cross and its clearance.
func (p boardPicture) defect(b *strings.Builder, d grade.Defect, f grade.Face, top float64) {
	c := p.ink()
	x, y, dx, dy := p.box(d.Rect(), f, top)
	// What is smaller than three pixels would not be seen.
	if dx < 3 {
		x, dx = x-(3-dx)/2, 3
	}
	if dy < 3 {
		y, dy = y-(3-dy)/2, 3
	}
	look := fmt.Sprintf(`class="defect one" fill="%s" fill-opacity="0.55" stroke="%s"`, c.bad, c.bad)
	switch {
	case p.Board.Through(d):
		look = fmt.Sprintf(`class="defect through" fill="url(#through)" stroke="%s"`, c.bad)
	case !p.Board.Shows(d, f):
		look = fmt.Sprintf(`class="defect behind" fill="none" stroke="%s" stroke-dasharray="2 3"`, c.line)
	}
	round := 0.0
	if d.Kind == grade.Knot {
		round = min(dx, dy) / 2
	}
	fmt.Fprintf(b, `<rect %s x="%.2f" y="%.2f" width="%.2f" height="%.2f" rx="%.2f"><title>%s</title></rect>`, look, x, y, dx, dy, round, html.EscapeString(defectWords(d, p.Unit)))
	if !d.Metal {
		return
	}
	fmt.Fprintf(b, `<path class="metal" d="M%.2f %.2fl%.2f %.2fM%.2f %.2fl%.2f %.2f" stroke="%s" stroke-width="2"/>`, x, y, dx, dy, x+dx, y, -dx, dy, c.text)
	if keep := d.Rect().Grow(p.Clearance).Intersect(p.Board.Rect()); p.Clearance > 0 {
		x, y, dx, dy = p.box(keep, f, top)
		fmt.Fprintf(b, `<rect class="clearance" x="%.2f" y="%.2f" width="%.2f" height="%.2f" fill="none" stroke="%s" stroke-dasharray="4 2"/>`, x, y, dx, dy, c.text)
	}
}

// piece draws a cutting or blank with its label where there is room for it.
func (p boardPicture) piece(b *strings.Builder, q drawnPiece, f grade.Face, top float64) {
	c := p.ink()
	x, y, dx, dy := p.box(q.Rect, f, top)
	fmt.Fprintf(b, `<rect class="piece" x="%.2f" y="%.2f" width="%.2f" height="%.2f" fill="%s" fill-opacity="0.16" stroke="%s" stroke-width="2"><title>%s</title></rect>`,
		x, y, dx, dy, c.piece, c.piece, html.EscapeString(q.Label))
	if q.Label != "" && dx > 8*float64(len([]rune(q.Label))) && dy > 14 {
		fmt.Fprintf(b, `<text class="note" x="%.1f" y="%.1f" text-anchor="middle" font-family="system-ui, sans-serif" font-size="12" fill="%s">%s</text>`, x+dx/2, y+dy/2+4, c.text, html.EscapeString(q.Label))
	}
}

// defectWords says a defect in a line.
func defectWords(d grade.Defect, unit wood.Unit) string {
	s := strings.ReplaceAll(string(d.Kind), "_", " ")
	if d.Metal {
		s += " with metal in it"
	}
	switch d.Face {
	case grade.Both:
		s += ", through"
	default:
		s += ", " + string(d.Face) + " face"
	}
	return fmt.Sprintf("%s, %s from the left end, %s from the near edge, %s × %s", s, d.X.Format(unit), d.Y.Format(unit), d.DX.Format(unit), d.DY.Format(unit))
}
