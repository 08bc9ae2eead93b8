package moisture

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"skepwood/analytics/wood"
)

// Weighing is a rectangular board measured and weighed, with the standard
// deviation of every measure.
type Weighing struct {
	MassGrams, MassSD              float64
	LengthMM, WidthMM, ThicknessMM float64
	SizeSD                         float64 // of each of the three, millimetres; zero means 0.5
	Moisture, MoistureSD           float64 // corrected percent; a zero SD means 2
}

// GuessInput is what a species is guessed from; every part may be missing.
type GuessInput struct {
	Weighing *Weighing
	Clues    []Clue
	// Country is the ISO 3166 alpha-2 code in the mark, "" when there is none.
	Country string
	// Past counts the species of the source's earlier wood by id, "" for
	// something else.
	Past map[string]int
}

// Guess is what a board may be: a list with probabilities, never one name.
type Guess struct {
	// Shares are the species and something else (""), likeliest first; they sum
	// to one.
	Shares []SpeciesShare
	// BasicGravity is what the weighing says, mean and standard deviation; zero
	// without one.
	BasicGravity Estimate
	// Next are the clues not yet looked at, the most telling first.
	Next []NextClue
}

// NextClue is a clue worth looking at: by how many bits it narrows the guess on
// average. Kind "weight" is measuring and weighing the board.
type NextClue struct {
	Kind ClueKind
	Ask  string
	Bits float64
}

// ClueWeight stands in NextClue for measuring and weighing.
const ClueWeight ClueKind = "weight"

// What the guess rests on beside the table; common practice, no source.
const (
	elseShare     = 0.05 // something else than the table, before any evidence
	originFactor  = 15.0 // a species of the mark's country against another
	pastWeight    = 10.0 // boards that the even prior counts for against the past
	elseGravity   = 0.48 // median basic specific gravity of something else
	elseSpread    = 0.35 // standard deviation of its logarithm
	memoryGravity = 0.04 // added to the spread when the table's figure is no published one
)

// NewGuess returns the posterior over the species table: the prior from the
// mark's country and the source's past, times the likelihood of the density and
// of every clue. Clues may be wrong, and the wood may be none of the table.
// Unknown clues or answers are ErrClue, two different answers to one question
// too; masses and sizes that cannot be are ErrMass and ErrSetting.
func NewGuess(in GuessInput) (Guess, error) {
	p := priorShares(in)
	var out Guess
	if in.Weighing != nil {
		g, err := in.Weighing.basicGravity()
		if err != nil {
			return Guess{}, err
		}
		out.BasicGravity = g
		rel := g.SD / g.Mean
		for i, s := range guessTable() {
			p[i] *= s.gravityLikelihood(math.Log(g.Mean), rel)
		}
	}
	for i, c := range in.Clues {
		question, answer := questionOf(c.Kind), -1
		if question >= 0 {
			answer = slices.Index(clueQuestions()[question].Answers, c.Answer)
		}
		if answer < 0 || slices.ContainsFunc(in.Clues[:i], func(d Clue) bool { return d.Kind == c.Kind && d != c }) {
			return Guess{}, &InputError{"clue " + string(c.Kind) + " " + c.Answer, i, 0, ErrClue, "use one answer of those the question lists"}
		}
		if slices.Contains(in.Clues[:i], c) {
			// Repeats happen when a form is sent twice.
			continue // the same thing said twice is no more evidence
		}
		for j, s := range guessTable() {
			p[j] *= s.clues[question].p[answer]
		}
	}
	// Leaks keep every clue possible; only a density far from all wood can
	// leave nothing.
	if !normalizeShares(p) {
		return Guess{}, bad("evidence", 0, ErrClue, "no wood fits all of it: check the weighing and the clues")
	}
	for i, s := range guessTable() {
		out.Shares = append(out.Shares, SpeciesShare{s.id, p[i]})
	}
	slices.SortStableFunc(out.Shares, func(a, b SpeciesShare) int { return cmp.Compare(b.P, a.P) })
	out.Next = nextClues(p, in)
	return out, nil
}

// guessRow is a species as the guess sees it.
type guessRow struct {
	id         string
	origins    []string
	logGravity float64
	spread     float64
	// clues holds the probability of each answer to each question, in the order
	// of clueQuestions.
	clues []answers
	// bins holds the probability of a usual weighing falling into each bin of
	// weightLikelihood.
	bins answers
}

// answers is the distribution of the answers to a question for one species,
// with its entropy in bits.
type answers struct {
	p       []float64
	entropy float64
}

// guessTable is the species table with something else at the end.
var guessTable = sync.OnceValue(func() []guessRow {
	var rows []guessRow
	for _, s := range wood.AllSpecies() {
		row := guessRow{id: s.ID, origins: s.Origins, logGravity: math.Log(elseGravity), spread: elseSpread}
		if g, err := s.Gravity(); err == nil {
			row.logGravity, row.spread = math.Log(g.Basic), wood.SGVariation
			// A recalled or derived mean may itself be off.
			if g.Status != wood.Checked && g.Status != wood.Read {
				row.spread = math.Hypot(row.spread, memoryGravity)
			}
		}
		for _, q := range clueQuestions() {
			row.clues = append(row.clues, newAnswers(answerShares(q, Expected(s.ID, q.Kind))))
		}
		rows = append(rows, row)
	}
	rows = append(rows, somethingElse(rows))
	for i := range rows {
		bins := make([]float64, weightBins)
		for bin := range bins {
			bins[bin] = weightLikelihood(&rows[i], bin)
		}
		rows[i].bins = newAnswers(bins)
	}
	return rows
})

func newAnswers(p []float64) answers { return answers{p, entropy(p)} }

// answerShares is the probability of each answer when some are expected: evenly
// among those, but for the leak, which falls on all alike. Where nothing is
// expected every answer is as likely.
func answerShares(q ClueQuestion, expected []string) []float64 {
	n := float64(len(q.Answers))
	out := make([]float64, len(q.Answers))
	for i, a := range q.Answers {
		out[i] = 1 / n
		if len(expected) == 0 {
			continue
		}
		out[i] = q.Leak / n
		if slices.Contains(expected, a) {
			out[i] += (1 - q.Leak) / float64(len(expected))
		}
	}
	return out
}

// somethingElse answers every question as the average of the table does, and
// may have any density of wood.
func somethingElse(rows []guessRow) guessRow {
	e := guessRow{logGravity: math.Log(elseGravity), spread: elseSpread}
	for question, q := range clueQuestions() {
		mean := make([]float64, len(q.Answers))
		for _, r := range rows {
			for i, p := range r.clues[question].p {
				mean[i] += p / float64(len(rows))
			}
		}
		e.clues = append(e.clues, newAnswers(mean))
	}
	return e
}

// priorShares are the shares before density and clues.
func priorShares(in GuessInput) []float64 {
	table := guessTable()
	p := make([]float64, len(table))
	var total float64
	for i, s := range table[:len(table)-1] {
		p[i] = 1
		if in.Country != "" && slices.Contains(s.origins, in.Country) {
			p[i] = originFactor
		}
		total += p[i]
	}
	for i := range p {
		p[i] *= (1 - elseShare) / total
	}
	p[len(p)-1] = elseShare
	// The past speaks as counts beside the even prior (Dirichlet): ten boards
	// of one species from a source outweigh the table.
	seen := 0
	for _, n := range in.Past {
		seen += max(n, 0)
	}
	for i, s := range table {
		p[i] = (pastWeight*p[i] + float64(max(in.Past[s.id], 0))) / (pastWeight + float64(seen))
	}
	return p
}

// gravityLikelihood is the density of a measured log gravity with relative
// error rel.
func (r *guessRow) gravityLikelihood(logGravity, rel float64) float64 {
	variance := r.spread*r.spread + rel*rel
	return math.Exp(-square(logGravity-r.logGravity)/(2*variance)) / math.Sqrt(variance)
}

// normalizeShares makes the shares sum to one; it reports whether anything was
// left of them.
func normalizeShares(p []float64) bool {
	var total float64
	for _, v := range p {
		total += v
	}
	if !(total > 0) || math.IsInf(total, 1) {
		return false
	}
	for i := range p {
		p[i] /= total
	}
	return true
}

// basicGravity works out the board's basic specific gravity and its standard
// deviation from the weighing.
func (w *Weighing) basicGravity() (Estimate, error) {
	if !(w.MassGrams > 0) || math.IsInf(w.MassGrams, 1) {
		return Estimate{}, bad("mass", w.MassGrams, ErrMass, "weigh the board in grams")
	}
	sizeSD, moistureSD := w.SizeSD, w.MoistureSD
	if sizeSD == 0 {
		sizeSD = 0.5
	}
	if moistureSD == 0 {
		moistureSD = 2
	}
	volume, rel2 := 1e-3, square(w.MassSD/w.MassGrams) // mm³ to g of water
	for _, size := range []float64{w.LengthMM, w.WidthMM, w.ThicknessMM} {
		if !(size > 0) || math.IsInf(size, 1) {
			return Estimate{}, bad("size", size, ErrSetting, "measure length, width and thickness in millimetres")
		}
		volume *= size
		rel2 += square(sizeSD / size)
	}
	if !(w.Moisture >= 0 && w.Moisture <= maxPercent) {
		return Estimate{}, bad("moisture", w.Moisture, ErrPercent, "give the corrected percent")
	}
	// Dry mass is mass/(1 + M/100); its relative error by M.
	rel2 += square(moistureSD / (100 + w.Moisture))
	sg := w.MassGrams / volume / (1 + w.Moisture/100)
	basic, err := wood.BasicFrom(sg, w.Moisture, 0)
	if err != nil {
		return Estimate{}, bad("density", sg*1000, ErrMass, "no wood is that light or heavy: check units and sizes")
	}
	return Estimate{basic, basic * math.Sqrt(rel2)}, nil
}
