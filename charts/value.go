package charts

import (
	"fmt"
	"slices"
	"time"
)

// Worth is the log's value and cost up to a moment, both summed from the
// start.
type Worth struct {
	When        time.Time
	Value, Cost float64
}

// CumulativeValue shows the log's value against its cost over time as steps.
type CumulativeValue struct {
	// Title is the heading; "" means "Value won against cost".
	Title string
	// Unit stands at the axis: "USD".
	Unit string
	// Points may be in any order.
	Points []Worth
}

func (c CumulativeValue) heading() string { return orElse(c.Title, "Value won against cost") }

// points returns the drawable points in order of time, thinned to what a
// picture can show.
func (c CumulativeValue) points() []Worth {
	out := slices.DeleteFunc(slices.Clone(c.Points), func(w Worth) bool { return !drawable(w.Value, w.Cost) || !datable(w.When) })
	slices.SortStableFunc(out, func(a, b Worth) int { return a.When.Compare(b.When) })
	return thin(out)
}

// Words gives both sums and which is ahead.
func (c CumulativeValue) Words() string {
	points := c.points()
	if len(points) == 0 {
		return c.empty()
	}
	first, last := points[0], points[len(points)-1]
	unit := clean(c.Unit)
	ahead := "Value is ahead by"
	gap := last.Value - last.Cost
	if gap < 0 {
		ahead, gap = "Cost is ahead by", -gap
	}
	return fmt.Sprintf("From %s to %s: value won %s %s, cost %s %s. %s %s %s.",
		day(first.When), day(last.When), number(last.Value), unit, number(last.Cost), unit, ahead, number(gap), unit)
}

func (CumulativeValue) empty() string {
	return "Nothing to add up yet. Log a pickup with its cost, set a price for wood, and both sums appear here."
}

// The height of pictures over time, by their width.
func (p *pen) plotHeight() float64 { return min(max(p.inner()*0.55, 190), 320) }

func (c CumulativeValue) draw(p *pen) float64 {
	points := c.points()
	if len(points) == 0 {
		return p.nothing(c.heading(), c.empty())
	}
	low, high := 0.0, 0.0
	for _, w := range points {
		low, high = min(low, w.Value, w.Cost), max(high, w.Value, w.Cost)
	}
	last := points[len(points)-1]
	value, cost := stroke{ink: p.Value, width: 2.25}, stroke{ink: p.Cost, width: 2, dash: []float64{6, 3}}
	y := p.head(c.heading(), clean(c.Unit))
	y = p.key(y, []keyItem{{lineSample(value), "value " + number(last.Value)}, {lineSample(cost), "cost " + number(last.Cost)}})
	_, dates := p.ticksAcross()
	body := box{p.left(), y, p.inner(), p.plotHeight()}
	fr := p.axes(body, timeScale(points[0].When, last.When, dates), scaleOf(low, high, 6))
	p.line(stroke{ink: p.Soft, width: 1.25}, dot{fr.inside.x, fr.y(0)}, dot{fr.inside.x + fr.inside.w, fr.y(0)})
	p.line(value, fr.steps(points, func(w Worth) float64 { return w.Value })...)
	p.line(cost, fr.steps(points, func(w Worth) float64 { return w.Cost })...)
	for _, end := range []struct {
		v float64
		s stroke
	}{{last.Cost, cost}, {last.Value, value}} {
		p.disc(dot{fr.x(seconds(last.When)), fr.y(end.v)}, 3.5, end.s.ink, stroke{ink: p.Ground, width: 1})
	}
	return body.y + body.h + margin
}

// steps returns a line that holds each value until the next point.
func (fr frame) steps(points []Worth, of func(Worth) float64) []dot {
	var out []dot
	for i, w := range points {
		x, y := fr.x(seconds(w.When)), fr.y(of(w))
		if i > 0 {
			out = append(out, dot{x, out[len(out)-1].y})
		} else if len(points) == 1 {
			out = append(out, dot{fr.inside.x, y})
		}
		out = append(out, dot{x, y})
	}
	return out
}

// day prints a date.
func day(t time.Time) string { return t.Format("2 January 2006") }

// datable reports whether a time can stand on an axis: years 1 to 9999.
func datable(t time.Time) bool { return t.Year() >= 1 && t.Year() <= 9999 }

// maxPoints bounds the points of a line over time.
const maxPoints = 1200

// thin keeps evenly spaced points and the last, where there are more than a
// picture can show.
func thin[T any](points []T) []T {
	if len(points) <= maxPoints {
		return points
	}
	out := make([]T, 0, maxPoints)
	for i := range maxPoints - 1 {
		out = append(out, points[i*(len(points)-1)/(maxPoints-1)])
	}
	return append(out, points[len(points)-1])
}
