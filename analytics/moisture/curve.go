package moisture

import (
	"math"
	"time"
)

// normal is a normal distribution of three numbers: the moisture M0 at the
// start, the shift δ of the equilibrium moisture, and the error b that all
// readings share.
//
// Given the rate they enter the curve linearly: with A(t) the share of the way
// not yet gone and B(t) what the known air contributes,
//
//	M(t) = A M0 + B + (1 - A) δ,   reading = M(t) + b + error.
type normal struct {
	mean [3]float64
	cov  [3][3]float64
}

// pathPoint is A and B of one time.
type pathPoint struct{ a, b float64 }

// update conditions n on a reading: value = h·(M0, δ, b) + error of the given
// variance. It returns the logarithm of the reading's density before it was
// seen. A zero variance in the prior is no trouble in this form (Kalman 1960).
func (n *normal) update(h [3]float64, value, variance float64) float64 {
	g := n.times(h)
	total := dot(h, g) + variance
	miss := value - dot(h, n.mean)
	for i := range 3 {
		gain := g[i] / total
		n.mean[i] += gain * miss
		for j := range 3 {
			n.cov[i][j] -= gain * g[j]
		}
	}
	return -(math.Log(2*math.Pi*total) + miss*miss/total) / 2
}

// updateLimit conditions n on a reading that is only a limit: the value was
// above it (side +1) or below (side -1). The truncated distribution along h is
// replaced by the normal one of the same mean and variance (assumed-density
// filtering; the moments are those of the probit factor, Rasmussen and Williams
// 2006, Gaussian Processes for Machine Learning, eq. 3.74 to 3.85).
func (n *normal) updateLimit(h [3]float64, limit, variance float64, side int) float64 {
	g := n.times(h)
	total := dot(h, g) + variance
	sd := math.Sqrt(total)
	z := float64(side) * (dot(h, n.mean) - limit) / sd
	logP, ratio := logNormalTail(z)
	shift := float64(side) * ratio / sd
	shrink := ratio * (z + ratio) / total
	for i := range 3 {
		n.mean[i] += g[i] * shift
		for j := range 3 {
			n.cov[i][j] -= g[i] * g[j] * shrink
		}
	}
	return logP
}

// times is the covariance times h.
func (n *normal) times(h [3]float64) [3]float64 {
	var g [3]float64
	for i := range 3 {
		g[i] = n.cov[i][0]*h[0] + n.cov[i][1]*h[1] + n.cov[i][2]*h[2]
	}
	return g
}

// at returns mean and variance of the true moisture at a point of the path;
// the shared error of the readings is no part of it.
func (n *normal) at(p pathPoint) (mean, variance float64) {
	h0, h1 := p.a, 1-p.a
	mean = h0*n.mean[0] + h1*n.mean[1] + p.b
	return mean, h0*h0*n.cov[0][0] + 2*h0*h1*n.cov[0][1] + h1*h1*n.cov[1][1]
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// logNormalTail returns ln Φ(z) and φ(z)/Φ(z), by the continued fraction's
// first terms where Φ underflows.
func logNormalTail(z float64) (logP, ratio float64) {
	if z < -30 {
		// Mills ratio: Φ(z) ≈ φ(z)/(-z) (1 - 1/z²).
		logP = -z*z/2 - math.Log(-z) - math.Log(2*math.Pi)/2 + math.Log1p(-1/(z*z))
		return logP, -z / (1 - 1/(z*z))
	}
	p := normalCDF(z)
	return math.Log(p), math.Exp(-z*z/2) / (math.Sqrt(2*math.Pi) * p)
}

// normalCDF is the standard normal distribution function.
func normalCDF(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// observe conditions the start on all visits at one rate and error factor and
// returns the log of their joint density.
func observe(start normal, visits []visit, path []pathPoint, factor float64) (normal, float64) {
	n := start
	var logEvidence float64
	for i := range visits {
		s, at := &visits[i], path[i]
		h := [3]float64{at.a, 1 - at.a, 1}
		variance := square(s.sd * factor)
		if s.limit == 0 {
			logEvidence += n.update(h, s.value-at.b, variance)
		} else {
			logEvidence += n.updateLimit(h, s.value-at.b, variance, s.limit)
		}
	}
	return n, logEvidence
}

// air walks the climate: where a curve stands after any number of days.
type air struct {
	segments []segment
}

// horizonDays is as far as ready dates are looked for: ten years.
const horizonDays = 3652.5

// air returns the walker of the posterior's climate.
func (p *Posterior) air() *air { return &air{p.climate.segments(p.Start, horizonDays)} }

// path fills A and B at the visits' days, which ascend.
func (w *air) path(k float64, visits []visit, out []pathPoint) {
	at, i := pathPoint{1, 0}, 0
	for j := range visits {
		day := visits[j].day
		for i < len(w.segments)-1 && w.segments[i].to <= day {
			at = w.segments[i].through(k, w.segments[i].to, at)
			i++
		}
		out[j] = w.segments[i].through(k, day, at)
	}
}

// at returns A and B at any day.
func (w *air) at(k, day float64) pathPoint {
	at := pathPoint{1, 0}
	for i := range w.segments {
		s := &w.segments[i]
		if day <= s.to || i == len(w.segments)-1 {
			return s.through(k, day, at)
		}
		at = s.through(k, s.to, at)
	}
	return at
}

// through moves a path point from the segment's beginning to day: both A and
// the distance of B from what the air gives shrink by the same factor.
func (s *segment) through(k, day float64, from pathPoint) pathPoint {
	f := math.Exp(-k * s.rate * (day - s.from))
	return pathPoint{from.a * f, from.b*f + s.emc*(1-f)}
}

// dayOf converts a time to days since the curve's start.
func (p *Posterior) dayOf(t time.Time) float64 { return t.Sub(p.Start).Hours() / 24 }

// timeOf converts days since the curve's start to a time, to the second.
func (p *Posterior) timeOf(day float64) time.Time {
	return p.Start.Add(time.Duration(day*86400) * time.Second)
}
