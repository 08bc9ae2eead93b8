package yield

import (
	"fmt"
	"math"
)

// Mixed is a fitted one-way random-effects model y = intercept + group + error.
type Mixed struct {
	Intercept   float64
	InterceptSE float64
	SDBetween   float64 // exactly 0 where the data show no spread between groups
	SDWithin    float64
	Criterion   float64 // −2 log (restricted) likelihood at the optimum
	Groups      []MixedGroup
}

// MixedGroup is what is predicted of one group.
type MixedGroup struct {
	Name   string
	N      int
	Effect float64 // best linear unbiased prediction of its deviation
	SD     float64 // conditional standard deviation of Effect
}

// OneWay fits the model by restricted maximum likelihood, or by plain maximum
// likelihood where ml is set; group[i] names the group of y[i]. The profile is
// one-dimensional in λ = between/within variance; its derivative is bracketed on
// a grid and bisected, the boundary λ = 0 is compared exactly. Method: Harville
// 1977, JASA 72:320-338. Groups come in order of appearance. The error wraps
// ErrOption or ErrNotEnough.
func OneWay(group []string, y []float64, ml bool) (*Mixed, error) {
	f, err := newOneWay(group, y, ml)
	if err != nil {
		return nil, err
	}
	lambda := f.optimum()
	weight, mean, rest, criterion := f.at(lambda)
	variance := rest / f.freedom
	m := &Mixed{
		Intercept:   mean,
		InterceptSE: math.Sqrt(variance / weight),
		SDBetween:   math.Sqrt(lambda * variance),
		SDWithin:    math.Sqrt(variance),
		Criterion:   criterion,
		Groups:      f.groups,
	}
	for i := range m.Groups {
		g := &m.Groups[i]
		n := float64(g.N)
		g.Effect = lambda * n / (1 + lambda*n) * (f.means[i] - mean)
		g.SD = math.Sqrt(lambda * variance / (1 + lambda*n))
	}
	return m, nil
}

// oneWay is the data of OneWay as sums.
type oneWay struct {
	groups  []MixedGroup
	means   []float64
	within  float64 // sum of squares within groups
	freedom float64
	ml      bool
}

// newOneWay checks the data and reduces it to counts, means and the sum of squares
// within groups, which are sufficient. Means are updated value by value, which stays
// exact where sums of squares would cancel.
func newOneWay(group []string, y []float64, ml bool) (*oneWay, error) {
	if len(group) != len(y) {
		return nil, fmt.Errorf("%w: %d groups for %d values: give one for each", ErrOption, len(group), len(y))
	}
	f := &oneWay{ml: ml, freedom: float64(len(y))}
	if !ml {
		f.freedom--
	}
	place := map[string]int{}
	for i, v := range y {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("%w: value %d is %v: give a finite one", ErrOption, i+1, v)
		}
		g, seen := place[group[i]]
		if !seen {
			g = len(f.groups)
			place[group[i]] = g
			f.groups = append(f.groups, MixedGroup{Name: group[i]})
			f.means = append(f.means, 0)
		}
		f.groups[g].N++
		f.means[g] += (v - f.means[g]) / float64(f.groups[g].N)
	}
	for i, v := range y {
		d := v - f.means[place[group[i]]]
		f.within += d * d
	}
	if len(f.groups) < 2 || len(y) == len(f.groups) {
		return nil, fmt.Errorf("%w: %d values in %d groups: two groups and one with two values are needed", ErrNotEnough, len(y), len(f.groups))
	}
	if f.within == 0 {
		return nil, fmt.Errorf("%w: no group varies within itself", ErrNotEnough)
	}
	return f, nil
}

// at evaluates the profile: given λ, intercept and σ² have closed forms, and the
// criterion is −2 log likelihood with both put in, for REML with the determinant of
// the intercept's information on top (lme4's criterion; Bates et al. 2015, J.
// Statistical Software 67(1)). It returns, for λ, the weight and mean of the intercept, the residual sum of
// squares and the criterion.
func (f *oneWay) at(lambda float64) (weight, mean, rest, criterion float64) {
	var sum, logs float64
	for i, g := range f.groups {
		w := float64(g.N) / (1 + lambda*float64(g.N))
		weight += w
		sum += w * f.means[i]
		logs += math.Log1p(lambda * float64(g.N))
	}
	mean = sum / weight
	rest = f.within
	for i, g := range f.groups {
		d := f.means[i] - mean
		rest += float64(g.N) / (1 + lambda*float64(g.N)) * d * d
	}
	criterion = f.freedom*(1+math.Log(2*math.Pi*rest/f.freedom)) + logs
	if !f.ml {
		criterion += math.Log(weight)
	}
	return weight, mean, rest, criterion
}

// slope is the derivative of the criterion by λ; the intercept is at its
// optimum and drops out.
func (f *oneWay) slope(lambda float64) float64 {
	weight, mean, rest, _ := f.at(lambda)
	var first, squares, bent float64
	for i, g := range f.groups {
		w := float64(g.N) / (1 + lambda*float64(g.N))
		d := f.means[i] - mean
		first += w
		squares += w * w
		bent += w * w * d * d
	}
	slope := first - f.freedom*bent/rest
	if !f.ml {
		slope -= squares / weight
	}
	return slope
}

// optimum looks for every local optimum, because the profile of unbalanced data can
// have two, and for the boundary λ = 0, where an estimate stays that no spread
// between groups supports. It returns the λ >= 0 of the smallest criterion. Every sign change of
// the slope from falling to rising on a fine grid is a local optimum.
func (f *oneWay) optimum() float64 {
	best := 0.0
	_, _, _, least := f.at(0)
	// A slope within rounding of zero is none: no spread is found where there is none.
	low, falling := 0.0, f.slope(0) < -1e-12*f.freedom
	if falling { // then the boundary is no optimum, however little is won beyond it
		least = math.Inf(1)
	}
	// From a spread between groups that nobody could see to one beside which the
	// errors vanish; between two points of the grid the slope has one sign change.
	for exponent := -8.0; exponent <= 10; exponent += 0.05 {
		high := math.Pow(10, exponent)
		rising := f.slope(high) >= 0
		if falling && rising {
			lambda := f.bisect(low, high)
			if _, _, _, c := f.at(lambda); c < least {
				best, least = lambda, c
			}
		}
		low, falling = high, !rising
	}
	return best
}

// bisect narrows a sign change of the slope down to neighbouring floats.
func (f *oneWay) bisect(low, high float64) float64 {
	for range 200 {
		mid := (low + high) / 2
		if mid == low || mid == high {
			break
		}
		if f.slope(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}
