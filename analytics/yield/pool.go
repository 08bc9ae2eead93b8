package yield

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
)

// TauPrior is the shape of what is believed of the spread between groups.
type TauPrior int

// The shapes of a TauPrior.
const (
	// HalfCauchy has density 2/(π·scale·(1+(τ/scale)²)).
	HalfCauchy TauPrior = iota
	// HalfNormal has the density of |N(0, scale²)|.
	HalfNormal
	// FlatTau is uniform on τ > 0; it needs at least three groups.
	FlatTau
)

// PoolPrior is what is believed before the estimates are seen: the common mean
// is N(Mean, SD²), or anything if SD is 0; the spread between groups follows Tau
// with the given Scale.
type PoolPrior struct {
	Mean, SD float64
	Tau      TauPrior
	Scale    float64 // > 0; for FlatTau the size around which nodes are laid
}

// Pooled is a posterior of partial pooling with the spread between groups
// integrated out.
type Pooled struct {
	Mu, MuSD         float64 // common mean
	Tau, TauMedian   float64 // spread between groups: mean and median
	Theta            []Estimate
	Fresh            Estimate // the mean of a group not seen yet
	nodes            []poolNode
	logSum           float64 // log of the sum of the weights before they were normalised
	estimates, sigma []float64
	prior            PoolPrior
}

// Estimate is a posterior mean, standard deviation and central 95 % limits.
type Estimate struct {
	Mean, SD float64
	Limits   Bounds
}

// poolNode is one value of τ with its posterior weight and what follows from it.
type poolNode struct{ tau, weight, mu, muVar float64 }

// Pool combines estimates y with known standard errors s of groups that are
// alike but not the same: y[i] ~ N(θ[i], s[i]²), θ[i] ~ N(μ, τ²). μ and θ are
// integrated in closed form, τ by quadrature; nothing is plugged in. The model is
// that of Rubin 1981; Gelman et al., Bayesian Data Analysis, section 5.5. The
// error wraps ErrOption or ErrNotEnough.
func Pool(y, s []float64, prior PoolPrior) (*Pooled, error) {
	if err := checkPool(y, s, prior); err != nil {
		return nil, err
	}
	p := &Pooled{estimates: y, sigma: s, prior: prior}
	p.layNodes()
	for _, n := range p.nodes {
		p.Mu += n.weight * n.mu
		p.Tau += n.weight * n.tau
	}
	var second float64
	for _, n := range p.nodes {
		second += n.weight * (n.muVar + (n.mu-p.Mu)*(n.mu-p.Mu))
	}
	p.MuSD = math.Sqrt(second)
	p.TauMedian = p.medianTau()
	p.Theta = make([]Estimate, len(y))
	for i := range y {
		p.Theta[i] = p.estimate(func(n poolNode) (float64, float64) {
			shrink := s[i] * s[i] / (s[i]*s[i] + n.tau*n.tau) // towards μ
			return (1-shrink)*y[i] + shrink*n.mu, (1-shrink)*s[i]*s[i] + shrink*shrink*n.muVar
		})
	}
	p.Fresh = p.estimate(func(n poolNode) (float64, float64) { return n.mu, n.muVar + n.tau*n.tau })
	return p, nil
}

// checkPool refuses estimates without errors, and priors that leave the posterior
// improper.
func checkPool(y, s []float64, prior PoolPrior) error {
	switch {
	case len(y) == 0 || len(y) != len(s):
		return fmt.Errorf("%w: %d estimates with %d standard errors: give one error for each", ErrOption, len(y), len(s))
	case !(prior.Scale > 0) || math.IsInf(prior.Scale, 0) || !(prior.SD >= 0) || math.IsNaN(prior.Mean):
		return fmt.Errorf("%w: prior %+v: give a finite mean, SD >= 0 and Scale > 0", ErrOption, prior)
	case prior.Tau < HalfCauchy || prior.Tau > FlatTau:
		return fmt.Errorf("%w: prior shape %d: use HalfCauchy, HalfNormal or FlatTau", ErrOption, prior.Tau)
	case prior.Tau == FlatTau && len(y) < 3:
		return fmt.Errorf("%w: a flat prior on the spread needs three groups, got %d", ErrNotEnough, len(y))
	}
	for i := range y {
		if math.IsNaN(y[i]) || math.IsInf(y[i], 0) || !(s[i] > 0) || math.IsInf(s[i], 0) {
			return fmt.Errorf("%w: estimate %d is %v with error %v: give a finite one with an error above zero", ErrOption, i+1, y[i], s[i])
		}
	}
	return nil
}

// poolPanels × poolPoints Gauss-Legendre nodes lie on u in (0,1), τ =
// scale·tan(πu/2): the half-Cauchy prior is flat in u, and both ends are reached
// smoothly. Doubling either changes eight schools by less than 1e-9.
const poolPanels, poolPoints = 24, 24

// layNodes integrates τ once; everything else is a mixture over the nodes.
func (p *Pooled) layNodes() {
	logs := make([]float64, 0, poolPanels*poolPoints)
	for panel := range poolPanels {
		nodes, l := p.stretch(float64(panel)/poolPanels, float64(panel+1)/poolPanels)
		p.nodes = append(p.nodes, nodes...)
		logs = append(logs, l...)
	}
	p.logSum = normalise(logs)
	for i := range p.nodes {
		p.nodes[i].weight = logs[i]
	}
}

// stretch lays the nodes of one panel and returns them with the logs of their
// weights, not yet normalised.
func (p *Pooled) stretch(from, to float64) (nodes []poolNode, logs []float64) {
	x, w := make([]float64, poolPoints), make([]float64, poolPoints)
	quad.Legendre{}.FixedLocations(x, w, from, to)
	for i, u := range x {
		ratio := math.Tan(math.Pi * u / 2)
		logPrior := 0.0
		switch p.prior.Tau {
		case HalfNormal:
			logPrior = math.Log1p(ratio*ratio) - ratio*ratio/2
		case FlatTau:
			logPrior = math.Log1p(ratio * ratio)
		}
		node, logLikelihood := p.given(p.prior.Scale * ratio)
		nodes = append(nodes, node)
		logs = append(logs, logLikelihood+logPrior+math.Log(w[i]))
	}
	return nodes, logs
}

// given integrates μ and θ for one τ: y[i] ~ N(μ, s[i]²+τ²), so μ has the precision
// weighted mean, together with its prior as one more estimate. It returns μ and the
// log likelihood.
func (p *Pooled) given(tau float64) (poolNode, float64) {
	prior := p.prior
	var precision, sum, logLikelihood float64
	if prior.SD > 0 {
		precision = 1 / (prior.SD * prior.SD)
		sum = prior.Mean * precision
	}
	for i, y := range p.estimates {
		v := p.sigma[i]*p.sigma[i] + tau*tau
		precision += 1 / v
		sum += y / v
		logLikelihood -= math.Log(2*math.Pi*v) / 2
	}
	node := poolNode{tau: tau, mu: sum / precision, muVar: 1 / precision}
	for i, y := range p.estimates {
		v := p.sigma[i]*p.sigma[i] + tau*tau
		logLikelihood -= (y - node.mu) * (y - node.mu) / v / 2
	}
	if prior.SD > 0 {
		z := (node.mu - prior.Mean) / prior.SD
		return node, logLikelihood - z*z/2 - math.Log(prior.SD*prior.SD*precision)/2
	}
	return node, logLikelihood + math.Log(2*math.Pi/precision)/2
}

// normalise counts from the largest log, which no evidence is too small or large
// for. It turns logs of weights into weights that add up to 1 and returns the
// log of their sum.
func normalise(logs []float64) float64 {
	top := slices.Max(logs)
	var sum float64
	for i, l := range logs {
		logs[i] = math.Exp(l - top)
		sum += logs[i]
	}
	for i := range logs {
		logs[i] /= sum
	}
	return top + math.Log(sum)
}

// estimate mixes the normals that of gives for each node.
func (p *Pooled) estimate(of func(poolNode) (mean, variance float64)) Estimate {
	var e Estimate
	means, sds := make([]float64, len(p.nodes)), make([]float64, len(p.nodes))
	for i, n := range p.nodes {
		mean, variance := of(n)
		means[i], sds[i] = mean, math.Sqrt(variance)
		e.Mean += n.weight * mean
	}
	var variance float64
	for i, n := range p.nodes {
		variance += n.weight * (sds[i]*sds[i] + (means[i]-e.Mean)*(means[i]-e.Mean))
	}
	e.SD = math.Sqrt(variance)
	below := func(x float64) float64 {
		var sum float64
		for i, n := range p.nodes {
			sum += n.weight * upperTail((means[i]-x)/sds[i])
		}
		return sum
	}
	e.Limits = Bounds{solve(below, 0.025, e.Mean, e.SD), solve(below, 0.975, e.Mean, e.SD)}
	return e
}

// solve finds x with rising(x) = target by bisection from mean ± 40 sd, which
// Chebyshev's inequality proves to hold any quantile down to 1/1600.
func solve(rising func(float64) float64, target, mean, sd float64) float64 {
	low, high := mean-40*sd, mean+40*sd
	for range 80 {
		mid := (low + high) / 2
		if rising(mid) < target {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// medianTau finds the median of τ by bisection on u, with the panel that holds
// it integrated anew up to the point asked for.
func (p *Pooled) medianTau() float64 {
	var before float64 // probability of the panels passed
	panel := 0
	for ; panel < poolPanels-1; panel++ {
		var mass float64
		for _, n := range p.nodes[panel*poolPoints : (panel+1)*poolPoints] {
			mass += n.weight
		}
		if before+mass >= 0.5 {
			break
		}
		before += mass
	}
	start := float64(panel) / poolPanels
	below := func(u float64) float64 {
		_, logs := p.stretch(start, u)
		sum := before
		for _, l := range logs {
			sum += math.Exp(l - p.logSum)
		}
		return sum
	}
	low, high := start, start+1.0/poolPanels
	for range 50 {
		if mid := (low + high) / 2; below(mid) < 0.5 {
			low = mid
		} else {
			high = mid
		}
	}
	return p.prior.Scale * math.Tan(math.Pi*(low+high)/4)
}
