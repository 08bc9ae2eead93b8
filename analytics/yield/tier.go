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
// years, each a third of the one before (keeping relies on it); kindRatios the values of ω/σ tried where kinds differ.
var (
	memories   = [...]float64{3, 1, 1.0 / 3}
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

// sources counts the sources, those without observations too.
func (s *series) sources() int { return len(s.start) - 1 }

// node is one point of the quadrature: a ratio τ/σ and a memory (0 = endless).
type node struct {
	ratio, memory, weight float64
	sums                  sums
	now                   []filtered // today's state of each source where the memory ends
	sigma2, sigma4        float64    // E σ², E σ⁴
	mean, meanVar         []float64  // of each kind's mean
}

// sums are what one node needs of the data: with V the covariance of the trips of
// one source about the mean of its kind, in units of σ², they are all that the
// normal likelihood depends on. Sums of sources of one kind add up.
type sums struct {
	a, b   []float64 // per kind: 1'V⁻¹1 and 1'V⁻¹y
	c      float64   // y'V⁻¹y over all sources
	logDet float64   // of V over all sources, up to a constant
}

// still are the sums of one source that do not depend on the node: Σw, Σwy, Σwy²
// with y counted from the prior mean. For sources that do not change they make every
// node cost one step for each source instead of one for each trip.
type still struct{ w, wy, wyy float64 }

// tier is a fitted tier.
type tier struct {
	data  *series
	prior tierPrior
	still []still   // of each source
	n     float64   // observations
	kinds []float64 // values of ω/σ, 0 alone where kinds are not told apart
	nodes []node    // weights add up to 1

	steady float64 // probability that sources do not change
	plain  node    // the heaviest node of sources that do not change
	skew   float64 // of the error of a trip

	// logWeights is Σ log w, which the sums of sources that do not change leave out. It
	// is filled where a memory is tried.
	logWeights float64
}

// fitTier learns from data. byKind says that kinds may have means of their own.
// The nodes over τ/σ are laid first for sources that do not change, which is cheap
// and finds where the mass lies; memories are then tried at the heaviest of them.
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

// errorSkew estimates the skewness of a trip's error. The tier itself takes errors
// as normal; their skewness matters where the value is turned back into a share,
// most of whose doubt lies to one side. It comes from the third powers of
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
