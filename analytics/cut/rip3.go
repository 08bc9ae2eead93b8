package cut

import (
	"math"
	"slices"
	"sync"
)

// segmentEngine knows three-stage patterns: strips of any width, crosscut into
// segments exactly as long as their parts, which are ripped again. Seen along
// a segment's width, its parts form a line; which defects that line meets
// depends on where the segment starts. So each kind is mapped turned round,
// with shelves by length.
type segmentEngine struct {
	p       *problem
	shelves [][]shelf // by group: items of one length, w being that length
	grounds []*ground // by kind, turned round
	rows    [][]bool  // by kind: which rows, by v, meet any defect
	offers  [][][]offer
	stacks  [][][]float64 // by group, shelf: clear segments by width plus kerf
	strips  [][][]float64 // by group, strip width: clear strips by length plus kerf
	boards  []clearBoards // by group
	last    [][]bit       // by kind: the pattern priced last
	listing sync.Mutex
	listed  *segmentEngine // with the tables for the gains last listed at
	gain    []float64
}

// clearBoards holds, for each length of board of a group, the most that a
// clear board of that length gains, by width plus kerf.
type clearBoards struct{ by map[int][]float64 }

// turned returns the kind with its axes exchanged.
func (k kind) turned() kind {
	t := k
	t.L, t.W = k.W, k.L
	t.spots = make([]spot, len(k.spots))
	for i, s := range k.spots {
		t.spots[i] = spot{s.v, s.u, s.dv, s.du, s.face}
	}
	return t
}

// newSegmentEngine maps the defects of all kinds.
func newSegmentEngine(p *problem) *segmentEngine {
	e := &segmentEngine{p: p, last: make([][]bit, len(p.kinds))}
	for _, g := range p.groups {
		byLength := map[int][]int{}
		for _, s := range g.shelves {
			for _, i := range s.items {
				byLength[p.items[i].l] = append(byLength[p.items[i].l], i)
			}
		}
		var shelves []shelf
		for l, items := range byLength {
			slices.Sort(items)
			shelves = append(shelves, shelf{l, items})
		}
		slices.SortFunc(shelves, func(a, b shelf) int { return b.w - a.w })
		e.shelves = append(e.shelves, shelves)
	}
	for _, k := range p.kinds {
		if p.stop() { // nothing is priced after the stop
			break
		}
		e.grounds = append(e.grounds, newGround(k.turned(), e.shelves[k.group], false))
		rows := make([]bool, k.W)
		for _, s := range k.spots {
			for v := s.v; v < s.v+s.dv; v++ {
				rows[v] = true
			}
		}
		e.rows = append(e.rows, rows)
	}
	return e
}

// prepare computes the tables of clear segments, strips and boards.
func (e *segmentEngine) prepare(gain []float64) {
	p := e.p
	e.gain = gain
	e.offers, e.stacks, e.strips = nil, nil, nil
	e.boards = make([]clearBoards, len(p.groups))
	for gi, g := range p.groups {
		var offers [][]offer
		var stacks [][]float64
		for _, s := range e.shelves[gi] {
			o := e.stackOffers(s, gain)
			offers = append(offers, o)
			stacks = append(stacks, clearLine(o, g.maxW, p.kv))
		}
		strips := make([][]float64, g.maxW+1)
		for w := 1; w <= g.maxW && !p.stop(); w++ {
			var line []offer
			for si, s := range e.shelves[gi] {
				if v := stacks[si][w+p.kv]; v > 0 {
					line = append(line, offer{l: int32(s.w), gain: v})
				}
			}
			strips[w] = clearLine(line, g.maxL, p.ku)
		}
		e.offers, e.stacks, e.strips = append(e.offers, offers), append(e.stacks, stacks), append(e.strips, strips)
		e.boards[gi] = clearBoards{by: map[int][]float64{}}
	}
	for _, k := range p.kinds {
		if p.stop() {
			return
		}
		e.clearBoard(k)
	}
}

// stackOffers returns the shelf's items as offers along a segment's width.
func (e *segmentEngine) stackOffers(s shelf, gain []float64) []offer {
	turned := make([]item, len(e.p.items))
	for _, i := range s.items {
		turned[i] = e.p.items[i]
		turned[i].l = e.p.items[i].w
	}
	return offersOf(turned, s.items, gain)
}

// clearBoard fills the table of clear boards as long as k.
func (e *segmentEngine) clearBoard(k kind) {
	table := e.boards[k.group].by
	if table[k.L] != nil {
		return
	}
	maxW := e.p.groups[k.group].maxW
	best := make([]float64, maxW+e.p.kv+1)
	for x := 1; x < len(best) && !e.p.stop(); x++ {
		b := best[x-1]
		for w := 1; w+e.p.kv <= x; w++ {
			b = max(b, best[x-w-e.p.kv]+e.strips[k.group][w][k.L+e.p.ku])
		}
		best[x] = b
	}
	table[k.L] = best
}

// worker returns a pricer of its own scratch space.
func (e *segmentEngine) worker() pricer { return &segmentPricer{e: e} }

// segmentPricer prices three-stage patterns for a segmentEngine.
type segmentPricer struct {
	e     *segmentEngine
	tall  [][][]float64 // by shelf, line: stacks from the present v1 up to v
	best2 []float64
	from  []int32
	to    []int32
	chain []float64
	cfrom []int32
	cby   []int32
	next  []int
}

// fillStacks computes, for every shelf and line, the most that a segment can
// stack from v1 up to every v; entry v+kerf is for a strip that ends at v.
func (sp *segmentPricer) fillStacks(k *kind, g *ground, v1 int) {
	for len(sp.tall) < len(g.lines) {
		sp.tall = append(sp.tall, nil)
	}
	for si := range g.lines {
		offers := sp.e.offers[k.group][si]
		for len(sp.tall[si]) < len(g.lines[si]) {
			sp.tall[si] = append(sp.tall[si], nil)
		}
		for li, bands := range g.lines[si] {
			if bands[0].edges == 0 || len(offers) == 0 {
				continue
			}
			sp.tall[si][li] = stackFrom(sp.tall[si][li], g.edges[bands[0].edges], offers, v1, k.W, sp.e.p.kv)
		}
	}
}

// stackFrom computes the most that offers gain on a line from v1 on, by end
// plus kerf.
func stackFrom(best []float64, edges []edge, offers []offer, v1, n, kerf int) []float64 {
	best = append(best[:0], make([]float64, n+kerf+1)...)
	e := edgeAt(edges, int32(v1))
	prev := -1.0
	for v := int32(v1); v < int32(len(best)); v++ {
		rise := best[v] > prev
		if !rise {
			best[v] = prev
		}
		prev = best[v]
		if e+1 < len(edges) && edges[e+1].at <= v {
			e++
			rise = true
		}
		if !rise || int(v) >= n {
			continue
		}
		for i := range offers {
			o := &offers[i]
			if v+o.l <= edges[e].reach[o.level] {
				to := v + o.l + int32(kerf)
				best[to] = max(best[to], prev+o.gain)
			}
		}
	}
	return best
}

// stack returns the most that a segment of a shelf on a line gains between v1
// and v2.
func (sp *segmentPricer) stack(k *kind, g *ground, shelf int, line int32, v1, v2 int) float64 {
	if len(sp.e.offers[k.group][shelf]) == 0 {
		return 0
	}
	if g.lines[shelf][line][0].edges == 0 {
		return sp.e.stacks[k.group][shelf][v2-v1+sp.e.p.kv]
	}
	return sp.tall[shelf][line][v2+sp.e.p.kv]
}

// strip returns the most that a strip from v1 to v2 gains, v1 being the one of
// the last fillStacks.
func (sp *segmentPricer) strip(k *kind, g *ground, v1, v2 int, trace bool) float64 {
	p := sp.e.p
	size := k.L + p.ku + 1
	best := append(sp.chain[:0], make([]float64, size)...)
	sp.chain = best
	if trace {
		sp.cfrom = append(sp.cfrom[:0], make([]int32, size)...)
		sp.cby = append(sp.cby[:0], make([]int32, size)...)
	}
	shelves := sp.e.shelves[k.group]
	next := append(sp.next[:0], make([]int, len(shelves))...)
	sp.next = next
	gains := make([]float64, len(shelves))
	prev, nextSpan := -1.0, 0
	for u := range size {
		if best[u] <= prev {
			best[u] = prev
			if trace {
				sp.cfrom[u] = -1
			}
			if u < nextSpan || u >= k.L {
				continue
			}
		}
		prev = best[u]
		if u >= nextSpan {
			nextSpan = advance(g.spans, next, u, size)
			for i := range shelves {
				gains[i] = 0
				if next[i] > 0 {
					gains[i] = sp.stack(k, g, i, g.spans[i][next[i]-1].line, v1, v2)
				}
			}
		}
		for i := range shelves {
			l := shelves[i].w
			if gains[i] <= 0 || u+l > k.L {
				continue
			}
			if to := u + l + p.ku; prev+gains[i] > best[to] {
				best[to] = prev + gains[i]
				if trace {
					sp.cfrom[to], sp.cby[to] = int32(u), int32(i)
				}
			}
		}
	}
	return best[size-1]
}

// best stacks strips of any width from the low edge up. A strip starts only
// where the running best has risen: a lower start would only widen it.
func (sp *segmentPricer) best(ki int) (float64, []bit) {
	e, k, g := sp.e, &sp.e.p.kinds[ki], sp.e.grounds[ki]
	kv := e.p.kv
	size := k.W + kv + 1
	best := append(sp.best2[:0], make([]float64, size)...)
	from := append(sp.from[:0], make([]int32, size)...)
	to := append(sp.to[:0], make([]int32, size)...)
	sp.best2, sp.from, sp.to = best, from, to
	clear := e.boards[k.group].by[k.L]
	floor := 0.0
	for _, b := range e.last[ki] {
		floor += e.gain[b.item]
	}
	floor -= 1e-9 * (1 + floor)
	prev := -1.0
	for v1 := range k.W {
		if best[v1] <= prev {
			best[v1], from[v1] = prev, -1
			continue
		}
		prev = best[v1]
		filled := false
		for v2 := v1 + 1; v2 <= k.W; v2++ {
			most := e.strips[k.group][v2-v1][k.L+e.p.ku]
			if most <= e.strips[k.group][v2-v1-min(1, v2-v1-1)][k.L+e.p.ku] && v2 > v1+1 && e.plain(ki, v1, v2) ||
				prev+most <= best[v2+kv] || prev+most+clear[k.W-v2] < floor {
				continue
			}
			gain := most
			if !e.plain(ki, v1, v2) {
				if !filled {
					sp.fillStacks(k, g, v1)
					filled = true
				}
				gain = sp.strip(k, g, v1, v2, false)
			}
			if prev+gain > best[v2+kv] {
				best[v2+kv], from[v2+kv], to[v2+kv] = prev+gain, int32(v1), int32(v2)
			}
		}
	}
	for v := k.W; v < size; v++ {
		if best[v] <= prev {
			best[v], from[v] = prev, -1
		}
		prev = best[v]
	}
	e.last[ki] = sp.layout(k, g)
	return best[size-1], e.last[ki]
}

// plain reports whether no defect lies between v1 and v2.
func (e *segmentEngine) plain(ki, v1, v2 int) bool {
	return !slices.Contains(e.rows[ki][v1:v2], true)
}

// layout walks the last best back and lays out its strips and segments.
func (sp *segmentPricer) layout(k *kind, g *ground) []bit {
	var bits []bit
	for v := len(sp.best2) - 1; v > 0; {
		if sp.from[v] < 0 || sp.best2[v] == 0 {
			v--
			continue
		}
		v1, v2 := int(sp.from[v]), int(sp.to[v])
		sp.fillStacks(k, g, v1)
		sp.strip(k, g, v1, v2, true)
		for u := len(sp.chain) - 1; u > 0; {
			if sp.cfrom[u] < 0 || sp.chain[u] == 0 {
				u--
				continue
			}
			at, shelf := sp.cfrom[u], int(sp.cby[u])
			edges := g.edges[g.lines[shelf][lineAt(g.spans[shelf], int(at))][0].edges]
			bits = sp.unstack(bits, edges, sp.e.offers[k.group][shelf], int(at), v1, v2)
			u = int(at)
		}
		v = v1
	}
	return bits
}

// unstack lays out the best stack of offers between v1 and v2 at u.
func (sp *segmentPricer) unstack(bits []bit, edges []edge, offers []offer, u, v1, v2 int) []bit {
	kerf := sp.e.p.kv
	edges = window(edges, v1, v2)
	best := stackFrom(nil, edges, offers, 0, v2-v1, kerf)
	for v := len(best) - 1; v > 0; {
		if best[v] == best[v-1] {
			v--
			continue
		}
		end := v
		v-- // unless some offer ends here
		for _, o := range offers {
			from := int32(end) - o.l - int32(kerf)
			if from < 0 || from+o.l > edges[edgeAt(edges, from)].reach[o.level] {
				continue
			}
			if math.Abs(best[from]+o.gain-best[end]) <= 1e-9*(1+best[end]) {
				bits = append(bits, bit{o.item, int32(u), from + int32(v1)})
				v = int(from)
				break
			}
		}
	}
	return bits
}

// preparedFor returns an engine with the tables for the gains, which several
// boards listed at the same gains share.
func (e *segmentEngine) preparedFor(gain []float64) *segmentEngine {
	e.listing.Lock()
	defer e.listing.Unlock()
	if e.listed == nil || &e.listed.gain[0] != &gain[0] {
		own := &segmentEngine{p: e.p, shelves: e.shelves, grounds: e.grounds, rows: e.rows, last: make([][]bit, len(e.last))}
		own.prepare(gain)
		e.listed = own
	}
	return e.listed
}

// lister offers the strips of a three-stage pattern. A strip may start lower
// by taking in what is waste below it, so it starts where the one before ends;
// it ends where some stack of parts in it can end. Strips that no pattern with
// a gain of least can hold, even on boards without defects, are left out.
func (e *segmentEngine) lister(ki int, gain []float64, least float64) *boardLister {
	k, g := &e.p.kinds[ki], e.grounds[ki]
	b := &boardLister{p: e.p, k: k, gain: gain, size: k.W + e.p.kv}
	own := e.preparedFor(gain)
	clear := own.boards[k.group].by[k.L]
	if clear == nil { // stopped
		return b
	}
	sp := &segmentPricer{e: own}
	var steps, tops []int
	for _, s := range e.p.groups[k.group].shelves {
		steps = append(steps, s.w+e.p.kv)
	}
	for _, s := range k.spots {
		tops = append(tops, s.v+s.dv)
	}
	starts, _ := sums(steps, append([]int{0}, tops...), b.size)
	for _, v1 := range starts {
		if v1 >= k.W || e.p.stop() {
			break // once stopped, a listing is not whole in any case
		}
		from := []int{v1}
		for _, t := range tops {
			from = append(from, max(t, v1))
		}
		sp.fillStacks(k, g, v1)
		ends, _ := sums(steps, from, b.size)
		for _, end := range ends {
			if v2 := end - e.p.kv; v2 > v1 && clear[v1]+own.strips[k.group][v2-v1][k.L+e.p.ku]+clear[k.W-v2] >= least {
				most := sp.strip(k, g, v1, v2, false)
				line := &stripLine{lister: &chainLister{e: e, ki: ki, gain: gain, v1: v1, v2: v2, most: most}, need: math.Inf(1)}
				b.strips = append(b.strips, stripOffer{v: int32(v1), to: int32(end), best: most, line: line})
			}
		}
	}
	b.sortStrips()
	return b
}
