package cut

import (
	"cmp"
	"slices"
)

// pattern is one way to cut a kind of board: how many of which items it makes
// and how much less it gains, at the prices it was listed at, than the best.
type pattern struct {
	items []int32
	n     []int32
	loss  float64
	bits  []bit
}

// stripWay is one way to cut a strip: how many of which items, where they lie
// from the strip's low edge, and the gain.
type stripWay struct {
	gain  float64
	items []int32
	n     []uint16
	bits  []bit
}

// lineLister lists the ways to cut a line whose gain comes within a slack of
// the best.
type lineLister struct {
	bands []band
	n     int
	kerf  int
	// first is how many offers, from the front, a way must hold one of.
	first  int
	items  []int32  // by offer, counted through all bands
	caps   []uint16 // by offer
	rest   []float64
	starts []int32 // all edges of all bands, ascending
	hash   []uint64
	labels []lineLabel
	counts []uint16
	head   []int32
	seen   map[uint64]bool
}

// lineLabel is a line cut up to some place: what it gained, the label it grew
// from and by which offer.
type lineLabel struct {
	gain   float64
	hash   uint64
	parent int32
	offer  int32
	start  int32
	next   int32
}

// mix64 turns a small number into a well spread one (the finaliser of
// splitmix64, Steele, Lea and Flood 2014).
func mix64(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// newLineLister prepares a line of length n. caps bounds the copies of each
// item that are of any use.
func newLineLister(bands []band, n, kerf int, items []item) *lineLister {
	l := &lineLister{bands: bands, n: n, kerf: kerf, seen: map[uint64]bool{}}
	l.first = len(bands[0].offers)
	for _, b := range bands {
		for _, o := range b.offers {
			l.items = append(l.items, o.item)
			l.caps = append(l.caps, uint16(min(items[o.item].want, 60_000)))
			l.hash = append(l.hash, mix64(uint64(o.item)))
		}
		for _, e := range b.edges {
			l.starts = append(l.starts, e.at)
		}
	}
	slices.Sort(l.starts)
	l.starts = slices.Compact(l.starts)
	l.fillRest()
	return l
}

// fillRest computes, for every x, the most that can still be gained from
// there on, from the far end back.
func (l *lineLister) fillRest() {
	size := l.n + l.kerf + 1
	l.rest = make([]float64, size+1)
	at := make([]int, len(l.bands))
	for i, b := range l.bands {
		at[i] = len(b.edges) - 1
	}
	for x := int32(size - 1); x >= 0; x-- {
		best := l.rest[x+1]
		for i, b := range l.bands {
			for b.edges[at[i]].at > x {
				at[i]--
			}
			reach := &b.edges[at[i]].reach
			for _, o := range b.offers {
				if x+o.l <= reach[o.level] {
					best = max(best, o.gain+l.rest[x+o.l+int32(l.kerf)])
				}
			}
		}
		l.rest[x] = best
	}
}

// best returns the greatest gain of the line.
func (l *lineLister) best() float64 { return l.rest[0] }

// list returns the maximal ways whose gain is at least least, best first; they
// are all unless the quota ran out.
func (l *lineLister) list(least float64, q *quota) []stripWay {
	least -= 1e-9 * (1 + l.rest[0])
	if l.plain() {
		return l.listPlain(least, q)
	}
	size := l.n + l.kerf + 1
	l.head = append(l.head[:0], make([]int32, size)...)
	for i := range l.head {
		l.head[i] = -1
	}
	l.labels = append(l.labels[:0], lineLabel{parent: -1, next: -1})
	l.counts = append(l.counts[:0], make([]uint16, len(l.caps))...)
	l.head[0] = 0
	clear(l.seen)
	var ends []int32
	for x := 0; x < size; x++ {
		for id := l.head[x]; id >= 0; id = l.labels[id].next {
			if l.seen[l.labels[id].hash] {
				continue
			}
			l.seen[l.labels[id].hash] = true
			if l.labels[id].gain >= least {
				ends = append(ends, id)
			}
			if q.take() {
				l.grow(id, int32(x), least)
			}
		}
	}
	return l.ways(ends)
}

// grow adds one piece to a label at x, there or where clear wood next begins.
func (l *lineLister) grow(id, x int32, least float64) {
	gain := l.labels[id].gain
	k, _ := slices.BinarySearch(l.starts, x+1)
	for start := x; ; k++ {
		if gain+l.rest[start] < least {
			return
		}
		at := 0
		for _, b := range l.bands {
			reach := &b.edges[edgeAt(b.edges, start)].reach
			for _, o := range b.offers {
				offer := at
				at++
				to := start + o.l + int32(l.kerf)
				if start+o.l > reach[o.level] || gain+o.gain+l.rest[to] < least ||
					l.counts[int(id)*len(l.caps)+offer] >= l.caps[offer] {
					continue
				}
				l.push(id, int32(offer), start, to, gain+o.gain)
			}
		}
		if k >= len(l.starts) {
			return
		}
		start = l.starts[k]
	}
}

// push makes a label at to.
func (l *lineLister) push(parent, offer, start, to int32, gain float64) {
	id := int32(len(l.labels))
	hash := l.labels[parent].hash + l.hash[offer]
	l.labels = append(l.labels, lineLabel{gain, hash, parent, offer, start, l.head[to]})
	l.head[to] = id
	n := len(l.caps)
	l.counts = append(l.counts, l.counts[int(parent)*n:int(parent+1)*n]...)
	l.counts[int(id)*n+int(offer)]++
}

// edgeAt returns the index of the edge in force at x.
func edgeAt(edges []edge, x int32) int {
	lo, hi := 0, len(edges)
	for lo+1 < hi {
		if mid := (lo + hi) / 2; edges[mid].at <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// fewEnough is how many ways or patterns are compared with one another to
// leave out those that another one covers; more are kept as they are.
const fewEnough = 500

// ways turns finished labels into ways, best first, without those that make
// no more of anything than another one.
func (l *lineLister) ways(ends []int32) []stripWay {
	slices.SortStableFunc(ends, func(a, b int32) int { return cmp.Compare(l.labels[b].gain, l.labels[a].gain) })
	n := len(l.caps)
	var kept []int32
	var ways []stripWay
	for _, id := range ends {
		counts := l.counts[int(id)*n : int(id+1)*n]
		if !slices.ContainsFunc(counts[:l.first], func(c uint16) bool { return c > 0 }) {
			continue
		}
		if len(kept) < fewEnough && slices.ContainsFunc(kept, func(k int32) bool { return covers(l.counts[int(k)*n:int(k+1)*n], counts) }) {
			continue
		}
		kept = append(kept, id)
		ways = append(ways, l.way(id, counts))
	}
	return ways
}

// way writes a label's counts and pieces.
func (l *lineLister) way(id int32, counts []uint16) stripWay {
	w := stripWay{gain: l.labels[id].gain}
	for o, c := range counts {
		if c > 0 {
			w.items, w.n = append(w.items, l.items[o]), append(w.n, c)
		}
	}
	for at := id; l.labels[at].parent >= 0; at = l.labels[at].parent {
		w.bits = append(w.bits, bit{l.items[l.labels[at].offer], l.labels[at].start, 0})
	}
	return w
}

// sortWays sorts ways, best first.
func sortWays(ways []stripWay) {
	slices.SortStableFunc(ways, func(a, b stripWay) int { return cmp.Compare(b.gain, a.gain) })
}

// covers reports whether a is nowhere less than b.
func covers(a, b []uint16) bool {
	for i, v := range b {
		if a[i] < v {
			return false
		}
	}
	return true
}
