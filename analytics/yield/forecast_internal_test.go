package yield

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// bentOutlook is a next value with the given shape.
func bentOutlook(level, sd, skew, kurt float64) *outlook {
	o := &outlook{level: level, nextVar: sd * sd, bend: newSkewed(0, 1, skew), kurt: kurt}
	o.exponentiate()
	return o
}

// below returns the probability of less than v, as forecast.below reads it.
func (t *table) below(v float64) float64 {
	switch {
	case v <= t.least:
		return 0
	case v >= t.most:
		return 1
	}
	at := (aboutLog(v) - t.low) * t.perStep
	i := min(max(int(at), 0), tableSteps-1)
	return t.upTo[i] + (t.upTo[i+1]-t.upTo[i])*(at-float64(i))
}

// TestTable reads a lognormal off its table and back.
func TestTable(t *testing.T) {
	t.Parallel()
	for _, sd := range []float64{0.05, 0.3, 0.8, 1.5, 3} {
		tb := bentOutlook(-2, sd, 0, 0).table()
		for z := -3.0; z <= 3; z += 0.25 {
			p := upperTail(-z)
			require.InDelta(t, p, tb.below(math.Exp(-2+sd*z)), 2e-3, "sd %v z %v", sd, z)
			require.InDelta(t, p, tb.below(tb.quantile(p)), 1e-9)
		}
		for x := 1e-9; x < 1e9; x *= 1.37 {
			require.InEpsilon(t, x, aboutExp(aboutLog(x)), 1e-12)
			require.InDelta(t, math.Log2(x), aboutLog(x), 0.009)
		}
		require.Zero(t, tb.below(0))
		require.Zero(t, tb.below(-1))
		require.InDelta(t, 1, tb.below(math.Inf(1)), 0)
		require.InEpsilon(t, math.Exp(-2+sd*sd/2), tb.mean, map[bool]float64{true: 3e-3, false: 0.25}[sd <= 1])
	}
}

// TestNextAgainstDraws compares the forecast of the next trip with a million
// draws of its parts.
func TestNextAgainstDraws(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for name, terms := range map[string]Terms{
		"wood alone":     {Mile: 60, Inside: 90_000, Outside: 90_000},
		"two prices":     {Mile: 60, Inside: 90_000, Outside: 40_000},
		"hours valued":   {Mile: 60, Inside: 90_000, Outside: 60_000, Hour: 1500},
		"waste has cost": {Mile: 60, Inside: 90_000, Outside: 60_000, Hour: 500, Disposal: 9_000},
	} {
		m := &Model{clock: clock{15, 2, 150}, terms: terms}
		volume, share := bentOutlook(-2, 0.8, 0, 0.4), bentOutlook(angle(0.55), 0.22, -0.4, 0)
		inside, pace := bentOutlook(angle(0.8), 0.3, 0, 0), bentOutlook(0, 0.3, 0, 0)
		s := &sourceFit{miles: 12, cash: 300, volume: *volume, time: *pace}
		s.chance.p, s.share.dead = 0.8, 0.07
		s.volumes, s.paces = volume.table(), pace.table()
		volumes, shares, insides, paces := volume.next(), share.next(), inside.next(), pace.next()
		for k := range latticePoints {
			s.shares[k] = unangle(shares.at(lattice[0][k]))
			s.insides[k] = unangle(insides.at(lattice[1][k]))
			s.pace[k] = math.Exp(paces.at(lattice[2][k]))
		}
		d := m.trip(s, terms)
		const draws = 300_000
		nets := make([]float64, draws)
		for i := range nets {
			p := math.Exp(paces.at(r.NormFloat64()))
			nets[i] = -d.fixed - terms.Hour/60*d.drive*p
			if r.Float64() < s.chance.p {
				v, u := math.Exp(volumes.at(r.NormFloat64())), 0.0
				if r.Float64() >= s.share.dead {
					u = unangle(shares.at(r.NormFloat64()))
				}
				nets[i] += v * (terms.perCubic(u, unangle(insides.at(r.NormFloat64()))) - terms.Hour/60*d.handling(p))
			}
		}
		slices.Sort(nets)
		f := m.next(s, terms, &forecast{})
		spread := f.spread(0)
		for k := 1; k < 40; k++ {
			x := nets[k*draws/40]
			if f.atomW > 0 && math.Abs(x-f.atom) < 1e-6 {
				continue
			}
			require.InDelta(t, float64(k)/40, f.cdf(x).High, 0.02, "%s at %d/40", name, k)
		}
		share90 := func(b Bounds) float64 {
			low, _ := slices.BinarySearch(nets, b.Low-1e-6)
			high, _ := slices.BinarySearch(nets, b.High+1e-6)
			return float64(high-low) / draws
		}
		require.InDelta(t, 0.9, share90(spread.Most), 0.012, name)
		require.InDelta(t, 0.5, share90(spread.Half), 0.02, name)
		// The moments leave out what lies beyond 3.6 standard deviations.
		require.InEpsilon(t, math.Sqrt(variance(nets)), spread.SD, 0.07, name)
		for _, y := range []float64{nets[draws/20], nets[draws/2], nets[draws*19/20]} {
			require.InEpsilon(t, drawsCRPS(nets, y), f.crps(y), 0.02, name)
		}
	}
}

func variance(x []float64) float64 {
	var mean, sum float64
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sum += (v - mean) * (v - mean) / float64(len(x))
	}
	return sum
}

// drawsCRPS is the score of sorted draws.
func drawsCRPS(sorted []float64, y float64) float64 {
	var away, apart, sum float64
	n := float64(len(sorted))
	for i, x := range sorted {
		away += math.Abs(x-y) / n
		apart += (float64(i)*x - sum) / n / n
		sum += x
	}
	return away - apart
}

// TestSkewedMoments draws from the distribution of three moments.
func TestSkewedMoments(t *testing.T) {
	t.Parallel()
	for _, want := range []float64{-2, -0.5, 0, 0.3, 1, 4} {
		d := newSkewed(3, 4, want)
		g := newGrid(9, 0.05)
		var mean, second, third float64
		for i, z := range g.z {
			x := d.at(z)
			mean += g.w[i] * x
			second += g.w[i] * (x - 3) * (x - 3)
			third += g.w[i] * (x - 3) * (x - 3) * (x - 3) / 8
		}
		require.InDelta(t, 3, mean, 1e-3, "skew %v", want)
		require.InEpsilon(t, 4, second, 5e-3, "skew %v", want)
		require.InDelta(t, want, third, 0.02*math.Max(1, math.Abs(want)), "skew %v", want)
	}
}

// TestForecastRises checks what any forecast owes: a distribution that rises
// from 0 to 1, quantiles that undo it, intervals inside each other.
func TestForecastRises(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		tb := bentOutlook(rapid.Float64Range(-4, 2).Draw(t, "level"), rapid.Float64Range(0.05, 2).Draw(t, "sd"), 0, 0).table()
		f := &forecast{atom: rapid.Float64Range(-50, 0).Draw(t, "atom"), atomW: rapid.Float64Range(0, 0.95).Draw(t, "atom weight")}
		n := rapid.IntRange(1, 8).Draw(t, "lines")
		for range n {
			f.lines = append(f.lines, line{
				of: &tb, a: rapid.Float64Range(-20, 300).Draw(t, "a"), b: rapid.Float64Range(-20, 50).Draw(t, "b"), w: (1 - f.atomW) / float64(n),
			})
		}
		s := f.spread(0)
		slack := 1e-3*(f.marks[markCount-1].x-f.marks[0].x) + 1e-9 // and rounding, where all lines are one point
		if s.Most.Low > s.Half.Low+slack && s.Half.Low != f.atom || s.Half.High > s.Most.High+slack && s.Half.High != f.atom {
			t.Fatalf("intervals are not nested: %+v", s)
		}
		last := -1.0
		for k := range 60 {
			x := -100 + 10*float64(k)
			c := f.cdf(x)
			if c.Low < last-1e-9 || c.High < c.Low || c.High > 1+1e-9 {
				t.Fatalf("cdf(%v) = %+v after %v", x, c, last)
			}
			last = c.High
		}
		if score := f.crps(s.Median); score < -1e-9 || math.IsNaN(score) {
			t.Fatalf("score %v", score)
		}
	})
}

// TestBetaQuantile compares the approximation with the exact quantile.
func TestBetaQuantile(t *testing.T) {
	t.Parallel()
	for _, a := range []float64{1, 1.3, 2, 5, 20, 200} {
		for _, b := range []float64{1, 1.7, 4, 30, 300} {
			for _, hold := range []float64{0.5, 0.9} {
				law := newBeta(a/(a+b), a*b/((a+b)*(a+b)*(a+b+1)))
				got := law.limits(hold)
				want := (&beta{a: a, b: b}).exactLimits(hold)
				require.InDelta(t, want.Low, got.Low, 0.005, "%v %v %v", a, b, hold)
				require.InDelta(t, want.High, got.High, 0.005, "%v %v %v", a, b, hold)
			}
		}
	}
	ends := newBeta(0.5, 0.25)
	require.Equal(t, Bounds{0, 1}, ends.limits(0.9))
}
