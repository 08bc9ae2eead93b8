package yield_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// TestLookBack scores the trips of a year: the forecasts are honest and do
// better than the running mean.
func TestLookBack(t *testing.T) {
	t.Parallel()
	in, n := 0.0, 0.0
	var crps, mean float64
	var histogram [10]float64
	for seed := range uint64(8) {
		r := rand.New(rand.NewPCG(70, seed))
		w := newWorld(r, worldOptions{sources: 7})
		var all []yield.Pickup
		for range 60 {
			_, now := w.sources[r.IntN(7)].trip(r, day0.AddDate(0, 0, r.IntN(360)), 0.05)
			all = append(all, now)
		}
		review, err := yield.LookBack(all, day0.AddDate(0, 0, 90), yield.Options{Prices: w.prices})
		require.NoError(t, err)
		require.NotEmpty(t, review.Scores)
		require.True(t, slices.IsSortedFunc(review.Scores, func(a, b yield.Score) int { return a.Date.Compare(b.Date) }))
		held := 0
		for _, p := range all {
			if p.Held > 0 && !p.Date.Before(day0.AddDate(0, 0, 90)) {
				held++
			}
		}
		require.Equal(t, held, review.Undecided, "held outcomes are open")
		sum := 0.0
		for k, share := range review.Histogram {
			sum += share
			histogram[k] += share / 8
		}
		require.InDelta(t, 1, sum, 1e-9)
		in += review.Inside90.Value * float64(len(review.Scores))
		n += float64(len(review.Scores))
		crps, mean = crps+review.CRPS, mean+review.RunningMean
		require.Contains(t, review.Sentence, "fell inside")
	}
	require.InDelta(t, 0.9, in/n, 0.05)
	require.Less(t, crps, 0.85*mean)
	for _, share := range histogram {
		require.InDelta(t, 0.1, share, 0.055)
	}
}

// TestLookBackSeesOnlyThePast gives a trip the same score whatever came later.
func TestLookBackSeesOnlyThePast(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(71, 1))
	w := newWorld(r, worldOptions{sources: 5})
	var all []yield.Pickup
	for i := range 30 {
		_, now := w.sources[i%5].trip(r, day0.AddDate(0, 0, 7*i), 0)
		all = append(all, now)
	}
	opts := yield.Options{Prices: w.prices}
	whole, err := yield.LookBack(all, day0, opts)
	require.NoError(t, err)
	part, err := yield.LookBack(all[:20], day0, opts)
	require.NoError(t, err)
	require.Len(t, whole.Scores, 29, "the first trip of a book has nothing before it")
	require.Equal(t, part.Scores, whole.Scores[:19])
	require.Equal(t, 0, whole.Scores[0].N)
	plain := math.Abs(w.net(all[1]) - w.net(all[0]))
	require.InDelta(t, plain, whole.Scores[0].RunningMean, 1e-9)
}

// TestLookBackAtChosenTrips scores the latest days, or one source, as the whole
// look back does.
func TestLookBackAtChosenTrips(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(72, 1))
	w := newWorld(r, worldOptions{sources: 5})
	var all []yield.Pickup
	for i := range 40 {
		_, now := w.sources[i%5].trip(r, day0.AddDate(0, 0, 7*(i/2)), 0) // two a day
		all = append(all, now)
	}
	opts := yield.Options{Prices: w.prices}
	whole, err := yield.LookBackAt(all, yield.ReviewOptions{}, opts)
	require.NoError(t, err)
	require.Len(t, whole.Scores, 38)
	require.Zero(t, whole.Skipped)

	late, err := yield.LookBackAt(all, yield.ReviewOptions{Days: 6}, opts)
	require.NoError(t, err)
	require.Equal(t, whole.Scores[26:], late.Scores, "the same forecasts")
	require.Equal(t, 26, late.Skipped)

	own, err := yield.LookBackAt(all, yield.ReviewOptions{SourceID: w.sources[2].id}, opts)
	require.NoError(t, err)
	require.Len(t, own.Scores, 8)
	i := 0
	for _, s := range whole.Scores {
		if s.SourceID == w.sources[2].id {
			require.InDelta(t, s.RunningMean, own.Scores[i].RunningMean, 1e-9)
			require.InDelta(t, s.Planned.Mean, own.Scores[i].Planned.Mean, 1e-6*(1+math.Abs(s.Planned.Mean)))
			i++
		}
	}
	none, err := yield.LookBackAt(all, yield.ReviewOptions{SourceID: "nowhere"}, opts)
	require.NoError(t, err)
	require.Empty(t, none.Scores)
}

func TestLookBackOnLittle(t *testing.T) {
	t.Parallel()
	none, err := yield.LookBack(nil, day0, yield.Options{Prices: onlyWood})
	require.NoError(t, err)
	require.Empty(t, none.Scores)
	require.False(t, none.Inside90.Known)
	require.Contains(t, none.Sentence, "No trip to score yet")
	bad := good()
	bad.Miles = -1
	_, err = yield.LookBack([]yield.Pickup{good(), bad}, day0, yield.Options{Prices: plainPrices})
	require.ErrorIs(t, err, yield.ErrPickup)
}
