package yield

import "math"

// A tier is one part of a trip's outcome on a scale where it is about normal:
//
//	y = level of the source at that time + error,  error ~ N(0, σ²/w)
//	level ~ N(mean of its kind, τ²), with correlation exp(−Δ/L) over a time Δ
//	mean of a kind ~ N(M, ω²),  M ~ N(prior mean, k·σ²)
//	σ² ~ scaled inverse χ² with priorFreedom degrees of freedom
//
// M, the kinds' means and σ² are integrated in closed form; τ/σ, ω/σ and the
// memory L (endless for a source that does not change) on nodes. The model is the
// normal-normal one of Gelman et al., Bayesian Data Analysis, chapters 5 and 15;
// the changing level is a stationary first-order autoregression filtered as in
// Durbin and Koopman, Time Series Analysis by State Space Methods.

// tierPrior is what is believed of a tier before any trip is seen. The figures
// are common practice, no source; they count as much as priorFreedom trips.
type tierPrior struct {
	mean, meanSD float64 // of M
	noise        float64 // typical σ
	ratio        float64 // scale of τ/σ, a half-t with priorTails degrees of freedom
	kinds        float64 // scale of ω/σ, a half-normal
	skew         float64 // of the error of a trip
	drifts       bool    // whether a memory is tried
}

const (
	// priorFreedom weighs the prior of σ² like so many trips.
	priorFreedom = 8
	// priorTails keeps the prior of τ/σ open to sources that differ widely.
	priorTails = 4
	// priorSteady is the belief that sources do not change.
	priorSteady = 0.6
	// priorAlike is the belief that kinds of business make no difference.
	priorAlike = 0.4
)

// memories are the correlation times L tried for sources that change, in
// years; kindRatios the values of ω/σ tried where kinds differ.
var (
	memories   = []float64{3, 1, 1.0 / 3}
	kindRatios = []float64{0.15, 0.35, 0.6, 0.9, 1.3}
)

// series are the observations of one tier, source by source, oldest first.
type series struct {
	start   []int     // source i has observations start[i] to start[i+1]
	y, w, t []float64 // value, weight, time in years
	v       []float64 // 1/w
	kind    []int     // of each source
	kinds   int       // number of kinds
	today   float64   // years
}

func (s *series) sources() int { return len(s.start) - 1 }

// node is one point of the quadrature: a ratio τ/σ and a memory (0 = endless).
type node struct {
	ratio, memory, weight float64
	sums                  sums
	sigma2, sigma4        float64   // E σ², E σ⁴
	mean, meanVar         []float64 // of each kind's mean
	freshMean, freshVar   float64   // of a kind not seen
}

// sums are what one node needs of the data, in units of σ².
type sums struct {
	a, b   []float64 // per kind: 1'V⁻¹1 and 1'V⁻¹y
	c      float64   // y'V⁻¹y over all sources
	logDet float64   // of V over all sources, up to a constant
}

// still are the sums of one source that do not depend on the node.
type still struct{ w, wy, wyy float64 }

// tier is a fitted tier.
type tier struct {
	data   *series
	prior  tierPrior
	still  []still
	n      float64 // observations
	kinds  []float64
	nodes  []node
	steady float64               // probability that sources do not change
	skew   float64               // of the error of a trip
	kept   map[float64][]float64 // by memory
	plain  node                  // the heaviest of sources that do not change
	// logWeights are Σ log w of each source.
	logWeights []float64
}

// fitTier learns from data. byKind says that kinds may have means of their own.
func fitTier(data *series, prior tierPrior, byKind bool) *tier {
	f := &tier{data: data, prior: prior, n: float64(len(data.y)), kinds: []float64{0}, steady: 1}
	if byKind {
		f.kinds = append(f.kinds, kindRatios...)
	}
	f.still = make([]still, data.sources())
	for i := range f.still {
		s := &f.still[i]
		for j := data.start[i]; j < data.start[i+1]; j++ {
			// Counting from the prior mean keeps the sums of squares small.
			y := data.y[j] - prior.mean
			s.w += data.w[j]
			s.wy += data.w[j] * y
			s.wyy += data.w[j] * y * y
		}
	}
	f.layRatios()
	f.nodes = prune(f.nodes)
	if prior.drifts {
		f.addMemories()
	}
	var sigma2 float64
	for i := range f.nodes {
		f.finish(&f.nodes[i])
		sigma2 += f.nodes[i].weight * f.nodes[i].sigma2
	}
	f.skew = f.errorSkew(sigma2)
	return f
}

// errorSkew estimates the skewness of a trip's error from the third powers of
// residuals about each source's mean, which are unbiased once divided by
// (n−1)(n−2)/n, and draws it towards the prior as if that had been seen in
// skewTrips trips.
func (f *tier) errorSkew(sigma2 float64) float64 {
	const skewTrips = 40 // the variance of a sample skewness is 6/n: give or take 0.4
	var cubes, trips float64
	d := f.data
	for i, s := range f.still {
		n := float64(d.start[i+1] - d.start[i])
		if n < 3 {
			continue
		}
		mean := f.prior.mean + s.wy/s.w
		for j := d.start[i]; j < d.start[i+1]; j++ {
			e := (d.y[j] - mean) * math.Sqrt(d.w[j])
			cubes += e * e * e
		}
		trips += (n - 1) * (n - 2) / n
	}
	return (cubes/(sigma2*math.Sqrt(sigma2)) + skewTrips*f.prior.skew) / (trips + skewTrips)
}

// Ratios τ/σ from smallest to largest are laid evenly in their logarithm.
const smallestRatio, largestRatio = 0.03, 8

// layRatios lays nodes over τ/σ: first over the whole range, then closer where
// few of them carry the mass.
func (f *tier) layRatios() {
	low, high := math.Log(smallestRatio), math.Log(largestRatio)
	for range 4 {
		const nodes = 15
		f.nodes = make([]node, nodes)
		logs := make([]float64, nodes)
		step := (high - low) / (nodes - 1)
		top := math.Inf(-1)
		for i := range f.nodes {
			ratio := math.Exp(low + float64(i)*step)
			f.nodes[i] = node{ratio: ratio, sums: f.stillSums(ratio)}
			logs[i] = f.logWeight(f.nodes[i].sums) + f.logRatio(ratio)
			top = math.Max(top, logs[i])
		}
		first, last := 0, nodes-1
		for logs[first] < top-7 {
			first++
		}
		for logs[last] < top-7 {
			last--
		}
		low, high = low+float64(max(0, first-1))*step, low+float64(min(nodes-1, last+1))*step
		normalise(logs)
		for i := range f.nodes {
			f.nodes[i].weight = logs[i]
		}
		if last-first >= 6 {
			break
		}
	}
}

// logRatio is the log prior density of τ/σ per unit of its logarithm.
func (f *tier) logRatio(r float64) float64 {
	x := r / f.prior.ratio
	return math.Log(r) - (priorTails+1)/2*math.Log1p(x*x/priorTails)
}

// prune drops nodes that carry next to nothing and scales the rest to sum 1.
func prune(nodes []node) []node {
	kept := nodes[:0]
	var sum float64
	for _, n := range nodes {
		if n.weight > 1e-3 {
			kept = append(kept, n)
			sum += n.weight
		}
	}
	for i := range kept {
		kept[i].weight /= sum
	}
	return kept
}

// stillSums adds up the sums of all sources for sources that do not change:
// V = diag(1/w) + λ·11', inverted by the rank-one formula.
func (f *tier) stillSums(ratio float64) sums {
	lambda := ratio * ratio
	s := sums{a: make([]float64, f.data.kinds), b: make([]float64, f.data.kinds)}
	product := 1.0
	for i, t := range f.still {
		if t.w == 0 {
			continue
		}
		k, d := f.data.kind[i], 1/(1+lambda*t.w)
		s.a[k] += t.w * d
		s.b[k] += t.wy * d
		s.c += t.wyy - lambda*t.wy*t.wy*d
		product *= d
		if product < 1e-200 {
			s.logDet -= math.Log(product)
			product = 1
		}
	}
	s.logDet -= math.Log(product)
	return s
}

// shape is the posterior of M and σ² for one node and one ω/σ.
type shape struct {
	log      float64 // log marginal likelihood, up to a constant
	m, mVar  float64 // of M, counted from the prior mean; mVar in units of σ²
	rest     float64 // residual sum of squares with the prior's
	kindVar  float64 // ω²/σ²
	weight   float64
	precedes float64 // 1/k, the prior precision of M in units of σ²
}

// shapeOf integrates the kinds' means, M and σ².
func (f *tier) shapeOf(s sums, kindRatio float64) shape {
	sh := shape{kindVar: kindRatio * kindRatio}
	sh.precedes = f.prior.noise * f.prior.noise / (f.prior.meanSD * f.prior.meanSD)
	var x, y, z, logs float64
	for k, a := range s.a {
		if a == 0 {
			continue
		}
		h, mean := a/(1+sh.kindVar*a), s.b[k]/a
		x += h
		y += h * mean
		z += h*mean*mean - s.b[k]*mean
		logs += math.Log1p(sh.kindVar * a)
	}
	sh.mVar = 1 / (x + sh.precedes)
	sh.m = y * sh.mVar
	sh.rest = priorFreedom*f.prior.noise*f.prior.noise + math.Max(0, s.c+z-y*y*sh.mVar)
	sh.log = -(priorFreedom+f.n)/2*math.Log(sh.rest) - (s.logDet+logs+math.Log(1+x/sh.precedes))/2
	return sh
}

// logWeight is the log marginal likelihood of one node, kinds averaged.
func (f *tier) logWeight(s sums) float64 {
	logs := make([]float64, len(f.kinds))
	for i, r := range f.kinds {
		logs[i] = f.shapeOf(s, r).log + f.logKind(r)
	}
	return normalise(logs)
}

// logKind is the log prior weight of one ω/σ.
func (f *tier) logKind(ratio float64) float64 {
	if len(f.kinds) == 1 {
		return 0
	}
	if ratio == 0 {
		return math.Log(priorAlike)
	}
	var sum float64
	for _, r := range kindRatios {
		sum += r * math.Exp(-r*r/(2*f.prior.kinds*f.prior.kinds)) // r: the nodes lie about evenly in log r
	}
	return math.Log((1-priorAlike)*ratio/sum) - ratio*ratio/(2*f.prior.kinds*f.prior.kinds)
}

// finish fills in what a node says of σ² and the kinds' means, averaged over
// ω/σ by moments.
func (f *tier) finish(n *node) {
	s := n.sums
	shapes, logs := make([]shape, len(f.kinds)), make([]float64, len(f.kinds))
	for i, r := range f.kinds {
		shapes[i] = f.shapeOf(s, r)
		logs[i] = shapes[i].log + f.logKind(r)
	}
	normalise(logs)
	n.mean, n.meanVar = make([]float64, f.data.kinds), make([]float64, f.data.kinds)
	freedom := priorFreedom + f.n
	var fresh moments
	for i, sh := range shapes {
		sigma2 := sh.rest / (freedom - 2)
		n.sigma2 += logs[i] * sigma2
		n.sigma4 += logs[i] * sh.rest * sh.rest / ((freedom - 2) * (freedom - 4))
		fresh.add(logs[i], f.prior.mean+sh.m, sigma2*(sh.mVar+sh.kindVar))
	}
	n.freshMean, n.freshVar = fresh.mean(), fresh.variance()
	for k, a := range s.a {
		var all moments
		for i, sh := range shapes {
			sigma2 := sh.rest / (freedom - 2)
			own := sh.kindVar * a / (1 + sh.kindVar*a) // weight of the kind's own mean
			mean, variance := (1-own)*sh.m, (1-own)*(1-own)*sh.mVar
			if a > 0 {
				mean += own * s.b[k] / a
				variance += own / a
			} else {
				variance += sh.kindVar
			}
			all.add(logs[i], f.prior.mean+mean, sigma2*variance)
		}
		n.mean[k], n.meanVar[k] = all.mean(), all.variance()
	}
}

// moments adds up a mixture of distributions by mean and variance.
type moments struct{ w, first, second float64 }

func (m *moments) add(weight, mean, variance float64) {
	m.w += weight
	m.first += weight * mean
	m.second += weight * (variance + mean*mean)
}

func (m *moments) mean() float64 { return m.first / m.w }

func (m *moments) variance() float64 {
	mean := m.mean()
	return math.Max(0, m.second/m.w-mean*mean)
}
