package yield_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// knownAndNew is a book of one place known well, some of very different worth,
// and one never seen.
func knownAndNew(t *testing.T) *yield.Model {
	t.Helper()
	r := rand.New(rand.NewPCG(61, 1))
	var all []yield.Pickup
	for i := range 30 {
		all = append(all, simple("known", "2025-01-01", 0.1*math.Exp(0.3*r.NormFloat64())))
		if i < 8 {
			all = append(all, simple("other"+string(rune('a'+i)), "2025-01-02", 0.08*math.Exp(0.9*r.NormFloat64())))
		}
	}
	return fit(t, all, yield.Options{Today: day("2025-02-01"), Prices: onlyWood, Sources: []yield.Source{{ID: "new"}}})
}

func choice(t *testing.T, a yield.Advice, id string) yield.Choice {
	t.Helper()
	for _, c := range a.Choices {
		if c.SourceID == id {
			return c
		}
	}
	require.Fail(t, "no choice", id)
	return yield.Choice{}
}

// TestADayAtHomeHasAWorth compares every drive with what the day is worth at home.
func TestADayAtHomeHasAWorth(t *testing.T) {
	t.Parallel()
	m := knownAndNew(t)
	free := m.Answers()
	known := choice(t, free.Next, "known")
	require.Equal(t, yield.KnownToPay, known.Reason)
	require.Contains(t, choice(t, free.Next, "").Sentence, "nothing spent, nothing won")

	terms := m.Terms()
	terms.Home = 10 * known.Net
	dear, err := m.AnswersAt(terms)
	require.NoError(t, err)
	home := dear.Next.Choices[0]
	require.True(t, home.Home)
	require.InDelta(t, terms.Home, home.Score, 0)
	require.Contains(t, home.Sentence, yield.FormatMinor(terms.Home, "USD"))
	require.Equal(t, yield.DoesNotPay, choice(t, dear.Next, "known").Reason)
	require.Contains(t, answerOf(t, dear, "known").Sentence, "known")
	require.InDelta(t, known.Net, choice(t, dear.Next, "known").Net, 1e-9, "the drive itself nets the same")

	terms.Home = -1
	_, err = m.AnswersAt(terms)
	require.ErrorIs(t, err, yield.ErrOption)

	p := onlyWood
	p.Home = yield.Schedule{{Minor: 2500, Currency: "USD"}}
	at, err := p.On(day("2025-02-01"))
	require.NoError(t, err)
	require.InDelta(t, 2500, at.Home, 0)
	p.Home[0].From = day("2025-01-01")
	at, err = p.On(day("2024-02-01"))
	require.NoError(t, err, "past trips need none")
	require.Zero(t, at.Home)
}

func answerOf(t *testing.T, a *yield.Answers, id string) yield.Answer {
	t.Helper()
	for _, s := range a.Sources {
		if s.SourceID == id {
			return s
		}
	}
	require.Fail(t, "no answer", id)
	return yield.Answer{}
}

// TestSeasonOfAModel asks the same book with more and fewer drives left: trying
// is worth more in a long season, and is decided on after more trips.
func TestSeasonOfAModel(t *testing.T) {
	t.Parallel()
	m := knownAndNew(t)
	require.Equal(t, 30, m.Horizon())
	before, trips := -1.0, 0
	for _, drives := range []int{1, 5, 30, 200} {
		other, err := m.Season(drives)
		require.NoError(t, err)
		require.Equal(t, 30, m.Horizon(), "the model itself stays")
		next := other.Answers().Next
		require.Equal(t, drives, next.Horizon)
		c := choice(t, next, "new")
		require.Greater(t, c.Premium, before)
		require.GreaterOrEqual(t, c.Trips, trips)
		require.Less(t, c.Trips, drives)
		require.GreaterOrEqual(t, c.Gain, max(0, c.TryThrice)*float64(min(1, c.Trips)), "no number of trips tried is better")
		before, trips = c.Premium, c.Trips
		if drives == 1 {
			require.Zero(t, c.Trips, "nothing is left to decide")
			require.Zero(t, c.Gain)
		}
	}
	require.Greater(t, trips, 1)
	for _, drives := range []int{0, -3, 1001} {
		_, err := m.Season(drives)
		require.ErrorIs(t, err, yield.ErrOption, drives)
	}
}

// TestAdviceIsTheClosedForm: what one trip is worth over the drives that remain is
// the closed form of one stage (ValueOfTrial) with its terms in place.
func TestAdviceIsTheClosedForm(t *testing.T) {
	t.Parallel()
	m := knownAndNew(t)
	next := m.Answers().Next
	fresh, best := choice(t, next, "new"), yield.Choice{} // staying home
	for _, c := range next.Choices {
		if c.SourceID != "new" && c.Net > best.Net {
			best = c
		}
	}
	a := answerOf(t, m.Answers(), "new")
	// One trip resolves some share of the variance of the belief: the gain of the
	// closed form at the error of a trip that resolves as much.
	share := func(tripSD float64) float64 {
		return a.Expected.SD * a.Expected.SD / (a.Expected.SD*a.Expected.SD + tripSD*tripSD)
	}
	low, high := 1e-3*a.Expected.SD, 1e3*a.Expected.SD
	for range 200 { // the error whose closed form is Learn
		middle := math.Sqrt(low * high)
		v, err := yield.ValueOfTrial(yield.Trial{Mean: fresh.Net, SD: a.Expected.SD, Threshold: best.Net, TripSD: middle, Trips: 1})
		require.NoError(t, err)
		if v.Sample > fresh.Learn {
			low = middle
		} else {
			high = middle
		}
	}
	require.Greater(t, share(low), 0.02)
	require.Less(t, share(low), 0.98)
	three, err := yield.ValueOfTrial(yield.Trial{Mean: fresh.Net, SD: a.Expected.SD, Threshold: best.Net, TripSD: low, Trips: 3})
	require.NoError(t, err)
	ahead := fresh.Net - best.Net
	kept := max(0, ahead) // per later drive, had nothing been learnt
	require.InEpsilon(t, ahead+29*(kept+fresh.Learn), fresh.TryOnce, 1e-6)
	require.InEpsilon(t, 3*ahead+27*(kept+three.Sample), fresh.TryThrice, 1e-6)
}
