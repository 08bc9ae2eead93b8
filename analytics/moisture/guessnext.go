package moisture

import (
	"cmp"
	"math"
	"slices"

	"skepwood/analytics/wood"
)

// nextClues ranks what was not yet looked at by the information it is expected
// to give: the entropy of the guess now, less that after the answer, averaged
// over the answers as likely as the guess makes them (Lindley 1956).
func nextClues(p []float64, in GuessInput) []NextClue {
	var out []NextClue
	for question, q := range clueQuestions() {
		if slices.ContainsFunc(in.Clues, func(c Clue) bool { return c.Kind == q.Kind }) {
			continue
		}
		bits := expectedBits(p, func(row *guessRow) *answers { return &row.clues[question] })
		out = append(out, NextClue{q.Kind, q.Ask, bits})
	}
	if in.Weighing == nil {
		bits := expectedBits(p, func(row *guessRow) *answers { return &row.bins })
		out = append(out, NextClue{ClueWeight, "Measure the board, weigh it and take its moisture.", bits})
	}
	slices.SortStableFunc(out, func(a, b NextClue) int { return cmp.Compare(b.Bits, a.Bits) })
	return out
}

// expectedBits is the mutual information, in bits, of species and answer: the
// entropy of the answer less that which is left when the species is known.
func expectedBits(p []float64, of func(row *guessRow) *answers) float64 {
	table := guessTable()
	marginal := make([]float64, len(of(&table[0]).p))
	var within float64
	for i := range table {
		a := of(&table[i])
		within += p[i] * a.entropy
		for j, v := range a.p {
			marginal[j] += p[i] * v
		}
	}
	return max(entropy(marginal)-within, 0)
}

// entropy of a distribution, in bits; p may miss a little of one.
func entropy(p []float64) float64 {
	var bits float64
	for _, v := range p {
		if v > 0 {
			bits -= v * math.Log2(v)
		}
	}
	return bits
}

// A weighing as a question with many answers: bins of ln gravity from about
// 0.12 to 1.2, measured to usualWeighing.
const (
	weightBins    = 46
	weightLow     = -2.1
	weightStep    = 0.05
	usualWeighing = 0.04
)

// weightLikelihood is the probability that the measured ln gravity falls into a
// bin.
func weightLikelihood(row *guessRow, bin int) float64 {
	// What would be measured: the board's own gravity and the error on top.
	sd := math.Hypot(row.spread, usualWeighing)
	low := (weightLow + weightStep*float64(bin) - row.logGravity) / sd
	return normalCDF(low+weightStep/sd) - normalCDF(low)
}

// Average returns mean and standard deviation of a quantity over the guess, as
// far as f knows it for a species id, and the share of the guess that it knows.
// The standard deviation is only the disagreement between the species; a
// quantity's own doubt comes on top. Nothing known gives NaN and a share of 0.
func (g Guess) Average(f func(id string) (float64, bool)) (e Estimate, known float64) {
	var sum, second float64
	for _, s := range g.Shares {
		if v, ok := f(s.ID); ok {
			known, sum, second = known+s.P, sum+s.P*v, second+s.P*v*v
		}
	}
	if !(known > 0) {
		return Estimate{math.NaN(), math.NaN()}, 0
	}
	mean := sum / known
	return Estimate{mean, math.Sqrt(max(0, second/known-mean*mean))}, known
}

// Shrinkage returns the radial and tangential shrinkage, green to oven-dry in
// percent, averaged over the guess, with the share of it that the table knows.
func (g Guess) Shrinkage() (radial, tangential Estimate, known float64) {
	pick := func(of func(s wood.Species) wood.Value) func(id string) (float64, bool) {
		return func(id string) (float64, bool) {
			s, err := wood.SpeciesByID(id)
			if err != nil || !of(s).Known() || s.ShrunkTo != 0 {
				return 0, false
			}
			return of(s).Mid(), true
		}
	}
	radial, known = g.Average(pick(func(s wood.Species) wood.Value { return s.Radial }))
	tangential, _ = g.Average(pick(func(s wood.Species) wood.Value { return s.Tangential }))
	return radial, tangential, known
}
