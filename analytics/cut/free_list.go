package cut

import (
	"cmp"
	"math"
	"slices"
)

// freeListed is the tables of clear rectangles, of all items, for the gains
// last listed at: an item that gains nothing loses nothing either, and a plan may
// need it.
type freeListed struct {
	gain   []float64
	tables []freeTable
}

// mostRects is up to how many rectangles between places of cuts a board is
// listed.
const mostRects = 20_000_000

// lister offers a board as one strip whose ways are its patterns: what follows
// from there on is common to all families.
func (e *freeEngine) lister(ki int, gain []float64, _ float64) *boardLister {
	fp := &freePricer{e: e}
	root := fp.open(ki, e.tablesFor(gain))
	if n, m := len(fp.us), len(fp.vs); n*n/2*m*m/2 > mostRects {
		return nil
	}
	k := &e.p.kinds[ki]
	l := &freeLister{fp: fp, gain: gain, root: root}
	line := &stripLine{lister: l, need: math.Inf(1)}
	size := k.W + e.p.kv
	return &boardLister{
		p: e.p, k: k, gain: gain, size: size,
		strips: []stripOffer{{v: 0, to: int32(size), best: l.best(), line: line}},
	}
}

// tablesFor returns the tables for the gains, which several boards listed at
// the same gains share.
func (e *freeEngine) tablesFor(gain []float64) []freeTable {
	e.listing.Lock()
	defer e.listing.Unlock()
	if e.listed.tables == nil || &e.listed.gain[0] != &gain[0] {
		e.listed = freeListed{gain, e.tablesOf(gain, true)}
	}
	return e.listed.tables
}

// freeLister lists the patterns of a board by cuts of any number of stages. What
// a rectangle must gain at least, so that some pattern of the board may use it,
// is worked out from the board down to its smallest rectangles; then each is
// listed once, from the smallest up.
type freeLister struct {
	fp    *freePricer
	gain  []float64 // by item
	root  rect
	minL  int // of all pieces, kerf added
	minW  int
	nodes map[freeKey]*freeNode
	bySum [][]*freeNode // by length plus width
	q     *quota
}

// freeKey names a rectangle: of those that are clear only the size matters.
type freeKey struct {
	r     rect // where clear: 0 to the index of its length, 0 to that of its width
	clear bool
}

// freeNode is a rectangle that some pattern may use.
type freeNode struct {
	key    freeKey
	du, dv int     // kerf added
	most   float64 // the best it can gain
	need   float64 // the least it must gain
	cuts   []freeCut
	ways   []freeWay // best first
}

// freeCut parts a rectangle in two; at is from its low edge.
type freeCut struct {
	low, high *freeNode
	along     bool // across v, else across u
	at        int
}

// freeWay is one way to cut a rectangle: a piece at its low corner, or a cut and
// a way for each side, or nothing.
type freeWay struct {
	gain      float64
	hash      uint64  // of what it makes
	items     []int32 // ascending
	n         []uint16
	cut       int32 // index into the node's cuts, -1 for none
	low, high int32
}

// best returns the greatest gain of the board.
func (l *freeLister) best() float64 { return l.fp.solve(l.root, -1).gain }

// list returns the maximal ways to cut the board.
func (l *freeLister) list(least float64, q *quota) []stripWay {
	if q.over() || len(l.fp.t.pieces) == 0 {
		return nil
	}
	least -= 1e-9 * (1 + l.best())
	l.q, l.nodes = q, map[freeKey]*freeNode{}
	l.minL, l.minW = math.MaxInt, math.MaxInt
	for _, pc := range l.fp.t.pieces {
		l.minL, l.minW = min(l.minL, pc.l), min(l.minW, pc.w)
	}
	l.bySum = make([][]*freeNode, l.fp.us[l.root.u2]+l.fp.vs[l.root.v2]+1)
	root := l.node(l.root)
	root.need = least
	for sum := len(l.bySum) - 1; sum >= 0; sum-- {
		for _, n := range l.bySum[sum] { // a cut's sides are smaller
			l.parts(n)
			if q.out {
				return nil
			}
		}
	}
	for _, nodes := range l.bySum {
		for _, n := range nodes {
			l.fill(n)
			if q.out {
				return nil
			}
		}
	}
	ways := make([]stripWay, 0, len(root.ways))
	for i := range root.ways {
		if w := &root.ways[i]; len(w.items) > 0 {
			ways = append(ways, stripWay{gain: w.gain, items: w.items, n: w.n, bits: l.layout(nil, root, int32(i), 0, 0)})
		}
	}
	return ways
}

// node returns the node of a rectangle of the board.
func (l *freeLister) node(r rect) *freeNode {
	fp := l.fp
	du, dv := fp.us[r.u2]-fp.us[r.u1], fp.vs[r.v2]-fp.vs[r.v1]
	if fp.clear(r) {
		return l.clearNode(du, dv)
	}
	key := freeKey{r: r}
	if n := l.nodes[key]; n != nil {
		return n
	}
	return l.add(&freeNode{key: key, du: du, dv: dv, most: fp.solve(r, -1).gain})
}

// clearNode returns the node of a clear rectangle, cut down to sums of pieces.
func (l *freeLister) clearNode(du, dv int) *freeNode {
	t := l.fp.t
	i, j := int(t.uAt[du]), int(t.vAt[dv])
	key := freeKey{r: rect{u2: i, v2: j}, clear: true}
	if n := l.nodes[key]; n != nil {
		return n
	}
	return l.add(&freeNode{key: key, du: t.us[i], dv: t.vs[j], most: t.best[i][j]})
}

// add takes a new node in.
func (l *freeLister) add(n *freeNode) *freeNode {
	n.need = math.Inf(1)
	l.nodes[n.key] = n
	l.bySum[n.du+n.dv] = append(l.bySum[n.du+n.dv], n)
	return n
}

// parts finds the cuts of a node that may lead to what it needs, and tells both
// sides what they need for it.
func (l *freeLister) parts(n *freeNode) {
	if n.need > n.most || l.void(n.du, n.dv) {
		return
	}
	if n.key.clear {
		l.clearParts(n)
		return
	}
	fp, r := l.fp, n.key.r
	for c := r.u1 + 1; c < r.u2 && l.q.take(); c++ {
		low, high := rect{r.u1, c, r.v1, r.v2}, rect{c, r.u2, r.v1, r.v2}
		if fp.placeU(r, c) && !l.void(fp.us[r.u2]-fp.us[c], n.dv) && fp.bound(low)+fp.bound(high) >= n.need {
			l.part(n, freeCut{low: l.node(low), high: l.node(high), at: fp.us[c] - fp.us[r.u1]})
		}
	}
	for c := r.v1 + 1; c < r.v2 && l.q.take(); c++ {
		low, high := rect{r.u1, r.u2, r.v1, c}, rect{r.u1, r.u2, c, r.v2}
		if fp.placeV(r, c) && !l.void(n.du, fp.vs[r.v2]-fp.vs[c]) && fp.bound(low)+fp.bound(high) >= n.need {
			l.part(n, freeCut{low: l.node(low), high: l.node(high), along: true, at: fp.vs[c] - fp.vs[r.v1]})
		}
	}
}

// clearParts is parts for a clear rectangle, where it does not matter which
// side is the low one.
func (l *freeLister) clearParts(n *freeNode) {
	t := l.fp.t
	for _, at := range t.us[1:] {
		if 2*at > n.du || !l.q.take() {
			break
		}
		if t.most(at, n.dv)+t.most(n.du-at, n.dv) >= n.need {
			l.part(n, freeCut{low: l.clearNode(at, n.dv), high: l.clearNode(n.du-at, n.dv), at: at})
		}
	}
	for _, at := range t.vs[1:] {
		if 2*at > n.dv || !l.q.take() {
			break
		}
		if t.most(n.du, at)+t.most(n.du, n.dv-at) >= n.need {
			l.part(n, freeCut{low: l.clearNode(n.du, at), high: l.clearNode(n.du, n.dv-at), along: true, at: at})
		}
	}
}

// part takes a cut in if its sides can gain enough.
func (l *freeLister) part(n *freeNode, c freeCut) {
	if c.low.most+c.high.most < n.need {
		return
	}
	c.low.need = min(c.low.need, n.need-c.high.most)
	c.high.need = min(c.high.need, n.need-c.low.most)
	n.cuts = append(n.cuts, c)
}

// void reports whether no piece is as small as that.
func (l *freeLister) void(du, dv int) bool { return du < l.minL || dv < l.minW }

// fill lists a node's ways, whose sides are listed already.
func (l *freeLister) fill(n *freeNode) {
	var ways []freeWay
	seen := map[uint64]bool{0: true}
	if n.need <= 0 {
		ways = append(ways, freeWay{cut: -1})
	}
	for _, pc := range l.fp.t.pieces {
		if pc.gain >= n.need && pc.l <= n.du && pc.w <= n.dv && l.holds(n, pc) {
			seen[mix64(uint64(pc.item))] = true
			ways = append(ways, freeWay{gain: pc.gain, hash: mix64(uint64(pc.item)), items: []int32{pc.item}, n: []uint16{1}, cut: -1})
		}
	}
	for c := range n.cuts {
		low, high := n.cuts[c].low.ways, n.cuts[c].high.ways
		for i := range low {
			for j := range high {
				if low[i].gain+high[j].gain < n.need || !l.q.take() {
					break
				}
				if gain, hash := l.gains(&low[i], &high[j]); gain >= n.need && !seen[hash] {
					seen[hash] = true
					items, count := l.join(&low[i], &high[j])
					ways = append(ways, freeWay{gain, hash, items, count, int32(c), int32(i), int32(j)})
				}
			}
		}
	}
	slices.SortStableFunc(ways, func(a, b freeWay) int { return cmp.Or(cmp.Compare(b.gain, a.gain), len(b.items)-len(a.items)) })
	var kept shortlist
	for _, w := range ways {
		if kept.add(w.items, w.n) {
			n.ways = append(n.ways, w)
		}
	}
}

// holds reports whether a piece can lie at the node's low corner.
func (l *freeLister) holds(n *freeNode, pc freePiece) bool {
	return n.key.clear || l.fp.fits(pc, l.fp.us[n.key.r.u1], l.fp.vs[n.key.r.v1])
}

// gains returns what two ways gain together, no more of an item counted than is
// wanted, and a hash of what they make.
func (l *freeLister) gains(a, b *freeWay) (gain float64, hash uint64) {
	gain, hash = a.gain+b.gain, a.hash+b.hash
	for i, j := 0, 0; i < len(a.items) && j < len(b.items); {
		switch it := a.items[i]; {
		case it < b.items[j]:
			i++
		case it > b.items[j]:
			j++
		default:
			if over := int(a.n[i]) + int(b.n[j]) - l.most(it); over > 0 {
				gain -= l.gain[it] * float64(over)
				hash -= mix64(uint64(it)) * uint64(over)
			}
			i, j = i+1, j+1
		}
	}
	return gain, hash
}

// most returns how many of an item are counted.
func (l *freeLister) most(item int32) int { return min(l.fp.e.p.items[item].want, 60_000) }

// join adds up what two ways make, no more of an item than is wanted.
func (l *freeLister) join(a, b *freeWay) (items []int32, n []uint16) {
	items, n = make([]int32, 0, len(a.items)+len(b.items)), make([]uint16, 0, len(a.items)+len(b.items))
	i, j := 0, 0
	for i < len(a.items) || j < len(b.items) {
		switch {
		case j == len(b.items) || i < len(a.items) && a.items[i] < b.items[j]:
			items, n = append(items, a.items[i]), append(n, a.n[i])
			i++
		case i == len(a.items) || b.items[j] < a.items[i]:
			items, n = append(items, b.items[j]), append(n, b.n[j])
			j++
		default:
			items = append(items, a.items[i])
			n = append(n, uint16(min(int(a.n[i])+int(b.n[j]), l.most(a.items[i]))))
			i, j = i+1, j+1
		}
	}
	return items, n
}

// layout lists the pieces of a node's way, its low corner at u, v.
func (l *freeLister) layout(bits []bit, n *freeNode, way, u, v int32) []bit {
	w := &n.ways[way]
	switch {
	case w.cut >= 0:
		c := &n.cuts[w.cut]
		bits = l.layout(bits, c.low, w.low, u, v)
		if c.along {
			return l.layout(bits, c.high, w.high, u, v+int32(c.at))
		}
		return l.layout(bits, c.high, w.high, u+int32(c.at), v)
	case len(w.items) > 0:
		return append(bits, bit{w.items[0], u, v})
	}
	return bits
}
