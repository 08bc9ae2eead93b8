package cut

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Outcome is one board after the saw: the area of blanks that its plan
// promised and the area that was got, in the same unit.
type Outcome struct{ Planned, Got float64 }

// GotShare is what share of the planned blanks was got. Share is the sum of
// what was got over the sum of what was planned, 0 without boards. Low to High
// is its 90 % interval where Known; fewer than MinOutcomes boards, or boards
// that all did alike, say too little for one.
type GotShare struct {
	N                int
	Planned, Got     float64
	Share, Low, High float64
	Known            bool
}

// MinOutcomes is how many boards an interval needs: below it the t quantile
// is so wide that the interval says nothing (common practice, no source).
const MinOutcomes = 5

// ShareGot sums up boards. The interval is that of a ratio estimator with
// Student's t on n-1 degrees of freedom (Cochran W G, Sampling techniques, 3rd
// edition, 1977, section 6.4), cut at zero. Outcomes that are not finite, are
// negative or plan nothing are left out.
func ShareGot(outcomes []Outcome) GotShare {
	var s GotShare
	var kept []Outcome
	for _, o := range outcomes {
		if !(o.Planned > 0) || !(o.Got >= 0) || math.IsInf(o.Planned, 0) || math.IsInf(o.Got, 0) {
			continue
		}
		kept = append(kept, o)
		s.Planned += o.Planned
		s.Got += o.Got
	}
	s.N = len(kept)
	if s.N == 0 {
		return s
	}
	s.Share = s.Got / s.Planned
	s.Low, s.High = s.Share, s.Share
	if s.N < MinOutcomes {
		return s
	}
	squares := 0.0
	for _, o := range kept {
		residual := o.Got - s.Share*o.Planned
		squares += residual * residual
	}
	n := float64(s.N)
	se := math.Sqrt(squares/(n-1)/n) / (s.Planned / n)
	if se == 0 || se < 1e-12*s.Share {
		return s
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile(0.95)
	s.Low, s.High, s.Known = max(0, s.Share-t*se), s.Share+t*se, true
	return s
}
