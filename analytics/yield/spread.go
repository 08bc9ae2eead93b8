package yield

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// spread is a variance of one pickup's residual with its degrees of freedom.
type spread struct {
	variance float64
	freedom  float64
}

// spreads is what all sources together say about how much one pickup of a
// source varies. Sources differ in that as well as in their means: a grocer's
// pallets are alike, a piano maker's crates are not. The variances are taken
// as drawn from a scaled inverse chi-squared law, whose location and degrees
// of freedom follow from the scatter of their logarithms, and each source's
// own variance is drawn towards the location by as much as that law is sure
// (the moderated variance of Smyth, Stat. Appl. Genet. Mol. Biol. 3(1):3,
// 2004, sec. 6, formulas from memory).
type spreads struct {
	pooled   spread  // all squared residuals over all degrees of freedom
	location float64 // what the law centres on
	prior    float64 // its degrees of freedom, +Inf where sources do not differ
}

// learnSpreads reads the spreads of the sources with two pickups or more.
func learnSpreads(all []*plainSum, of func(*plainSum) ratio) spreads {
	var s spreads
	var own []spread
	for _, p := range all {
		if r := of(p); r.n > 1 && r.sumX != 0 {
			d := float64(r.n - 1)
			own = append(own, spread{r.residual() / d, d})
			s.pooled.variance += r.residual()
			s.pooled.freedom += d
		}
	}
	if s.pooled.freedom > 0 {
		s.pooled.variance /= s.pooled.freedom
	}
	s.location, s.prior = s.pooled.variance, math.Inf(1)
	if len(own) > 1 && s.pooled.variance > 0 {
		s.fit(own)
	}
	return s
}

// fit finds location and prior by the moments of the logarithms.
func (s *spreads) fit(own []spread) {
	least := leastVariance(own)
	logs := make([]float64, len(own))
	mean, noise := 0.0, 0.0
	for i, o := range own {
		half := o.freedom / 2
		logs[i] = math.Log(math.Max(o.variance, least)) - mathext.Digamma(half) + math.Log(half)
		mean += logs[i] / float64(len(own))
		noise += trigamma(half) / float64(len(own))
	}
	scatter := -noise
	for _, l := range logs {
		scatter += (l - mean) * (l - mean) / float64(len(own)-1)
	}
	if scatter <= 0 {
		return // no more scatter than variances of equal sources have
	}
	half := trigammaInverse(scatter)
	s.prior = 2 * half
	s.location = math.Exp(mean + mathext.Digamma(half) - math.Log(half))
}

// leastVariance bounds what one source says about the others: pickups that are
// equal by rounding, or a source that always brings nothing, would drag the
// logarithms towards minus infinity. A fiftieth of the median is a rule of
// this program; the tests show what coverage comes of it.
func leastVariance(own []spread) float64 {
	positive := make([]float64, 0, len(own))
	for _, o := range own {
		if o.variance > 0 {
			positive = append(positive, o.variance)
		}
	}
	slices.Sort(positive)
	return positive[len(positive)/2] / 50
}

// of returns the spread to use for one source.
func (s spreads) of(r ratio) spread {
	d := float64(max(r.n-1, 0))
	if math.IsInf(s.prior, 1) {
		return s.pooled
	}
	own := 0.0
	if d > 0 {
		own = r.residual() / d
	}
	return spread{(s.prior*s.location + d*own) / (s.prior + d), math.Min(s.prior+d, s.pooled.freedom)}
}

// trigamma is the second derivative of ln Γ, the Hurwitz zeta function at 2.
func trigamma(x float64) float64 { return mathext.Zeta(2, x) }

// trigammaInverse solves trigamma(x) = y for y > 0 by bisection of ln x:
// trigamma falls from +Inf to 0.
func trigammaInverse(y float64) float64 {
	low, high := -30.0, 30.0
	for range 80 {
		if mid := (low + high) / 2; trigamma(math.Exp(mid)) > y {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Exp((low + high) / 2)
}
