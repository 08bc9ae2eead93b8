package yield

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// testSeries is a small tier with unequal weights and gaps, two kinds, and one
// source that was never seen.
func testSeries() *series {
	r := rand.New(rand.NewPCG(3, 1))
	s := &series{start: []int{0}, kinds: 2, today: 3.1}
	for i, n := range []int{4, 1, 3, 2, 0} {
		s.kind = append(s.kind, i%2)
		level := 0.4 * r.NormFloat64()
		for j := range n {
			s.y = append(s.y, -1+level+0.6*r.NormFloat64())
			s.w = append(s.w, 0.5+r.Float64())
			s.t = append(s.t, 0.3*float64(i)+0.7*float64(j))
		}
		s.start = append(s.start, len(s.y))
	}
	return s
}

var testPrior = tierPrior{mean: -0.8, meanSD: 1.2, noise: 0.6, ratio: 0.5, kinds: 0.4, drifts: true}

// dense is the tier's model written out as matrices: the covariance of all
// observations and the level of source at in units of σ², everything in it but the
// common mean M, whose prior variance is one more addend.
func dense(s *series, prior tierPrior, ratio, memory, kindRatio float64, at int) (cov *mat.SymDense, cross *mat.VecDense, own float64) {
	n := len(s.y)
	of := make([]int, n)
	for i := range s.sources() {
		for j := s.start[i]; j < s.start[i+1]; j++ {
			of[j] = i
		}
	}
	k0 := prior.meanSD * prior.meanSD / (prior.noise * prior.noise)
	lambda, omega := ratio*ratio, kindRatio*kindRatio
	together := func(i, j int, gap float64) float64 {
		c := k0
		if s.kind[i] == s.kind[j] {
			c += omega
		}
		if i == j {
			if memory == 0 {
				c += lambda
			} else {
				c += lambda * math.Exp(-math.Abs(gap)/memory)
			}
		}
		return c
	}
	cov, cross = mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for a := range n {
		cross.SetVec(a, together(of[a], at, s.t[a]-s.today))
		for b := a; b < n; b++ {
			c := together(of[a], of[b], s.t[a]-s.t[b])
			if a == b {
				c += 1 / s.w[a]
			}
			cov.SetSym(a, b, c)
		}
	}
	return cov, cross, k0 + omega + lambda
}

// denseLog is the log marginal likelihood with σ² integrated, up to a constant
// that is the same for all nodes, and the level's posterior mean, variance over σ²
// and the expected σ².
func denseLog(s *series, prior tierPrior, ratio, memory, kindRatio float64, at int) (log, mean, variance, sigma2 float64) {
	cov, cross, own := dense(s, prior, ratio, memory, kindRatio, at)
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		panic("not positive definite")
	}
	n := len(s.y)
	y := mat.NewVecDense(n, nil)
	for i, v := range s.y {
		y.SetVec(i, v-prior.mean)
	}
	var solved, gain mat.VecDense
	if err := chol.SolveVecTo(&solved, y); err != nil {
		panic(err)
	}
	if err := chol.SolveVecTo(&gain, cross); err != nil {
		panic(err)
	}
	rest := priorFreedom*prior.noise*prior.noise + mat.Dot(y, &solved)
	freedom := priorFreedom + float64(n)
	return -freedom/2*math.Log(rest) - chol.LogDet()/2, prior.mean + mat.Dot(&gain, y), own - mat.Dot(&gain, cross), rest / (freedom - 2)
}

// TestTierNodesAgreeWithMatrices checks the sums, the filter and the closed forms
// of one node against plain linear algebra.
func TestTierNodesAgreeWithMatrices(t *testing.T) {
	t.Parallel()
	s := testSeries()
	f := fitTier(s, testPrior, true)
	wantBase, _, _, _ := denseLog(s, testPrior, 0.3, 0, 0, 0)
	gotBase := f.shapeOf(f.stillSums(0.3), 0).log
	for _, c := range []struct{ ratio, memory, kind float64 }{
		{0.1, 0, 0}, {0.7, 0, 0.35}, {2, 0, 0.9}, {0.7, 1, 0}, {1.2, 1.0 / 3, 0.6}, {0.4, 3, 1.3},
	} {
		nd := node{ratio: c.ratio, sums: f.stillSums(c.ratio)}
		if c.memory != 0 {
			kept := newKeeping(s.start, s.t, s.today)
			for range slices.Index(memories[:], c.memory) {
				kept.shorten()
			}
			nd = f.fading(c.ratio, c.memory, kept)
		}
		nd.weight = 1
		sh := f.shapeOf(nd.sums, c.kind)
		want, _, _, sigma2 := denseLog(s, testPrior, c.ratio, c.memory, c.kind, 0)
		require.InDelta(t, want-wantBase, sh.log-gotBase, 1e-9, "%+v", c)
		require.InEpsilon(t, sigma2, sh.rest/(priorFreedom+f.n-2), 1e-9, "%+v", c)
		one := &tier{data: s, prior: testPrior, n: f.n, kinds: []float64{c.kind}, still: f.still, nodes: []node{nd}}
		one.finish(&one.nodes[0])
		for i := range s.sources() {
			_, mean, variance, _ := denseLog(s, testPrior, c.ratio, c.memory, c.kind, i)
			o := one.at(i, 1)
			require.InDelta(t, mean, o.level, 1e-9, "%+v source %d", c, i)
			require.InEpsilon(t, variance*sigma2, o.levelVar, 1e-8, "%+v source %d", c, i)
			require.InEpsilon(t, (variance+1)*sigma2, o.nextVar, 1e-8, "%+v source %d", c, i)
		}
	}
}

// TestTierQuadrature compares the fitted tier with a quadrature of the same
// prior on 400 ratios.
func TestTierQuadrature(t *testing.T) {
	t.Parallel()
	s := testSeries()
	f := fitTier(s, testPrior, true)
	const many = 400
	for i := range s.sources() {
		var logs, means, variances []float64
		add := func(weight, ratio, memory float64) {
			for _, kind := range f.kinds {
				log, mean, variance, sigma2 := denseLog(s, testPrior, ratio, memory, kind, i)
				logs = append(logs, log+math.Log(weight)+f.logKind(kind)+f.logRatio(ratio))
				means, variances = append(means, mean), append(variances, variance*sigma2)
			}
		}
		for k := range many {
			ratio := math.Exp(math.Log(smallestRatio) + (float64(k)+0.5)/many*math.Log(largestRatio/smallestRatio))
			add(priorSteady, ratio, 0)
			for _, memory := range memories {
				add((1-priorSteady)/float64(len(memories)), ratio, memory)
			}
		}
		normalise(logs)
		var mix moments
		for k, w := range logs {
			mix.add(w, means[k], variances[k])
		}
		o := f.at(i, 1)
		sd := math.Sqrt(mix.variance())
		require.InDelta(t, mix.mean(), o.level, 0.03*sd, "source %d", i)
		require.InEpsilon(t, sd, math.Sqrt(o.levelVar), 0.03, "source %d", i)
	}
}

// TestErrorSkew finds the skewness of errors that have one.
func TestErrorSkew(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 5))
	s := &series{start: []int{0}, kinds: 1, today: 1}
	for range 40 {
		s.kind = append(s.kind, 0)
		for range 12 {
			s.y, s.w, s.t = append(s.y, r.ExpFloat64()), append(s.w, 1), append(s.t, 0)
		}
		s.start = append(s.start, len(s.y))
	}
	prior := testPrior
	prior.drifts = false
	require.InDelta(t, 2, fitTier(s, prior, false).skew, 0.5, "the exponential has skewness 2, drawn a little towards 0")
}
