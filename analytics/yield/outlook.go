package yield

import "math"

// outlook is what a tier says of one source today: its level, the value of the
// next trip, and moments of exp(value).
type outlook struct {
	level, levelVar float64 // posterior of the source's level
	nextVar         float64 // of the next value, whose mean is level
	bend            skewed  // standardised next value
	kurt            float64 // its excess
	noise2          float64 // E σ², of a trip of weight one
	common          float64 // share of levelVar that comes from the mean of the kind
	shift           float64 // level less what it would be if the source did not change
	// expNext and expSquare are the first two moments of exp(next value); expLevel2 and
	// expLevel3 are the second and third of E[exp(value) | level, σ]. Filled in by
	// exponentiate.
	expNext, expSquare, expLevel2, expLevel3 float64
}

// power are the first four moments about the prior mean of a next value.
type power [4]float64

// at returns the outlook of source i for a next trip of the given weight.
func (f *tier) at(i int, weight float64) outlook {
	var o outlook
	var sum power
	var level2, steady, steadyWeight, common float64
	kind := f.data.kind[i]
	for n := range f.nodes {
		nd := &f.nodes[n]
		s := f.state(i, nd)
		mean := s.y + (1-s.one)*(nd.mean[kind]-f.prior.mean)
		ofMean := (1 - s.one) * (1 - s.one) * nd.meanVar[kind]
		levelVar := s.p*nd.sigma2 + ofMean
		next := levelVar + nd.sigma2/weight
		// The part of the variance that scales with σ² has a spread of its own.
		scaled := next - ofMean
		next2 := next*next + scaled*scaled*(nd.sigma4/(nd.sigma2*nd.sigma2)-1)
		square := mean * mean
		sum[0] += nd.weight * mean
		sum[1] += nd.weight * (square + next)
		sum[2] += nd.weight * mean * (square + 3*next)
		sum[3] += nd.weight * (square*square + 6*square*next + 3*next2)
		level2 += nd.weight * (square + levelVar)
		o.noise2 += nd.weight * nd.sigma2
		common += nd.weight * ofMean
		if nd.memory == 0 {
			steady += nd.weight * mean
			steadyWeight += nd.weight
		}
	}
	switch {
	case steadyWeight > 0:
		o.shift = sum[0] - steady/steadyWeight
	case f.plain.mean != nil:
		s := f.still[i].rest(f.plain.ratio)
		o.shift = sum[0] - s.y - (1-s.one)*(f.plain.mean[kind]-f.prior.mean)
	}
	o.level = f.prior.mean + sum[0]
	o.levelVar = math.Max(0, level2-sum[0]*sum[0])
	o.common = min(1, common/math.Max(1e-18, o.levelVar))
	trips := o.noise2 / weight / math.Max(1e-18, sum[1]-sum[0]*sum[0]) // their part of the variance
	o.shape(sum, f.skew*min(1, trips)*math.Sqrt(min(1, trips)))
	return o
}

// state returns today's state of source i at node nd.
func (f *tier) state(i int, nd *node) filtered {
	if nd.memory == 0 {
		return f.still[i].rest(nd.ratio)
	}
	return nd.now[i]
}

// shape turns the moments of the next value into variance, skewness and excess;
// noiseSkew is what the trips themselves add to the skewness.
func (o *outlook) shape(m power, noiseSkew float64) {
	mean, variance := m[0], math.Max(1e-18, m[1]-m[0]*m[0])
	third := m[2] - 3*mean*m[1] + 2*mean*mean*mean
	fourth := m[3] - 4*mean*m[2] + 6*mean*mean*m[1] - 3*mean*mean*mean*mean
	o.nextVar = variance
	skew := third/(variance*math.Sqrt(variance)) + noiseSkew
	if math.Abs(skew) < 0.05 { // not worth an exponential for every value
		skew = 0
	}
	o.bend = newSkewed(0, 1, min(max(skew, -1), 1))
	o.kurt = fourth/(variance*variance) - 3
}

// exponentiate fills in the moments of exp(value), read off the grid: a few nodes
// with a wide spread between sources would make the exact means boundless, though
// no vehicle is.
func (o *outlook) exponentiate() {
	o.expNext, o.expSquare = 0, 0
	next := o.next()
	for j, z := range fine.z {
		v := math.Exp(next.at(z))
		o.expNext += fine.w[j] * v
		o.expSquare += fine.w[j] * v * v
	}
	doubt := math.Exp(o.levelVar)
	o.expLevel2 = o.expNext * o.expNext * doubt
	o.expLevel3 = o.expNext * o.expLevel2 * doubt * doubt
}

// curve is the next value over standard normal points: heavier tails by the
// third-order term of Cornish and Fisher 1937, then skewness by a shifted lognormal.
// Both are held where the value rises with the point.
type curve struct {
	level, sd, tail float64
	bend            skewed
}

// next returns the curve of the next value.
func (o *outlook) next() curve {
	return curve{o.level, math.Sqrt(o.nextVar), min(max(o.kurt, 0), 3) / 24, o.bend}
}

// at returns the value at the standard normal point z.
func (c *curve) at(z float64) float64 {
	return c.level + c.sd*c.bend.at(z+c.tail*(z*z*z-3*z))
}
