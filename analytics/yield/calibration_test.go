package yield_test

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// full reports whether the long versions of the calibrations are asked for.
func full() bool { return os.Getenv("SKEPWOOD_FULL") == "1" }

// hits counts how often an interval held the outcome.
type hits struct{ n, in int }

func (h hits) share() float64 { return float64(h.in) / float64(h.n) }

// calibration is what many worlds say of the forecasts.
type calibration struct {
	strata          map[string]*hits
	squared, raw    float64 // error of the expected net, and of the plain mean, against the truth
	crps, truthCRPS float64
}

func (c *calibration) count(in bool, names ...string) {
	for _, name := range names {
		if c.strata[name] == nil {
			c.strata[name] = &hits{}
		}
		c.strata[name].n++
		if in {
			c.strata[name].in++
		}
	}
}

// calibrate fits a book of each of many worlds of 5 to 12 sources with 1 to 5
// trips, but for one source never seen and one seen once at most, and drives once
// more to every source.
func calibrate(t *testing.T, worlds int, seed uint64, contrast float64) *calibration {
	t.Helper()
	c := &calibration{strata: map[string]*hits{}}
	for i := range worlds {
		r := rand.New(rand.NewPCG(seed, uint64(i)))
		c.world(t, newWorld(r, worldOptions{contrast: contrast}), r)
	}
	return c
}

// visits is one simulated book.
type visits struct {
	pickups     []yield.Pickup
	trips, held map[string]int
	raw         map[string]float64 // sums of nets, told how every held lot ends
}

func (w *world) visit(r *rand.Rand) visits {
	v := visits{trips: map[string]int{}, held: map[string]int{}, raw: map[string]float64{}}
	for i, s := range w.sources {
		n := 1 + r.IntN(5)
		if i < 2 {
			n = i * r.IntN(2)
		}
		for range n {
			all, now := s.trip(r, day0.AddDate(0, 0, r.IntN(360)), 0.15)
			v.pickups = append(v.pickups, now)
			v.trips[s.id]++
			v.raw[s.id] += w.net(all)
			if now.Held > 0 {
				v.held[s.id]++
			}
		}
	}
	return v
}

func (c *calibration) world(t *testing.T, w *world, r *rand.Rand) {
	v := w.visit(r)
	today := day0.AddDate(1, 0, 0)
	m, err := yield.Fit(v.pickups, yield.Options{Today: today, Prices: w.prices, Sources: w.places()})
	require.NoError(t, err)
	answers := map[string]yield.Answer{}
	for _, a := range m.Answers().Sources {
		answers[a.SourceID] = a
	}
	for _, s := range w.sources {
		a := answers[s.id]
		require.Equal(t, v.trips[s.id], a.N)
		all, _ := s.trip(r, today, 0)
		got, mean := w.net(all), s.expected(w.terms)
		names := []string{
			"all", fmt.Sprintf("trips: %d", a.N), fmt.Sprintf("sources: %02d", len(w.sources)), fmt.Sprintf("hours valued: %v", w.terms.Hour > 0),
		}
		if a.N > 0 {
			names = append(names, fmt.Sprintf("some empty: %v", a.Empty > 0), fmt.Sprintf("some held: %v", v.held[s.id] > 0))
			c.squared += math.Pow(a.Expected.Mean-mean, 2)
			c.raw += math.Pow(v.raw[s.id]/float64(a.N)-mean, 2)
		}
		if a.N > 0 && a.Empty == a.N {
			names = append(names, "only empty")
		}
		c.count(a.Next.Most.Holds(got), names...)
		c.count(a.Next.Half.Holds(got), "half")
		c.count(a.Expected.Most.Holds(mean), "mean: all", fmt.Sprintf("mean: trips %d", a.N))
		draws := make([]float64, 400)
		for i := range draws {
			d, _ := s.trip(r, today, 0)
			draws[i] = w.net(d)
		}
		c.truthCRPS += sampleCRPS(draws, got)
		score, err := m.Score(s.id, got)
		require.NoError(t, err)
		c.crps += score.CRPS
	}
}

func (c *calibration) log(t *testing.T) {
	t.Helper()
	for _, name := range slices.Sorted(maps.Keys(c.strata)) {
		t.Logf("%-20s %5d %.3f", name, c.strata[name].n, c.strata[name].share())
	}
	t.Logf("squared error against plain means %.3f, CRPS against the true parameters %.4f", c.squared/c.raw, c.crps/c.truthCRPS)
}

// TestCalibration asks of many worlds whether nine outcomes in ten fall inside
// the 90 % interval, whatever is known of the source.
func TestCalibration(t *testing.T) {
	t.Parallel()
	worlds, slack := 120, 3.0 // standard errors allowed beyond 88 to 92 %
	if full() {
		worlds, slack = 2000, 0
	}
	c := calibrate(t, worlds, 1, 1)
	c.log(t)
	for name, h := range c.strata {
		if name == "half" || strings.HasPrefix(name, "mean") {
			continue
		}
		allowed := slack * math.Sqrt(0.9*0.1/float64(h.n))
		require.GreaterOrEqual(t, h.share(), 0.88-allowed, name)
		require.LessOrEqual(t, h.share(), 0.92+allowed, name)
	}
	require.InDelta(t, 0.5, c.strata["half"].share(), 0.05)
	require.InDelta(t, 0.91, c.strata["mean: all"].share(), 0.045, "the long-run mean is covered a little too often")
	require.LessOrEqual(t, c.squared/c.raw, 0.6)
	require.LessOrEqual(t, c.crps/c.truthCRPS, 1.05+slack*0.01)
}

// TestCalibrationContrast asks the same of sources that differ twice as much,
// which nobody told the model.
func TestCalibrationContrast(t *testing.T) {
	t.Parallel()
	worlds, slack := 80, 3.0
	if full() {
		worlds, slack = 2000, 0
	}
	c := calibrate(t, worlds, 2, 2)
	c.log(t)
	for name, h := range c.strata {
		if strings.HasPrefix(name, "trips") || name == "all" {
			allowed := slack * math.Sqrt(0.9*0.1/float64(h.n))
			require.GreaterOrEqual(t, h.share(), 0.88-allowed, name)
			require.LessOrEqual(t, h.share(), 0.92+allowed, name)
		}
	}
	require.LessOrEqual(t, c.squared/c.raw, 0.6)
	require.LessOrEqual(t, c.crps/c.truthCRPS, 1.12+slack*0.02)
}
