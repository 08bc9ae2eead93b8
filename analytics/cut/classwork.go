package cut

import (
	"cmp"
	"math"
	"slices"
)

// classPricer finds, for boards cut in two stages, the most that patterns of
// each class gain: the exact programme of the board with what has been made so
// far, as a class, for a second state.
type classPricer struct {
	e      *stripEngine
	c      *classes
	of     []int // by item: its class
	gain   []float64
	offers [][][]classOffer // by group, shelf
	clear  [][][]float64    // by group, shelf: a clear line, by length plus kerf and class
	stop   func() bool

	strips [][][]float64 // by shelf, line: by class; nil where not yet known
	line   classTable
	stack  classTable
}

// classOffer is an item for which no shorter one of its class stands in.
type classOffer struct {
	offer
	class int
}

// classTable is the states of one programme: the most gained up to a place, by
// class, and how it came about.
type classTable struct {
	best []float64
	by   []int32 // the item or shelf laid last; -1 where nothing ends here
	was  []uint8 // the class before that
	at   []int32 // the place before that
}

// newClassPricer prepares to price at the given gains.
func newClassPricer(e *stripEngine, c *classes, of []int, gain []float64, stop func() bool) *classPricer {
	w := &classPricer{e: e, c: c, of: of, gain: gain, stop: stop}
	for _, g := range e.p.groups {
		var offers [][]classOffer
		var clear [][]float64
		for _, s := range g.shelves {
			o := w.offersOf(s.items)
			offers = append(offers, o)
			w.cutLine(o, []edge{{reach: [levels]int32{int32(g.maxL), int32(g.maxL), int32(g.maxL)}}}, g.maxL)
			clear = append(clear, slices.Clone(w.line.best))
		}
		w.offers, w.clear = append(w.offers, offers), append(w.clear, clear)
	}
	return w
}

// offersOf returns the items worth offering.
func (w *classPricer) offersOf(ids []int) []classOffer {
	var all []classOffer
	for _, i := range ids {
		it := &w.e.p.items[i]
		all = append(all, classOffer{offer{int32(it.l), int32(it.level), int32(i), w.gain[i]}, w.of[i]})
	}
	slices.SortStableFunc(all, func(a, b classOffer) int {
		return cmp.Or(cmp.Compare(a.l, b.l), cmp.Compare(b.gain, a.gain), cmp.Compare(a.level, b.level))
	})
	kept := all[:0]
	for _, o := range all {
		if !slices.ContainsFunc(kept, func(k classOffer) bool { return k.class == o.class && k.gain >= o.gain && k.level <= o.level }) {
			kept = append(kept, o)
		}
	}
	return kept
}

// reset makes room for a programme with places 0 to size-1.
func (t *classTable) reset(size, order int) {
	n := size * order
	if cap(t.best) < n {
		*t = classTable{make([]float64, n), make([]int32, n), make([]uint8, n), make([]int32, n)}
	}
	t.best, t.by, t.was, t.at = t.best[:n], t.by[:n], t.was[:n], t.at[:n]
	for i := range t.best {
		t.best[i], t.by[i] = math.Inf(-1), -1
	}
	t.best[0] = 0
}

// carry takes over what was gained up to the place before and reports whether
// any class gains more here.
func (t *classTable) carry(place, order int) (rises bool) {
	if place == 0 {
		return true
	}
	here, last := t.best[place*order:(place+1)*order], t.best[(place-1)*order:]
	for c := range here {
		if here[c] > last[c] {
			rises = true
		} else {
			here[c], t.by[place*order+c] = last[c], -1
		}
	}
	return rises
}

// cutLine fills the line's table for a line of length n and returns its last
// place's gains by class.
func (w *classPricer) cutLine(offers []classOffer, edges []edge, n int) []float64 {
	order, t, kerf := w.c.order, &w.line, w.e.p.ku
	size := n + kerf + 1
	t.reset(size, order)
	e := 0
	for x := range size {
		rises := t.carry(x, order)
		turn := e+1 < len(edges) && int(edges[e+1].at) <= x
		for e+1 < len(edges) && int(edges[e+1].at) <= x {
			e++
		}
		if !rises && !turn || x >= n {
			continue
		}
		for i := range offers {
			o := &offers[i]
			if int32(x)+o.l > edges[e].reach[o.level] {
				continue
			}
			to := (x + int(o.l) + kerf) * order
			plus := w.c.plus[o.class]
			for c, v := range t.best[x*order : (x+1)*order] {
				if s := to + int(plus[c]); v+o.gain > t.best[s] {
					t.best[s], t.by[s], t.was[s], t.at[s] = v+o.gain, o.item, uint8(c), int32(x)
				}
			}
		}
	}
	return t.best[(size-1)*order:]
}

// strip returns what a strip of a shelf on a line gains, by class.
func (w *classPricer) strip(k *kind, g *ground, shelf int, line int32) []float64 {
	if v := w.strips[shelf][line]; v != nil {
		return v
	}
	order := w.c.order
	v := w.clear[k.group][shelf][(k.L+w.e.p.ku)*order:][:order]
	if !g.clear(shelf, line) {
		v = slices.Clone(w.cutLine(w.offers[k.group][shelf], g.edges[g.lines[shelf][line][0].edges], k.L))
	}
	w.strips[shelf][line] = v
	return v
}

// run returns the most that a pattern of each class gains on a board of the
// kind, -Inf where there is none.
func (w *classPricer) run(ki int) []float64 {
	k, g, order, t := &w.e.p.kinds[ki], w.e.grounds[ki], w.c.order, &w.stack
	shelves := w.e.p.groups[k.group].shelves
	w.strips = w.strips[:0]
	for i := range shelves {
		w.strips = append(w.strips, make([][]float64, len(g.lines[i])))
	}
	size := k.W + w.e.p.kv + 1
	t.reset(size, order)
	next := make([]int, len(shelves))
	nextSpan := 0
	for y := range size {
		rises := t.carry(y, order)
		if !rises && y < nextSpan || y >= k.W || w.stop() {
			continue
		}
		if y >= nextSpan {
			nextSpan = advance(g.spans, next, y, size)
		}
		for i := range shelves {
			if y+shelves[i].w > k.W {
				continue
			}
			line := g.spans[i][next[i]-1].line
			w.lay(w.strip(k, g, i, line), y, i, y+shelves[i].w+w.e.p.kv)
		}
	}
	return t.best[(size-1)*order:]
}

// lay puts a strip of a shelf on what was gained up to y.
func (w *classPricer) lay(strip []float64, y, shelf, end int) {
	order, t := w.c.order, &w.stack
	for c, v := range t.best[y*order : (y+1)*order] {
		if math.IsInf(v, -1) {
			continue
		}
		for d, gain := range strip {
			if s := end*order + int(w.c.plus[c][d]); v+gain > t.best[s] {
				t.best[s], t.by[s], t.was[s], t.at[s] = v+gain, int32(shelf), uint8(c), int32(y)
			}
		}
	}
}

// pattern lays out the pattern of a class that the last run, of the same kind,
// found best.
func (w *classPricer) pattern(ki, class int) []bit {
	k, g, order, t := &w.e.p.kinds[ki], w.e.grounds[ki], w.c.order, &w.stack
	var bits []bit
	for y := k.W + w.e.p.kv; y > 0; {
		s := y*order + class
		if t.by[s] < 0 {
			y--
			continue
		}
		shelf, v, was := int(t.by[s]), t.at[s], int(t.was[s])
		line := lineAt(g.spans[shelf], int(v))
		w.cutLine(w.offers[k.group][shelf], g.edges[g.lines[shelf][line][0].edges], k.L)
		bits = w.walk(bits, k.L+w.e.p.ku, int(w.c.plus[class][w.c.minus[was]]), v)
		y, class = int(v), was
	}
	return bits
}

// walk lays out the last line's pieces of a class at height v.
func (w *classPricer) walk(bits []bit, x, class int, v int32) []bit {
	order, t := w.c.order, &w.line
	for x > 0 {
		s := x*order + class
		if t.by[s] < 0 {
			x--
			continue
		}
		bits = append(bits, bit{t.by[s], t.at[s], v})
		x, class = int(t.at[s]), int(t.was[s])
	}
	return bits
}
