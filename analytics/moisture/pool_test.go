package moisture_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
)

// book is a simulated book of stacks whose rates have parts in common, as the
// pooling assumes: the whole book, place, cover, species, and the stack itself.
type book struct {
	r       *rand.Rand
	whole   float64
	effects map[string]float64
	spread  float64
}

func newBook(r *rand.Rand) *book {
	return &book{r: r, whole: 0.30 * r.NormFloat64(), effects: make(map[string]float64), spread: 0.15 * math.Abs(r.NormFloat64())}
}

// effect is drawn once for each name.
func (b *book) effect(name string, sd float64) float64 {
	if _, ok := b.effects[name]; !ok {
		b.effects[name] = sd * b.r.NormFloat64()
	}
	return b.effects[name]
}

// rate draws the true rate of a stack.
func (b *book) rate(s moisture.NewStack, table moisture.RatePrior) float64 {
	rest := table.SDLog*table.SDLog - 0.30*0.30 - 0.25*0.25 - 0.15*0.15 - 0.15*0.15
	species := math.Sqrt(max(rest, 0.05*0.05))
	return math.Exp(table.MeanLog + b.whole + b.effect("place "+s.Place, 0.25) + b.effect("cover "+s.Cover, 0.15) +
		b.effect("species "+s.Wood.Species, species) + b.spread*b.r.NormFloat64())
}

// pooledWorld is one world: a new stack of three readings with the tables'
// prior and with the prior pooled over twelve earlier stacks.
func pooledWorld(t testing.TB, r *rand.Rand) (unpooled, pooled simulated) {
	t.Helper()
	b := newBook(r)
	world := stratum{startLow: 35, startHigh: 60, emc: 10, target: 14, gap: 14}
	var past []moisture.PastStack
	for i := range 12 {
		s := moisture.NewStack{Wood: moisture.PriorInput{Species: "pine_eastern_white"}, Place: "barn", Cover: "roof"}
		if i%3 == 2 {
			s.Wood.Species, s.Place = "oak_white", "yard"
		}
		table, err := moisture.PriorFor(s.Wood)
		require.NoError(t, err)
		p, err := moisture.Fit(world.stack(r, 6, b.rate(s, table), table).input)
		require.NoError(t, err)
		if rate, ok := p.RateLikelihood(); ok {
			past = append(past, moisture.PastStack{Rate: rate, Wood: s.Wood, Place: s.Place, Cover: s.Cover})
		}
	}
	pool, err := moisture.Pool(past)
	require.NoError(t, err)
	s := moisture.NewStack{Wood: moisture.PriorInput{Species: "pine_eastern_white"}, Place: "barn", Cover: "roof"}
	table, err := moisture.PriorFor(s.Wood)
	require.NoError(t, err)
	better, err := pool.Prior(s)
	require.NoError(t, err)
	world.gap = 3 // three readings within the first week
	unpooled = world.stack(r, 3, b.rate(s, table), table)
	pooled = unpooled
	pooled.input.Prior = better
	return unpooled, pooled
}

func TestPoolingNarrowsAndStaysHonest(t *testing.T) {
	t.Parallel()
	worlds := 350
	if full() {
		worlds = 5000
	}
	r := rand.New(rand.NewPCG(2026, 99))
	var alone, together tally
	var ratios []float64
	for range worlds {
		u, p := pooledWorld(t, r)
		alone.add(t, u, 14)
		together.add(t, p, 14)
		ratios = append(ratios, width(t, p)/width(t, u))
	}
	slices.Sort(ratios)
	median := ratios[len(ratios)/2]
	t.Logf("width pooled/unpooled with three readings: median %.3f; coverage pooled %.4f, unpooled %.4f of %d",
		median, together.share(), alone.share(), together.all)
	require.LessOrEqual(t, median, 0.6)
	// A few hundred worlds put two standard errors of 0.04 on a share.
	tolerance := 0.05
	if full() {
		tolerance = 0.03
	}
	require.InDelta(t, 0.80, together.share(), tolerance)
	require.InDelta(t, 0.80, alone.share(), tolerance)
}

// width is that of the 80 % interval in days; an open one counts as ten years.
func width(t testing.TB, s simulated) float64 {
	t.Helper()
	p, err := moisture.Fit(s.input)
	require.NoError(t, err)
	d, err := p.Ready(14)
	require.NoError(t, err)
	return min(days(p, d.By), 3652) - min(days(p, d.NotBefore), 3651)
}

func TestPoolWithoutStacksIsTheTable(t *testing.T) {
	t.Parallel()
	pool, err := moisture.Pool(nil)
	require.NoError(t, err)
	s := moisture.NewStack{Wood: moisture.PriorInput{Species: "spruce_norway", ThicknessMM: 22}}
	got, err := pool.Prior(s)
	require.NoError(t, err)
	want, err := moisture.PriorFor(s.Wood)
	require.NoError(t, err)
	require.Equal(t, want, got)
}

func TestPoolRefuses(t *testing.T) {
	t.Parallel()
	_, err := moisture.Pool([]moisture.PastStack{{Rate: moisture.Estimate{Mean: -4}}})
	require.ErrorIs(t, err, moisture.ErrSetting)
	_, err = moisture.Pool([]moisture.PastStack{{Rate: moisture.Estimate{Mean: -4, SD: 0.1}, Wood: moisture.PriorInput{Species: "plastic"}}})
	require.ErrorIs(t, err, moisture.ErrSpecies)
}

func TestPoolFollowsTheBook(t *testing.T) {
	t.Parallel()
	wood := moisture.PriorInput{Species: "pine_eastern_white"}
	table, err := moisture.PriorFor(wood)
	require.NoError(t, err)
	var past []moisture.PastStack
	for range 8 {
		past = append(past, moisture.PastStack{Rate: moisture.Estimate{Mean: table.MeanLog + 0.6, SD: 0.1}, Wood: wood, Place: "barn", Cover: "roof"})
	}
	pool, err := moisture.Pool(past)
	require.NoError(t, err)
	here, err := pool.Prior(moisture.NewStack{Wood: wood, Place: "barn", Cover: "roof"})
	require.NoError(t, err)
	elsewhere, err := pool.Prior(moisture.NewStack{Wood: moisture.PriorInput{Species: "oak_white"}, Place: "yard", Cover: "none"})
	require.NoError(t, err)
	oak, err := moisture.PriorFor(moisture.PriorInput{Species: "oak_white"})
	require.NoError(t, err)
	// All eight were 0.6 faster: here most of it is expected again, elsewhere
	// only what the whole book has in common.
	require.InDelta(t, 0.55, here.MeanLog-table.MeanLog, 0.06)
	require.InDelta(t, 0.25, elsewhere.MeanLog-oak.MeanLog, 0.10)
	require.Less(t, here.SDLog, 0.5*table.SDLog)
	require.LessOrEqual(t, elsewhere.SDLog, oak.SDLog)
	require.Greater(t, elsewhere.SDLog, here.SDLog)
}
