package yield

import "math"

// stillSums adds up the sums of all sources for sources that do not change:
// V = diag(1/w) + λ·11', inverted by the rank-one formula.
func (f *tier) stillSums(ratio float64) sums {
	lambda := ratio * ratio
	s := sums{a: make([]float64, f.data.kinds), b: make([]float64, f.data.kinds)}
	det := newProduct()
	for i, t := range f.still {
		if t.w == 0 {
			continue
		}
		k, d := f.data.kind[i], 1/(1+lambda*t.w)
		s.a[k] += t.w * d
		s.b[k] += t.wy * d
		s.c += t.wyy - lambda*t.wy*t.wy*d
		det.times(d)
	}
	s.logDet = -det.sum()
	return s
}

// shape is the posterior of M and σ² for one node and one ω/σ.
type shape struct {
	log     float64 // log marginal likelihood, up to a constant
	m, mVar float64 // of M, counted from the prior mean; mVar in units of σ²
	rest    float64 // residual sum of squares with the prior's
	kindVar float64 // ω²/σ²
}

// shapeOf integrates the kinds' means, M and σ², one after the other: each kind's
// estimate b/a has the variance 1/a about its mean and ω²+1/a about M; M has the
// prior precision 1/k; what is left over is the sum of squares that σ² is learnt
// from. All is in units of σ², so σ² comes last and in closed form, and log is that
// of a multivariate t.
func (f *tier) shapeOf(s sums, kindRatio float64) shape {
	sh := shape{kindVar: kindRatio * kindRatio}
	precision := f.prior.noise * f.prior.noise / (f.prior.meanSD * f.prior.meanSD)
	var x, y, z, logs float64
	for k, a := range s.a {
		if a == 0 {
			continue
		}
		// The kind's estimate b/a stands for M with the variance ω²/σ² + 1/a.
		h, mean := a/(1+sh.kindVar*a), s.b[k]/a
		x += h
		y += h * mean
		z += h*mean*mean - s.b[k]*mean
		logs += math.Log1p(sh.kindVar * a)
	}
	sh.mVar = 1 / (x + precision)
	sh.m = y * sh.mVar
	sh.rest = priorFreedom*f.prior.noise*f.prior.noise + math.Max(0, s.c+z-y*y*sh.mVar)
	sh.log = -(priorFreedom+f.n)/2*math.Log(sh.rest) - (s.logDet+logs+math.Log(1+x/precision))/2
	return sh
}

// logWeight is the evidence by which nodes are compared: the log marginal likelihood of one node, kinds averaged.
func (f *tier) logWeight(s sums) float64 {
	logs := make([]float64, len(f.kinds))
	for i, r := range f.kinds {
		logs[i] = f.shapeOf(s, r).log + f.logKind(r)
	}
	return normalise(logs)
}

// logKind is the log prior weight of one ω/σ: priorAlike at 0, the rest over a
// half-normal on the others.
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

// finish fills in what a node says of σ² and the kinds' means. It is averaged
// over ω/σ by moments: unlike τ/σ, ω/σ moves only the means of kinds, and a source
// with trips of its own hardly feels the shape of that.
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
	for i, sh := range shapes { // moments of the inverse gamma posterior of σ²
		n.sigma2 += logs[i] * sh.rest / (freedom - 2)
		n.sigma4 += logs[i] * sh.rest * sh.rest / ((freedom - 2) * (freedom - 4))
	}
	for k, a := range s.a {
		var all moments
		for i, sh := range shapes {
			sigma2 := sh.rest / (freedom - 2)
			own := sh.kindVar * a / (1 + sh.kindVar*a) // weight of the kind's own mean
			mean, variance := (1-own)*sh.m, (1-own)*(1-own)*sh.mVar
			if a > 0 {
				mean += own * s.b[k] / a
				variance += own / a
			} else { // a kind not seen lies about M like any other
				variance += sh.kindVar
			}
			all.add(logs[i], f.prior.mean+mean, sigma2*variance)
		}
		n.mean[k], n.meanVar[k] = all.mean(), all.variance()
	}
}
