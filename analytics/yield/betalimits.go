package yield

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// chanceFigure is a chance or share with the intervals of the beta distribution
// of the same mean and variance.
func chanceFigure(mean, variance float64, n int) Figure {
	b := newBeta(mean, variance)
	most, half := b.limits(0.9), b.limits(0.5)
	return Figure{Value: mean, Low: most.Low, High: most.High, Low50: half.Low, High50: half.High, N: n, Known: true}
}

// beta is a beta distribution. Its parameters are both 0 where all of it lies at
// the ends.
type beta struct {
	a, b float64
	log  float64 // of the beta function of a and b; NaN until it is asked for
}

// newBeta returns the one with the given mean and variance.
func newBeta(mean, variance float64) beta {
	total := math.Max(0, mean*(1-mean)/math.Max(variance, 1e-12)-1)
	return beta{mean * total, (1 - mean) * total, math.NaN()}
}

// limits returns the central interval that holds half or nine tenths.
func (b *beta) limits(hold float64) Bounds {
	if b.a+b.b <= 0 {
		return Bounds{0, 1}
	}
	if b.a < 1 || b.b < 1 {
		return b.exactLimits(hold)
	}
	z := normalHalf
	if hold > 0.5 {
		z = normalMost
	}
	return Bounds{b.quantile(-z, (1-hold)/2), b.quantile(z, (1+hold)/2)}
}

// exactLimits inverts the incomplete beta function, which takes some ten times as
// long.
func (b *beta) exactLimits(hold float64) Bounds {
	return Bounds{mathext.InvRegIncBeta(b.a, b.b, (1-hold)/2), mathext.InvRegIncBeta(b.a, b.b, (1+hold)/2)}
}

// quantile approximates the quantile, for parameters of at least 1, at the
// probability p whose normal quantile is y, within 0.005: formula 26.5.22 of Abramowitz
// and Stegun 1964, and for small parameters two steps of Newton.
func (b *beta) quantile(y, p float64) float64 {
	lambda := (y*y - 3) / 6
	u, v := 1/(2*b.a-1), 1/(2*b.b-1)
	h := 2 / (u + v)
	w := -y*math.Sqrt(h+lambda)/h - (v-u)*(lambda+5.0/6-2/(3*h))
	x := b.a / (b.a + b.b*math.Exp(2*w))
	if b.a > 3 && b.b > 3 {
		return x
	}
	if math.IsNaN(b.log) {
		b.log = mathext.Lbeta(b.a, b.b)
	}
	for range 2 {
		rate := math.Exp((b.a-1)*math.Log(x) + (b.b-1)*math.Log1p(-x) - b.log)
		next := x - (mathext.RegIncBeta(b.a, b.b, x)-p)/rate
		x = min(max(next, x/4), 1-(1-x)/4)
	}
	return x
}
