package cut

import (
	"cmp"
	"math"
	"slices"
)

// boardLister lists the patterns of a kind of board whose loss, at given
// prices, is within a slack. It works for every pattern that stacks strips:
// strips are offered at heights, and each strip has its ways.
type boardLister struct {
	p      *problem
	k      *kind
	gain   []float64
	strips []stripOffer
	spans  []int32 // heights where clear wood may begin
	size   int
	rest   []float64
	caps   []uint16
	labels blocks[boardLabel]
	made   []uint16 // by item: what the label being grown makes
	head   []int32
	seen   map[uint64]bool
	// most bounds how many patterns are returned, 0 for all; the first of those
	// left out for it loses beyond, infinity where there are none.
	most   int
	beyond float64
}

// stripOffer is a strip that may be ripped from height v on, taking to-v.
type stripOffer struct {
	v, to int32
	best  float64
	line  *stripLine
	ways  []stripWay
}

// wayLister lists the maximal ways to cut a strip that gain at least least,
// best first; they are all unless the quota ran out.
type wayLister interface {
	best() float64
	list(least float64, q *quota) []stripWay
}

// stripLine is what one or more strip offers cut.
type stripLine struct {
	lister wayLister
	need   float64 // the least gain a way must have to matter somewhere
	ways   []stripWay
}

type boardLabel struct {
	gain   float64
	hash   uint64
	parent int32
	strip  int32
	way    int32
	next   int32
}

// sortStrips puts the strips in order of height, those of one height in the
// order in which they were offered.
func (b *boardLister) sortStrips() {
	first := make([]int, b.size+2)
	for i := range b.strips {
		first[b.strips[i].v+1]++
	}
	for v := range b.size {
		first[v+1] += first[v]
	}
	sorted := make([]stripOffer, len(b.strips))
	for i := range b.strips {
		v := b.strips[i].v
		sorted[first[v]] = b.strips[i]
		first[v]++
	}
	b.strips = sorted
}

// fillRest computes the most that can be gained from each height on.
func (b *boardLister) fillRest() {
	b.rest = make([]float64, b.size+1)
	i := len(b.strips)
	for v := b.size - 1; v >= 0; v-- {
		best := b.rest[v+1]
		for ; i > 0 && int(b.strips[i-1].v) == v; i-- {
			s := &b.strips[i-1]
			best = max(best, s.best+b.rest[s.to])
		}
		b.rest[v] = best
	}
}

// best returns the most that any pattern gains.
func (b *boardLister) best() float64 {
	if b.rest == nil {
		b.fillRest()
	}
	return b.rest[0]
}

// reach computes the most that can be gained up to each height.
func (b *boardLister) reach() []float64 {
	pre := make([]float64, b.size+1)
	i := 0
	for v := 0; v <= b.size; v++ {
		if v > 0 {
			pre[v] = max(pre[v], pre[v-1])
		}
		for ; i < len(b.strips) && int(b.strips[i].v) == v; i++ {
			s := &b.strips[i]
			pre[s.to] = max(pre[s.to], pre[v]+s.best)
		}
	}
	return pre
}

// list returns the maximal patterns within slack of the best, best first; they
// are all unless the quota ran out.
func (b *boardLister) list(slack float64, q *quota) []pattern {
	z := b.best()
	b.beyond = math.Inf(1)
	if slack < 0 {
		return nil
	}
	least := z - slack - 1e-9*(1+z)
	pre := b.reach()
	for i := range b.strips {
		s := &b.strips[i]
		if need := least - pre[s.v] - b.rest[s.to]; need <= s.best {
			s.line.need = min(s.line.need, need)
		}
	}
	for i := range b.strips {
		s := &b.strips[i]
		if s.line.ways == nil && !math.IsInf(s.line.need, 1) && !q.over() {
			s.line.ways = s.line.lister.list(max(s.line.need, 0), q)
			if s.line.ways == nil {
				s.line.ways = []stripWay{}
			}
		}
		s.ways = s.line.ways
	}
	return b.patterns(b.spread(least, q), z)
}

// spread grows labels height by height and returns the finished ones.
func (b *boardLister) spread(least float64, q *quota) []int32 {
	b.head = append(b.head[:0], make([]int32, b.size+1)...)
	for i := range b.head {
		b.head[i] = -1
	}
	b.caps = make([]uint16, len(b.p.items))
	for i, it := range b.p.items {
		b.caps[i] = uint16(min(it.want, 60_000))
	}
	b.labels = blocks[boardLabel]{}
	b.labels.add(boardLabel{parent: -1, next: -1})
	b.made = make([]uint16, len(b.caps))
	b.head[0] = 0
	b.seen = map[uint64]bool{}
	first := make([]int32, b.size+2) // by height: its first strip
	i := 0
	for v := range first {
		for i < len(b.strips) && int(b.strips[i].v) < v {
			i++
		}
		first[v] = int32(i)
	}
	var ends []int32
	for v := 0; v <= b.size; v++ {
		for id := b.head[v]; id >= 0; id = b.labels.at(id).next {
			label := b.labels.at(id)
			if b.seen[label.hash] {
				continue
			}
			b.seen[label.hash] = true
			if label.gain >= least {
				ends = append(ends, id)
			}
			if q.take() {
				b.grow(id, int32(v), least, first, q)
			}
		}
	}
	return ends
}

// count fills in what a label makes, no more than wanted. Labels know only
// their last strip, as those of a lineLister know their last piece.
func (b *boardLister) count(id int32) {
	for at := b.labels.at(id); at.parent >= 0; at = b.labels.at(at.parent) {
		w := b.wayOf(at)
		for o, it := range w.items {
			b.made[it] += min(w.n[o], b.caps[it]-b.made[it])
		}
	}
}

// uncount forgets what a label makes.
func (b *boardLister) uncount(id int32) {
	for at := b.labels.at(id); at.parent >= 0; at = b.labels.at(at.parent) {
		for _, it := range b.wayOf(at).items {
			b.made[it] = 0
		}
	}
}

// wayOf returns the way in which a label's last strip is cut.
func (b *boardLister) wayOf(label *boardLabel) *stripWay {
	return &b.strips[label.strip].ways[label.way]
}

// grow adds one strip to a label at v, there or where clear wood next begins.
func (b *boardLister) grow(id, v int32, least float64, first []int32, q *quota) {
	b.count(id)
	defer b.uncount(id)
	gain := b.labels.at(id).gain
	k, _ := slices.BinarySearch(b.spans, v+1)
	for at := v; ; k++ {
		if int(at) >= b.size || gain+b.rest[at] < least {
			return
		}
		for i := first[at]; i < first[at+1]; i++ {
			s := &b.strips[i]
			for w := range s.ways {
				if gain+s.ways[w].gain+b.rest[s.to] < least || !q.take() {
					break
				}
				b.push(id, i, int32(w), least)
			}
		}
		if k >= len(b.spans) {
			return
		}
		at = b.spans[k]
	}
}

// push makes a label for a strip cut in a way, counting no copy beyond those
// wanted; what the parent makes is counted.
func (b *boardLister) push(parent, strip, way int32, least float64) {
	s := &b.strips[strip]
	w := &s.ways[way]
	from := b.labels.at(parent)
	gain, hash := from.gain, from.hash
	for o, c := range w.n {
		it := w.items[o]
		add := min(c, b.caps[it]-b.made[it])
		gain += b.gain[it] * float64(add)
		hash += mix64(uint64(it)) * uint64(add)
	}
	if gain+b.rest[s.to] < least || hash == from.hash {
		return
	}
	b.head[s.to] = b.labels.add(boardLabel{gain, hash, parent, strip, way, b.head[s.to]})
}

// patterns turns finished labels into patterns.
func (b *boardLister) patterns(ends []int32, z float64) []pattern {
	slices.SortStableFunc(ends, func(x, y int32) int { return cmp.Compare(b.labels.at(y).gain, b.labels.at(x).gain) })
	var kept shortlist
	var out []pattern
	for _, id := range ends {
		loss := max(0, z-b.labels.at(id).gain)
		if b.most > 0 && len(out) == b.most {
			b.beyond = loss
			break
		}
		items, n := b.makes(id)
		if !kept.add(items, n) {
			continue
		}
		pt := pattern{items: items, n: make([]int32, len(n)), loss: loss, bits: b.bits(id, items, n)}
		for i, c := range n {
			pt.n[i] = int32(c)
		}
		out = append(out, pt)
	}
	return out
}

// makes returns what a label makes: items, ascending, and how many of each.
func (b *boardLister) makes(id int32) (items []int32, n []uint16) {
	for at := b.labels.at(id); at.parent >= 0; at = b.labels.at(at.parent) {
		items = append(items, b.wayOf(at).items...)
	}
	slices.Sort(items)
	items = slices.Clone(slices.Compact(items)) // kept long: no longer than need be
	n = make([]uint16, len(items))
	b.count(id)
	for i, it := range items {
		n[i], b.made[it] = b.made[it], 0
	}
	return items, n
}

// bits lays out a label's pattern, leaving out copies beyond those wanted.
func (b *boardLister) bits(id int32, items []int32, n []uint16) []bit {
	pieces := 0
	for i, it := range items {
		b.made[it] = n[i]
		pieces += int(n[i])
	}
	bits := make([]bit, 0, pieces)
	for at := b.labels.at(id); at.parent >= 0; at = b.labels.at(at.parent) {
		v := b.strips[at.strip].v
		for _, part := range b.wayOf(at).bits {
			if b.made[part.item] > 0 {
				b.made[part.item]--
				bits = append(bits, bit{part.item, part.u, part.v + v})
			}
		}
	}
	return bits
}

// lister offers the strips of a two-stage pattern.
func (e *stripEngine) lister(ki int, gain []float64, _ float64) *boardLister {
	p, k, g := e.p, &e.p.kinds[ki], e.grounds[ki]
	b := &boardLister{p: p, k: k, gain: gain, size: k.W + p.kv}
	shelves := p.groups[k.group].shelves
	for i, s := range shelves {
		lines := make([]*stripLine, len(g.lines[i]))
		for j, sp := range g.spans[i] {
			if lines[sp.line] == nil {
				lines[sp.line] = &stripLine{lister: e.lineLister(ki, i, sp.line, gain), need: math.Inf(1)}
			}
			line := lines[sp.line]
			end := int32(k.W - s.w + 1)
			if j+1 < len(g.spans[i]) {
				end = g.spans[i][j+1].v
			}
			for v := sp.v; v < end; v++ {
				b.strips = append(b.strips, stripOffer{v: v, to: v + int32(s.w+p.kv), best: line.lister.best(), line: line})
			}
			b.spans = append(b.spans, sp.v)
		}
	}
	b.sortStrips()
	slices.Sort(b.spans)
	b.spans = slices.Compact(b.spans)
	return b
}

// lineLister lists the ways of a shelf's strip on a line.
func (e *stripEngine) lineLister(ki, shelf int, line int32, gain []float64) *lineLister {
	k, g := &e.p.kinds[ki], e.grounds[ki]
	var bands []band
	for _, lb := range g.lines[shelf][line] {
		items := e.p.groups[k.group].shelves[lb.shelf].items
		offers := make([]offer, len(items))
		for j, it := range items {
			offers[j] = offer{int32(e.p.items[it].l), int32(e.p.items[it].level), int32(it), gain[it]}
		}
		bands = append(bands, band{g.edges[lb.edges], offers})
	}
	return newLineLister(bands, k.L, e.p.ku, e.p.items)
}
