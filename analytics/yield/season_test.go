package yield_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// saturdays is the length of a simulated season.
const saturdays = 30

// season plays one season of one world with a way of choosing; choose returns
// the place of the source to drive to, −1 to stay home. It returns the true
// expected net of all choices: the luck of single trips is the same noise for
// every way and is left out.
func (w *world) season(r *rand.Rand, choose func(book []yield.Pickup, week int) int) float64 {
	var book []yield.Pickup
	var sum float64
	for week := range saturdays {
		i := choose(book, week)
		if i < 0 {
			continue
		}
		all, _ := w.sources[i].trip(r, day0.AddDate(0, 0, 7*week), 0)
		book = append(book, all)
		sum += w.sources[i].expected(w.terms)
	}
	return sum
}

// following follows the advice of the model.
func (w *world) following(t *testing.T) func([]yield.Pickup, int) int {
	place := map[string]int{}
	for i, s := range w.sources {
		place[s.id] = i
	}
	return func(book []yield.Pickup, week int) int {
		m, err := yield.Fit(book, yield.Options{
			Today: day0.AddDate(0, 0, 7*week), Prices: w.prices, Sources: w.places(), Horizon: saturdays - week, Draws: 100,
		})
		require.NoError(t, err)
		best := m.Answers().Next.Choices[0]
		if best.Home {
			return -1
		}
		return place[best.SourceID]
	}
}

// rawBest always goes to the best plain mean so far; a place not tried counts as
// nothing, and is tried when no place seen has paid. With tour set every place is
// tried once first.
func (w *world) rawBest(tour bool) func([]yield.Pickup, int) int {
	return func(book []yield.Pickup, week int) int {
		sum, n := make([]float64, len(w.sources)), make([]float64, len(w.sources))
		for _, p := range book {
			for i, s := range w.sources {
				if s.id == p.SourceID {
					sum[i] += w.net(p)
					n[i]++
				}
			}
		}
		if tour && week < len(w.sources) {
			return week
		}
		best, top, fresh := -1, 0.0, -1
		for i := range w.sources {
			if n[i] == 0 {
				if fresh < 0 {
					fresh = i
				}
				continue
			}
			if mean := sum[i] / n[i]; mean > top {
				best, top = i, mean
			}
		}
		if best < 0 {
			return fresh
		}
		return best
	}
}

// knowing knows the truth.
func (w *world) knowing() func([]yield.Pickup, int) int {
	best, top := -1, 0.0
	for i, s := range w.sources {
		if mean := s.expected(w.terms); mean > top {
			best, top = i, mean
		}
	}
	return func([]yield.Pickup, int) int { return best }
}

// TestSeason plays seasons among ten places of unknown worth, alike and twice as
// unlike.
func TestSeason(t *testing.T) {
	t.Parallel()
	for _, contrast := range []float64{1, 2} {
		t.Run(fmt.Sprint("contrast ", contrast), func(t *testing.T) {
			t.Parallel()
			playSeasons(t, contrast)
		})
	}
}

func playSeasons(t *testing.T, contrast float64) {
	worlds := 24
	if full() {
		worlds = 500
	}
	var advice, greedy, tour, truth, margin, square float64
	for i := range worlds {
		play := func(choose func(*world) func([]yield.Pickup, int) int) float64 {
			w := newWorld(rand.New(rand.NewPCG(30, uint64(i))), worldOptions{sources: 10, contrast: contrast})
			return w.season(rand.New(rand.NewPCG(31, uint64(i))), choose(w))
		}
		a := play(func(w *world) func([]yield.Pickup, int) int { return w.following(t) })
		g := play(func(w *world) func([]yield.Pickup, int) int { return w.rawBest(false) })
		advice, greedy = advice+a, greedy+g
		tour += play(func(w *world) func([]yield.Pickup, int) int { return w.rawBest(true) })
		truth += play((*world).knowing)
		margin += a - g
		square += (a - g) * (a - g)
	}
	n := float64(worlds)
	mean := margin / n
	spread := math.Sqrt((square/n - mean*mean) / n)
	t.Logf("share of what knowing the truth earns: advice %.3f, best raw mean %.3f, one tour then best raw mean %.3f", advice/truth, greedy/truth, tour/truth)
	t.Logf("advice over best raw mean: %.0f ± %.0f a season (%.1f %%); regret to the truth %.0f a season", mean, spread, 100*mean/(greedy/n), (truth-advice)/n)
	require.Greater(t, advice, greedy, "the advice earns more than always the best raw mean")
	require.Less(t, advice, truth)
	if full() { // too close to tell in a few worlds
		require.Greater(t, advice, tour, "and more than trying every place once first")
	}
}
