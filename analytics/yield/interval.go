package yield

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Bounds is an interval on one line.
type Bounds struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Width returns High − Low.
func (b Bounds) Width() float64 { return b.High - b.Low }

// Holds reports whether x lies in b, ends included.
func (b Bounds) Holds(x float64) bool { return b.Low <= x && x <= b.High }

// Wilson returns the score interval for the chance behind x successes in n
// tries at the given confidence (0.95 for 95 %). It inverts the normal test with
// the variance at the limit, so it stays in 0..1 and has width at 0 and n.
// n = 0 gives 0..1. Source: Wilson 1927; method 3 of Newcombe 1998, Statistics in
// Medicine 17:857-872. The error wraps ErrOption.
func Wilson(x, n int, confidence float64) (Bounds, error) {
	if err := checkBinomial(x, n, confidence); err != nil || n == 0 {
		return Bounds{0, 1}, err
	}
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	total, p := float64(n), float64(x)/float64(n)
	centre := p + z*z/(2*total)
	half := z * math.Sqrt(p*(1-p)/total+z*z/(4*total*total))
	b := Bounds{(centre - half) / (1 + z*z/total), (centre + half) / (1 + z*z/total)}
	// At the ends the limit is exactly 0 or 1; rounding would leave a trace.
	if x == 0 {
		b.Low = 0
	}
	if x == n {
		b.High = 1
	}
	return b, nil
}

// ClopperPearson returns the exact interval for the chance behind x successes
// in n tries: it never covers less than the confidence, and often more. n = 0
// gives 0..1. Source: Clopper and Pearson 1934; method 5 of Newcombe 1998. The
// error wraps ErrOption.
func ClopperPearson(x, n int, confidence float64) (Bounds, error) {
	if err := checkBinomial(x, n, confidence); err != nil || n == 0 {
		return Bounds{0, 1}, err
	}
	tail := (1 - confidence) / 2
	hits, misses := float64(x), float64(n-x)
	b := Bounds{0, 1}
	if x > 0 {
		b.Low = mathext.InvRegIncBeta(hits, misses+1, tail)
	}
	if x < n {
		b.High = mathext.InvRegIncBeta(hits+1, misses, 1-tail)
	}
	return b, nil
}

// Jeffreys returns the equal-tailed interval of the Beta(x+1/2, n−x+1/2)
// distribution, with the lower limit 0 for x = 0 and the upper limit 1 for x = n.
// Source: Brown, Cai and DasGupta 2001, Statistical Science 16:101-133. The
// error wraps ErrOption.
func Jeffreys(x, n int, confidence float64) (Bounds, error) {
	if err := checkBinomial(x, n, confidence); err != nil || n == 0 {
		return Bounds{0, 1}, err
	}
	tail := (1 - confidence) / 2
	a, b := float64(x)+0.5, float64(n-x)+0.5
	limits := Bounds{0, 1}
	if x > 0 {
		limits.Low = mathext.InvRegIncBeta(a, b, tail)
	}
	if x < n {
		limits.High = mathext.InvRegIncBeta(a, b, 1-tail)
	}
	return limits, nil
}

// checkBinomial refuses counts that cannot be and confidences that are none.
func checkBinomial(x, n int, confidence float64) error {
	if n < 0 || x < 0 || x > n {
		return fmt.Errorf("%w: %d successes in %d tries: give 0 <= successes <= tries", ErrOption, x, n)
	}
	if !(confidence > 0 && confidence < 1) {
		return fmt.Errorf("%w: confidence %v: give a number between 0 and 1, such as 0.9", ErrOption, confidence)
	}
	return nil
}
