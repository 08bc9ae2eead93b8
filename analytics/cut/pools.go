package cut

import (
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
	size int
	// nodes is how long the next proof from these pools may search.
	nodes int
}

// unlimited reports whether some kind of board is without number.
func (p *problem) unlimited() bool {
	return slices.ContainsFunc(p.kinds, func(k kind) bool { return k.count >= Unlimited })
}

// effort bounds how many partial patterns one filling of the pools tries.
const effort = 12_000_000

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
		s.columnsInto(pl.at)
	}
	gain := s.gains()
	var wait sync.WaitGroup
	var next atomic.Int64
	for range s.opts.Workers {
		wait.Go(func() {
			for k := int(next.Add(1)) - 1; k < len(s.p.kinds) && !s.stop(); k = int(next.Add(1)) - 1 {
				if pl.loss[k] < loss && !pl.rich[k] {
					s.listKind(k, gain, loss)
				}
			}
		})
	}
	wait.Wait()
	pl.size, pl.nodes = 0, 2000
	for _, l := range pl.at {
		pl.size += len(l)
	}
}

// listKind lists one kind's patterns. Where there are too many it keeps what
// it had, or failing that what it found.
func (s *solver) listKind(k int, gain []float64, loss float64) {
	pl := &s.pools
	most := s.d.best.raw[k] + s.p.kinds[k].cost
	under := s.under(k, most)
	l := s.e.lister(k, gain, most-(loss-under)-1e-6*(1+most))
	if l == nil {
		pl.rich[k] = true
		return
	}
	// The lister's best may make more of an item than is wanted; what is lost
	// counts from the best that raw knows.
	extra := max(0, l.best()-most)
	q := &quota{left: effort/len(s.p.kinds) + 1000, stop: s.stop}
	list := l.list(loss-under+extra, q)
	for i := range list {
		list[i].loss = max(0, list[i].loss-extra)
	}
	switch {
	case !q.out:
		pl.at[k], pl.loss[k] = list, loss
	case pl.loss[k] < 0:
		pl.at[k] = append(list, pl.at[k]...)
		pl.rich[k] = true
	default:
		pl.rich[k] = true
	}
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

// columnsInto adds the master's columns to the pools, with what they lose.
func (s *solver) columnsInto(at [][]pattern) {
	gain := s.gains()
	for k := range at {
		for _, c := range s.d.m.of[k] {
			bits := s.d.m.cols[c].bits
			if len(bits) == 0 {
				continue
			}
			pt := patternOf(bits)
			pt.loss = s.d.best.raw[k] + s.p.kinds[k].cost
			for _, b := range bits {
				pt.loss -= gain[b.item]
			}
			pt.loss = max(0, pt.loss)
			at[k] = append(at[k], pt)
		}
	}
}
