package moisture_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// forger makes boards of known species as the guess believes they come: clues
// with leaks, densities with their spread.
type forger struct {
	r *rand.Rand
	// leakFactor departs from the guess's own leaks.
	leakFactor float64
}

// species draws what the board is: from the guess's own prior, which is what
// NewGuess says without evidence.
func (f forger) species(t testing.TB, in moisture.GuessInput) string {
	t.Helper()
	g, err := moisture.NewGuess(in)
	require.NoError(t, err)
	u := f.r.Float64()
	for _, s := range g.Shares {
		if u -= s.P; u < 0 {
			return s.ID
		}
	}
	return ""
}

// evidence adds a random choice of clues, and sometimes a weighing, to in.
func (f forger) evidence(id string, in *moisture.GuessInput) {
	for _, q := range moisture.ClueQuestions() {
		if f.r.Float64() < 0.45 {
			in.Clues = append(in.Clues, moisture.Clue{Kind: q.Kind, Answer: f.answer(id, q)})
		}
	}
	if f.r.Float64() < 0.6 {
		in.Weighing = f.weighing(f.gravity(id))
	}
}

// answer follows the words of the table, but for the leak. Something else
// answers like a species drawn at random.
func (f forger) answer(id string, q moisture.ClueQuestion) string {
	if id == "" {
		all := wood.AllSpecies()
		id = all[f.r.IntN(len(all))].ID
	}
	expected := moisture.Expected(id, q.Kind)
	if len(expected) == 0 || f.r.Float64() < q.Leak*f.leakFactor {
		return q.Answers[f.r.IntN(len(q.Answers))]
	}
	return expected[f.r.IntN(len(expected))]
}

// gravity draws a board's basic specific gravity: 10 % about the species' mean,
// a little more where the table's figure is from memory or derived; about 0.48
// by 35 % for woods whose gravity nobody published.
func (f forger) gravity(id string) float64 {
	mean, spread := 0.48, 0.35
	if g, known := tableGravity()[id]; known {
		mean, spread = g.Basic, 0.10
		if g.Status != wood.Checked && g.Status != wood.Read {
			spread = math.Hypot(spread, 0.04)
		}
	}
	return min(max(mean*math.Exp(spread*f.r.NormFloat64()), 0.11), 1.05)
}

// tableGravity reads the species table once.
var tableGravity = sync.OnceValue(func() map[string]wood.Gravity {
	out := make(map[string]wood.Gravity)
	for _, s := range wood.AllSpecies() {
		if g, err := s.Gravity(); err == nil {
			out[s.ID] = g
		}
	}
	return out
})

// weighing measures a board of that gravity at 12 %, with errors.
func (f forger) weighing(basic float64) *moisture.Weighing {
	sg, err := wood.SpecificGravity(basic, 12, 0)
	if err != nil {
		panic(err)
	}
	const massSD = 15
	volume := 600.0 * 90 * 20 / 1000
	mass := volume*sg*1.12 + massSD*f.r.NormFloat64()
	return &moisture.Weighing{
		MassGrams: max(mass, 20), MassSD: massSD, LengthMM: 600, WidthMM: 90 + 0.5*f.r.NormFloat64(), ThicknessMM: 20 + 0.5*f.r.NormFloat64(),
		SizeSD: 0.5, Moisture: max(0, 12+2*f.r.NormFloat64()), MoistureSD: 2,
	}
}

// reliability gathers predicted shares against what came true, in bins.
type reliability struct{ n, predicted, true_ [11]float64 }

// add counts every share of a guess.
func (c *reliability) add(g moisture.Guess, truth string) {
	for _, s := range g.Shares {
		bin := int(s.P * 10)
		c.n[bin]++
		c.predicted[bin] += s.P
		if s.ID == truth {
			c.true_[bin]++
		}
	}
}

// worst is the largest gap between predicted and observed share beyond three
// standard errors of the bin's count, and the mean gap of the bins from 0.1 up,
// weighted by what they predict.
func (c *reliability) worst() (beyond, mean float64) {
	var total float64
	for i := range c.n {
		if c.n[i] == 0 {
			continue
		}
		p := c.predicted[i] / c.n[i]
		gap := math.Abs(p - c.true_[i]/c.n[i])
		beyond = max(beyond, gap-3*math.Sqrt(p*(1-p)/c.n[i]))
		if i > 0 {
			mean, total = mean+gap*c.predicted[i], total+c.predicted[i]
		}
	}
	return beyond, mean / total
}

func (f forger) run(t testing.TB, cases int) reliability {
	t.Helper()
	var c reliability
	countries := []string{"", "US", "CA", "DE", "FI", "PL", "MY", "BR", "ZZ"}
	for range cases {
		in := moisture.GuessInput{Country: countries[f.r.IntN(len(countries))]}
		if f.r.IntN(3) == 0 {
			in.Past = map[string]int{"spruce_norway": f.r.IntN(8), "pine_scots": f.r.IntN(4), "": f.r.IntN(3)}
		}
		truth := f.species(t, in)
		f.evidence(truth, &in)
		g, err := moisture.NewGuess(in)
		require.NoError(t, err)
		c.add(g, truth)
	}
	return c
}

// TestSpeciesProbabilitiesAreCalibrated: of the shares near 0.3, three in ten
// come true; so for every bin, as far as 20,000 boards can tell.
func TestSpeciesProbabilitiesAreCalibrated(t *testing.T) {
	t.Parallel()
	cases := 20000
	if full() {
		cases = 400000
	}
	c := forger{rand.New(rand.NewPCG(2026, 11)), 1}.run(t, cases)
	for i := range c.n {
		if c.n[i] > 0 {
			gap := c.predicted[i]/c.n[i] - c.true_[i]/c.n[i]
			t.Logf("bin %2d: %8.0f shares, predicted %.4f, true %.4f", i, c.n[i], c.predicted[i]/c.n[i], c.true_[i]/c.n[i])
			if full() {
				require.LessOrEqual(t, math.Abs(gap), 0.02)
			}
		}
	}
	beyond, mean := c.worst()
	t.Logf("mean gap of shares from 0.1 up %.4f; worst beyond three standard errors %.4f", mean, beyond)
	require.LessOrEqual(t, mean, 0.02)
	require.LessOrEqual(t, beyond, 0.0)
}

// TestWorseEyesOnlyBlurTheGuess: with half as many wrong answers again as
// assumed, the shares are off, but by little.
func TestWorseEyesOnlyBlurTheGuess(t *testing.T) {
	t.Parallel()
	c := forger{rand.New(rand.NewPCG(2026, 12)), 1.5}.run(t, 4000)
	beyond, mean := c.worst()
	t.Logf("mean gap %.4f, beyond noise %.4f", mean, beyond)
	require.LessOrEqual(t, mean, 0.10)
}

func TestGuessNamesWhatTheEvidenceShows(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		in   moisture.GuessInput
		want []string // the likeliest must be one of these
	}{
		"heavy ring-porous from America": {moisture.GuessInput{
			Country: "US", Clues: []moisture.Clue{{moisture.CluePores, "ring"}, {moisture.ClueOdour, "sour"}, {moisture.ClueRays, "yes"}},
		}, []string{"oak_white", "oak_northern_red"}},
		"light white conifer with canals from Finland": {moisture.GuessInput{
			Country: "FI", Clues: []moisture.Clue{{moisture.CluePores, "none"}, {moisture.ClueColour, "white"}, {moisture.ClueOdour, "none"}},
		}, []string{"spruce_norway"}},
	} {
		g, err := moisture.NewGuess(c.in)
		require.NoError(t, err, name)
		require.Contains(t, c.want, g.Shares[0].ID, name)
		require.Less(t, g.Shares[0].P, 1.0, name)
	}
}

func TestGuessSharesSumToOneAndKeepSomethingElse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := moisture.GuessInput{Country: rapid.SampledFrom([]string{"", "US", "SE", "??"}).Draw(t, "country")}
		for _, q := range moisture.ClueQuestions() {
			if rapid.Bool().Draw(t, string(q.Kind)) {
				in.Clues = append(in.Clues, moisture.Clue{Kind: q.Kind, Answer: rapid.SampledFrom(q.Answers).Draw(t, "answer")})
			}
		}
		g, err := moisture.NewGuess(in)
		require.NoError(t, err)
		var sum, other float64
		for _, s := range g.Shares {
			sum += s.P
			if s.ID == "" {
				other = s.P
			}
		}
		require.InDelta(t, 1, sum, 1e-9)
		require.Positive(t, other)
		require.True(t, slices.IsSortedFunc(g.Next, func(a, b moisture.NextClue) int { return -cmpFloat(a.Bits, b.Bits) }))
		require.Len(t, g.Next, len(moisture.ClueQuestions())-len(in.Clues)+1)
		for _, n := range g.Next {
			require.GreaterOrEqual(t, n.Bits, 0.0)
		}
	})
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func TestGuessRefuses(t *testing.T) {
	t.Parallel()
	good := moisture.Weighing{MassGrams: 500, LengthMM: 600, WidthMM: 90, ThicknessMM: 20, Moisture: 12}
	for name, c := range map[string]struct {
		change func(*moisture.GuessInput)
		want   error
	}{
		"unknown clue":   {func(in *moisture.GuessInput) { in.Clues = []moisture.Clue{{"taste", "sweet"}} }, moisture.ErrClue},
		"unknown answer": {func(in *moisture.GuessInput) { in.Clues = []moisture.Clue{{moisture.CluePores, "many"}} }, moisture.ErrClue},
		"two answers": {func(in *moisture.GuessInput) {
			in.Clues = []moisture.Clue{{moisture.CluePores, "none"}, {moisture.CluePores, "ring"}}
		}, moisture.ErrClue},
		"no mass":     {func(in *moisture.GuessInput) { in.Weighing.MassGrams = 0 }, moisture.ErrMass},
		"stone":       {func(in *moisture.GuessInput) { in.Weighing.MassGrams = 5000 }, moisture.ErrMass},
		"no width":    {func(in *moisture.GuessInput) { in.Weighing.WidthMM = 0 }, moisture.ErrSetting},
		"bad percent": {func(in *moisture.GuessInput) { in.Weighing.Moisture = -3 }, moisture.ErrPercent},
	} {
		w := good
		in := moisture.GuessInput{Weighing: &w}
		c.change(&in)
		_, err := moisture.NewGuess(in)
		require.ErrorIs(t, err, c.want, name)
	}
}

func TestGuessWidensTheMeterCorrection(t *testing.T) {
	t.Parallel()
	g, err := moisture.NewGuess(moisture.GuessInput{Country: "US", Clues: []moisture.Clue{{moisture.CluePores, "ring"}}})
	require.NoError(t, err)
	reading := moisture.Reading{Raw: 18, Method: moisture.MethodPin}
	unsure, err := moisture.CorrectWith(reading, moisture.Options{Guess: g.Shares})
	require.NoError(t, err)
	reading.Species = g.Shares[0].ID
	sure, err := moisture.Correct(reading)
	require.NoError(t, err)
	require.Greater(t, unsure.SD, sure.SD)
	radial, tangential, known := g.Shrinkage()
	require.Greater(t, known, 0.8)
	require.Greater(t, tangential.Mean, radial.Mean)
	require.Positive(t, tangential.SD)
}
