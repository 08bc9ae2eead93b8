package yield_test

import (
	"testing"

	"github.com/stretchr/testify/require"

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
