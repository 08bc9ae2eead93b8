package cut

import (
	"slices"
	"sync"
	"sync/atomic"
)

// pools are the patterns that boards are picked from.
type pools struct {
	at   [][]pattern // by kind
	loss float64     // they hold every pattern that loses no more, if full
	full bool
	size int
	// nodes is how long the next proof from these pools may search.
	nodes int
}

// unlimited reports whether some kind of board is without number.
func (p *problem) unlimited() bool {
	return slices.ContainsFunc(p.kinds, func(k kind) bool { return k.count >= Unlimited })
}

// effort bounds how many partial patterns one filling of the pools tries.
const effort = 4_000_000

// fillPools lists every pattern that loses no more than loss at the best
// prices, as far as that is affordable. It does nothing if the pools hold as
// much already, or if they could not be filled before.
func (s *solver) fillPools(loss float64) {
	if s.pools.at != nil && (!s.pools.full || s.pools.loss >= loss) {
		return
	}
	next := pools{at: make([][]pattern, len(s.p.kinds)), loss: loss, nodes: 2000}
	next.full = s.listAll(next.at, loss)
	for _, l := range next.at {
		next.size += len(l)
	}
	if !next.full && s.pools.at != nil {
		// The narrower pools hold all that they claim: they stay, with what
		// was found on the way.
		s.pools.full = false
		return
	}
	if !next.full {
		s.columnsInto(next.at)
	}
	s.pools = next
}

// listAll lists the patterns of every kind, on all workers, and reports
// whether it found them all.
func (s *solver) listAll(at [][]pattern, loss float64) bool {
	gain := make([]float64, len(s.p.items))
	for i, it := range s.p.items {
		gain[i] = max(0, it.worth-s.d.best.price[i])
	}
	var wait sync.WaitGroup
	var next atomic.Int64
	var part atomic.Bool
	for range s.opts.Workers {
		wait.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= len(s.p.kinds) || part.Load() {
					return
				}
				q := &quota{left: effort/len(s.p.kinds) + 1000, stop: s.stop}
				l := s.e.lister(k, gain)
				if l == nil {
					part.Store(true)
					return
				}
				// A board whose best pattern gains less than it costs loses
				// the difference before anything else.
				at[k] = l.list(loss-max(0, s.p.kinds[k].cost-l.best()), q)
				if q.out {
					part.Store(true)
				}
			}
		})
	}
	wait.Wait()
	return !part.Load() && !s.stop()
}

// columnsInto adds the master's columns to the pools.
func (s *solver) columnsInto(at [][]pattern) {
	for k := range at {
		for _, c := range s.d.m.of[k] {
			if bits := s.d.m.cols[c].bits; len(bits) > 0 {
				at[k] = append(at[k], patternOf(bits))
			}
		}
	}
}
