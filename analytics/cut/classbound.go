package cut

import (
	"cmp"
	"math"
	"slices"
	"sync"
	"sync/atomic"
)

// Patterns that lose nothing often make some item in twos or threes only,
// whatever the board. If an odd number of it is wanted, some board must lose
// something, which no prices show. So boards are priced once more by classes:
// the remainders that the counts of lossless patterns leave. What the boards
// must lose at least for all of them together to be of the class that is
// wanted comes off the bound (the group relaxation of Gomory 1969, with
// Lagrangian prices), and the patterns that change the class for little join
// those that plans are made from.

const (
	// mostBoundClasses bounds how many classes the bound tells apart: each
	// board takes as many times as long as pricing it, or more.
	mostBoundClasses = 12
	// oddEach is how many boards' patterns are kept for each change of class.
	oddEach = 40
)

// boundByClasses brings the bound down by classes and gathers the patterns
// that change them.
func (s *solver) boundByClasses() {
	e, ok := s.e.(*stripEngine)
	if ok && !e.trim && s.warm == nil && len(s.p.kinds) > manyBoards && !s.p.unlimited() && !s.stop() {
		s.boundOn(e)
	}
}

// boundOn does so for an engine of two stages.
func (s *solver) boundOn(e *stripEngine) {
	c := s.classesOf(mostBoundClasses, 0)
	if c == nil || c.order == 1 {
		return
	}
	b := &classBound{s: s, c: c, engine: e, loses: make([][]float64, len(s.p.kinds)), base: make([]int, len(s.p.kinds))}
	if !b.priceAll(s.opts.Workers) {
		return
	}
	least := b.least()
	if !math.IsInf(least, 1) && least > 0 {
		s.bound = min(s.bound, s.d.best.bound+s.p.shade-least+1e-6*(1+math.Abs(s.bound)*1e-6))
	}
	s.pools.odd = b.changes(s.need())
}

// classesOf returns the classes that the patterns tell apart that lose no more
// than from, or where these are more than most, a little more; nil where that
// leads nowhere. Items that are in plenty tell none apart.
func (s *solver) classesOf(most int, from float64) *classes {
	l := newLattice(len(s.p.items))
	for i, it := range s.p.items {
		if s.d.best.price[i] <= 1e-9*it.worth || it.want >= Unlimited {
			v := make([]int64, len(s.p.items))
			v[i] = 1
			l.add(v)
		}
	}
	last := -1.0
	worst := s.worstLoss()
	for eps := max(from, 1e-6*(1+worst)); last < worst; eps = max(1.5*eps, s.need()/3000) {
		for k := range s.pools.at {
			if s.stop() {
				return nil
			}
			s.addDifferences(l, k, last, eps)
		}
		last = eps
		if c := l.classes(most); c != nil {
			return c
		}
	}
	return nil
}

// worstLoss returns the greatest loss in the pools.
func (s *solver) worstLoss() float64 {
	worst := 0.0
	for k, list := range s.pools.at {
		if len(list) > 0 {
			worst = max(worst, list[len(list)-1].loss+max(0, -s.d.best.raw[k]))
		}
	}
	return worst
}

// addDifferences adds to l what the patterns of a kind that lose more than over
// and no more than upTo make otherwise than its best.
func (s *solver) addDifferences(l *lattice, k int, over, upTo float64) {
	counts := func(pt *pattern) []int64 {
		v := make([]int64, len(s.p.items))
		for i, it := range pt.items {
			v[it] = int64(pt.n[i])
		}
		return v
	}
	raw := s.d.best.raw[k]
	var best []int64
	if raw <= 0 {
		best = counts(&pattern{})
	}
	for i := range s.pools.at[k] {
		pt := &s.pools.at[k][i]
		if pt.loss+max(0, -raw) > upTo {
			break
		}
		v := counts(pt)
		if best == nil {
			best = slices.Clone(v)
		}
		if pt.loss+max(0, -raw) > over {
			subtract(v, best, 1)
			l.add(v)
		}
	}
	if raw > over && raw <= upTo && best != nil { // left whole
		l.add(best)
	}
}

// classBound is the boards priced by classes.
type classBound struct {
	s      *solver
	c      *classes
	engine *stripEngine
	loses  [][]float64 // by kind: by class, what the best pattern of it loses
	base   []int       // by kind: the class of its best pattern
}

// pricer returns a pricer of its own scratch space.
func (b *classBound) pricer() *classPricer {
	return newClassPricer(b.engine, b.c, b.c.unit, b.s.gains(), b.s.stop)
}

// priceAll prices all kinds; it reports false when it was stopped.
func (b *classBound) priceAll(workers int) bool {
	b.eachKind(workers, func(w *classPricer, k int) {
		cost, most := b.s.p.kinds[k].cost, b.s.d.best.gains[k]
		loses := slices.Clone(w.run(k))
		for c, gain := range loses {
			gain -= cost
			if c == 0 {
				gain = max(0, gain)
			}
			loses[c] = max(0, most-gain)
			if loses[c] < loses[b.base[k]] {
				b.base[k] = c
			}
		}
		b.loses[k] = loses
	})
	return !b.s.stop()
}

// eachKind calls f for every kind, on several goroutines, until the stop.
func (b *classBound) eachKind(workers int, f func(w *classPricer, k int)) {
	var wait sync.WaitGroup
	var next atomic.Int64
	for range workers {
		wait.Go(func() {
			w := b.pricer()
			for k := int(next.Add(1)) - 1; k < len(b.loses) && !b.s.stop(); k = int(next.Add(1)) - 1 {
				f(w, k)
			}
		})
	}
	wait.Wait()
}

// least returns what all boards together lose at least, copies not made
// counted in, if they are to be of the class wanted.
func (b *classBound) least() float64 {
	sum := b.zero()
	for k, loses := range b.loses {
		sum = b.add(sum, b.repeat(loses, b.s.p.kinds[k].count))
	}
	wanted := 0
	for i, it := range b.s.p.items {
		if it.want < Unlimited {
			wanted = int(b.c.plus[wanted][b.c.times(b.c.unit[i], it.want)])
		}
	}
	for range b.c.order { // any number of copies may be lacking
		for i, price := range b.s.d.best.price {
			for c := range sum {
				to := b.c.plus[c][b.c.unit[i]]
				sum[to] = min(sum[to], sum[c]+price)
			}
		}
	}
	return sum[wanted]
}

// zero is the losses of no board at all.
func (b *classBound) zero() []float64 {
	list := make([]float64, b.c.order)
	for c := range list {
		list[c] = math.Inf(1)
	}
	list[0] = 0
	return list
}

// add returns the least losses of two lots of boards together, by class.
func (b *classBound) add(x, y []float64) []float64 {
	sum := b.zero()
	sum[0] = math.Inf(1)
	for c, v := range x {
		for d, w := range y {
			to := b.c.plus[c][d]
			sum[to] = min(sum[to], v+w)
		}
	}
	return sum
}

// repeat returns the least losses of n like boards together.
func (b *classBound) repeat(one []float64, n int) []float64 {
	sum := b.zero()
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			sum = b.add(sum, one)
		}
		one = b.add(one, one)
	}
	return sum
}

// changes returns, by kind, patterns that change the class of a board's best
// one: for each change those of the boards that lose least by it, and less
// than most.
func (b *classBound) changes(most float64) [][]pattern {
	wanted := make([][]int, len(b.loses)) // by kind: classes
	for change := 1; change < b.c.order; change++ {
		type option struct {
			kind, class int
			loss        float64
		}
		var list []option
		for k, loses := range b.loses {
			class := int(b.c.plus[b.base[k]][change])
			if loses[class] < most {
				list = append(list, option{k, class, loses[class]})
			}
		}
		slices.SortFunc(list, func(x, y option) int { return cmp.Or(cmp.Compare(x.loss, y.loss), x.kind-y.kind) })
		for _, o := range list[:min(len(list), oddEach)] {
			wanted[o.kind] = append(wanted[o.kind], o.class)
		}
	}
	odd := make([][]pattern, len(b.loses))
	b.eachKind(b.s.opts.Workers, func(w *classPricer, k int) {
		if len(wanted[k]) == 0 {
			return
		}
		w.run(k)
		for _, class := range wanted[k] {
			pt := patternOf(w.pattern(k, class))
			pt.loss = b.loses[k][class] - max(0, -b.s.d.best.raw[k])
			if len(pt.items) > 0 {
				odd[k] = append(odd[k], pt)
			}
		}
	})
	return odd
}
