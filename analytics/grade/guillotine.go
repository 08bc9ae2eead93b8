package grade

import (
	"cmp"
	"slices"
)

// topSpans is how many of the largest clear rectangles a sight keeps.
const topSpans = 8

// sight is what a look at a piece shows without cutting it.
type sight struct {
	// trim is the piece without the margins from which no cutting can come.
	trim piece
	// cover is the wood in clear rectangles of a least size.
	cover int64
	// top sums the areas of the largest clear rectangles: top[n-1] of n.
	top [topSpans]int64
	// largest is the largest of them.
	largest span
	// room is the greatest number of cuttings that could find room.
	room int64
}

// most bounds what n cuttings can give: no more than all the wood that counts,
// and, as the cuttings within one clear rectangle give no more than it, no
// more than the n largest rectangles.
func (v *sight) most(n int32) int64 {
	switch {
	case n < 1:
		return 0
	case n > topSpans:
		return v.cover
	default:
		return min(v.cover, v.top[n-1])
	}
}

// useful returns how many of n cuttings could find room; unlimited stays so.
func (v *sight) useful(n int32) int32 {
	if n == unlimited {
		return n
	}
	return int32(min(int64(n), v.room))
}

// single returns what one cutting gives.
func (v *sight) single() int64 { return v.top[0] }

// finding is the best found for a task: one cutting, or a cut and what its two
// sides give.
type finding struct {
	area int64
	// most is proven: the task gives no more.
	most int64
	cut  cutPlace
}

// cutPlace is a cut across the grain at xs[at] or along it at ys[at], with the
// numbers of cuttings on its low and high side; at 0 means no cut.
type cutPlace struct {
	along     bool
	at        int16
	low, high int32
	bound     int64
}

func (h *hunt) span(p piece) span {
	return span{h.xs[p.i0], h.xs[p.i1], h.ys[p.j0], h.ys[p.j1]}
}

// look returns the sight of a piece.
func (h *hunt) look(p piece) *sight {
	if v, ok := h.pieces[p]; ok {
		return v
	}
	h.effort--
	v := &sight{}
	h.pieces[p] = v
	s := h.span(p)
	var areas [topSpans]int64
	box := span{s.x1, s.x0, s.y1, s.y0}
	for _, c := range h.clear {
		r := c.within(s)
		if !fits(r, h.sizes) {
			continue
		}
		box = span{min(box.x0, r.x0), max(box.x1, r.x1), min(box.y0, r.y0), max(box.y1, r.y1)}
		a := r.area()
		if a > areas[0] {
			v.largest = r
		}
		for n := range areas {
			if a > areas[n] {
				areas[n], a = a, areas[n]
			}
		}
	}
	if areas[0] == 0 {
		return v
	}
	total := int64(0)
	for n, a := range areas {
		total += a
		v.top[n] = total
	}
	v.trim = piece{int16(indexOf(h.xs, box.x0)), int16(indexOf(h.xs, box.x1)), int16(indexOf(h.ys, box.y0)), int16(indexOf(h.ys, box.y1))}
	v.cover = h.coverOf(v.trim)
	v.room = v.cover / h.least
	return v
}

func (h *hunt) coverOf(p piece) int64 {
	at := func(i, j int16) int64 { return h.cover[int(j)*len(h.xs)+int(i)] }
	return at(p.i1, p.j1) - at(p.i0, p.j1) - at(p.i1, p.j0) + at(p.i0, p.j0)
}

// solve returns the best finding of a task where it beats a floor; a finding
// that does not is the best met on the way. When the effort is used up it
// returns what one cutting gives.
func (h *hunt) solve(t task, beat int64) *finding {
	v := h.look(t.piece)
	if v.single() == 0 {
		return &finding{}
	}
	t.piece = v.trim
	t.count = v.useful(t.count)
	f, ok := h.memo[t]
	if !ok {
		f = &finding{area: v.single(), most: v.most(t.count)}
		if t.count == 1 {
			f.most = f.area
		}
		h.memo[t] = f
	}
	if f.area == f.most || f.most <= beat || h.effort <= 0 {
		return f
	}
	h.cutUp(t, f, beat)
	return f
}

// cutUp tries every cut of a task that could beat both the floor and what was
// found, the most promising first.
func (h *hunt) cutUp(t task, f *finding, beat int64) {
	for _, c := range h.cutsOf(t) {
		floor := max(beat, f.area)
		if c.bound <= floor {
			break
		}
		h.effort--
		if h.effort <= 0 || h.met(t, f) {
			return
		}
		low, high := t.split(c)
		mostHigh := h.look(high.piece).most(high.count)
		a := h.solve(low, floor-mostHigh)
		if a.area+mostHigh <= floor {
			continue
		}
		b := h.solve(high, floor-a.area)
		if a.area+b.area > f.area {
			f.area, f.cut = a.area+b.area, c
		}
	}
	if h.effort > 0 && !h.met(t, f) {
		f.most = min(f.most, max(f.area, beat))
	}
}

// met reports whether the whole board's goal is reached.
func (h *hunt) met(t task, f *finding) bool {
	return h.goal > 0 && f.area >= h.goal && t.piece == h.look(h.start.piece).trim
}

// cutsOf lists the cuts of a task with their bounds, the most promising first:
// by bound, and among equals by what one cutting on each side gives.
func (h *hunt) cutsOf(t task) []cutPlace {
	type ranked struct {
		cutPlace
		quick int64
	}
	var cuts []ranked
	add := func(along bool, at int16) {
		c := cutPlace{along: along, at: at}
		low, high := t.split(c)
		a, b := h.look(low.piece), h.look(high.piece)
		if a.room == 0 || b.room == 0 {
			return
		}
		if t.count == unlimited || int64(t.count) >= a.room+b.room {
			c.low, c.high = a.useful(t.count), b.useful(t.count)
			c.bound = a.most(c.low) + b.most(c.high)
			cuts = append(cuts, ranked{c, a.single() + b.single()})
			return
		}
		for n := max(1, int64(t.count)-b.room); n <= min(a.room, int64(t.count)-1); n++ {
			c.low, c.high = int32(n), t.count-int32(n)
			c.bound = a.most(c.low) + b.most(c.high)
			cuts = append(cuts, ranked{c, a.single() + b.single()})
		}
	}
	for i := t.i0 + 1; i < t.i1 && h.effort > 0; i++ {
		add(false, i)
	}
	for j := t.j0 + 1; j < t.j1 && h.effort > 0; j++ {
		add(true, j)
	}
	slices.SortStableFunc(cuts, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(b.bound, a.bound), cmp.Compare(b.quick, a.quick))
	})
	out := make([]cutPlace, len(cuts))
	for i, c := range cuts {
		out[i] = c.cutPlace
	}
	return out
}

// split returns the two sides of a cut.
func (t task) split(c cutPlace) (low, high task) {
	low, high = task{t.piece, c.low}, task{t.piece, c.high}
	if c.along {
		low.j1, high.j0 = c.at, c.at
	} else {
		low.i1, high.i0 = c.at, c.at
	}
	return low, high
}

// trace lists the cuttings of the best finding.
func (h *hunt) trace() []span {
	if h.best == nil {
		return nil
	}
	return h.traceTask(h.start, nil)
}

func (h *hunt) traceTask(t task, out []span) []span {
	v := h.look(t.piece)
	if v.single() == 0 {
		return out
	}
	t.piece = v.trim
	t.count = v.useful(t.count)
	f := h.memo[t]
	if f == nil || f.cut.at == 0 {
		return append(out, v.largest)
	}
	low, high := t.split(f.cut)
	return h.traceTask(high, h.traceTask(low, out))
}
