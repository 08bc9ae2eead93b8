package moisture_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/moisture"
)

func TestMeanOfBoards(t *testing.T) {
	t.Parallel()
	// Student's t for two degrees of freedom, both tails 10 %, is 2.920 in every
	// printed table.
	e, span, err := moisture.MeanOf([]float64{11, 12, 13}, 0.9)
	require.NoError(t, err)
	require.InDelta(t, 12, e.Mean, 1e-12)
	require.InDelta(t, 1/math.Sqrt(3), e.SD, 1e-12)
	require.InDelta(t, 12-2.920/math.Sqrt(3), span.Low, 0.001)
	require.InDelta(t, 12+2.920/math.Sqrt(3), span.High, 0.001)

	e, span, err = moisture.MeanOf([]float64{14}, 0.9)
	require.NoError(t, err)
	require.InDelta(t, 14, e.Mean, 1e-12)
	require.True(t, math.IsNaN(e.SD) && math.IsNaN(span.Low) && math.IsNaN(span.High), "one board says nothing of the others")

	_, _, err = moisture.MeanOf(nil, 0.9)
	require.ErrorIs(t, err, moisture.ErrNoReadings)
	_, _, err = moisture.MeanOf([]float64{12, math.NaN()}, 0.9)
	require.ErrorIs(t, err, moisture.ErrNotFinite)
	for _, c := range []float64{0, 1, math.NaN(), 90} {
		_, _, err = moisture.MeanOf([]float64{12, 13}, c)
		require.ErrorIs(t, err, moisture.ErrSetting)
	}
}

func TestMeanOfLiesBetweenItsBoards(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		boards := rapid.SliceOfN(rapid.Float64Range(6, 30), 2, 40).Draw(t, "boards")
		e, span, err := moisture.MeanOf(boards, 0.9)
		require.NoError(t, err)
		require.LessOrEqual(t, span.Low, e.Mean)
		require.GreaterOrEqual(t, span.High, e.Mean)
		_, wider, err := moisture.MeanOf(boards, 0.99)
		require.NoError(t, err)
		require.LessOrEqual(t, wider.Low, span.Low)
		require.GreaterOrEqual(t, wider.High, span.High)
	})
}
