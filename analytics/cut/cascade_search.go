package cut

import (
	"math"
	"math/rand/v2"
	"sync"
)

// cascades is a solver's work with cascades: what they draw from, and one for
// each worker.
type cascades struct {
	s       *solver
	d       *drawing
	workers []*cascade
	size    int
	rounds  int
	fails   int  // in a row
	suits   bool // some last joining looked at enough pairs
	wait    int  // rounds until the next
	never   bool // they do not suit
}

const (
	// leastSize and mostSize bound how many combinations a lot holds.
	leastSize, mostSize = 5_000, 12_500
	// trialRounds is after how many rounds without a last joining that looks at
	// enough pairs the rest of the search does more in the time.
	trialRounds = 3
	// ample is how many plans there should be, in nats, among the pairs that
	// the last joining looks at: only the best of them lose little enough.
	ample = 1
	// optionsEach is how many patterns of a board are drawn from at most.
	optionsEach = 120
	// mostDrawClasses is how many classes a drawing tells apart at most.
	mostDrawClasses = 24
	// lossShare is how much of what a better plan may lose the patterns drawn
	// lose on average, at most.
	lossShare = 0.4
	// lotNats is about how much, in nats, the combinations of one lot differ,
	// at most.
	lotNats = 10.4
	// cascadeEvery is how many rounds of attempts come between cascades that
	// find nothing.
	cascadeEvery = 8
)

// cascadeSuits reports whether plans may be sought by cascades: where there are
// enough boards, numbered, and losses tell plans apart. Where boards are to be
// saved nothing may be lacking, and what the fitter finds in the time is more.
func (s *solver) cascadeSuits() bool {
	return s.in.Objective == MaxValue && s.warm == nil && s.refits() && len(s.p.kinds) > manyBoards &&
		len(s.p.items) <= mostRows && (s.casc == nil || !s.casc.never)
}

// tryCascades looks for a better plan by cascades, as many at once as there are
// workers, if it is time to.
func (s *solver) tryCascades() {
	if s.casc == nil {
		s.casc = &cascades{s: s, size: leastSize}
	}
	c := s.casc
	if c.wait--; c.wait > 0 || !c.ready() {
		return
	}
	target := s.inc.worth + s.step()
	var wait sync.WaitGroup
	for _, w := range c.workers {
		wait.Go(func() { w.run(target) })
	}
	wait.Wait()
	c.rounds++
	c.fails++
	c.wait = cascadeEvery * (1 + c.fails/4)
	for _, w := range c.workers {
		if w.found != nil && !s.stop() && s.takeCascade(w) {
			c.fails, c.wait = 0, 0
		}
	}
	if c.fails > 0 {
		c.grow()
	}
}

// grow lets lots hold more where the last joinings looked at too few pairs, and
// gives up where even the most would not do: of five lists joined to one plan,
// each adds to what is looked at as much as it grows.
func (c *cascades) grow() {
	short := math.Inf(-1)
	for _, w := range c.workers {
		if w.short != 0 {
			short = max(short, w.short+ample)
		}
	}
	c.suits = c.suits || short <= 0 && !math.IsInf(short, -1)
	switch factor := math.Exp(short / (cascadeLevels + 1)); {
	case !c.suits && c.rounds >= trialRounds:
		c.never = true
	case short <= 0:
	case float64(c.size)*factor > mostSize:
		c.never = true
	default:
		c.resize(int(float64(c.size) * max(1.1, factor)))
	}
}

// takeCascade cuts the boards of the best plan as a cascade found and reports
// whether that betters it.
func (s *solver) takeCascade(w *cascade) bool {
	next := s.inc.clone()
	slots := make([]int, len(next.slots))
	found := make([]pattern, len(next.slots))
	for i := range slots {
		slots[i] = i
		found[i] = patternOf(w.d.m.cols[w.found[i]].bits)
	}
	if !next.accept(slots, found) {
		return false
	}
	s.now = next
	s.improved()
	return true
}

// ready prepares what is drawn from, anew where the plan has become so good
// that what is drawn loses too much; it reports false where that does not work
// out.
func (c *cascades) ready() bool {
	s, need := c.s, c.s.need()
	if need <= 0 {
		return false
	}
	if c.d != nil && c.d.meanLoss <= 1.5*lossShare*need {
		return true
	}
	var t *tilt
	if c.d != nil {
		t = c.d.t
	} else {
		t = newTilt(s.wholeMaster())
		t.heat = need / 40
	}
	cool := t.coolTo(lossShare*need, lotNats*(1<<cascadeLevels))
	if s.stop() {
		return false
	}
	if cool {
		told := s.classesOf(mostDrawClasses, t.heat)
		if told == nil {
			told = oneClass(len(s.p.items))
		}
		c.d = newDrawing(t, told.rows(s.wantedItems()), need)
	}
	if !cool || c.d == nil {
		c.never = true
		return false
	}
	c.resize(c.size)
	return true
}

// resize sets how many combinations lots hold and prepares the workers.
func (c *cascades) resize(size int) {
	c.size = size
	for len(c.workers) < c.s.opts.Workers {
		c.workers = append(c.workers, &cascade{rng: rand.New(rand.NewPCG(c.s.rng.Uint64(), 0xca5cade)), stop: c.s.stop})
	}
	for _, w := range c.workers {
		w.d, w.size, w.free = c.d, size, nil
	}
}

// wantedItems lists the items that stand for the rows of wholeMaster.
func (s *solver) wantedItems() []int {
	var items []int
	for i, it := range s.p.items {
		if it.want > 0 {
			items = append(items, i)
		}
	}
	return items
}

// wholeMaster returns a master of all boards, one kind for each, with the
// patterns of the pools that lose least and those that change classes.
func (s *solver) wholeMaster() *master {
	left := make([]int32, len(s.p.items))
	for i, it := range s.p.items {
		left[i] = int32(min(it.want, math.MaxInt32))
	}
	rowOf, want, drop := s.p.rowsOf(left)
	count := make([]float64, len(s.inc.slots))
	for i := range count {
		count[i] = 1
	}
	m := newMaster(want, drop, count, s.stop)
	for i, r := range rowOf {
		if r >= 0 {
			m.dual[r] = s.d.best.price[i]
		}
	}
	for slot, k := range s.inc.slots {
		seen := map[uint64]bool{}
		for _, list := range [][]pattern{s.pools.at[k], s.pools.oddOf(k)} {
			n := len(seen)
			for i := 0; i < len(list) && len(seen) < n+optionsEach; i++ {
				col := s.p.clipped(k, list[i], left, rowOf)
				if key := col.key(); col.worth > 0 && !seen[key] {
					seen[key] = true
					col.kind, col.bits = slot, list[i].bits
					m.add(col)
				}
			}
		}
	}
	return m
}

// key hashes what a column makes.
func (c *column) key() uint64 {
	key := uint64(0)
	for i, r := range c.items {
		key += mix64(uint64(r)) * uint64(c.n[i])
	}
	return key
}
