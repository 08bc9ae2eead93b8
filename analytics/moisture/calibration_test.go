package moisture_test

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
)

// full reports whether the long calibrations were asked for.
func full() bool { return os.Getenv("SKEPWOOD_FULL") == "1" }

// stratum is a kind of stack the ready dates must be honest about.
type stratum struct {
	name string
	// wood is what the fit is told; truth draws what the wood really is.
	wood      moisture.PriorInput
	truth     func(r *rand.Rand) moisture.PriorInput
	startLow  float64
	startHigh float64
	emc       float64
	target    float64
	gap       float64 // days between readings
	// disturb, if set, departs from the model the fit assumes.
	disturb func(r *rand.Rand, m []float64)
}

func same(in moisture.PriorInput) func(*rand.Rand) moisture.PriorInput {
	return func(*rand.Rand) moisture.PriorInput { return in }
}

// strata are fast, slow, near-target and new-species stacks. The new species
// is one that the air-drying table lacks: its stacks dry like some hardwood of
// the table, which the fit does not know.
func strata() []stratum {
	fast := moisture.PriorInput{Species: "pine_lodgepole", ThicknessMM: 19}
	slow := moisture.PriorInput{Species: "oak_white", ThicknessMM: 45}
	near := moisture.PriorInput{Species: "spruce_norway", ThicknessMM: 22}
	hardwoods := []string{"alder_red", "ash_white", "ash_black", "aspen_quaking", "aspen_bigtooth", "cottonwood_eastern", "basswood",
		"beech_american", "birch_yellow", "birch_paper", "elm_american", "maple_sugar", "maple_red", "oak_northern_red", "oak_white",
		"sweetgum", "tupelo_black", "sycamore_american", "yellow_poplar", "hickory_shagbark", "willow_black"}
	return []stratum{
		{name: "fast", wood: fast, truth: same(fast), startLow: 30, startHigh: 80, emc: 10.5, target: 14, gap: 7},
		{name: "slow", wood: slow, truth: same(slow), startLow: 40, startHigh: 80, emc: 10.5, target: 15, gap: 21},
		{name: "near target", wood: near, truth: same(near), startLow: 14, startHigh: 18, emc: 9.5, target: 13, gap: 5},
		{name: "new species", wood: moisture.PriorInput{Species: "keruing"}, startLow: 25, startHigh: 60, emc: 10.5, target: 14, gap: 10,
			truth: func(r *rand.Rand) moisture.PriorInput {
				return moisture.PriorInput{Species: hardwoods[r.IntN(len(hardwoods))]}
			}},
	}
}

const (
	simSpot   = 0.8 // own error of a visit's mean, percent
	simShared = 0.5 // error that all visits of a stack share
	simAir    = 1.0 // doubt about the equilibrium moisture
)

var simStart = time.Date(2026, 4, 1, 9, 0, 0, 0, time.UTC)

// simulated is one stack of a simulated world with the day it is truly ready.
type simulated struct {
	input moisture.FitInput
	ready float64 // days, +Inf for never
}

// simulate draws a stack: its true rate, air, start and reading errors.
func (s stratum) simulate(r *rand.Rand, readings int) simulated {
	truth, err := moisture.PriorFor(s.truth(r))
	if err != nil {
		panic(err)
	}
	told, err := moisture.PriorFor(s.wood)
	if err != nil {
		panic(err)
	}
	k := math.Exp(truth.MeanLog + truth.SDLog*r.NormFloat64())
	return s.stack(r, readings, k, told)
}

// stack draws the rest of a stack of known rate.
func (s stratum) stack(r *rand.Rand, readings int, k float64, told moisture.RatePrior) simulated {
	emc := s.emc + simAir*r.NormFloat64()
	m0 := s.startLow + (s.startHigh-s.startLow)*r.Float64()
	factor := math.Exp(0.3 * r.NormFloat64())
	shared := simShared * r.NormFloat64()
	out := simulated{ready: math.Inf(1)}
	if s.target > emc {
		out.ready = max(0, math.Log((m0-emc)/(s.target-emc))/k)
	}
	truth := make([]float64, readings)
	days := make([]float64, readings)
	for i := range truth {
		days[i] = s.gap * (float64(i) + 0.6*r.Float64())
		truth[i] = emc + (m0-emc)*math.Exp(-k*(days[i]-days[0]))
	}
	if s.disturb != nil {
		s.disturb(r, truth)
	}
	obs := make([]moisture.Obs, readings)
	for i := range obs {
		obs[i] = moisture.Obs{
			At:      simStart.Add(time.Duration(days[i] * 24 * float64(time.Hour))),
			Percent: max(0, truth[i]+shared+simSpot*factor*r.NormFloat64()),
			SD:      math.Hypot(simSpot, simShared), Shared: simShared,
		}
	}
	out.input = moisture.FitInput{Obs: obs, Prior: told, Climate: moisture.ConstantClimate(s.emc, simAir)}
	return out
}

// tally counts how often the 80 % interval holds the truth.
type tally struct{ inside, all, early, late int }

func (c tally) share() float64 { return float64(c.inside) / float64(c.all) }

// add fits one simulated stack; stacks whose dates are not all known are left
// out, as the page shows no interval for them.
func (c *tally) add(t testing.TB, s simulated, target float64) {
	t.Helper()
	p, err := moisture.Fit(s.input)
	require.NoError(t, err)
	d, err := p.Ready(target)
	require.NoError(t, err)
	if d.State == moisture.StateReached || d.State == moisture.StateNever {
		return
	}
	c.all++
	low, high := days(p, d.NotBefore), days(p, d.By)
	switch {
	case s.ready < low:
		c.early++
	case s.ready > high:
		c.late++
	default:
		c.inside++
	}
}

// days is a date in days since the curve's start, +Inf for none.
func days(p *moisture.Posterior, t time.Time) float64 {
	if t.IsZero() {
		return math.Inf(1)
	}
	return t.Sub(p.Start).Hours() / 24
}

func TestReadyIntervalsAreHonest(t *testing.T) {
	t.Parallel()
	// The reduced run has some 700 intervals or more in a stratum: two standard
	// errors of a share are then 0.03, and the target's own span comes on top.
	each, tolerance := 150, 0.05
	if full() {
		each, tolerance = 4000, 0.03
	}
	for i, s := range strata() {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(2026, uint64(i)))
			var total tally
			for readings := 3; readings <= 8; readings++ {
				var c tally
				for range each {
					c.add(t, s.simulate(r, readings), s.target)
				}
				t.Logf("%d readings: %.3f of %d (early %d, late %d)", readings, c.share(), c.all, c.early, c.late)
				total = tally{total.inside + c.inside, total.all + c.all, total.early + c.early, total.late + c.late}
			}
			t.Logf("all: %.4f of %d", total.share(), total.all)
			require.InDelta(t, 0.80, total.share(), tolerance)
		})
	}
}
