package charts

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
	"gonum.org/v1/plot"
)

// PIT shows how well forecasts were calibrated: the probability integral
// transform of what happened under what was forecast, which is even from 0 to
// 1 when the forecasts were honest (Dawid 1984, Journal of the Royal
// Statistical Society A 147:278-292).
type PIT struct {
	// Title is the heading; "" means "How forecasts met the readings".
	Title string
	// What was forecast, as the axis calls it; "" means "reading".
	What string
	// Values lie from 0 to 1; others are left out.
	Values []float64
	// Bins is the number of bars, 2 to 50; 0 means 10, and what is out of
	// range the nearer end.
	Bins int
}

func (t PIT) heading() string { return orElse(t.Title, "How forecasts met the readings") }

// counts returns how many values fall into each bin, and how many in all.
func (t PIT) counts() (counts []int, n int) {
	bins := t.Bins
	if bins == 0 {
		bins = 10
	}
	counts = make([]int, min(max(bins, 2), 50))
	for _, v := range t.Values {
		if v >= 0 && v <= 1 {
			counts[min(int(v*float64(len(counts))), len(counts)-1)]++
			n++
		}
	}
	return counts, n
}

// expected returns the range that a bin of n honest forecasts falls into with
// about 90 %: the 5 % and 95 % quantiles of a binomial count.
func expected(n, bins int) (low, high float64) { return chance(n, 1/float64(bins)) }

// chance returns the range of a count among n where each counts with the
// probability p: the 5 % and 95 % quantiles of a binomial.
func chance(n int, p float64) (low, high float64) {
	b := distuv.Binomial{N: float64(n), P: p}
	quantile := func(q float64) float64 {
		from, to := 0, n
		for from < to {
			mid := (from + to) / 2
			if b.CDF(float64(mid)) >= q {
				to = mid
			} else {
				from = mid + 1
			}
		}
		return float64(from)
	}
	return quantile(0.05), quantile(0.95)
}

// enoughToTell is how many forecasts a reading of their picture needs.
const enoughToTell = 20

// Reading says in a sentence what the picture shows: whether more outcomes lie at
// the ends, in the middle, or to one side than chance explains at 5 % each.
func (t PIT) Reading() string {
	var n, ends, middle, low int
	for _, v := range t.Values {
		if !(v >= 0 && v <= 1) {
			continue
		}
		n++
		if v < 0.1 || v >= 0.9 {
			ends++
		}
		if v >= 0.4 && v < 0.6 {
			middle++
		}
		if v < 0.5 {
			low++
		}
	}
	over := func(count int, p float64) bool { _, most := chance(n, p); return float64(count) > most }
	switch {
	case n < enoughToTell:
		return fmt.Sprintf("Too few to tell: %s of at least %d.", count(n, "forecast", "forecasts"), enoughToTell)
	case over(ends, 0.2):
		return fmt.Sprintf("%s of outcomes fell in the lowest or highest tenth of their forecasts, where honest ones put 20 %%: the intervals are too narrow.", percent(float64(ends)/float64(n)))
	case over(middle, 0.2):
		return fmt.Sprintf("%s of outcomes fell in the middle fifth of their forecasts, where honest ones put 20 %%: the intervals are too wide.", percent(float64(middle)/float64(n)))
	case over(low, 0.5):
		return fmt.Sprintf("%s of outcomes fell in the lower half of their forecasts: they hoped for too much.", percent(float64(low)/float64(n)))
	case over(n-low, 0.5):
		return fmt.Sprintf("%s of outcomes fell in the upper half of their forecasts: they hoped for too little.", percent(float64(n-low)/float64(n)))
	}
	return "Nothing speaks against the forecasts: ends, middle and both halves hold as many outcomes as chance explains."
}

// Words counts the bars outside what chance explains.
func (t PIT) Words() string {
	counts, n := t.counts()
	if n == 0 {
		return t.empty()
	}
	low, high := expected(n, len(counts))
	out := 0
	for _, c := range counts {
		if float64(c) < low || float64(c) > high {
			out++
		}
	}
	return fmt.Sprintf("%s in %d bars; %d outside the 90 %% range of %s to %s that honest forecasts give each bar.",
		count(n, "forecast", "forecasts"), len(counts), out, plain(low, 0), plain(high, 0))
}

func (PIT) empty() string {
	return "No forecasts have come due yet. When what came can be compared with a forecast, this shows how honest it was."
}

func (t PIT) draw(p *pen) float64 {
	counts, n := t.counts()
	if n == 0 {
		return p.nothing(t.heading(), t.empty())
	}
	low, high := expected(n, len(counts))
	even := float64(n) / float64(len(counts))
	y := p.head(t.heading(), "Even bars mean honest forecasts; high ends mean bands too narrow, a high middle too wide.")
	y = p.key(y, []keyItem{
		{func(p *pen, b box) { p.bar(b) }, count(n, "forecast", "forecasts")},
		{lineSample(evenLine(p)), "even"},
		{lineSample(chanceLine(p)), "90 % of chance lies between"},
	})
	body := box{p.left(), y, p.inner(), p.plotHeight()}
	top := max(float64(slices.Max(counts)), high)
	fr := p.axes(body, percentScale(), scaleOf(0, top, 5))
	for i, c := range counts {
		x0, x1 := fr.x(float64(i)/float64(len(counts))), fr.x(float64(i+1)/float64(len(counts)))
		p.bar(box{x0 + 1, fr.y(float64(c)), x1 - x0 - 2, fr.y(0) - fr.y(float64(c))})
	}
	across := func(s stroke, v float64) {
		p.line(s, dot{fr.inside.x, fr.y(v)}, dot{fr.inside.x + fr.inside.w, fr.y(v)})
	}
	across(chanceLine(p), low)
	across(chanceLine(p), high)
	across(evenLine(p), even)
	across(stroke{ink: p.Soft, width: 1.25}, 0)
	return p.axisNote(body.y+body.h, "place of the "+clean(orElse(t.What, "reading"))+" in its forecast, percent")
}

func evenLine(p *pen) stroke   { return stroke{ink: p.Text, width: 1.75, dash: []float64{6, 3}} }
func chanceLine(p *pen) stroke { return stroke{ink: p.Text, width: 1.5, dash: []float64{1.5, 3}} }

// bar draws a bar of a histogram.
func (p *pen) bar(b box) {
	p.fill(p.Band, b)
	p.outline(stroke{ink: p.Accent, width: 1.25}, b)
}

// percentScale runs from 0 to 1 in words of percent.
func percentScale() scale {
	s := scale{min: 0, max: 1}
	for i := 0; i <= 4; i++ {
		s.ticks = append(s.ticks, plot.Tick{Value: float64(i) / 4, Label: plain(math.Round(float64(i)*25), 0)})
	}
	return s
}
