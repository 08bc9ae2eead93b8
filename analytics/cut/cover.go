package cut

import (
	"cmp"
	"math"
	"slices"
)

// cover searches for the way to let some boards make what is left of a plan
// that loses least: one pattern for each board or none. Unlike the tree of the
// linear programme, which is at its best where many boards are open, it knows
// whole boards only, and so sees at once that a last copy fits nowhere. Loss
// is counted against the bound: what a pattern gains less than its board's
// best, copies thrown away, wanted copies not made, good boards left whole.
type cover struct {
	gain    []float64 // by item: of a copy made
	price   []float64 // by item: lost with a wanted copy that is not made
	options []coverOption
	idle    []float64 // by board: lost when it is left whole
	budget  float64   // an answer must lose less
	first   float64   // what answers looked for first may lose; 0 leaves it open
	nodes   int       // how many choices may still be looked at
	stop    func() bool

	given  int
	levels []coverLevel
	chosen []int32
	best   []int32
}

// coverOption is a pattern for one of the boards.
type coverOption struct {
	board int32
	loss  float64
	full  float64 // its gain and its loss together
	pt    *pattern
}

// makes reports whether the option makes an item.
func (o *coverOption) makes(item int32) bool { return slices.Contains(o.pt.items, item) }

// liveOption is an option that still fits and what it loses now, with the
// copies that it would throw away; below 0 when every answer with it has been
// looked at.
type liveOption struct {
	at   int32
	loss float64
}

// coverLevel is scratch space of a depth.
type coverLevel struct {
	live  []liveOption
	left  []int32
	count []int32
	least []float64
}

// run returns the options that make what is left, -1 among them standing for
// copies given up; nil when it found none. It looks for answers that lose
// little first and widens its budget until it has one.
func (c *cover) run(left []int32) []int32 {
	c.given = c.nodes
	live := c.fitting(left)
	whole := 0.0
	for _, v := range c.idle {
		whole += v
	}
	full := c.budget
	part := (full - whole) / 32
	if c.first > 0 {
		part = min(part, c.first)
	}
	for ; c.nodes > 0 && c.best == nil; part *= 2 {
		c.budget = min(full, whole+part)
		n := 0
		for n < len(live) && live[n].loss < c.budget {
			n++
		}
		c.node(0, slices.Clone(left), slices.Clone(live[:n]), 0, whole)
		if c.budget >= full || part <= 0 {
			break
		}
	}
	return c.best
}

// fitting lists the options within the budget, those that lose least first.
func (c *cover) fitting(left []int32) []liveOption {
	var live []liveOption
	for i := range c.options {
		o := &c.options[i]
		loss := o.loss
		for j, it := range o.pt.items {
			if over := o.pt.n[j] - left[it]; over > 0 {
				loss += c.gain[it] * float64(over)
			}
		}
		if loss < c.budget {
			live = append(live, liveOption{int32(i), loss})
		}
	}
	slices.SortStableFunc(live, func(a, b liveOption) int { return cmp.Compare(a.loss, b.loss) })
	return live
}

// level returns a depth's scratch space.
func (c *cover) level(depth int) *coverLevel {
	for len(c.levels) <= depth {
		n := len(c.gain)
		c.levels = append(c.levels, coverLevel{left: make([]int32, n), count: make([]int32, n), least: make([]float64, n)})
	}
	return &c.levels[depth]
}

// node makes the item with the fewest options in every way that fits. spent is
// lost so far; whole is what is lost if no further board is cut.
func (c *cover) node(depth int, left []int32, live []liveOption, spent, whole float64) {
	if c.nodes--; c.nodes < 0 || c.nodes%256 == 0 && c.stop() {
		c.nodes = min(c.nodes, -1)
		return
	}
	item, possible := c.scarcest(c.level(depth), left, live, spent)
	switch {
	case !possible:
	case item < 0:
		c.record(depth, spent+whole)
		c.eachBoard(depth, left, live, spent, whole)
	default:
		c.eachOption(depth, item, left, live, spent, whole)
		c.without(depth, item, left, live, spent, whole)
	}
}

// record keeps an answer. Once there is one, the search soon ends.
func (c *cover) record(depth int, lost float64) {
	if lost < c.budget {
		c.best = append([]int32{}, c.chosen[:depth]...)
		c.budget = lost - 1e-6
		c.nodes = min(c.nodes, 300+(c.given-c.nodes)/2)
	}
}

// eachOption tries every option that makes the item.
func (c *cover) eachOption(depth int, item int32, left []int32, live []liveOption, spent, whole float64) {
	for i := 0; i < len(live) && c.nodes >= 0; i++ {
		if live[i].loss >= 0 && c.options[live[i].at].makes(item) {
			c.choose(depth, i, left, live, spent, whole)
		}
	}
}

// choose takes a live option and looks at all that may follow.
func (c *cover) choose(depth, i int, left []int32, live []liveOption, spent, whole float64) {
	o := &c.options[live[i].at]
	now := spent + live[i].loss
	if now >= c.budget || c.nodes < 0 {
		return
	}
	l := c.level(depth)
	copy(l.left, left)
	for j, it := range o.pt.items {
		l.left[it] = max(0, l.left[it]-o.pt.n[j])
	}
	c.narrow(l, left, live, o.board, now)
	c.chosen = append(c.chosen[:depth], live[i].at)
	c.node(depth+1, l.left, l.live, now, whole-c.idle[o.board])
	live[i].loss = -1
}

// eachBoard goes on, where nothing more is needed, with boards that lose less
// cut than whole: one after the other in every way, then left whole.
func (c *cover) eachBoard(depth int, left []int32, live []liveOption, spent, whole float64) {
	for from := 0; from < len(live); from++ {
		board := c.options[live[from].at].board
		if live[from].loss < 0 || live[from].loss >= c.idle[board] {
			continue
		}
		for i := from; i < len(live); i++ {
			if live[i].loss >= 0 && c.options[live[i].at].board == board {
				c.choose(depth, i, left, live, spent, whole)
			}
		}
	}
}

// without gives up what is left of the item.
func (c *cover) without(depth int, item int32, left []int32, live []liveOption, spent, whole float64) {
	lost := c.price[item] * float64(left[item])
	if spent+lost >= c.budget || c.nodes < 0 {
		return
	}
	l := c.level(depth)
	copy(l.left, left)
	l.left[item] = 0
	l.live = l.live[:0]
	for _, o := range live {
		if o.loss >= 0 && !c.options[o.at].makes(item) {
			l.live = append(l.live, o)
		}
	}
	c.chosen = append(c.chosen[:depth], -1)
	c.node(depth+1, l.left, l.live, spent+lost, whole)
}

// scarcest returns the wanted item with the fewest options, -1 where nothing
// is wanted any more. It reports false where the rest cannot be had within the
// budget: every option spreads its loss over what it gains, so each copy still
// wanted brings at least its least share, or its price.
func (c *cover) scarcest(l *coverLevel, left []int32, live []liveOption, spent float64) (int32, bool) {
	clear(l.count)
	for i := range l.least {
		l.least[i] = math.Inf(1)
	}
	for _, o := range live {
		if o.loss < 0 {
			continue
		}
		op := &c.options[o.at]
		share := o.loss / max(1e-9, op.full-o.loss)
		for _, it := range op.pt.items {
			l.count[it]++
			l.least[it] = min(l.least[it], share)
		}
	}
	item, few, ahead := int32(-1), int32(math.MaxInt32), spent
	for it, n := range left {
		if n <= 0 || c.price[it] <= 0 {
			continue
		}
		share := c.price[it]
		if l.count[it] > 0 {
			share = min(share, c.gain[it]*l.least[it])
		}
		if ahead += share * float64(n); ahead >= c.budget {
			return -1, false
		}
		if l.count[it] < few {
			item, few = int32(it), l.count[it]
		}
	}
	return item, true
}

// narrow keeps the options of other boards that still fit once l.left is left
// and now is lost.
func (c *cover) narrow(l *coverLevel, left []int32, live []liveOption, board int32, now float64) {
	l.live = l.live[:0]
	for _, o := range live {
		op := &c.options[o.at]
		if o.loss < 0 || op.board == board || now+o.loss >= c.budget {
			continue
		}
		for j, it := range op.pt.items {
			if over := op.pt.n[j] - l.left[it]; over > 0 {
				o.loss += c.gain[it] * float64(min(over, left[it]-l.left[it]))
			}
		}
		if now+o.loss < c.budget {
			l.live = append(l.live, o)
		}
	}
}
