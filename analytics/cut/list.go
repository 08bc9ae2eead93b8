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
	labels blocks[lineLabel]
	made   []uint16 // by offer: what the label being grown makes
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
	l.labels = blocks[lineLabel]{}
	l.labels.add(lineLabel{parent: -1, next: -1})
	l.made = make([]uint16, len(l.caps))
	l.head[0] = 0
	clear(l.seen)
	var ends []int32
	for x := 0; x < size; x++ {
		for id := l.head[x]; id >= 0; id = l.labels.at(id).next {
			label := l.labels.at(id)
			if l.seen[label.hash] {
				continue
			}
			l.seen[label.hash] = true
			if label.gain >= least {
				ends = append(ends, id)
			}
			if q.take() {
				l.grow(id, int32(x), least)
			}
		}
	}
	return l.ways(ends)
}

// count adds n for each piece of a label to what is made. Labels know only
// their last piece: a count of every offer beside each of them would take most
// of the memory that a plan needs.
func (l *lineLister) count(id int32, n uint16) {
	for at := l.labels.at(id); at.parent >= 0; at = l.labels.at(at.parent) {
		l.made[at.offer] += n
	}
}

// grow adds one piece to a label at x, there or where clear wood next begins.
func (l *lineLister) grow(id, x int32, least float64) {
	l.count(id, 1)
	defer l.count(id, ^uint16(0)) // takes one away again
	gain := l.labels.at(id).gain
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
					l.made[offer] >= l.caps[offer] {
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
	hash := l.labels.at(parent).hash + l.hash[offer]
	l.head[to] = l.labels.add(lineLabel{gain, hash, parent, offer, start, l.head[to]})
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

// ways turns finished labels into ways, best first, without those that make
// no more of anything than another one.
func (l *lineLister) ways(ends []int32) []stripWay {
	slices.SortStableFunc(ends, func(a, b int32) int { return cmp.Compare(l.labels.at(b).gain, l.labels.at(a).gain) })
	var kept shortlist
	var ways []stripWay
	for _, id := range ends {
		offers, n := l.makes(id)
		if len(offers) == 0 || int(offers[0]) >= l.first || !kept.add(offers, n) {
			continue
		}
		ways = append(ways, l.way(id, offers, n))
	}
	return ways
}

// makes returns what a label makes: offers, ascending, and how many of each.
func (l *lineLister) makes(id int32) (offers []int32, n []uint16) {
	for at := l.labels.at(id); at.parent >= 0; at = l.labels.at(at.parent) {
		offers = append(offers, at.offer)
	}
	slices.Sort(offers)
	offers = slices.Compact(offers)
	n = make([]uint16, len(offers))
	l.count(id, 1)
	for i, o := range offers {
		n[i], l.made[o] = l.made[o], 0
	}
	return offers, n
}

// way writes a label's counts and pieces.
func (l *lineLister) way(id int32, offers []int32, n []uint16) stripWay {
	w := stripWay{gain: l.labels.at(id).gain, n: n, items: make([]int32, len(offers))}
	pieces := 0
	for i, o := range offers {
		w.items[i] = l.items[o]
		pieces += int(n[i])
	}
	w.bits = make([]bit, 0, pieces)
	for at := l.labels.at(id); at.parent >= 0; at = l.labels.at(at.parent) {
		w.bits = append(w.bits, bit{l.items[at.offer], at.start, 0})
	}
	return w
}

// sortWays sorts ways, best first.
func sortWays(ways []stripWay) {
	slices.SortStableFunc(ways, func(a, b stripWay) int { return cmp.Compare(b.gain, a.gain) })
}
