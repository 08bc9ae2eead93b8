package yield_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/yield"
)

// TestEightSchools compares with quadrature in R of Rubin 1981.
func TestEightSchools(t *testing.T) {
	t.Parallel()
	var reference struct {
		Y, S []float64
		Weak struct {
			MuMean    float64   `json:"mu_mean"`
			MuSD      float64   `json:"mu_sd"`
			TauMean   float64   `json:"tau_mean"`
			TauMedian float64   `json:"tau_median"`
			Mean      []float64 `json:"theta_mean"`
			SD        []float64 `json:"theta_sd"`
			Low       []float64 `json:"theta_q025"`
			High      []float64 `json:"theta_q975"`
			FreshMean float64   `json:"new_theta_mean"`
			FreshSD   float64   `json:"new_theta_sd"`
		} `json:"weak_prior"`
	}
	readReference(t, "eight_schools.json", &reference)
	got, err := yield.Pool(reference.Y, reference.S, yield.PoolPrior{SD: 5, Tau: yield.HalfCauchy, Scale: 5})
	require.NoError(t, err)
	want := reference.Weak
	require.InEpsilon(t, want.MuMean, got.Mu, 1e-4)
	require.InEpsilon(t, want.MuSD, got.MuSD, 1e-4)
	require.InEpsilon(t, want.TauMean, got.Tau, 1e-4)
	// The reference rounds this one figure; the truth by a plain midpoint rule of
	// 400,000 points is 2.74873.
	require.InDelta(t, want.TauMedian, got.TauMedian, 0.005)
	require.InDelta(t, 2.74873, got.TauMedian, 1e-4)
	require.InEpsilon(t, want.FreshMean, got.Fresh.Mean, 1e-4)
	require.InEpsilon(t, want.FreshSD, got.Fresh.SD, 1e-4)
	for i := range want.Mean {
		require.InEpsilon(t, want.Mean[i], got.Theta[i].Mean, 1e-4, "mean of school %d", i)
		require.InEpsilon(t, want.SD[i], got.Theta[i].SD, 1e-4, "sd of school %d", i)
		require.InEpsilon(t, want.Low[i], got.Theta[i].Limits.Low, 1e-4, "lower limit of school %d", i)
		require.InEpsilon(t, want.High[i], got.Theta[i].Limits.High, 1e-4, "upper limit of school %d", i)
	}
}

// TestDyestuff compares with lme4 on the yields of Davies and Goldsmith 1972.
func TestDyestuff(t *testing.T) {
	t.Parallel()
	var reference struct {
		Group []string
		Y     []float64
		REML  struct {
			Intercept, Criterion float64
			SE                   float64   `json:"se_intercept"`
			Between              float64   `json:"sd_between"`
			Within               float64   `json:"sd_within"`
			Names                []string  `json:"blup_names"`
			BLUP                 []float64 `json:"blup"`
			SD                   []float64 `json:"blup_condsd"`
		}
		ML struct {
			Intercept, Deviance float64
			Between             float64 `json:"sd_between"`
			Within              float64 `json:"sd_within"`
		}
	}
	readReference(t, "mixed_dyestuff.json", &reference)
	reml, err := yield.OneWay(reference.Group, reference.Y, false)
	require.NoError(t, err)
	require.InEpsilon(t, reference.REML.Intercept, reml.Intercept, 1e-8)
	require.InEpsilon(t, reference.REML.SE, reml.InterceptSE, 1e-5)
	require.InEpsilon(t, reference.REML.Between, reml.SDBetween, 1e-5)
	require.InEpsilon(t, reference.REML.Within, reml.SDWithin, 1e-5)
	require.InEpsilon(t, reference.REML.Criterion, reml.Criterion, 1e-8)
	for i, g := range reml.Groups {
		require.Equal(t, reference.REML.Names[i], g.Name)
		require.Equal(t, 5, g.N)
		require.InEpsilon(t, reference.REML.BLUP[i], g.Effect, 1e-5)
		require.InEpsilon(t, reference.REML.SD[i], g.SD, 1e-5)
	}
	ml, err := yield.OneWay(reference.Group, reference.Y, true)
	require.NoError(t, err)
	require.InEpsilon(t, reference.ML.Intercept, ml.Intercept, 1e-8)
	require.InEpsilon(t, reference.ML.Between, ml.SDBetween, 1e-5)
	require.InEpsilon(t, reference.ML.Within, ml.SDWithin, 1e-5)
	require.InEpsilon(t, reference.ML.Deviance, ml.Criterion, 1e-8)
}

// TestValueOfTrial compares with the closed form of Raiffa and Schlaifer 1961.
func TestValueOfTrial(t *testing.T) {
	t.Parallel()
	var reference struct {
		UnitLoss []float64 `json:"unit_loss"`
		Cases    []struct {
			PriorMean float64 `json:"prior_mean"`
			PriorSD   float64 `json:"prior_sd"`
			Threshold float64
			TripSD    float64 `json:"trip_sd"`
			Trips     int
			TripCost  float64 `json:"trip_cost"`
			Worth     float64 `json:"p_worth"`
			Perfect   float64 `json:"evpi"`
			Sample    float64 `json:"evsi"`
			Net       float64
		}
	}
	readReference(t, "value_of_information.json", &reference)
	for z, want := range reference.UnitLoss {
		require.InEpsilon(t, want, yield.UnitLoss(float64(z)), 1e-8)
	}
	require.NotEmpty(t, reference.Cases)
	for _, c := range reference.Cases {
		got, err := yield.ValueOfTrial(yield.Trial{
			Mean: c.PriorMean, SD: c.PriorSD, Threshold: c.Threshold, TripSD: c.TripSD, Trips: c.Trips, TripCost: c.TripCost,
		})
		require.NoError(t, err)
		require.InEpsilon(t, c.Worth, got.Worth, 1e-8)
		require.InEpsilon(t, c.Perfect, got.Perfect, 1e-8)
		require.InEpsilon(t, c.Sample, got.Sample, 1e-8)
		require.InEpsilon(t, c.Net, got.Net, 1e-8)
	}
}

// TestPoolLimits checks the ends that have closed forms: one estimate alone, and
// estimates so far apart that nothing is borrowed.
func TestPoolLimits(t *testing.T) {
	t.Parallel()
	one, err := yield.Pool([]float64{3}, []float64{2}, yield.PoolPrior{SD: 1, Tau: yield.HalfNormal, Scale: 1e-6})
	require.NoError(t, err)
	// With no spread between groups it is the product of two normals.
	require.InEpsilon(t, 3.0/5, one.Theta[0].Mean, 1e-6)
	require.InEpsilon(t, math.Sqrt(4.0/5), one.Theta[0].SD, 1e-6)
	require.InEpsilon(t, 3.0/5-1.959963984540054*math.Sqrt(4.0/5), one.Theta[0].Limits.Low, 1e-6)
	far, err := yield.Pool([]float64{-1e5, 0, 1e5}, []float64{1, 1, 1}, yield.PoolPrior{Tau: yield.FlatTau, Scale: 1e5})
	require.NoError(t, err)
	require.InDelta(t, -1e5, far.Theta[0].Mean, 0.01)
	require.InDelta(t, 1, far.Theta[0].SD, 0.01)
	require.Greater(t, far.Fresh.SD, 1e5)
	require.InDelta(t, 0, far.Mu, 1)
}

func TestPoolRefuses(t *testing.T) {
	t.Parallel()
	ok := yield.PoolPrior{SD: 5, Scale: 5}
	for name, c := range map[string]struct {
		y, s  []float64
		prior yield.PoolPrior
		want  error
	}{
		"nothing":         {nil, nil, ok, yield.ErrOption},
		"lengths":         {[]float64{1}, []float64{1, 2}, ok, yield.ErrOption},
		"error of zero":   {[]float64{1}, []float64{0}, ok, yield.ErrOption},
		"no number":       {[]float64{math.NaN()}, []float64{1}, ok, yield.ErrOption},
		"scale":           {[]float64{1}, []float64{1}, yield.PoolPrior{SD: 1}, yield.ErrOption},
		"shape":           {[]float64{1}, []float64{1}, yield.PoolPrior{SD: 1, Scale: 1, Tau: 7}, yield.ErrOption},
		"two and no idea": {[]float64{1, 2}, []float64{1, 1}, yield.PoolPrior{Scale: 1, Tau: yield.FlatTau}, yield.ErrNotEnough},
	} {
		_, err := yield.Pool(c.y, c.s, c.prior)
		require.ErrorIs(t, err, c.want, name)
	}
}

// TestOneWayWithoutSpread finds a spread of exactly zero where groups differ less
// than their errors make them, by both criteria.
func TestOneWayWithoutSpread(t *testing.T) {
	t.Parallel()
	group := []string{"a", "a", "a", "b", "b", "b", "c", "c", "c"}
	y := []float64{1, 5, 9, 2, 4, 9, 0, 6, 8}
	for _, ml := range []bool{false, true} {
		m, err := yield.OneWay(group, y, ml)
		require.NoError(t, err)
		require.Zero(t, m.SDBetween)
		require.InDelta(t, 44.0/9, m.Intercept, 1e-12)
		for _, g := range m.Groups {
			require.Zero(t, g.Effect)
			require.Zero(t, g.SD)
		}
		freedom := 8.0
		if ml {
			freedom = 9
		}
		ss := 0.0
		for _, v := range y {
			ss += (v - m.Intercept) * (v - m.Intercept)
		}
		require.InEpsilon(t, math.Sqrt(ss/freedom), m.SDWithin, 1e-12)
	}
}

// TestOneWayBalanced compares with the closed form of balanced data: REML is the
// analysis of variance estimate (Searle, Casella and McCulloch 1992).
func TestOneWayBalanced(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		groups, n := rapid.IntRange(2, 7).Draw(t, "groups"), rapid.IntRange(2, 6).Draw(t, "n")
		var names []string
		var y []float64
		means := make([]float64, groups)
		var within float64
		for g := range groups {
			level := rapid.Float64Range(-5, 5).Draw(t, "level")
			var own []float64
			for range n {
				v := level + rapid.Float64Range(-1, 1).Draw(t, "error")
				own = append(own, v)
				names, y = append(names, string(rune('a'+g))), append(y, v)
				means[g] += v / float64(n)
			}
			for _, v := range own {
				within += (v - means[g]) * (v - means[g])
			}
		}
		if within < 1e-6 {
			return
		}
		var grand, between float64
		for _, m := range means {
			grand += m / float64(groups)
		}
		for _, m := range means {
			between += (m - grand) * (m - grand) / float64(groups-1)
		}
		within /= float64(groups * (n - 1))
		want := between - within/float64(n)
		m, err := yield.OneWay(names, y, false)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(want) < 1e-9*within { // on the boundary either is right
			if m.SDBetween > 1e-4*math.Sqrt(within) {
				t.Fatalf("between %v on the boundary", m.SDBetween)
			}
			return
		}
		if want < 0 {
			if m.SDBetween != 0 {
				t.Fatalf("between %v, want exactly 0", m.SDBetween)
			}
			return
		}
		// Near the boundary the slope is a difference of nearly equal sums.
		if math.Abs(m.SDBetween-math.Sqrt(want)) > 1e-5*math.Sqrt(want)+1e-6*math.Sqrt(within) || math.Abs(m.SDWithin-math.Sqrt(within)) > 1e-6*math.Sqrt(within) {
			t.Fatalf("between %v, want %v; within %v, want %v", m.SDBetween, math.Sqrt(want), m.SDWithin, math.Sqrt(within))
		}
	})
}

func TestOneWayRefuses(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		group []string
		y     []float64
		want  error
	}{
		"lengths":     {[]string{"a"}, nil, yield.ErrOption},
		"no number":   {[]string{"a", "a", "b"}, []float64{1, math.Inf(1), 2}, yield.ErrOption},
		"one group":   {[]string{"a", "a"}, []float64{1, 2}, yield.ErrNotEnough},
		"one of each": {[]string{"a", "b"}, []float64{1, 2}, yield.ErrNotEnough},
		"all equal":   {[]string{"a", "a", "b"}, []float64{1, 1, 2}, yield.ErrNotEnough},
	} {
		_, err := yield.OneWay(c.group, c.y, false)
		require.ErrorIs(t, err, c.want, name)
	}
}

func TestValueOfTrialLimits(t *testing.T) {
	t.Parallel()
	known, err := yield.ValueOfTrial(yield.Trial{Mean: 5, Threshold: 3, TripSD: 1, Trips: 4, TripCost: 2})
	require.NoError(t, err)
	require.Equal(t, yield.TrialValue{Worth: 1, Net: -8}, known, "nothing to learn about what is known")
	many, err := yield.ValueOfTrial(yield.Trial{Mean: 1, SD: 4, Threshold: 2, TripSD: 9, Trips: 10_000_000})
	require.NoError(t, err)
	require.InEpsilon(t, many.Perfect, many.Sample, 1e-4, "many trips tell all")
	require.Zero(t, yield.UnitLoss(40))
	require.InEpsilon(t, 5, yield.UnitLoss(-5), 1e-6)
	for _, bad := range []yield.Trial{{SD: -1}, {TripSD: -1}, {Trips: -1}, {Mean: math.NaN()}, {TripCost: math.Inf(1)}} {
		_, err := yield.ValueOfTrial(bad)
		require.ErrorIs(t, err, yield.ErrOption)
	}
}
