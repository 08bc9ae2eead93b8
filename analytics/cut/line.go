package cut

import (
	"cmp"
	"slices"
)

// offer is an item at a price: what a copy is worth to the board now.
type offer struct {
	l     int32
	level int32
	item  int32
	gain  float64
}

// band is offers that meet the same defects along a line.
type band struct {
	edges  []edge
	offers []offer
}

// offersOf returns the offers of items with positive gain, without those that
// a shorter or equal one with no greater need beats.
func offersOf(items []item, ids []int, gain []float64) []offer {
	var offers []offer
	for _, i := range ids {
		if gain[i] > 0 {
			offers = append(offers, offer{int32(items[i].l), int32(items[i].level), int32(i), gain[i]})
		}
	}
	slices.SortStableFunc(offers, func(a, b offer) int {
		return cmp.Or(cmp.Compare(a.l, b.l), cmp.Compare(b.gain, a.gain), cmp.Compare(a.level, b.level))
	})
	kept := offers[:0]
	for _, o := range offers {
		if !slices.ContainsFunc(kept, func(k offer) bool { return k.gain >= o.gain && k.level <= o.level }) {
			kept = append(kept, o)
		}
	}
	return kept
}

// clearLine returns, for every x up to n+kerf, the most that offers gain on a
// clear line of length x-kerf: entry n+kerf serves a line of length n. Every
// piece takes its length and one kerf, the last kerf falling off the end.
func clearLine(offers []offer, n, kerf int) []float64 {
	best := make([]float64, n+kerf+1)
	for x := 1; x < len(best); x++ {
		b := best[x-1]
		for _, o := range offers {
			if from := x - int(o.l) - kerf; from >= 0 {
				b = max(b, best[from]+o.gain)
			}
		}
		best[x] = b
	}
	return best
}

// lineWork is scratch space for one line after another.
type lineWork struct {
	best []float64
	from []int32
	by   []int32
	next []int
}

// run finds the most that the bands' offers gain on a line of length n and
// returns it. Pieces start only where the running best has just risen or
// clear wood begins: any other start could be pushed back.
//
// With trace set, from and by tell for every position which position and
// offer's item it was reached from.
func (lw *lineWork) run(bands []band, n, kerf int, trace bool) float64 {
	size := n + kerf + 1
	lw.best = append(lw.best[:0], make([]float64, size)...)
	if trace {
		lw.from = append(lw.from[:0], make([]int32, size)...)
		lw.by = append(lw.by[:0], make([]int32, size)...)
	}
	lw.next = append(lw.next[:0], make([]int, len(bands))...)
	shortest := int32(n + 1)
	for _, b := range bands {
		for _, o := range b.offers {
			shortest = min(shortest, o.l)
		}
	}
	best := lw.best
	prev, nextEdge := -1.0, int32(0)
	for x := int32(0); x <= int32(n)-shortest; x++ {
		here := best[x]
		if here <= prev {
			best[x] = prev
			if trace {
				lw.from[x] = -1
			}
			if x < nextEdge {
				continue
			}
			here = prev
		}
		prev = here
		if x >= nextEdge {
			nextEdge = int32(n) + 1
			for i := range bands {
				edges := bands[i].edges
				k := lw.next[i]
				for k < len(edges) && edges[k].at <= x {
					k++
				}
				lw.next[i] = k
				if k < len(edges) {
					nextEdge = min(nextEdge, edges[k].at)
				}
			}
		}
		for i := range bands {
			reach := &bands[i].edges[lw.next[i]-1].reach
			for j := range bands[i].offers {
				o := &bands[i].offers[j]
				if x+o.l > reach[o.level] {
					continue
				}
				if to := x + o.l + int32(kerf); here+o.gain > best[to] {
					best[to] = here + o.gain
					if trace {
						lw.from[to], lw.by[to] = x, o.item
					}
				}
			}
		}
	}
	for x := max(0, n-int(shortest)+1); x < size; x++ {
		if best[x] <= prev {
			best[x] = prev
			if trace {
				lw.from[x] = -1
			}
		}
		prev = best[x]
	}
	return best[size-1]
}

// bit is one placed item of a layout, in solver orientation.
type bit struct{ item, u, v int32 }

// walk returns the pieces of the last traced run, each at height v.
func (lw *lineWork) walk(bits []bit, v int32) []bit {
	for x := len(lw.best) - 1; x > 0; {
		if lw.from[x] < 0 || lw.best[x] == 0 {
			x--
			continue
		}
		bits = append(bits, bit{lw.by[x], lw.from[x], v})
		x = int(lw.from[x])
	}
	return bits
}
