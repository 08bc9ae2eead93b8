package cut

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// matcher picks one column for each board of a small master so that together
// they make what is wanted, to the copy, and lose little. The boards are dealt
// into four lots; for each, combinations of columns are drawn that lose
// little at prices at which they make, on average, what is wanted (see tilt);
// then four combinations, one of each lot, that add up to it are sought by
// meeting in the middle (see join). Where the tree of the linear programme
// looks at thousands of choices, this looks at some 10^15: it finds what needs
// a dozen boards changed at once.
type matcher struct {
	rng    *rand.Rand
	stop   func() bool
	effort matchEffort

	m      *master
	tilt   *tilt
	budget float64  // how much a choice may lose
	mark   []uint64 // by row: its random number; 0 where any count will do
	lots   [lotCount]lot
	table  pairTable
	best   []choice
	worth  float64
}

const (
	// lotCount is how many lots boards are dealt into.
	lotCount = 4
	// lotEntropy is about how much, in nats, all lots' combinations differ:
	// less, and most draws are alike; more, and they lose too much.
	lotEntropy = 44
	// lossUnits is how finely losses within the budget are told apart.
	lossUnits = 4095
)

// matchEffort is how much work a match may be: how many combinations are drawn
// for each lot, about how many pairs of them a slice holds and how many slices
// are looked at.
type matchEffort struct{ draws, pairs, slices int }

var (
	// thorough is for plans made afresh, deepest for those that have not got
	// better for long, brief for plans near a good one. Twice the pairs find
	// four times as much in about twice the time.
	thorough = matchEffort{20_000, 200_000, 8}
	deepest  = matchEffort{40_000, 1_000_000, 8}
	brief    = matchEffort{8_000, 60_000, 4}
)

// lotOption is a column of a board, or a loose end, and what it loses.
type lotOption struct {
	mark uint64
	loss float64
	col  int32 // a loose end's number where below 0
}

// lot is some boards, their options and combinations of these, one option of
// each board; picks tells which.
type lot struct {
	options [][]lotOption
	picks   []uint16
	drawn   []combination
}

// combination is what one draw makes and loses, in units of the budget.
type combination struct {
	mark uint64
	draw int32
	loss int32
}

// run looks for a choice worth at least target in a solved master and reports
// whether it found one.
func (t *matcher) run(m *master, target float64) bool {
	t.m, t.best, t.worth = m, nil, target
	need := m.objective() - target
	if need < 0 || len(m.of) < 2*lotCount || len(m.want) == 0 || len(m.want) > mostRows {
		return false
	}
	t.tilt = newTilt(m)
	t.tilt.cool(lotEntropy, max(need, 1e-6*(1+math.Abs(target)))/4)
	if t.budget = t.tilt.dual() - target; t.budget <= 0 || t.stop() {
		return false
	}
	goal := t.marks()
	t.deal()
	for i := range t.lots {
		if t.draw(&t.lots[i]); t.stop() {
			return false
		}
	}
	t.join(goal, t.take)
	return t.best != nil
}

// marks draws a random number for each row, so that what a combination makes
// is known by a sum that adds up as the copies do, and returns the sum of what
// is wanted. Rows that lack copies anyway need not be met.
func (t *matcher) marks() (goal uint64) {
	t.mark = slices.Grow(t.mark[:0], len(t.m.want))
	for r, want := range t.m.want {
		mark := t.rng.Uint64() | 1
		if t.tilt.lack[r] > 0.7 {
			mark = 0
		}
		t.mark = append(t.mark, mark)
		goal += mark * uint64(math.Round(want))
	}
	return goal
}

// deal spreads the boards over the lots, those with the most options first, so
// that the lots have about as many combinations. Each lot gets the loose ends
// like one more board.
func (t *matcher) deal() {
	all := make([][]lotOption, len(t.m.of))
	for k := range all {
		all[k] = t.optionsOf(k)
	}
	t.rng.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	slices.SortStableFunc(all, func(a, b []lotOption) int { return cmp.Compare(len(b), len(a)) })
	loose := t.looseEnds()
	for i := range t.lots {
		t.lots[i].options = append(t.lots[i].options[:0], loose)
	}
	for i, o := range all {
		l := &t.lots[i%lotCount]
		l.options = append(l.options, o)
	}
}

// optionsOf lists the columns of a board that lose no more than the budget,
// least first; of those that make the same it keeps the best.
func (t *matcher) optionsOf(k int) []lotOption {
	gain := t.tilt.gain(k)
	var list []lotOption
	for _, c := range t.m.of[k] {
		col := &t.m.cols[c]
		o := lotOption{loss: max(0, gain-col.reduced(t.tilt.price)), col: c}
		if o.loss > t.budget {
			continue
		}
		for i, r := range col.items {
			o.mark += t.mark[r] * uint64(col.n[i])
		}
		list = append(list, o)
	}
	return tidyOptions(list)
}

// looseEnds lists what it costs to lack a copy, or to throw one away, as
// options of which the first does neither.
func (t *matcher) looseEnds() []lotOption {
	list := []lotOption{{col: t.m.looseOf(0, false)}}
	for r, price := range t.tilt.price {
		if t.mark[r] == 0 {
			continue
		}
		for _, o := range []lotOption{
			{t.mark[r], price, t.m.looseOf(r, false)}, {-t.mark[r], t.m.drop[r] - price, t.m.looseOf(r, true)},
		} {
			if o.loss <= t.budget {
				list = append(list, o)
			}
		}
	}
	return tidyOptions(list)
}

// tidyOptions sorts options, least loss first, without those that do what an
// earlier one does.
func tidyOptions(list []lotOption) []lotOption {
	slices.SortStableFunc(list, func(a, b lotOption) int { return cmp.Compare(a.loss, b.loss) })
	seen := make(map[uint64]bool, len(list))
	return slices.DeleteFunc(list, func(o lotOption) bool {
		again := seen[o.mark]
		seen[o.mark] = true
		return again
	})
}

// draw draws a lot's combinations, sorts them by loss and leaves out those
// that make what an earlier one makes. Every other draw gives one board a free
// choice of its options: what loses little often comes in pairs or threes, and
// an odd copy wanted then needs an option that is rarely drawn.
func (t *matcher) draw(l *lot) {
	n := len(l.options)
	sums := make([][]float64, n)
	for i, list := range l.options {
		sum := 0.0
		for _, o := range list {
			sum += math.Exp(-o.loss / t.tilt.heat)
			sums[i] = append(sums[i], sum)
		}
	}
	draws := t.effort.draws
	l.picks = slices.Grow(l.picks[:0], draws*n)[:draws*n]
	l.drawn = slices.Grow(l.drawn[:0], draws)
	for d := range int32(draws) {
		c := combination{draw: d}
		loss := 0.0
		free := t.rng.IntN(2 * n)
		for i, list := range l.options {
			j := t.pick(sums[i], i == free)
			l.picks[int(d)*n+i] = uint16(j)
			c.mark += list[j].mark
			loss += list[j].loss
		}
		if loss <= t.budget {
			c.loss = int32(loss / t.budget * lossUnits)
			l.drawn = append(l.drawn, c)
		}
	}
	l.drawn = distinct(sortByLoss(l.drawn))
}

// pick draws an index: any, or in proportion to the steps of sums.
func (t *matcher) pick(sums []float64, free bool) int {
	n := len(sums)
	if free {
		return t.rng.IntN(min(n, math.MaxUint16))
	}
	u := t.rng.Float64() * sums[n-1]
	j := 0
	for j < n-1 && sums[j] < u {
		j++
	}
	return min(j, math.MaxUint16)
}

// sortByLoss sorts combinations by counting.
func sortByLoss(list []combination) []combination {
	var first [lossUnits + 2]int32
	for i := range list {
		first[list[i].loss+1]++
	}
	for i := range lossUnits + 1 {
		first[i+1] += first[i]
	}
	sorted := make([]combination, len(list))
	for _, c := range list {
		sorted[first[c.loss]] = c
		first[c.loss]++
	}
	return sorted
}

// distinct keeps the first of the combinations that make the same.
func distinct(list []combination) []combination {
	seen := make(map[uint64]struct{}, len(list))
	return slices.DeleteFunc(list, func(c combination) bool {
		_, again := seen[c.mark]
		seen[c.mark] = struct{}{}
		return again
	})
}

// take follows one combination of each lot back to its columns and keeps the
// choice if it is the best so far.
func (t *matcher) take(at [lotCount]int32) bool {
	m := t.m
	left := make([]float64, len(m.want))
	for r, w := range m.want {
		left[r] = math.Round(w)
	}
	worth := 0.0
	var found []choice
	for i := range t.lots {
		l := &t.lots[i]
		picks := l.picks[int(l.drawn[at[i]].draw)*len(l.options):]
		for b, options := range l.options {
			c := options[picks[b]].col
			if c < 0 || len(m.cols[c].items) == 0 {
				continue
			}
			found = append(found, choice{c, 1})
			worth += m.cols[c].worth
			for j, r := range m.cols[c].items {
				left[r] -= m.cols[c].n[j]
			}
		}
	}
	for r, n := range left {
		if n < 0 {
			worth += n * m.drop[r]
		}
	}
	if worth < t.worth-1e-9 || t.best != nil && worth <= t.worth {
		return false
	}
	t.best, t.worth = found, worth
	return true
}
