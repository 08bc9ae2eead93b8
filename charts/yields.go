package charts

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg/draw"
)

// Interval is one row of Yields.
type Interval struct {
	// Label names the row, Note stands small beside it: "7 drives".
	Label, Note string
	// Mean lies within the 50 % interval, and that within the 90 %.
	Mean       float64
	Lo50, Hi50 float64
	Lo90, Hi90 float64
	// Thin says that there is not enough evidence for more than a guess; the
	// row is drawn hollow and says so.
	Thin bool
}

// known reports whether the row has figures to draw.
func (i Interval) known() bool { return drawable(i.Mean, i.Lo50, i.Hi50, i.Lo90, i.Hi90) }

// Yields shows what each source gives with its doubt: mean, 50 % and 90 %
// interval.
type Yields struct {
	// Title is the heading; "" means "Usable yield by source".
	Title string
	// Unit stands under the axis: "board feet a drive".
	Unit string
	// Rows are drawn by mean, the highest first.
	Rows []Interval
	// Reference is a second line to compare with, such as staying at home;
	// nil draws none. Zero always has its line.
	Reference *Mark
	// InOrder keeps the rows in the order given.
	InOrder bool
}

// Mark is a value with a name.
type Mark struct {
	Value float64
	Label string
}

// maxRows bounds the rows of a picture; a table shows the rest.
const maxRows = 60

func (y Yields) heading() string { return orElse(y.Title, "Usable yield by source") }

// rows returns the rows in the order in which they are drawn: those without
// usable figures last.
func (y Yields) rows() []Interval {
	rows := slices.Clone(y.Rows)
	if y.InOrder {
		return rows
	}
	slices.SortStableFunc(rows, func(a, b Interval) int {
		if a.known() != b.known() {
			if a.known() {
				return -1
			}
			return 1
		}
		if !a.known() {
			return 0
		}
		return cmp.Compare(b.Mean, a.Mean)
	})
	return rows
}

// Words names the highest row and how many have too little evidence.
func (y Yields) Words() string {
	rows := y.rows()
	if len(rows) == 0 {
		return y.empty()
	}
	best := slices.IndexFunc(rows, Interval.known)
	if best < 0 {
		return count(len(rows), "row", "rows") + ", none with a usable figure yet."
	}
	top := best
	for i, r := range rows {
		if r.known() && r.Mean > rows[top].Mean {
			top = i
		}
	}
	r := rows[top]
	s := fmt.Sprintf("%s. Highest mean: %s with %s %s, 90 %% interval %s to %s.",
		count(len(rows), "row", "rows"), orElse(r.Label, "no name"), number(r.Mean), clean(y.Unit), number(r.Lo90), number(r.Hi90))
	thin := 0
	for _, r := range rows {
		if r.Thin || !r.known() {
			thin++
		}
	}
	if thin > 0 {
		s += fmt.Sprintf(" Not enough evidence for %s.", count(thin, "row", "rows"))
	}
	return s
}

func (Yields) empty() string {
	return "No yields yet. Log a pickup with its boards, and its source appears here."
}

// scale returns the axis: zero, every interval and the reference are on it.
func (y Yields) scale(p *pen, rows []Interval) scale {
	low, high := 0.0, 0.0
	for _, r := range rows {
		if r.known() {
			low = min(low, r.Mean, r.Lo90, r.Hi90, r.Lo50, r.Hi50)
			high = max(high, r.Mean, r.Lo90, r.Hi90, r.Lo50, r.Hi50)
		}
	}
	if y.Reference != nil && drawable(y.Reference.Value) {
		low, high = min(low, y.Reference.Value), max(high, y.Reference.Value)
	}
	n, _ := p.ticksAcross()
	for ; n > 2; n-- {
		s := scaleOf(low, high, n).trimmed(low, high)
		if float64(len(s.ticks))*(p.widest(s)+12) <= p.inner() {
			return s
		}
	}
	return scaleOf(low, high, 2).trimmed(low, high)
}

// widest returns the width of a scale's widest number.
func (p *pen) widest(s scale) float64 {
	w := 0.0
	for _, t := range s.ticks {
		w = math.Max(w, p.tickFace().measure(t.Label))
	}
	return w
}

// rowHeight is a label line and a bar.
const (
	rowHeight = 50
	barHeight = 10
)

func (y Yields) draw(p *pen) float64 {
	rows := y.rows()
	if len(rows) == 0 {
		return p.nothing(y.heading(), y.empty())
	}
	note := ""
	if len(rows) > maxRows {
		note = fmt.Sprintf("The first %d of %s; the table has all.", maxRows, count(len(rows), "row", "rows"))
		rows = rows[:maxRows]
	}
	top := p.head(y.heading(), note)
	top = p.key(top, y.keyItems(p, rows))
	axis := y.scale(p, rows)
	// Half a number fits at either end of the axis.
	inset := p.widest(axis)/2 + 2
	body := box{p.left() + inset, top, p.inner() - 2*inset, float64(len(rows))*rowHeight + 22}
	lane := lanes{p.axes(body, axis, scale{min: 0, max: 1}), axis, y.Reference}
	for i, r := range rows {
		p.interval(lane, r, top+float64(i)*rowHeight)
	}
	return p.axisNote(body.y+body.h, clean(y.Unit))
}

func (y Yields) keyItems(p *pen, rows []Interval) []keyItem {
	items := []keyItem{
		{func(p *pen, b box) { p.disc(dot{b.x + b.w/2, b.y + b.h/2}, 4.5, p.Accent, stroke{}) }, "mean"},
		{func(p *pen, b box) { p.fill(p.Accent, box{b.x, b.y + b.h/2 - barHeight/2, b.w, barHeight}) }, "50 % likely"},
		{lineSample(stroke{ink: p.Accent, width: 2}), "90 % likely"},
	}
	if slices.ContainsFunc(rows, func(r Interval) bool { return r.Thin }) {
		items = append(items, keyItem{func(p *pen, b box) {
			p.outline(stroke{ink: p.Accent, width: 1.25, dash: []float64{3, 2}}, box{b.x, b.y + b.h/2 - barHeight/2, b.w, barHeight})
		}, "not enough evidence"})
	}
	if y.Reference != nil && drawable(y.Reference.Value) {
		items = append(items, keyItem{lineSample(p.referenceLine()), orElse(y.Reference.Label, "to compare") + " " + number(y.Reference.Value)})
	}
	return items
}

func (p *pen) referenceLine() stroke {
	return stroke{ink: p.Cost, width: 1.75, dash: []float64{5, 3}}
}

// lanes are the axis that all rows share.
type lanes struct {
	frame
	axis      scale
	reference *Mark
}

// uprights draws grid, zero line and reference beside one bar, clear of the
// words between the bars.
func (p *pen) uprights(fr lanes, top, foot float64) {
	for _, t := range fr.axis.ticks {
		p.line(stroke{ink: p.Line, width: 1}, dot{fr.x(t.Value), top}, dot{fr.x(t.Value), foot})
	}
	p.line(stroke{ink: p.Soft, width: 1.5}, dot{fr.x(0), top}, dot{fr.x(0), foot})
	if fr.reference != nil && drawable(fr.reference.Value) {
		x := fr.x(fr.reference.Value)
		p.line(p.referenceLine(), dot{x, top}, dot{x, foot})
	}
}

// interval draws one row from y down: label and figures, then the bar.
func (p *pen) interval(fr lanes, r Interval, y float64) {
	p.rowText(r, y+17)
	mid := y + 34
	p.uprights(fr, mid-11, mid+11)
	if !r.known() {
		return
	}
	span := func(low, high, thick float64) box {
		low, high = min(low, high), max(low, high)
		x := fr.x(low)
		return box{x, mid - thick/2, math.Max(fr.x(high)-x, 1), thick}
	}
	whole := span(r.Lo90, r.Hi90, 2)
	p.line(stroke{ink: p.Accent, width: 2}, dot{whole.x, mid}, dot{whole.x + whole.w, mid})
	for _, x := range []float64{whole.x, whole.x + whole.w} {
		p.line(stroke{ink: p.Accent, width: 2}, dot{x, mid - 4}, dot{x, mid + 4})
	}
	half := span(r.Lo50, r.Hi50, barHeight)
	mean := dot{fr.x(r.Mean), mid}
	if r.Thin {
		p.fill(p.Ground, half)
		p.outline(stroke{ink: p.Accent, width: 1.25, dash: []float64{3, 2}}, half)
		p.disc(mean, 4.5, p.Ground, stroke{ink: p.Accent, width: 1.75})
		return
	}
	p.fill(p.Accent, half)
	p.disc(mean, 5, p.Accent, stroke{ink: p.Ground, width: 1.75})
}

// rowText writes label and figures on one line. The figures give way before
// the label does.
func (p *pen) rowText(r Interval, y float64) {
	label, note := orElse(r.Label, "no name"), clean(r.Note)
	face, small := p.labelFace(), p.noteFace()
	var choices []string
	switch {
	case !r.known():
		choices = []string{"no usable figure"}
	case r.Thin:
		choices = []string{"not enough evidence"}
	default:
		figure := fmt.Sprintf("%s (%s to %s)", number(r.Mean), number(r.Lo90), number(r.Hi90))
		choices = []string{figure, number(r.Mean)}
	}
	if note != "" {
		choices = slices.Insert(choices, 0, choices[0]+" · "+note)
	}
	room := p.inner() - 12
	for i, figure := range choices {
		w := small.measure(figure)
		if i+1 < len(choices) && face.measure(label)+w > room {
			continue
		}
		p.write(dot{p.right(), y}, draw.XRight, small, figure)
		p.write(dot{p.left(), y}, draw.XLeft, face, face.fit(label, room-w))
		return
	}
}
