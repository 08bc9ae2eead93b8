package yield

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// clock says how many minutes a trip takes all told before it is known how
// quick this source is: fixed, per extra mile and per m³ that comes home.
type clock struct{ fixed, perMile, perVolume float64 }

// priorClock is what is believed before any minutes are noted, each figure
// about as uncertain as it is large: common practice, no source. clockError is
// the relative spread of one trip's minutes.
var priorClock = clock{fixed: 20, perMile: 2, perVolume: 200}

const clockError = 0.4

// minutes of a trip that brings volume, in the mean.
func (c clock) minutes(miles, volume float64) float64 {
	return c.fixed + c.perMile*miles + c.perVolume*volume
}

// fitClock turns minutes into something that can be compared between a drive in
// vain and a full load: what is left after the clock is the pace of the source. It
// finds the three figures by least squares of relative errors with
// the prior as three more observations. Trips without minutes are left out. A figure
// that comes out negative is held at a twentieth of its prior.
func fitClock(trips []haul) clock {
	c := priorClock
	prior := [3]float64{c.fixed, c.perMile, c.perVolume}
	for range 3 {
		gram, right := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		for k, b := range prior {
			gram.SetSym(k, k, 1/(b*b))
			right.SetVec(k, 1/b)
		}
		var sum [3][3]float64
		var side [3]float64
		for i := range trips {
			t := &trips[i]
			if t.minutes <= 0 {
				continue
			}
			x := [3]float64{1, t.miles, t.volume}
			base := clockError * c.minutes(t.miles, t.volume)
			w := 1 / (base * base)
			for k := range x {
				side[k] += w * x[k] * t.minutes
				for l := k; l < 3; l++ {
					sum[k][l] += w * x[k] * x[l]
				}
			}
		}
		for k := range side {
			right.SetVec(k, right.AtVec(k)+side[k])
			for l := k; l < 3; l++ {
				gram.SetSym(k, l, gram.At(k, l)+sum[k][l])
			}
		}
		var chol mat.Cholesky
		var b mat.VecDense
		if !chol.Factorize(gram) || chol.SolveVecTo(&b, right) != nil {
			return c // the prior makes the matrix positive definite; rounding may not
		}
		c = clock{
			fixed:     math.Max(b.AtVec(0), prior[0]/20),
			perMile:   math.Max(b.AtVec(1), prior[1]/20),
			perVolume: math.Max(b.AtVec(2), prior[2]/20),
		}
	}
	return c
}
