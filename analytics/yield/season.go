package yield

import "math"

// season is a yearly wave of the log volume, the same for all sources: cos and
// sin coefficients with their covariance. It is used only where the book supports
// it; supported is false otherwise and the wave is flat.
type season struct {
	supported           bool
	cos, sin            float64
	varCos, varSin, cov float64
}

// A season needs this many trips over this many years, in three quarters of
// the year at least, and a chance below seasonLevel that the wave is an accident.
const (
	seasonTrips    = 24
	seasonYears    = 0.75
	seasonQuarters = 3
	seasonLevel    = 0.01
)

// fitSeason fits the wave within sources (each counted from its own mean) and
// tests it with Fisher's F on two degrees of freedom.
func fitSeason(s *series) season {
	first, last := math.Inf(1), math.Inf(-1)
	var quarter [4]bool
	for _, t := range s.t {
		first, last = math.Min(first, t), math.Max(last, t)
		quarter[int(4*(t-math.Floor(t)))%4] = true
	}
	quarters := 0
	for _, q := range quarter {
		if q {
			quarters++
		}
	}
	if len(s.y) < seasonTrips || last-first < seasonYears || quarters < seasonQuarters {
		return season{}
	}
	return testSeason(s)
}

// testSeason centres values and waves on the mean of each source, so that a rich
// source seen in winter alone makes no season, and fits by least squares.
func testSeason(s *series) season {
	var cc, ss, cs, cy, sy, yy float64
	freedom := -2.0
	for i := range s.sources() {
		from, to := s.start[i], s.start[i+1]
		if to-from < 2 {
			continue
		}
		n := float64(to - from)
		freedom += n - 1
		var c, d, y, cc1, ss1, cs1, cy1, sy1, yy1 float64
		for j := from; j < to; j++ {
			a, b := wave(s.t[j])
			c, d, y = c+a, d+b, y+s.y[j]
			cc1, ss1, cs1 = cc1+a*a, ss1+b*b, cs1+a*b
			cy1, sy1, yy1 = cy1+a*s.y[j], sy1+b*s.y[j], yy1+s.y[j]*s.y[j]
		}
		cc, ss, cs = cc+cc1-c*c/n, ss+ss1-d*d/n, cs+cs1-c*d/n
		cy, sy, yy = cy+cy1-c*y/n, sy+sy1-d*y/n, yy+yy1-y*y/n
	}
	// Two normal equations; det vanishes where all trips fall on one day of the year.
	det := cc*ss - cs*cs
	if freedom < seasonTrips/2 || det <= 1e-9*cc*ss {
		return season{}
	}
	w := season{cos: (ss*cy - cs*sy) / det, sin: (cc*sy - cs*cy) / det}
	explained := w.cos*cy + w.sin*sy
	rest := yy - explained
	if rest <= 0 || explained <= 0 {
		return season{}
	}
	// With two degrees of freedom the upper tail of F is a power:
	// P(F > f) = (1 + 2f/d)^(−d/2), and 2f/d is explained over rest.
	if math.Pow(1+explained/rest, -freedom/2) > seasonLevel {
		return season{}
	}
	variance := rest / freedom
	w.supported = true
	w.varCos, w.varSin, w.cov = variance*ss/det, variance*cc/det, -variance*cs/det
	return w
}

// wave returns the two basis values of a time in years.
func wave(t float64) (c, s float64) {
	s, c = math.Sincos(2 * math.Pi * t)
	return c, s
}

// at returns the wave's height at a time in years and its variance.
func (w season) at(t float64) (height, variance float64) {
	if !w.supported {
		return 0, 0
	}
	c, s := wave(t)
	return w.cos*c + w.sin*s, w.varCos*c*c + w.varSin*s*s + 2*w.cov*c*s
}

// remove takes the wave out of s.
func (w season) remove(s *series) {
	if !w.supported {
		return
	}
	for j, t := range s.t {
		height, _ := w.at(t)
		s.y[j] -= height
	}
}
