package yield

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestProduct takes the logarithm of a product that no float could hold.
func TestProduct(t *testing.T) {
	t.Parallel()
	none := newProduct()
	require.Zero(t, none.sum())
	for _, factor := range []float64{1e-90, 3e-7, 0.9, 1, 7, 2e88} {
		p := newProduct()
		for range 5000 {
			p.times(factor)
		}
		want := 5000 * math.Log(factor)
		require.InDelta(t, want, p.sum(), 1e-9*math.Abs(want), "%v", factor)
	}
}

// TestKeeping compares what each memory keeps with the exponential it stands for.
func TestKeeping(t *testing.T) {
	t.Parallel()
	s := testSeries()
	kept := newKeeping(s.start, s.t, s.today)
	for m, memory := range memories {
		if m > 0 {
			kept.shorten()
		}
		for i := range s.sources() {
			from, to := s.start[i], s.start[i+1]
			if from == to {
				require.Zero(t, kept.today[i])
				continue
			}
			require.Zero(t, kept.trip[from])
			for j := from + 1; j < to; j++ {
				require.InEpsilon(t, math.Exp(-(s.t[j]-s.t[j-1])/memory), kept.trip[j], 1e-12)
			}
			require.InEpsilon(t, math.Exp(-(s.today-s.t[to-1])/memory), kept.today[i], 1e-12)
		}
	}
}

// TestFilterOfManyTrips runs a filter beyond what its determinant can hold: it has to
// end where one that is begun anew ends, since a short memory forgets how it began.
func TestFilterOfManyTrips(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(4, 4))
	for _, weight := range []float64{1e-3, 1, 1e3} {
		long := &series{start: []int{0, 4000}, kind: []int{0}, kinds: 1, today: 4000.5}
		for j := range 4000 {
			long.y, long.w, long.t = append(long.y, r.NormFloat64()), append(long.w, weight), append(long.t, float64(j))
		}
		short := &series{start: []int{0, 50}, kind: []int{0}, kinds: 1, today: long.today, y: long.y[3950:], w: long.w[3950:], t: long.t[3950:]}
		now := func(s *series) filtered {
			f := &tier{data: s, prior: testPrior}
			f.prepareFilter()
			n := f.fading(0.7, memories[0], newKeeping(s.start, s.t, s.today))
			require.False(t, math.IsNaN(n.sums.logDet+n.sums.c) || math.IsInf(n.sums.logDet, 0))
			return n.now[0]
		}
		got, want := now(long), now(short)
		require.InDelta(t, want.y, got.y, 1e-6)
		require.InDelta(t, want.one, got.one, 1e-6)
		require.InEpsilon(t, want.p, got.p, 1e-6)
	}
}

// TestCeiling holds the bound that draws go by against the belief itself.
func TestCeiling(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := &priced{belief: newSkewed(rapid.Float64Range(-1e4, 1e4).Draw(t, "mean"), rapid.Float64Range(0, 1e7).Draw(t, "variance"),
			rapid.Float64Range(-4, 4).Draw(t, "skew"))}
		z := rapid.Float64Range(-9, 9).Draw(t, "z")
		c := ceilings([]*priced{p}, []int{0})
		if v := p.belief.at(z); v > c[0].over(z)+1e-9*(math.Abs(v)+p.belief.at(1)-p.belief.at(-1)) {
			t.Fatalf("at %v the belief is %v, above its ceiling %v", z, v, c[0].over(z))
		}
	})
}

// TestForecastReadsTables compares a forecast with the tables it is made of.
func TestForecastReadsTables(t *testing.T) {
	t.Parallel()
	tb := bentOutlook(-2, 0.8, 0, 0.4).table()
	f := forecast{lines: []line{
		{of: &tb, a: 900, b: 20, w: 0.5}, {of: &tb, a: -300, b: 5, w: 0.3}, {of: &tb, a: 0, b: 40, w: 0.2},
	}}
	f.prepare()
	for x := -200.0; x < 2000; x += 7 {
		want := 0.5*tb.below((x+20)/900) + 0.3*(1-tb.below((x+5)/-300))
		if x+40 > 0 {
			want += 0.2
		}
		require.InDelta(t, want, f.below(x), 1e-12, "%v", x)
	}
}
