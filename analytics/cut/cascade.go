package cut

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// cascade picks a pattern for every board of a plan at once, so that together
// they make what is wanted, to the copy, and lose little. The boards are dealt
// into lots; for each, combinations of patterns are drawn that lose little (see
// drawing). Then lots are joined by twos, twos by twos again, and so on: each
// joining keeps the combinations that make just what it was given to make of
// some of the items, more of them each time, of all in the end (the k-list
// algorithm of Wagner 2002). What each joining is given to make is read off
// what its combinations make most often; that, and that any board may change,
// finds plans among e to the 60th or more of which searching near one plan
// sees none.
type cascade struct {
	d    *drawing
	rng  *rand.Rand
	stop func() bool

	size   int     // how many combinations a lot holds at most
	budget float64 // how much the boards may lose
	wanted mark    // of the boards
	spent  float64 // what copies lacked or thrown away lose
	lots   [][]cascadeLot
	free   [][]partial // lists to use again
	index  partialIndex
	found  []int32 // by board: the column picked
	worth  float64
	short  float64 // by how much, in nats, the last joining looked at too few pairs to expect a plan; 0 before it
}

// cascadeLevels is how often lots are joined by twos: sixteen at first.
const cascadeLevels = 4

// partial is one combination of a lot: what it makes; what it loses, in units
// of the budget; and what it was joined from, or which draw it is.
type partial struct {
	mark mark
	loss int32
	from joined
}

// joined names a combination of each of the two lots joined; of a lot of
// boards a is the number of the draw.
type joined struct{ a, b int32 }

// cascadeLot is some boards, or two lots joined, with their combinations.
type cascadeLot struct {
	boards []int
	menus  []*menu // by board, then loose ends
	picks  []uint16
	list   []partial
	from   []joined
}

// run looks for a plan worth at least target and reports whether it found one.
func (c *cascade) run(target float64) bool {
	d := c.d
	c.found, c.worth, c.short = nil, target, 0
	picked, loose := d.pickClasses(c.rng)
	if picked == nil {
		return false
	}
	c.wanted, c.spent = d.wanted, 0
	for _, m := range loose {
		c.wanted = c.wanted.minus(&m.mark)
		c.spent += m.loss
	}
	if c.budget = min(d.dual-target-c.spent, 2*d.meanLoss+20*d.t.heat); c.budget <= 0 {
		return false
	}
	c.deal(picked)
	for i := range c.lots[0] {
		if c.draw(&c.lots[0][i]); c.stop() {
			return false
		}
	}
	settled := 0
	for level := 1; level < cascadeLevels; level++ {
		if settled = c.joinLevel(level, settled); settled < 0 {
			return false
		}
	}
	last := c.lots[cascadeLevels-1]
	c.short = d.cost(settled) - math.Log(float64(len(last[0].list))) - math.Log(float64(len(last[1].list)))
	c.joinLast(last[0].list, last[1].list, settled)
	return c.found != nil
}

// deal spreads the boards over the lots, those with the most options first, each
// with the options of the class picked for it.
func (c *cascade) deal(picked []uint8) {
	const lots = 1 << cascadeLevels
	d := c.d
	boards := c.rng.Perm(len(picked))
	c.lots = append(c.lots[:0], make([]cascadeLot, lots))
	slices.SortStableFunc(boards, func(a, b int) int {
		return cmp.Compare(len(d.menus[b][picked[b]].options), len(d.menus[a][picked[a]].options))
	})
	for i, b := range boards {
		at := i % lots
		if i/lots%2 == 1 {
			at = lots - 1 - at
		}
		l := &c.lots[0][at]
		l.boards = append(l.boards, b)
		l.menus = append(l.menus, d.menus[b][picked[b]])
	}
	for i := range c.lots[0] {
		l := &c.lots[0][i]
		l.menus = append(l.menus, d.loose)
	}
}

// draw draws a lot's combinations. Every other draw gives one board a free
// choice of its options.
func (c *cascade) draw(l *cascadeLot) {
	n := len(l.menus)
	l.picks = make([]uint16, c.size*n)
	list := c.take()
	for i := range c.size {
		p := partial{from: joined{a: int32(i)}}
		loss := 0.0
		free := c.rng.IntN(2 * n)
		picks := l.picks[i*n : (i+1)*n]
		for j, m := range l.menus {
			at := m.draw(c.rng, j == free)
			picks[j] = uint16(at)
			o := &m.options[at]
			p.mark = p.mark.plus(&o.mark)
			loss += o.loss
		}
		if loss <= c.budget {
			p.loss = int32(loss / c.budget * lossUnits)
			list = append(list, p)
		}
	}
	l.list = c.tidy(list)
	c.give(list)
}

// joinLevel joins all lots of the level below by twos so that some more rows
// are settled; it returns up to which, or -1 where nothing is left or it was
// stopped.
func (c *cascade) joinLevel(level, settled int) int {
	below := c.lots[level-1]
	next := make([]cascadeLot, len(below)/2)
	goals, to := c.goals(below, settled)
	if goals == nil {
		return -1
	}
	for i := range next {
		a, b := &below[2*i], &below[2*i+1]
		next[i].list = c.join(a.list, b.list, c.d.span(settled, to), &goals[i])
		for _, l := range []*cascadeLot{a, b} {
			l.from = origins(l.list)
			c.give(l.list)
			l.list = nil
		}
		if len(next[i].list) == 0 || c.stop() {
			return -1
		}
	}
	c.lots = append(c.lots, next)
	return to
}

// origins returns what combinations were joined from.
func origins(list []partial) []joined {
	from := make([]joined, len(list))
	for i := range list {
		from[i] = list[i].from
	}
	return from
}

// join returns the combinations of two lots that make goal of the rows of a
// span, those that lose least.
func (c *cascade) join(a, b []partial, span mark, goal *mark) []partial {
	limit := c.limit(a, b, &span, goal)
	list := c.take()
	for i := range a {
		x := &a[i]
		if x.loss > limit {
			break
		}
		rest := goal.minus(&x.mark)
		for j := c.index.find(rest.key(&span)); j >= 0; j = c.index.next[j] {
			y := &b[j]
			if x.loss+y.loss > limit {
				break
			}
			list = append(list, partial{x.mark.plus(&y.mark), x.loss + y.loss, joined{int32(i), j}})
		}
	}
	out := c.tidy(list)
	c.give(list)
	return out
}

// limit indexes b and returns how much a pair may lose so that about twice as
// many remain as are kept.
func (c *cascade) limit(a, b []partial, span, goal *mark) int32 {
	c.index.fill(b, span)
	var count [lossUnits + 1]int32
	for i := range a {
		x := &a[i]
		rest := goal.minus(&x.mark)
		for j := c.index.find(rest.key(span)); j >= 0; j = c.index.next[j] {
			loss := x.loss + b[j].loss
			if loss > lossUnits {
				break
			}
			count[loss]++
		}
	}
	sum := 0
	for loss, n := range count {
		if sum += int(n); sum > 2*c.size {
			return int32(loss) - 1
		}
	}
	return lossUnits
}

// joinLast joins the last two lots and keeps the best plan.
func (c *cascade) joinLast(a, b []partial, settled int) {
	span := c.d.span(settled, len(c.d.tight))
	c.index.fill(b, &span)
	limit := int32(lossUnits)
	for i := range a {
		x := &a[i]
		rest := c.wanted.minus(&x.mark)
		for j := c.index.find(rest.key(&span)); j >= 0; j = c.index.next[j] {
			if x.loss+b[j].loss > limit {
				break
			}
			if c.keep(joined{int32(i), j}, a, b) {
				limit = x.loss + b[j].loss
			}
		}
	}
}

// keep follows a combination of all lots back to the boards' columns and keeps
// it if it is the best so far.
func (c *cascade) keep(last joined, a, b []partial) bool {
	picked := make([]int32, len(c.d.menus))
	c.follow(cascadeLevels-1, 0, a[last.a].from, picked)
	c.follow(cascadeLevels-1, 1, b[last.b].from, picked)
	worth := c.d.worthOf(picked)
	if worth < c.worth-1e-9 || c.found != nil && worth <= c.worth {
		return false
	}
	c.found, c.worth = picked, worth
	return true
}

// follow sets the columns of a lot's boards.
func (c *cascade) follow(level, at int, from joined, picked []int32) {
	if level > 0 {
		below := c.lots[level-1]
		c.follow(level-1, 2*at, below[2*at].at(from.a), picked)
		c.follow(level-1, 2*at+1, below[2*at+1].at(from.b), picked)
		return
	}
	l := &c.lots[0][at]
	picks := l.picks[int(from.a)*len(l.menus):]
	for i, b := range l.boards {
		picked[b] = l.menus[i].options[picks[i]].col
	}
}

// at returns what a combination was joined from.
func (l *cascadeLot) at(i int32) joined {
	if l.from == nil {
		return l.list[i].from
	}
	return l.from[i]
}

// take returns an empty list.
func (c *cascade) take() []partial {
	if n := len(c.free); n > 0 {
		list := c.free[n-1]
		c.free = c.free[:n-1]
		return list[:0]
	}
	return make([]partial, 0, c.size)
}

// give returns a list for use again.
func (c *cascade) give(list []partial) {
	if cap(list) > 0 {
		c.free = append(c.free, list)
	}
}

// tidy returns the combinations that lose least, in order, without those that
// make the same as an earlier one.
func (c *cascade) tidy(list []partial) []partial {
	order := c.index.byLoss(list)
	c.index.clear(len(list))
	all := c.d.span(0, len(c.d.tight))
	out := c.take()
	for _, i := range order {
		if c.index.add(list[i].mark.key(&all), i) {
			if out = append(out, list[i]); len(out) >= c.size {
				break
			}
		}
	}
	return out
}
