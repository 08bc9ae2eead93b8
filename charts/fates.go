package charts

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg/draw"
)

// Fate is one row of Fates: amounts of wood in any one unit, none negative.
type Fate struct {
	Label, Note                  string
	Inside, Outside, Hold, Never float64
	// NotOurs is wood that is not ours to take.
	NotOurs float64
	// Lost broke in taking it apart.
	Lost float64
}

// parts returns the amounts in the order in which they are stacked.
func (f Fate) parts() [6]float64 {
	return [6]float64{f.Inside, f.Outside, f.Hold, f.Never, f.NotOurs, f.Lost}
}

// total returns the sum of the amounts; false where one is negative or cannot
// be drawn, or all are zero.
func (f Fate) total() (float64, bool) {
	sum := 0.0
	for _, v := range f.parts() {
		if !drawable(v) || v < 0 {
			return 0, false
		}
		sum += v
	}
	return sum, sum > 0
}

// Fates shows what became of each source's wood as shares of a bar.
type Fates struct {
	// Title is the heading; "" means "What became of the wood".
	Title string
	// Unit of the amounts, for the words: "board feet".
	Unit string
	// Rows are drawn in the order given.
	Rows []Fate
}

func (f Fates) heading() string { return orElse(f.Title, "What became of the wood") }

// fateLook is how one fate is drawn.
type fateLook struct {
	word  string
	glyph draw.GlyphDrawer
	hatch hatching
	ink   color.NRGBA
}

func (c Colours) fates() [6]fateLook {
	return [6]fateLook{
		{"inside", VerdictGlyph("inside"), solid, c.Inside},
		{"outside", VerdictGlyph("outside"), level, c.Outside},
		{"hold", VerdictGlyph("hold"), rising, c.Hold},
		{"never", VerdictGlyph("never"), crossed, c.Never},
		{"not ours", notOursGlyph, dotted, c.NotOurs},
		{"lost", lostGlyph, bare, c.Lost},
	}
}

// Words sums all rows.
func (f Fates) Words() string {
	var sums Fate
	used := 0
	for _, r := range f.Rows {
		if _, ok := r.total(); ok {
			used++
			sums.Inside, sums.Outside, sums.Hold = sums.Inside+r.Inside, sums.Outside+r.Outside, sums.Hold+r.Hold
			sums.Never, sums.NotOurs, sums.Lost = sums.Never+r.Never, sums.NotOurs+r.NotOurs, sums.Lost+r.Lost
		}
	}
	total, ok := sums.total()
	if !ok {
		return f.empty()
	}
	s := fmt.Sprintf("%s, %s %s in all:", count(used, "row", "rows"), number(total), clean(f.Unit))
	for i, v := range sums.parts() {
		if v > 0 {
			s += fmt.Sprintf(" %s %s,", (Colours{}).fates()[i].word, percent(v/total))
		}
	}
	return s[:len(s)-1] + "."
}

func (Fates) empty() string {
	return "No wood yet. Log a pickup with its lots, and what became of them appears here."
}

const fateBar = 22

func (f Fates) draw(p *pen) float64 {
	if len(f.Rows) == 0 {
		return p.nothing(f.heading(), f.empty())
	}
	rows, note := f.Rows, "Share of the wood by verdict; lost broke in taking it apart."
	if len(rows) > maxRows {
		note += fmt.Sprintf(" The first %d of %s; the table has all.", maxRows, count(len(rows), "row", "rows"))
		rows = rows[:maxRows]
	}
	y := p.head(f.heading(), note)
	y = p.fateKey(y, rows)
	for _, r := range rows {
		y = p.fate(r, y)
	}
	return y + margin
}

// fateKey explains the fates that occur.
func (p *pen) fateKey(y float64, rows []Fate) float64 {
	var items []keyItem
	for i, look := range p.fates() {
		occurs := i < 4
		for _, r := range rows {
			occurs = occurs || r.parts()[i] > 0
		}
		if !occurs {
			continue
		}
		items = append(items, keyItem{func(p *pen, b box) {
			p.hatch(look.hatch, look.ink, box{b.x, b.y - 1, b.w, b.h + 2})
		}, look.word})
	}
	return p.key(y, items)
}

// fate draws one row from y down and returns where it ends.
func (p *pen) fate(r Fate, y float64) float64 {
	face, small := p.labelFace(), p.noteFace()
	note := small.fit(clean(r.Note), p.inner()*0.6)
	p.write(dot{p.left(), y + 17}, draw.XLeft, face, face.fit(orElse(r.Label, "no name"), p.inner()-small.measure(note)-12))
	p.write(dot{p.right(), y + 17}, draw.XRight, small, note)
	y += 24
	total, ok := r.total()
	if !ok {
		p.outline(stroke{ink: p.Line, width: 1, dash: []float64{4, 4}}, box{p.left(), y, p.inner(), fateBar})
		p.write(dot{p.width / 2, y + fateBar/2 + 4.5}, draw.XCenter, small, "no wood with a known amount")
		return y + fateBar + 12
	}
	x := p.left()
	for i, v := range r.parts() {
		w := v / total * p.inner()
		look := p.fates()[i]
		p.hatch(look.hatch, look.ink, box{x, y, math.Max(w-1, math.Min(w, 1)), fateBar})
		x += w
	}
	return p.fateWords(r, total, y+fateBar+4) + 10
}

// fateWords names the shares below their bar, each with its shape.
func (p *pen) fateWords(r Fate, total, y float64) float64 {
	face := p.textFace()
	leading := math.Round(face.size * 1.5)
	x := p.left()
	for i, v := range r.parts() {
		if v == 0 {
			continue
		}
		look := p.fates()[i]
		words := look.word + " " + percent(v/total)
		w := 16 + face.measure(words)
		if x > p.left() && x+w > p.right() {
			x, y = p.left(), y+leading
		}
		p.mark(look.glyph, dot{x + 6, y + leading/2}, 5.5, look.ink)
		p.write(dot{x + 16, y + leading/2 + face.size*0.36}, draw.XLeft, face, words)
		x += w + 14
	}
	return y + leading
}
