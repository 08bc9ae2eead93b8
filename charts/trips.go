package charts

import (
	"fmt"
	"slices"
	"time"
)

// Trip is one drive.
type Trip struct {
	When  time.Time
	Value float64
	// Empty says that nothing came home, Estimated that the value is the keeper's
	// estimate or not decided yet.
	Empty, Estimated bool
	// Planned is what was expected of it the day before, with its 90 % interval;
	// nil where nothing was.
	Planned *Interval
}

// planned reports whether there is a forecast to draw.
func (t Trip) planned() bool { return t.Planned != nil && t.Planned.known() }

// Trips shows one source's drives over time.
type Trips struct {
	// Title is the heading; "" means "Drives over time".
	Title string
	// Unit stands at the axis: "board feet".
	Unit  string
	Trips []Trip
	// Mean is drawn as a line with its 90 % interval; nil draws none.
	Mean *Interval
}

func (t Trips) heading() string { return orElse(t.Title, "Drives over time") }

// usable returns the drawable drives in order of time, the latest ones where
// there are more than a picture can show.
func (t Trips) usable() []Trip {
	out := slices.DeleteFunc(slices.Clone(t.Trips), func(d Trip) bool { return !drawable(d.Value) || !datable(d.When) })
	slices.SortStableFunc(out, func(a, b Trip) int { return a.When.Compare(b.When) })
	return out[max(0, len(out)-maxPoints):]
}

// Words counts drives and empty ones.
func (t Trips) Words() string {
	trips := t.usable()
	if len(trips) == 0 {
		return t.empty()
	}
	nothing, best := 0, trips[0]
	for _, d := range trips {
		if d.Empty {
			nothing++
		}
		if d.Value > best.Value {
			best = d
		}
	}
	s := fmt.Sprintf("%s from %s to %s, %s empty-handed; the best %s %s on %s.", count(len(trips), "drive", "drives"),
		day(trips[0].When), day(trips[len(trips)-1].When), count(nothing, "of them", "of them"), number(best.Value), clean(t.Unit), day(best.When))
	forecast, inside := 0, 0
	for _, d := range trips {
		if d.planned() {
			forecast++
			if d.Value >= d.Planned.Lo90 && d.Value <= d.Planned.Hi90 {
				inside++
			}
		}
	}
	if forecast > 0 {
		s += fmt.Sprintf(" %d of %s fell inside the 90 %% interval planned the day before.", inside, count(forecast, "drive", "drives"))
	}
	if t.Mean != nil && t.Mean.known() {
		s += fmt.Sprintf(" Mean %s, 90 %% interval %s to %s.", number(t.Mean.Mean), number(t.Mean.Lo90), number(t.Mean.Hi90))
	}
	return s
}

func (Trips) empty() string {
	return "No drives yet. Log a pickup at this source, an empty-handed one too, and it appears here."
}

func (t Trips) draw(p *pen) float64 {
	trips := t.usable()
	if len(trips) == 0 {
		return p.nothing(t.heading(), t.empty())
	}
	y := p.head(t.heading(), clean(t.Unit))
	y = p.key(y, t.keyItems(p, trips))
	_, dates := p.ticksAcross()
	body := box{p.left(), y, p.inner(), p.plotHeight()}
	fr := p.axes(body, padTime(trips[0].When, trips[len(trips)-1].When, dates), t.scale(trips))
	if t.Mean != nil && t.Mean.known() {
		low, high := fr.y(min(t.Mean.Lo90, t.Mean.Hi90)), fr.y(max(t.Mean.Lo90, t.Mean.Hi90))
		p.fill(p.Band, box{fr.inside.x, high, fr.inside.w, low - high})
		p.line(stroke{ink: p.Accent, width: 1.5, dash: []float64{6, 3}}, dot{fr.inside.x, fr.y(t.Mean.Mean)}, dot{fr.inside.x + fr.inside.w, fr.y(t.Mean.Mean)})
	}
	p.line(stroke{ink: p.Soft, width: 1.25}, dot{fr.inside.x, fr.y(0)}, dot{fr.inside.x + fr.inside.w, fr.y(0)})
	for _, d := range trips {
		if d.planned() {
			p.planned(dot{fr.x(seconds(d.When)), 0}, fr.y(d.Planned.Lo90), fr.y(d.Planned.Hi90), fr.y(d.Planned.Mean))
		}
	}
	for _, d := range trips {
		p.trip(fr, d)
	}
	return body.y + body.h + margin
}

// padTime leaves a little room before the first and after the last moment, so
// that their marks are whole.
func padTime(from, to time.Time, n int) scale {
	pad := max(to.Sub(from)/40, 24*time.Hour)
	return timeScale(from.Add(-pad), to.Add(pad), n)
}

func (t Trips) scale(trips []Trip) scale {
	low, high := 0.0, 0.0
	for _, d := range trips {
		low, high = min(low, d.Value), max(high, d.Value)
		if d.planned() {
			low, high = min(low, d.Planned.Lo90), max(high, d.Planned.Hi90)
		}
	}
	if t.Mean != nil && t.Mean.known() {
		low, high = min(low, t.Mean.Lo90, t.Mean.Hi90), max(high, t.Mean.Lo90, t.Mean.Hi90)
	}
	return scaleOf(low, high, 6)
}

// planned draws a forecast as an upright line with a bar at its mean, beside the
// drive's own place so that both are seen.
func (p *pen) planned(at dot, low, high, mean float64) {
	const aside, half = 5, 3
	x := at.x - aside
	p.line(stroke{ink: p.Soft, width: 1.5}, dot{x, low}, dot{x, high})
	for _, y := range []float64{low, high} {
		p.line(stroke{ink: p.Soft, width: 1.5}, dot{x - half, y}, dot{x + half, y})
	}
	p.line(stroke{ink: p.Soft, width: 3}, dot{x - half, mean}, dot{x + half, mean})
}

// trip draws one drive: a stem with a disc, hollow for an estimate, a cross for an
// empty-handed drive, which may have cost something.
func (p *pen) trip(fr frame, d Trip) {
	at := dot{fr.x(seconds(d.When)), fr.y(d.Value)}
	if d.Empty {
		p.line(stroke{ink: p.Cost, width: 1.25}, dot{at.x, fr.y(0)}, at)
		p.mark(notOursGlyph, at, 5, p.Cost)
		return
	}
	p.line(stroke{ink: p.Accent, width: 1.25}, dot{at.x, fr.y(0)}, at)
	if d.Estimated {
		p.disc(at, 4, p.Ground, stroke{ink: p.Accent, width: 1.75})
		return
	}
	p.disc(at, 4.5, p.Accent, stroke{ink: p.Ground, width: 1})
}

func (t Trips) keyItems(p *pen, trips []Trip) []keyItem {
	items := []keyItem{{func(p *pen, b box) { p.disc(dot{b.x + b.w/2, b.y + b.h/2}, 4.5, p.Accent, stroke{}) }, "measured"}}
	if slices.ContainsFunc(trips, func(d Trip) bool { return d.Estimated && !d.Empty }) {
		items = append(items, keyItem{func(p *pen, b box) {
			p.disc(dot{b.x + b.w/2, b.y + b.h/2}, 4, p.Ground, stroke{ink: p.Accent, width: 1.75})
		}, "estimated or on hold"})
	}
	if slices.ContainsFunc(trips, Trip.planned) {
		items = append(items, keyItem{func(p *pen, b box) {
			p.planned(dot{b.x + b.w/2 + 5, 0}, b.y+b.h, b.y, b.y+b.h/2)
		}, "planned, 90 % likely"})
	}
	if slices.ContainsFunc(trips, func(d Trip) bool { return d.Empty }) {
		items = append(items, keyItem{glyphSample(notOursGlyph, p.Cost), "empty-handed"})
	}
	if t.Mean != nil && t.Mean.known() {
		items = append(items, keyItem{func(p *pen, b box) {
			p.fill(p.Band, b)
			lineSample(stroke{ink: p.Accent, width: 1.5, dash: []float64{6, 3}})(p, b)
		}, "mean " + number(t.Mean.Mean) + ", 90 % likely"})
	}
	return items
}
