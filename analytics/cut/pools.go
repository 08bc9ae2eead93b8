package cut

import (
	"cmp"
	"math"
	"slices"
	"sync"
	"sync/atomic"
)

// pools are the patterns that boards are picked from.
type pools struct {
	at   [][]pattern // by kind
	loss []float64   // by kind: every pattern that loses no more is there
	rich []bool      // by kind: too many to list any wider
	odd  [][]pattern // by kind: some that change its class, see boundByClasses
	size int
	mu   sync.Mutex // holds at, loss, rich and size together while filling
	// nodes is how long the next proof from these pools may search.
	nodes int
}

// oddOf returns the patterns that change a kind's class.
func (pl *pools) oddOf(k int) []pattern {
	if pl.odd == nil {
		return nil
	}
	return pl.odd[k]
}

// unlimited reports whether some kind of board is without number.
func (p *problem) unlimited() bool {
	return slices.ContainsFunc(p.kinds, func(k kind) bool { return k.count >= Unlimited })
}

const (
	// effort bounds how many partial patterns one filling of the pools tries.
	effort = 12_000_000
	// mostPatterns bounds how many patterns the pools hold, mostOfKind how many
	// of one kind: a pattern takes some 300 bytes, and searches look at some
	// hundreds of each board's best. Batches of hundreds of boards hold fewer;
	// where no wanted copy is dear, every second pattern loses nothing.
	mostPatterns = 100_000
	mostOfKind   = 20_000
	// fewOfKind is what every kind may keep, however many kinds there are.
	fewOfKind = 40
)

// full reports whether the pools hold every pattern that loses no more than
// loss.
func (pl *pools) full(loss float64) bool {
	return pl.at != nil && slices.Min(pl.loss) >= loss
}

// allRich reports whether no kind can be listed any wider.
func (pl *pools) allRich() bool { return !slices.Contains(pl.rich, false) }

// fillPools lists every pattern that loses no more than loss at the best
// prices, kind by kind as far as that is affordable.
func (s *solver) fillPools(loss float64) {
	pl := &s.pools
	if pl.at == nil {
		n := len(s.p.kinds)
		*pl = pools{at: make([][]pattern, n), loss: make([]float64, n), rich: make([]bool, n)}
		for k := range pl.loss {
			pl.loss[k] = -1
		}
		for k := range pl.at {
			pl.keep(k, s.columnsOf(k), -1)
		}
	}
	gain := s.gains()
	var wait sync.WaitGroup
	var next atomic.Int64
	for range s.opts.Workers {
		wait.Go(func() {
			for k := int(next.Add(1)) - 1; k < len(s.p.kinds) && !s.stop(); k = int(next.Add(1)) - 1 {
				pl.mu.Lock()
				wider := pl.loss[k] < loss && !pl.rich[k]
				pl.mu.Unlock()
				if wider {
					s.listKind(k, gain, loss)
				}
			}
		})
	}
	wait.Wait()
	s.trimPools(mostPatterns)
	pl.nodes = 2000
}

// listKind lists one kind's patterns. Where there are too many it keeps what
// it had, or failing that what it found.
func (s *solver) listKind(k int, gain []float64, loss float64) {
	pl := &s.pools
	most := s.d.best.raw[k] + s.p.kinds[k].cost
	under := s.under(k, most)
	l := s.e.lister(k, gain, most-(loss-under)-1e-6*(1+most))
	if l == nil {
		pl.mu.Lock()
		defer pl.mu.Unlock()
		pl.rich[k] = true
		return
	}
	l.most = mostOfKind
	// The lister's best may make more of an item than is wanted; what is lost
	// counts from the best that raw knows.
	extra := max(0, l.best()-most)
	q := &quota{left: effort/len(s.p.kinds) + 1000, stop: s.stop}
	list := l.list(loss-under+extra, q)
	for i := range list {
		list[i].loss = max(0, list[i].loss-extra)
	}
	if s.stop() {
		return // it may not be whole
	}
	pl.mu.Lock()
	defer pl.mu.Unlock()
	switch {
	case !q.out && math.IsInf(l.beyond, 1):
		pl.keep(k, list, loss)
	case !q.out:
		pl.keep(k, list, max(0, l.beyond-extra)+under)
		s.lack(k)
	case pl.loss[k] < 0:
		pl.keep(k, list, -1)
		s.lack(k)
	default:
		pl.rich[k] = true
	}
	if pl.size > mostPatterns*5/4 {
		s.trimPools(mostPatterns)
	}
}

// keep puts a kind's patterns into the pools: all that lose no more than loss.
func (pl *pools) keep(k int, list []pattern, loss float64) {
	pl.size += len(list) - len(pl.at[k])
	pl.at[k], pl.loss[k] = list, loss
}

// lack notes that of a kind's patterns some that lose no more than was said are
// left out. Those of the mix it keeps.
func (s *solver) lack(k int) {
	pl := &s.pools
	list := pl.at[k]
	if !pl.rich[k] {
		list = append(s.columnsOf(k), list...)
		slices.SortStableFunc(list, func(a, b pattern) int { return cmp.Compare(a.loss, b.loss) })
	}
	pl.rich[k] = true
	pl.keep(k, list, math.Nextafter(pl.loss[k], -1))
}

// trimPools leaves out patterns, of the kinds that have most those that lose
// most, until the pools hold about total.
func (s *solver) trimPools(total int) {
	pl := &s.pools
	if pl.size <= total {
		return
	}
	level := max(fewOfKind, levelOf(pl.at, total))
	for k := range pl.at {
		if len(pl.at[k]) <= level {
			continue
		}
		s.lack(k)
		list := pl.at[k]
		under := s.under(k, s.d.best.raw[k]+s.p.kinds[k].cost)
		pl.keep(k, slices.Clone(list[:level]), min(pl.loss[k], math.Nextafter(list[level].loss+under, -1)))
	}
}

// levelOf returns to what length lists must be cut so that they hold no more
// than total.
func levelOf(lists [][]pattern, total int) int {
	sizes := make([]int, len(lists))
	for i, l := range lists {
		sizes[i] = len(l)
	}
	slices.Sort(sizes)
	for i, n := range sizes {
		if rest := len(sizes) - i; n*rest > total {
			return total / rest
		}
		total -= n
	}
	return math.MaxInt
}

// under returns by how much a board's best pattern gains less than it costs:
// every pattern of it loses the difference before anything else.
func (s *solver) under(k int, best float64) float64 {
	under := max(0, s.p.kinds[k].cost-best)
	if under < 6e-4*math.Abs(s.bound-s.p.base) && len(s.p.kinds) > manyBoards {
		return 0 // the fitter may choose it all the same
	}
	return under
}

// columnsOf returns the master's columns of a kind, with what they lose.
func (s *solver) columnsOf(k int) []pattern {
	var list []pattern
	for _, c := range s.d.m.of[k] {
		bits := s.d.m.cols[c].bits
		if len(bits) == 0 {
			continue
		}
		pt := patternOf(bits)
		pt.loss = s.d.best.raw[k] + s.p.kinds[k].cost
		for _, b := range bits {
			pt.loss -= max(0, s.p.items[b.item].worth-s.d.best.price[b.item])
		}
		pt.loss = max(0, pt.loss)
		list = append(list, pt)
	}
	return list
}
