package moisture_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
)

// BenchmarkStack is what one stack costs on the Drying page: the posterior with
// its grid and the three dates, in air that stays the same and in air with
// seasons, beside a plain least-squares fit of the same points in the same run.
func BenchmarkStack(b *testing.B) {
	c := dryingCases(b)[1]
	in := moisture.FitInput{Obs: readings(c.Days, c.Percent), Climate: moisture.ConstantClimate(c.EMC, 1),
		Prior: moisture.RatePrior{MeanLog: -4, SDLog: 0.6}}
	seasons := in
	for m := range seasons.Climate.EMC {
		seasons.Climate.EMC[m] += 2.5 * math.Cos(float64(m)*math.Pi/6)
	}
	seasons.Climate.Rate = moisture.SeasonUpperMidwest()
	one := func(in moisture.FitInput) {
		p, err := moisture.Fit(in)
		if err == nil {
			_, err = p.Ready(c.Target)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
	for name, in := range map[string]moisture.FitInput{"same air": in, "seasons": seasons} {
		b.Run(name, func(b *testing.B) {
			var plain, grid time.Duration
			for b.Loop() {
				start := time.Now()
				for range 10 {
					if _, err := moisture.FitPlain(c.Days, c.Percent, c.EMC); err != nil {
						b.Fatal(err)
					}
				}
				middle := time.Now()
				one(in)
				plain += middle.Sub(start) / 10
				grid += time.Since(middle)
			}
			n := float64(b.N)
			b.ReportMetric(float64(plain.Microseconds())/n, "µs-plain-fit")
			b.ReportMetric(float64(grid.Microseconds())/n, "µs-grid-and-dates")
			b.ReportMetric(float64(grid)/float64(plain), "ratio-to-plain-fit")
		})
	}
}

// TestDisturbedWorlds reports and bounds how far the intervals keep their word
// where the world is not the model: weather that moves the stack about its
// curve, a meter half as bad again as stated, and boards that dry fast at first
// and slower later.
func TestDisturbedWorlds(t *testing.T) {
	t.Parallel()
	each := 300
	if full() {
		each = 4000
	}
	world := strata()[0]
	for i, c := range []struct {
		name    string
		disturb func(r *rand.Rand, m []float64)
		least   float64
	}{
		{"weather", func(r *rand.Rand, m []float64) {
			drift := 0.0
			for i := range m {
				drift = 0.6*drift + 0.8*r.NormFloat64()
				m[i] += drift
			}
		}, 0.65},
		{"a worse meter", func(r *rand.Rand, m []float64) {
			for i := range m {
				m[i] += 0.9 * r.NormFloat64()
			}
		}, 0.70},
		{"two speeds", func(_ *rand.Rand, m []float64) {
			for i := range m {
				m[i] -= 0.08 * (m[0] - m[i]) * (m[i] - 10.5) / (m[0] - 10.5 + 1e-9)
			}
		}, 0.55},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := world
			s.disturb = c.disturb
			r := rand.New(rand.NewPCG(7, uint64(i)))
			var total tally
			for range each {
				total.add(t, s.simulate(r, 3+r.IntN(6)), s.target)
			}
			t.Logf("%s: %.3f of %d (early %d, late %d)", c.name, total.share(), total.all, total.early, total.late)
			require.GreaterOrEqual(t, total.share(), c.least)
		})
	}
}
