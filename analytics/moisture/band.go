package moisture

import (
	"math"
	"time"
)

// Band is the moisture at one time: the median and an 80 % interval, percent,
// with the equilibrium moisture of the air.
type Band struct {
	At                time.Time
	Low, Median, High float64
	EMC               float64
}

// Moisture returns the band of the stack's mean moisture at t. Before Start the
// curve is that of the same air reckoned backwards from Start, which says
// little; ask from Start on.
func (p *Posterior) Moisture(t time.Time) Band { return p.band(p.air(), t) }

// Curve returns n bands evenly spaced from one time to another, for a chart. n
// below 2 gives the first time only.
func (p *Posterior) Curve(from, to time.Time, n int) []Band {
	air := p.air()
	if n < 2 {
		return []Band{p.band(air, from)}
	}
	out := make([]Band, n)
	step := to.Sub(from) / time.Duration(n-1)
	for i := range out {
		out[i] = p.band(air, from.Add(step*time.Duration(i)))
	}
	return out
}

// component is one normal distribution of the mixture at a time.
type component struct{ weight, mean, sd float64 }

// band mixes the nodes at t and reads the quantiles off the mixture.
func (p *Posterior) band(air *air, t time.Time) Band {
	day := max(p.dayOf(t), 0)
	var parts []component
	var mean, second float64
	for _, r := range p.rates {
		at := air.at(r.k, day)
		for _, n := range r.nodes {
			m, v := n.at(at)
			parts = append(parts, component{n.weight, m, math.Sqrt(max(v, 1e-12))})
			mean, second = mean+n.weight*m, second+n.weight*(m*m+v)
		}
	}
	sd := math.Sqrt(max(second-mean*mean, 1e-12))
	return Band{
		At: t, Low: mixtureQuantile(parts, notBeforeP, mean, sd),
		Median: mixtureQuantile(parts, likelyP, mean, sd), High: mixtureQuantile(parts, byP, mean, sd),
		EMC: p.climate.At(t) + p.EMCShift.Mean,
	}
}

// mixtureQuantile finds a quantile of a mixture with the given mean and
// standard deviation.
func mixtureQuantile(parts []component, level, mean, sd float64) float64 {
	f := func(x float64) float64 {
		var sum float64
		for _, c := range parts {
			sum += c.weight * normalCDF((x-c.mean)/c.sd)
		}
		return sum - level
	}
	// Cantelli's inequality bounds the 10 and 90 % quantiles by three standard
	// deviations; a little more covers the dropped weights.
	low, high := mean-4*sd, mean+4*sd
	return rootBetween(low, high, f(low), f(high), 1e-4*max(sd, 0.01), f)
}
