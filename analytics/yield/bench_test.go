package yield_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// largeBook returns a book of sources with trips each, over three years.
func largeBook(sources, trips int) (*world, []yield.Pickup) {
	r := rand.New(rand.NewPCG(7, 7))
	w := newWorld(r, worldOptions{sources: sources})
	pickups := make([]yield.Pickup, 0, sources*trips)
	for i, s := range w.sources {
		s.id = fmt.Sprintf("s%04d", i)
		w.sources[i].id = s.id
		for range trips {
			_, now := s.trip(r, day0.AddDate(0, 0, r.IntN(1000)), 0.15)
			pickups = append(pickups, now)
		}
	}
	r.Shuffle(len(pickups), func(i, j int) { pickups[i], pickups[j] = pickups[j], pickups[i] })
	return w, pickups
}

// BenchmarkAllAnswers answers everything about 1,000 sources with 20 trips each,
// from the unsorted pickups; the baseline is one pass of plain means over them.
func BenchmarkAllAnswers(b *testing.B) {
	w, pickups := largeBook(1000, 20)
	opts := yield.Options{Today: day0.AddDate(3, 0, 0), Prices: w.prices}
	plainMeans := func() {
		sums, counts := map[string]float64{}, map[string]float64{}
		for i := range pickups {
			p := &pickups[i]
			sums[p.SourceID] += w.terms.Inside*p.Inside + w.terms.Outside*p.Outside - w.terms.Mile*p.Miles
			counts[p.SourceID]++
		}
		for id := range sums {
			sums[id] /= counts[id]
		}
	}
	const passes = 50
	start := time.Now()
	for range passes {
		plainMeans()
	}
	plain := float64(time.Since(start).Nanoseconds()) / passes
	b.ResetTimer()
	for b.Loop() {
		m, err := yield.Fit(pickups, opts)
		require.NoError(b, err)
		require.Len(b, m.Answers().Sources, 1000)
	}
	perOp := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
	b.ReportMetric(perOp/1e6, "ms")
	b.ReportMetric(perOp/plain, "ratio-to-plain-means")
}

// BenchmarkSmallBook answers everything about a club's year: 9 sources, 80 trips.
func BenchmarkSmallBook(b *testing.B) {
	w, pickups := largeBook(9, 9)
	opts := yield.Options{Today: day0.AddDate(3, 0, 0), Prices: w.prices}
	for b.Loop() {
		m, err := yield.Fit(pickups, opts)
		require.NoError(b, err)
		require.Len(b, m.Answers().Sources, 9)
	}
}

// BenchmarkLookBack scores every trip of such a year.
func BenchmarkLookBack(b *testing.B) {
	w, pickups := largeBook(9, 9)
	for b.Loop() {
		_, err := yield.LookBack(pickups, day0, yield.Options{Prices: w.prices})
		require.NoError(b, err)
	}
}

// BenchmarkLookBackBounded scores the latest 104 days of drives of a book of ten
// years: 20 sources with 52 trips each.
func BenchmarkLookBackBounded(b *testing.B) {
	w, pickups := largeBook(20, 52)
	for b.Loop() {
		_, err := yield.LookBackAt(pickups, yield.ReviewOptions{Days: 104}, yield.Options{Prices: w.prices})
		require.NoError(b, err)
	}
}
