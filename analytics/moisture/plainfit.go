package moisture

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// PlainFit is the least-squares drying curve M(t) = E + (M0 - E) exp(-k t)
// through readings in air of known E, without any prior: the textbook answer
// that the posterior is compared with.
type PlainFit struct {
	EMC              float64
	M0, K            float64 // percent and per day
	RSS, Sigma       float64
	SDM0, SDLogK     float64 // standard errors of M0 and ln k
	days, percent    []float64
	covM0LogK        float64
	degreesOfFreedom int
}

// FitPlain fits days since stickering and percent by least squares on M0 and
// ln k. It needs three readings or more that tell a fall or rise from the
// equilibrium moisture emc, else the error is ErrNoReadings or
// ErrNoConvergence.
func FitPlain(days, percent []float64, emc float64) (PlainFit, error) {
	if len(days) != len(percent) || len(days) < 3 {
		return PlainFit{}, bad("number of readings", float64(len(days)), ErrNoReadings, "three pairs of day and percent are needed")
	}
	for i := range days {
		if !finite(days[i]) || !finite(percent[i]) {
			return PlainFit{}, &InputError{"percent", i, percent[i], ErrNotFinite, "write a number"}
		}
	}
	// ln k instead of k keeps the rate above zero without a bound.
	start, err := plainStart(days, percent, emc)
	if err != nil {
		return PlainFit{}, err
	}
	s, err := LeastSquares(Problem{
		N: len(days),
		Residuals: func(p, r []float64) {
			k := math.Exp(p[1])
			for i, t := range days {
				r[i] = percent[i] - emc - (p[0]-emc)*math.Exp(-k*t)
			}
		},
		Jacobian: func(p []float64, j *mat.Dense) {
			k := math.Exp(p[1])
			for i, t := range days {
				e := math.Exp(-k * t)
				j.Set(i, 0, -e)
				j.Set(i, 1, (p[0]-emc)*k*t*e)
			}
		},
	}, start)
	if err != nil {
		return PlainFit{}, fmt.Errorf("drying curve: %w", err)
	}
	return PlainFit{
		EMC: emc, M0: s.P[0], K: math.Exp(s.P[1]), RSS: s.RSS, Sigma: s.Sigma(), SDM0: s.SD[0], SDLogK: s.SD[1],
		days: days, percent: percent, covM0LogK: s.Cov.At(0, 1), degreesOfFreedom: s.DF,
	}, nil
}

// plainStart draws the straight line through ln(M - E) of the readings that are
// on the same side of E as the first.
func plainStart(days, percent []float64, emc float64) ([]float64, error) {
	side := 1.0
	if percent[0] < emc {
		side = -1
	}
	var n, sx, sy, sxx, sxy float64
	for i, t := range days {
		gap := side * (percent[i] - emc)
		// A reading at or past the equilibrium has no logarithm; noise near the
		// end of drying does that, and the others suffice for a start.
		if gap <= 0 {
			continue
		}
		y := math.Log(gap)
		n, sx, sy, sxx, sxy = n+1, sx+t, sy+y, sxx+t*t, sxy+t*y
	}
	spread := n*sxx - sx*sx
	if n < 2 || !(spread > 0) {
		return nil, fmt.Errorf("drying curve: the readings do not leave the equilibrium moisture: %w", ErrNoConvergence)
	}
	slope := (n*sxy - sx*sy) / spread
	return []float64{emc + side*math.Exp((sy-slope*sx)/n), math.Log(max(-slope, 1e-4))}, nil
}

// ReadyDay returns the day on which the fitted curve reaches target percent and
// its standard error by the delta method; the day is +Inf when the curve does
// not pass the target.
func (f PlainFit) ReadyDay(target float64) (day, sd float64) {
	ratio := (f.M0 - f.EMC) / (target - f.EMC)
	if !(ratio > 0) {
		return math.Inf(1), math.NaN()
	}
	day = math.Log(ratio) / f.K
	// day = ln((M0 - E)/(T - E)) exp(-ln k): its derivatives by M0 and ln k.
	byM0, byLogK := 1/((f.M0-f.EMC)*f.K), -day
	variance := square(byM0*f.SDM0) + square(byLogK*f.SDLogK) + 2*byM0*byLogK*f.covM0LogK
	return day, math.Sqrt(variance)
}

// ReadyInterval returns the profile-t interval of the ready day at the given
// confidence: all days for which the residual sum of squares, least over M0,
// is within F(conf; 1, n-2) residual variances of the best. An end that the
// readings do not bound is 0 or +Inf.
func (f PlainFit) ReadyInterval(target, confidence float64) (low, high float64, err error) {
	if !(confidence > 0 && confidence < 1) {
		return 0, 0, bad("confidence", confidence, ErrSetting, "give a number between 0 and 1")
	}
	// The interval walks outward from the best day.
	best, sd := f.ReadyDay(target)
	if math.IsInf(best, 1) || best <= 0 {
		return best, best, fmt.Errorf("ready day: the curve does not cross %g %%: %w", target, ErrNoConvergence)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(f.degreesOfFreedom)}.Quantile((1 + confidence) / 2)
	excess := func(day float64) float64 { return f.profile(target, day) - f.RSS - t*t*f.Sigma*f.Sigma }
	low, high = f.bound(best, -sd, excess), f.bound(best, sd, excess)
	return low, high, nil
}

// bound walks from the best day in steps of about one standard error until the
// excess turns positive, then closes in.
func (f PlainFit) bound(best, step float64, excess func(float64) float64) float64 {
	inside := best
	for range 200 {
		// Growing steps, because the upper end of a slow stack can lie far out.
		outside := inside + step
		if outside <= 0 {
			outside = inside / 2
			if outside < best*1e-6 {
				return 0
			}
		}
		e := excess(outside)
		if e > 0 {
			if step < 0 {
				return -rootBetween(-inside, -outside, excess(inside), e, 1e-9*best, func(x float64) float64 { return excess(-x) })
			}
			return rootBetween(inside, outside, excess(inside), e, 1e-9*best, excess)
		}
		inside = outside
		step *= 1.3
	}
	if step < 0 {
		return 0
	}
	return math.Inf(1)
}

// profile is the residual sum of squares of the best curve through the target
// on the given day: with D = M0 - E, k = ln(D/(T - E))/day, so that only D is
// free. The sum has one minimum in ln D near the fit, found by golden section.
func (f PlainFit) profile(target, day float64) float64 {
	// Fixing the day ties k to D, so one free parameter is left.
	gap := target - f.EMC
	rss := func(logD float64) float64 {
		d := math.Copysign(math.Exp(logD), gap)
		k := math.Log(d/gap) / day
		var sum float64
		for i, t := range f.days {
			sum += square(f.percent[i] - f.EMC - d*math.Exp(-k*t))
		}
		return sum
	}
	centre := math.Log(math.Abs(f.M0 - f.EMC))
	return goldenMinimum(centre-2, centre+2, rss)
}

// goldenMinimum returns the least value of f between a and b by golden-section
// search (Kiefer 1953). The value is flat at the minimum, so that it is exact
// to rounding although the place is not.
func goldenMinimum(a, b float64, f func(float64) float64) float64 {
	const ratio = 0.6180339887498949
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for b-a > 1e-9 {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
	}
	return min(fc, fd)
}
