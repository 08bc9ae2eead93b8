package yield

import (
	"cmp"
	"math"
	"slices"
)

// line is a part of a forecast: a·Q − b for a positive quantity Q, with the
// probability w.
type line struct {
	of      *table
	a, b, w float64
	per     float64 // 1/a, filled in by prepare
}

// forecast is a mixture of lines and at most one atom: a value with a
// probability of its own, as an empty-handed drive has.
type forecast struct {
	lines []line
	atom  float64
	atomW float64
	marks [markCount]mark // of the lines alone, rising
}

// mark is a point of the distribution of the lines. A probability of NaN has not been
// asked for yet.
type mark struct{ x, p float64 }

// markCount is how many marks bracket the quantiles.
const markCount = 14

// below returns the probability that the lines give to less than x; prepare comes
// first.
func (f *forecast) below(x float64) float64 {
	var sum float64
	for i := range f.lines {
		l := &f.lines[i]
		y := x + l.b
		if l.a == 0 {
			if y > 0 {
				sum += l.w
			}
			continue
		}
		// The table is read here and not by a call: this is most of the work of a forecast.
		p, v := 0.0, y*l.per
		switch t := l.of; {
		case v <= t.least:
		case v >= t.most:
			p = 1
		default:
			at := (aboutLog(v) - t.low) * t.perStep
			k := min(max(int(at), 0), tableSteps-1)
			p = t.upTo[k] + (t.upTo[k+1]-t.upTo[k])*(at-float64(k))
		}
		// A line of negative slope (wood that costs more time than it is worth) falls
		// with the volume: it is below x where the volume is large.
		if l.a < 0 {
			p = 1 - p
		}
		sum += l.w * p
	}
	return sum
}

// prepare lays marks between the extremes of the lines, closer around the middle. Five
// quantiles are asked of every forecast, and each would look for its bracket again.
func (f *forecast) prepare() {
	low, high := math.Inf(1), math.Inf(-1)
	var centre, total float64
	for i := range f.lines {
		l := &f.lines[i]
		l.per = 1 / l.a
		one, other := l.a*l.of.least-l.b, l.a*l.of.most-l.b
		low, high = min(low, one, other), max(high, one, other)
		centre += l.w * (l.a*l.of.mean - l.b)
		total += l.w
	}
	if total > 0 {
		centre /= total
	}
	// Outward from the centre the steps grow as a power, to both extremes.
	for i, out := range markOut {
		f.marks[i] = mark{centre - (centre-low)*out, math.NaN()}
		f.marks[markCount-1-i] = mark{centre + (high-centre)*out, math.NaN()}
	}
}

// markOut says how far out the marks lie to either side, the extremes first, as
// shares of the way from the centre. Read only.
var markOut = func() (out [markCount / 2]float64) {
	for i := range out {
		out[i] = math.Pow((float64(len(out)-i)-0.5)/(float64(len(out))-0.5), 3.5)
	}
	return out
}()

// mark returns a mark with its probability.
func (f *forecast) mark(i int) mark {
	m := &f.marks[i]
	if math.IsNaN(m.p) {
		m.p = f.below(m.x)
	}
	return *m
}

// bracket returns the two neighbouring marks between which the lines reach the
// probability q; the first two where it is reached before, the last two where it never
// is. It halves, since marks rise and cost a look at every line.
func (f *forecast) bracket(q float64) (a, b mark) {
	low, high := 1, markCount-1
	for low < high {
		if middle := (low + high) / 2; f.mark(middle).p < q {
			low = middle + 1
		} else {
			high = middle
		}
	}
	return f.mark(low - 1), f.mark(low)
}

// onLines returns where the lines alone reach the probability q, by regula falsi
// with halving (the Illinois method) between two marks.
func (f *forecast) onLines(q float64) float64 {
	if len(f.lines) == 0 {
		return f.atom
	}
	a, b := f.bracket(q)
	a.p, b.p = a.p-q, b.p-q
	if a.p >= 0 {
		return a.x
	}
	if b.p <= 0 {
		return b.x
	}
	// A thousandth of a percent of the range is far below a cent that matters; a
	// ten-thousandth of probability is far below what is known.
	width := 1e-3 * (f.marks[markCount-1].x - f.marks[0].x)
	side := 0
	for range 12 {
		m := mark{x: (a.x*b.p - b.x*a.p) / (b.p - a.p)}
		m.p = f.below(m.x) - q
		if math.Abs(m.p) < 1e-4 || b.x-a.x < 1e-3*width {
			return m.x
		}
		// Halving the value at the end that stays twice keeps the secant from creeping.
		if m.p < 0 {
			a = m
			if side == -1 {
				b.p /= 2
			}
			side = -1
		} else {
			b = m
			if side == 1 {
				a.p /= 2
			}
			side = 1
		}
	}
	return (a.x*b.p - b.x*a.p) / (b.p - a.p)
}

// cdf returns the probabilities of less than x and of no more than x.
func (f *forecast) cdf(x float64) Bounds {
	b := Bounds{Low: f.below(x)}
	if f.atomW > 0 && x > f.atom {
		b.Low += f.atomW
	}
	b.High = b.Low
	if f.atomW > 0 && x == f.atom {
		b.High += f.atomW
	}
	return b
}

// quantile returns the q-quantile, where under is the probability below the atom.
func (f *forecast) quantile(q, under float64) float64 {
	switch {
	case f.atomW == 0 || q < under:
		return f.onLines(q)
	case q <= under+f.atomW:
		return f.atom
	default:
		return f.onLines(q - f.atomW)
	}
}

// interval returns an interval that holds the given probability: with equal
// tails where there are two, and where the atom fills one tail, with the other
// tail as large as is left. Equal tails would then hold more than they say.
func (f *forecast) interval(hold, under float64) Bounds {
	inAtom := func(q float64) bool { return f.atomW > 0 && q >= under && q <= under+f.atomW }
	low, high := (1-hold)/2, (1+hold)/2
	switch lowIn, highIn := inAtom(low), inAtom(high); {
	case lowIn && highIn: // nothing else is likely enough
	case lowIn:
		high = min(1, under+hold)
	case highIn:
		low = max(0, under+f.atomW-hold)
	}
	return Bounds{f.quantile(low, under), f.quantile(high, under)}
}

// spread sums the forecast up around a mean that is known more exactly.
func (f *forecast) spread(mean float64) Spread {
	f.prepare()
	first, second := f.atomW*f.atom, f.atomW*f.atom*f.atom
	// The variance comes from the moments of the lines, not from the quantiles.
	for i := range f.lines {
		l := &f.lines[i]
		first += l.w * (l.a*l.of.mean - l.b)
		second += l.w * (l.a*l.a*l.of.square - 2*l.a*l.b*l.of.mean + l.b*l.b)
	}
	under := 0.0
	if f.atomW > 0 {
		under = f.below(f.atom)
	}
	return Spread{
		Mean: mean, SD: math.Sqrt(math.Max(0, second-first*first)),
		Median: f.quantile(0.5, under), Half: f.interval(0.5, under), Most: f.interval(0.9, under),
	}
}

// mass is a weighted point.
type mass struct{ x, w float64 }

// crps returns the continuous ranked probability score of the outcome y,
// E|X − y| − E|X − X'|/2, with each line taken as points of equal probability.
// Source: Gneiting and Raftery 2007, JASA 102:359-378, equation 21.
func (f *forecast) crps(y float64) float64 {
	const parts = 32
	all := []mass{{f.atom, f.atomW}}
	for _, l := range f.lines {
		for k := range parts {
			all = append(all, mass{l.a*l.of.quantile((float64(k)+0.5)/parts) - l.b, l.w / parts})
		}
	}
	slices.SortFunc(all, func(a, b mass) int { return cmp.Compare(a.x, b.x) })
	var away, apart, before, sumBefore float64
	for _, p := range all {
		away += p.w * math.Abs(p.x-y)
		apart += p.w * (before*p.x - sumBefore) // Σ over pairs, each once
		before += p.w
		sumBefore += p.w * p.x
	}
	return away - apart
}

// skewed is a distribution known by three moments: a shifted lognormal, or its
// mirror image, with the normal between them.
type skewed struct{ base, scale, sigma float64 }

// newSkewed matches mean, variance and skewness.
func newSkewed(mean, variance, skew float64) skewed {
	sd := math.Sqrt(math.Max(0, variance))
	if sd == 0 || math.Abs(skew) < 0.01 {
		return skewed{base: mean, scale: sd}
	}
	// (ω+2)·√(ω−1) = |skew| is a cubic in ω with one real root.
	s2 := skew * skew
	root := math.Cbrt((s2 + 2 + math.Sqrt(s2*(s2+4))) / 2)
	omega := root + 1/root - 1
	sigma := math.Sqrt(math.Log(omega))
	scale := math.Copysign(sd/math.Sqrt(omega*(omega-1)), skew)
	return skewed{base: mean - scale*math.Sqrt(omega), scale: scale, sigma: math.Copysign(sigma, skew)}
}

// at returns the value at the standard normal point z.
func (s skewed) at(z float64) float64 {
	if s.sigma == 0 {
		return s.base + s.scale*z
	}
	return s.base + s.scale*math.Exp(s.sigma*z)
}

// normalHalf and normalMost are the normal quantiles of 0.75 and 0.95.
const normalHalf, normalMost = 0.6744897501960817, 1.6448536269514722

// spread sums the distribution up.
func (s skewed) spread(mean, variance float64) Spread {
	return Spread{
		Mean: mean, SD: math.Sqrt(math.Max(0, variance)), Median: s.at(0),
		Half: Bounds{s.at(-normalHalf), s.at(normalHalf)}, Most: Bounds{s.at(-normalMost), s.at(normalMost)},
	}
}
