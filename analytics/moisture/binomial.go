package moisture

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is an interval for a share, 0 to 1.
type Interval struct{ Low, High float64 }

// Wilson returns the score interval of a share from x of n (Wilson 1927; the
// one Newcombe 1998, Stat. Med. 17:857-872, recommends without continuity
// correction). x outside 0 to n, n below 1 or a confidence outside 0 to 1 is
// ErrSetting; so for the other two.
func Wilson(x, n int, confidence float64) (Interval, error) {
	if err := checkShare(x, n, confidence); err != nil {
		return Interval{}, err
	}
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	p, m := float64(x)/float64(n), float64(n)
	centre := p + z*z/(2*m)
	half := z * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	scale := 1 + z*z/m
	// Exactly 0 and 1 at the ends, where rounding would leave a trace.
	out := Interval{(centre - half) / scale, (centre + half) / scale}
	if x == 0 {
		out.Low = 0
	}
	if x == n {
		out.High = 1
	}
	return out, nil
}

// ClopperPearson returns the exact interval of a share from x of n: both tails
// at most (1 - confidence)/2 (Clopper and Pearson 1934).
func ClopperPearson(x, n int, confidence float64) (Interval, error) {
	if err := checkShare(x, n, confidence); err != nil {
		return Interval{}, err
	}
	tail := (1 - confidence) / 2
	out := Interval{0, 1}
	if x > 0 {
		// The share at which x or more would be this unlikely, by the relation of
		// binomial tails to the incomplete beta function.
		out.Low = mathext.InvRegIncBeta(float64(x), float64(n-x+1), tail)
	}
	if x < n {
		out.High = mathext.InvRegIncBeta(float64(x+1), float64(n-x), 1-tail)
	}
	return out, nil
}

// Jeffreys returns the equal-tailed interval of the posterior of a share from x
// of n under the Beta(1/2, 1/2) prior, with the end at 0 or 1 where x is 0 or n
// (Brown, Cai and DasGupta 2001, Statistical Science 16:101-133).
func Jeffreys(x, n int, confidence float64) (Interval, error) {
	if err := checkShare(x, n, confidence); err != nil {
		return Interval{}, err
	}
	a, b := float64(x)+0.5, float64(n-x)+0.5
	tail := (1 - confidence) / 2
	out := Interval{0, 1}
	if x > 0 {
		out.Low = mathext.InvRegIncBeta(a, b, tail)
	}
	if x < n {
		out.High = mathext.InvRegIncBeta(a, b, 1-tail)
	}
	return out, nil
}

func checkShare(x, n int, confidence float64) error {
	if n < 1 || x < 0 || x > n {
		return bad("count", float64(x), ErrSetting, "give a count from 0 to the number looked at, at least one")
	}
	return checkConfidence(confidence)
}

func checkConfidence(confidence float64) error {
	if !(confidence > 0 && confidence < 1) {
		return bad("confidence", confidence, ErrSetting, "give a number between 0 and 1, such as 0.9")
	}
	return nil
}

// passProbability is the hypergeometric probability of at most accept wet
// boards among probes taken without replacement from lot boards of which bad
// are wet. The terms are summed relative to one another, so that no factorial
// is ever formed and rounding stays at the last digits.
func passProbability(lot, bad, probes, accept int) float64 {
	first := max(0, probes+bad-lot)
	last := min(probes, bad)
	if accept < first {
		return 0
	}
	if accept >= last {
		return 1
	}
	// Starting at the largest term, the others can only shrink, so that what
	// underflows does not matter.
	mode := (probes + 1) * (bad + 1) / (lot + 2)
	mode = min(max(mode, first), last)
	// ratio is P(x+1)/P(x).
	ratio := func(x int) float64 {
		return float64(bad-x) * float64(probes-x) / (float64(x+1) * float64(lot-bad-probes+x+1))
	}
	total, pass := 0.0, 0.0
	add := func(x int, w float64) {
		total += w
		if x <= accept {
			pass += w
		}
	}
	w := 1.0
	add(mode, w)
	for x := mode; x < last && w > 1e-300; x++ {
		w *= ratio(x)
		add(x+1, w)
	}
	w = 1
	for x := mode; x > first && w > 1e-300; x-- {
		w /= ratio(x - 1)
		add(x-1, w)
	}
	return pass / total
}

// passInfinite is the same for a lot without end of which a share is wet: the
// binomial distribution function.
func passInfinite(share float64, probes, accept int) float64 {
	if accept >= probes {
		return 1
	}
	return mathext.RegIncBeta(float64(probes-accept), float64(accept+1), 1-share)
}
