package charts

import (
	"fmt"
	"slices"
	"time"

	"gonum.org/v1/plot/vg/draw"
)

// Moisture is one reading.
type Moisture struct {
	When    time.Time
	Percent float64
	// Below and Above say that the meter only said "less" or "more".
	Below, Above bool
}

// Forecast is a day of the drying curve: the median and the band of
// DryingCurve.Within.
type Forecast struct {
	When           time.Time
	Median, Lo, Hi float64
	// EMC is the equilibrium the wood dries towards on that day; NaN leaves a
	// gap.
	EMC float64
}

// DryingCurve shows readings, the curve through them, its band, and what the
// wood dries towards.
type DryingCurve struct {
	// Title is the heading; "" means "Drying".
	Title    string
	Readings []Moisture
	Curve    []Forecast
	// Target is the moisture wanted, with its label; nil draws none.
	Target *Mark
	// ReadyFrom and ReadyTo bound the days on which the target is reached
	// with Within; both zero draws none.
	ReadyFrom, ReadyTo time.Time
	// Within is the percent of the band and of the ready days; 0 means 90.
	Within int
}

// within prints the percent of the band.
func (d DryingCurve) within() string {
	if d.Within == 0 {
		return "90 %"
	}
	return fmt.Sprintf("%d %%", d.Within)
}

func (d DryingCurve) heading() string { return orElse(d.Title, "Drying") }

func (d DryingCurve) readings() []Moisture {
	out := slices.DeleteFunc(slices.Clone(d.Readings), func(m Moisture) bool { return !drawable(m.Percent) || !datable(m.When) })
	slices.SortStableFunc(out, func(a, b Moisture) int { return a.When.Compare(b.When) })
	return out[max(0, len(out)-maxPoints):]
}

func (d DryingCurve) curve() []Forecast {
	out := slices.DeleteFunc(slices.Clone(d.Curve), func(f Forecast) bool { return !drawable(f.Median, f.Lo, f.Hi) || !datable(f.When) })
	slices.SortStableFunc(out, func(a, b Forecast) int { return a.When.Compare(b.When) })
	return thin(out)
}

// ready reports whether there is a span of ready days.
func (d DryingCurve) ready() bool {
	return !d.ReadyFrom.IsZero() && !d.ReadyTo.IsZero() && datable(d.ReadyFrom) && datable(d.ReadyTo) && !d.ReadyTo.Before(d.ReadyFrom)
}

// Words gives the last reading and when the target is reached.
func (d DryingCurve) Words() string {
	readings := d.readings()
	if len(readings) == 0 && len(d.curve()) == 0 {
		return d.empty()
	}
	s := "No readings yet."
	if n := len(readings); n > 0 {
		last := readings[n-1]
		s = fmt.Sprintf("%s; the last %s %% on %s.", count(n, "reading", "readings"), number(last.Percent), day(last.When))
	}
	if d.Target != nil && drawable(d.Target.Value) {
		s += fmt.Sprintf(" Target %s %%.", number(d.Target.Value))
	}
	if d.ready() {
		s += fmt.Sprintf(" Ready between %s and %s with %s.", day(d.ReadyFrom), day(d.ReadyTo), d.within())
	}
	return s
}

func (DryingCurve) empty() string {
	return "No readings yet. Take a moisture reading, and the drying curve begins here."
}

func (d DryingCurve) draw(p *pen) float64 {
	readings, curve := d.readings(), d.curve()
	if len(readings) == 0 && len(curve) == 0 {
		return p.nothing(d.heading(), d.empty())
	}
	y := p.head(d.heading(), "Moisture in percent of oven-dry mass")
	y = p.key(y, d.keyItems(p, curve))
	from, to, low, high := d.extent(readings, curve)
	_, dates := p.ticksAcross()
	body := box{p.left(), y, p.inner(), p.plotHeight()}
	fr := p.axes(body, padTime(from, to, dates), scaleOf(low, high, 6))
	p.readyDays(fr, d)
	p.forecast(fr, curve)
	if d.Target != nil && drawable(d.Target.Value) {
		at := fr.y(d.Target.Value)
		p.line(targetLine(p), dot{fr.inside.x, at}, dot{fr.inside.x + fr.inside.w, at})
	}
	for _, m := range readings {
		p.reading(fr, m)
	}
	return body.y + body.h + margin
}

// extent returns the times and percents that must be on the axes.
func (d DryingCurve) extent(readings []Moisture, curve []Forecast) (from, to time.Time, low, high float64) {
	first := true
	add := func(t time.Time, values ...float64) {
		if first {
			from, to, low, high, first = t, t, values[0], values[0], false
		}
		if t.Before(from) {
			from = t
		}
		if t.After(to) {
			to = t
		}
		low, high = min(low, slices.Min(values)), max(high, slices.Max(values))
	}
	for _, m := range readings {
		add(m.When, m.Percent)
	}
	for _, f := range curve {
		add(f.When, f.Lo, f.Hi, f.Median)
		if drawable(f.EMC) {
			add(f.When, f.EMC)
		}
	}
	if d.Target != nil && drawable(d.Target.Value) {
		low, high = min(low, d.Target.Value), max(high, d.Target.Value)
	}
	if d.ready() {
		add(d.ReadyFrom, high)
		add(d.ReadyTo, high)
	}
	return from, to, low, high
}

func targetLine(p *pen) stroke { return stroke{ink: p.Inside, width: 1.75, dash: []float64{6, 3}} }
func emcLine(p *pen) stroke    { return stroke{ink: p.Hold, width: 1.75, dash: []float64{2, 3}} }

// forecast draws band, median and equilibrium.
func (p *pen) forecast(fr frame, curve []Forecast) {
	var upper, lower, median, emc []dot
	for _, f := range curve {
		x := fr.x(seconds(f.When))
		upper, lower = append(upper, dot{x, fr.y(max(f.Lo, f.Hi))}), append(lower, dot{x, fr.y(min(f.Lo, f.Hi))})
		median = append(median, dot{x, fr.y(f.Median)})
	}
	slices.Reverse(lower)
	p.area(p.Band, append(upper, lower...)...)
	for _, f := range curve {
		if drawable(f.EMC) {
			emc = append(emc, dot{fr.x(seconds(f.When)), fr.y(f.EMC)})
			continue
		}
		p.line(emcLine(p), emc...)
		emc = nil
	}
	p.line(emcLine(p), emc...)
	p.line(stroke{ink: p.Accent, width: 2.25}, median...)
}

// readyDays marks the span of days on which the target is reached.
func (p *pen) readyDays(fr frame, d DryingCurve) {
	if !d.ready() {
		return
	}
	from, to := fr.x(seconds(d.ReadyFrom)), fr.x(seconds(d.ReadyTo))
	b := box{from, fr.inside.y, max(to-from, 2), fr.inside.h}
	for _, x := range []float64{b.x, b.x + b.w} {
		p.line(stroke{ink: p.Inside, width: 1.25}, dot{x, b.y}, dot{x, b.y + b.h})
	}
	p.fill(p.Inside, box{b.x, b.y + b.h - 5, b.w, 5})
}

// reading draws one reading: a disc, or an arrow head where the meter only said
// less or more.
func (p *pen) reading(fr frame, m Moisture) {
	at := dot{fr.x(seconds(m.When)), fr.y(m.Percent)}
	switch {
	case m.Below:
		p.area(p.Text, dot{at.x - 4.5, at.y - 3}, dot{at.x + 4.5, at.y - 3}, dot{at.x, at.y + 5})
	case m.Above:
		p.area(p.Text, dot{at.x - 4.5, at.y + 3}, dot{at.x + 4.5, at.y + 3}, dot{at.x, at.y - 5})
	default:
		p.disc(at, 3.75, p.Text, stroke{ink: p.Ground, width: 1})
	}
}

func (d DryingCurve) keyItems(p *pen, curve []Forecast) []keyItem {
	items := []keyItem{{func(p *pen, b box) { p.disc(dot{b.x + b.w/2, b.y + b.h/2}, 3.75, p.Text, stroke{}) }, "reading"}}
	for _, m := range []struct {
		is    func(Moisture) bool
		glyph draw.GlyphDrawer
		words string
	}{
		{func(m Moisture) bool { return m.Below }, arrowDown, "at most"},
		{func(m Moisture) bool { return m.Above }, arrowUp, "at least"},
	} {
		if slices.ContainsFunc(d.Readings, m.is) {
			items = append(items, keyItem{glyphSample(m.glyph, p.Text), m.words})
		}
	}
	if len(curve) > 0 {
		items = append(items, keyItem{func(p *pen, b box) {
			p.fill(p.Band, b)
			lineSample(stroke{ink: p.Accent, width: 2.25})(p, b)
		}, "median, " + d.within() + " likely"})
	}
	if slices.ContainsFunc(curve, func(f Forecast) bool { return drawable(f.EMC) }) {
		items = append(items, keyItem{lineSample(emcLine(p)), "dries towards"})
	}
	if d.Target != nil && drawable(d.Target.Value) {
		items = append(items, keyItem{lineSample(targetLine(p)), orElse(d.Target.Label, "target") + " " + number(d.Target.Value) + " %"})
	}
	if d.ready() {
		items = append(items, keyItem{func(p *pen, b box) { p.fill(p.Inside, box{b.x, b.y + 4, b.w, 5}) },
			"ready " + d.ReadyFrom.Format("2 Jan") + " to " + d.ReadyTo.Format("2 Jan 2006") + " (" + d.within() + ")"})
	}
	return items
}
