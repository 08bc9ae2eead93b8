package cut

import (
	"cmp"
	"slices"
)

// worker returns a pricer of its own.
func (e *freeEngine) worker() pricer { return &freePricer{e: e} }

// freePricer prices one board: rectangles that meet defects are solved one by
// one and remembered.
type freePricer struct {
	e       *freeEngine
	k       *kind
	t       *freeTable
	us, vs  []int // where cuts may fall on this board, with both ends
	known   map[uint64]freeAnswer
	options []freeOption // those being tried, of all rectangles
	edgesU  []int        // far edges of defects
	edgesV  []int
	steps   int
	stopped bool // the answers are not to be used
}

// freeAnswer is a rectangle's best gain and how it is reached: by a piece at
// its low corner, a cut across u or v at an index, or not at all.
type freeAnswer struct {
	gain float64
	most float64 // no way gains more; gain, where that is the best one's
	how  int8
	at   int32
}

// freeOption is a cut and what its sides could gain.
type freeOption struct {
	bound float64
	how   int8
	at    int32
}

const (
	freeNone = iota
	freePart
	freeCutU
	freeCutV
	freeClear // by the table of clear rectangles
)

// best solves a kind.
func (fp *freePricer) best(ki int) (float64, []bit) {
	if len(fp.e.tables[fp.e.p.kinds[ki].group].pieces) == 0 {
		return 0, nil
	}
	r := fp.open(ki, fp.e.tables)
	floor := 0.0
	for _, b := range fp.e.last[ki] {
		floor += fp.e.gain[b.item]
	}
	gain := fp.solve(r, floor-1e-9*(1+floor)).gain
	fp.e.last[ki] = fp.layout(nil, r)
	return gain, fp.e.last[ki]
}

// open turns to a kind, finds where cuts may fall on it and returns the whole
// board.
func (fp *freePricer) open(ki int, tables []freeTable) rect {
	p := fp.e.p
	fp.k = &p.kinds[ki]
	fp.t = &tables[fp.k.group]
	fp.edgesU, fp.edgesV = nil, nil
	for _, s := range fp.k.spots {
		fp.edgesU, fp.edgesV = append(fp.edgesU, s.u+s.du), append(fp.edgesV, s.v+s.dv)
	}
	ls, ws := fp.t.sizes()
	fp.us = places(ls, fp.edgesU, fp.k.L+p.ku)
	fp.vs = places(ws, fp.edgesV, fp.k.W+p.kv)
	fp.known, fp.stopped = map[uint64]freeAnswer{}, false
	return rect{0, len(fp.us) - 1, 0, len(fp.vs) - 1}
}

// places lists where cuts may fall on a side of n: sums of steps from its low
// edge and from the far edges of defects, and both its ends.
func places(steps, edges []int, n int) []int {
	at, _ := sums(steps, append([]int{0}, edges...), n)
	if at[len(at)-1] != n {
		at = append(at, n)
	}
	return at
}

// rect is a rectangle of the board by indices into us and vs.
type rect struct{ u1, u2, v1, v2 int }

func (r rect) key() uint64 {
	return uint64(r.u1)<<48 | uint64(r.u2)<<32 | uint64(r.v1)<<16 | uint64(r.v2)
}

// clear reports whether no defect lies in the rectangle's wood, its last
// kerf's width apart.
func (fp *freePricer) clear(r rect) bool {
	u1, u2 := fp.us[r.u1], fp.us[r.u2]-fp.e.p.ku
	v1, v2 := fp.vs[r.v1], fp.vs[r.v2]-fp.e.p.kv
	return !slices.ContainsFunc(fp.k.spots, func(s spot) bool {
		return s.u < u2 && u1 < s.u+s.du && s.v < v2 && v1 < s.v+s.dv
	})
}

// bound returns the most that the rectangle would gain if it were clear.
func (fp *freePricer) bound(r rect) float64 {
	return fp.t.most(fp.us[r.u2]-fp.us[r.u1], fp.vs[r.v2]-fp.vs[r.v1])
}

// solve returns the best of a rectangle if it gains more than floor; else an
// answer whose most is no more than that. A cut is tried only if both sides
// could gain more than is known already.
func (fp *freePricer) solve(r rect, floor float64) freeAnswer {
	most := fp.bound(r)
	if most <= max(0, floor) {
		return freeAnswer{most: most}
	}
	was, known := fp.known[r.key()]
	if known && (was.most <= floor || was.gain == was.most) {
		return was
	}
	if fp.clear(r) {
		return freeAnswer{gain: most, most: most, how: freeClear}
	}
	if fp.steps++; fp.steps&255 == 0 && fp.e.p.stop() {
		fp.stopped = true
	}
	if fp.stopped {
		return freeAnswer{}
	}
	a := fp.onePart(r)
	from := len(fp.options)
	fp.offerCuts(r, max(floor, a.gain))
	for i := from; i < len(fp.options); i++ {
		o := fp.options[i]
		if o.bound <= max(floor, a.gain) {
			break
		}
		if g := fp.try(r, o, max(floor, a.gain)); g > max(floor, a.gain) {
			a = freeAnswer{gain: g, how: o.how, at: o.at}
		}
	}
	fp.options = fp.options[:from]
	a.most = max(floor, a.gain)
	fp.known[r.key()] = a
	return a
}

// offerCuts appends the cuts of a rectangle whose sides, were they clear, could
// gain more than floor in all, the most promising first.
func (fp *freePricer) offerCuts(r rect, floor float64) {
	from := len(fp.options)
	for c := r.u1 + 1; c < r.u2; c++ {
		if b := fp.bound(rect{r.u1, c, r.v1, r.v2}) + fp.bound(rect{c, r.u2, r.v1, r.v2}); b > floor && fp.placeU(r, c) {
			fp.options = append(fp.options, freeOption{b, freeCutU, int32(c)})
		}
	}
	for c := r.v1 + 1; c < r.v2; c++ {
		if b := fp.bound(rect{r.u1, r.u2, r.v1, c}) + fp.bound(rect{r.u1, r.u2, c, r.v2}); b > floor && fp.placeV(r, c) {
			fp.options = append(fp.options, freeOption{b, freeCutV, int32(c)})
		}
	}
	slices.SortFunc(fp.options[from:], func(x, y freeOption) int { return cmp.Compare(y.bound, x.bound) })
}

// try returns what a cut gains if that is more than floor.
func (fp *freePricer) try(r rect, o freeOption, floor float64) float64 {
	low, high := r, r
	if o.how == freeCutU {
		low.u2, high.u1 = int(o.at), int(o.at)
	} else {
		low.v2, high.v1 = int(o.at), int(o.at)
	}
	if fp.bound(high) > fp.bound(low) { // the larger one first: it fails sooner
		low, high = high, low
	}
	rest := fp.bound(high)
	if was, known := fp.known[high.key()]; known {
		rest = min(rest, was.most)
	}
	a := fp.solve(low, floor-rest)
	if a.most+rest <= floor {
		return 0
	}
	return a.gain + fp.solve(high, floor-a.gain).gain
}

// onePart returns the best single piece at the rectangle's low corner.
func (fp *freePricer) onePart(r rect) freeAnswer {
	u, v := fp.us[r.u1], fp.vs[r.v1]
	for i, pc := range fp.t.pieces { // best first
		if u+pc.l <= fp.us[r.u2] && v+pc.w <= fp.vs[r.v2] && fp.fits(pc, u, v) {
			return freeAnswer{gain: pc.gain, how: freePart, at: int32(i)}
		}
	}
	return freeAnswer{}
}

// fits reports whether a piece at u, v lies on no defect that matters to it.
func (fp *freePricer) fits(pc freePiece, u, v int) bool {
	it := fp.e.p.items[pc.item]
	var met uint8
	for _, s := range fp.k.spots {
		if s.u < u+it.l && u < s.u+s.du && s.v < v+it.w && v < s.v+s.dv {
			met |= s.face
		}
	}
	switch it.level {
	case 0:
		return met&isThrough == 0
	case 1:
		return met&isThrough == 0 && met&(onTop|onBottom) != onTop|onBottom
	}
	return met == 0
}

// placeU reports whether a cut across u at index c can be one to which pieces
// were pushed: a sum of pieces from the rectangle's low edge or from a
// defect's far edge within it.
func (fp *freePricer) placeU(r rect, c int) bool {
	return fp.place(fp.t.us, fp.t.uAt, fp.edgesU, fp.us[r.u1], fp.us[c])
}

// placeV is placeU across v.
func (fp *freePricer) placeV(r rect, c int) bool {
	return fp.place(fp.t.vs, fp.t.vAt, fp.edgesV, fp.vs[r.v1], fp.vs[c])
}

func (fp *freePricer) place(list []int, at []int32, edges []int, from, to int) bool {
	if list[at[to-from]] == to-from {
		return true
	}
	for _, e := range edges {
		if e > from && e <= to && list[at[to-e]] == to-e {
			return true
		}
	}
	return false
}

// layout lists the pieces of a solved rectangle.
func (fp *freePricer) layout(bits []bit, r rect) []bit {
	a := fp.solve(r, -1)
	switch a.how {
	case freeClear:
		return fp.layoutClear(bits, fp.us[r.u1], fp.vs[r.v1], fp.us[r.u2]-fp.us[r.u1], fp.vs[r.v2]-fp.vs[r.v1])
	case freePart:
		return append(bits, bit{fp.t.pieces[a.at].item, int32(fp.us[r.u1]), int32(fp.vs[r.v1])})
	case freeCutU:
		bits = fp.layout(bits, rect{r.u1, int(a.at), r.v1, r.v2})
		return fp.layout(bits, rect{int(a.at), r.u2, r.v1, r.v2})
	case freeCutV:
		bits = fp.layout(bits, rect{r.u1, r.u2, r.v1, int(a.at)})
		return fp.layout(bits, rect{r.u1, r.u2, int(a.at), r.v2})
	}
	return bits
}

// layoutClear lists the pieces of a clear rectangle of size du by dv at u, v,
// by finding again what its table entry was made of.
func (fp *freePricer) layoutClear(bits []bit, u, v, du, dv int) []bit {
	t := fp.t
	i, j := t.uAt[du], t.vAt[dv]
	most := t.best[i][j]
	if most <= 0 {
		return bits
	}
	same := func(gain float64) bool { return gain >= most-1e-9*(1+most) }
	for _, pc := range t.pieces {
		if pc.l <= du && pc.w <= dv && same(pc.gain) {
			return append(bits, bit{pc.item, int32(u), int32(v)})
		}
	}
	for c := int32(1); c < i; c++ {
		if at := t.us[c]; same(t.best[c][j] + t.most(t.us[i]-at, dv)) {
			bits = fp.layoutClear(bits, u, v, at, dv)
			return fp.layoutClear(bits, u+at, v, du-at, dv)
		}
	}
	for c := int32(1); c < j; c++ {
		if at := t.vs[c]; same(t.best[i][c] + t.most(du, t.vs[j]-at)) {
			bits = fp.layoutClear(bits, u, v, du, at)
			return fp.layoutClear(bits, u, v+at, du, dv-at)
		}
	}
	return bits
}
