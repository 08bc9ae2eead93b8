package grade

import (
	"math"
	"slices"
)

// unlimited stands for any number of cuttings.
const unlimited = math.MaxInt32

// maxPlaces bounds the cut places on an axis. Beyond it only the nearer ones
// are tried and the result is proven only where it meets the bound.
const maxPlaces = 220

// hunt is one search under way.
type hunt struct {
	area   span
	count  int
	goal   int64
	effort int
	sizes  []floorSize
	// clear are the largest clear rectangles that reach a least size, the
	// largest first; least is the smallest area that a cutting may have.
	clear []span
	least int64
	// xs and ys are the places of cuts; complete says that they suffice.
	xs, ys   []int64
	complete bool
	// cover counts the wood in clear rectangles below and left of a place.
	cover []int64

	pieces map[piece]*sight
	memo   map[task]*finding
	bound  int64
	best   *finding
	start  task
}

// piece is a piece of the board by the places of its sides.
type piece struct{ i0, i1, j0, j1 int16 }

// task is a piece and how many cuttings may come from it.
type task struct {
	piece
	count int32
}

func newHunt(s Search) *hunt {
	h := &hunt{area: woodSpan(s.Area), count: s.Count, effort: s.Effort}
	if h.count <= 0 {
		h.count = unlimited
	}
	if h.effort == 0 {
		h.effort = DefaultEffort
	}
	if s.Goal > 0 {
		h.goal = int64(math.Ceil(s.Goal*float64(unitArea) - 0.5))
	}
	for _, m := range s.Sizes {
		h.sizes = append(h.sizes, floorOf(m))
	}
	keepouts := make([]span, 0, len(s.Keepouts))
	for _, r := range s.Keepouts {
		if r = r.Intersect(s.Area); !r.Empty() {
			keepouts = append(keepouts, keepoutSpan(r))
		}
	}
	for _, e := range emptySpans(h.area, keepouts) {
		if fits(e, h.sizes) {
			h.clear = append(h.clear, e)
		}
	}
	h.least = leastArea(h.sizes)
	return h
}

// leastArea returns the smallest area a cutting may have, at least 1.
func leastArea(sizes []floorSize) int64 {
	least := int64(math.MaxInt64)
	for _, f := range sizes {
		least = min(least, max(f.area, f.length*f.width, 1))
	}
	if len(sizes) == 0 {
		return 1
	}
	return least
}

// run finds the best cuttings and the bound.
func (h *hunt) run() {
	h.places()
	h.cover = h.covered()
	h.pieces, h.memo = map[piece]*sight{}, map[task]*finding{}
	whole := piece{0, int16(len(h.xs) - 1), 0, int16(len(h.ys) - 1)}
	h.start = task{whole, int32(h.count)}
	v := h.look(whole)
	h.bound = v.most(int32(h.count))
	if h.goal > h.bound {
		// Out of reach: what one cut can do is enough to show.
		h.best = &finding{area: v.single()}
		return
	}
	h.best = h.solve(h.start, max(h.goal-1, 0))
	if h.complete && h.effort > 0 && (h.goal == 0 || h.best.area < h.goal) {
		// Nothing above the goal is left, or above the best without one.
		h.bound = min(h.bound, max(h.best.area, h.goal-1))
	}
}

// places chooses the places of cuts: the edges of the largest clear rectangles
// and, where these compete for wood, sums of least sizes away from them.
func (h *hunt) places() {
	var lengths, widths []int64
	for _, f := range h.sizes {
		lengths, widths = append(lengths, f.length), append(widths, f.width)
	}
	xs, ys := []int64{}, []int64{}
	for _, c := range h.clear {
		xs, ys = append(xs, c.x0, c.x1), append(ys, c.y0, c.y1)
	}
	h.xs, h.ys, h.complete = sortedSet(xs), sortedSet(ys), true
	if h.disjoint() {
		return
	}
	var okX, okY bool
	h.xs, okX = reach(h.xs, lengths, h.count)
	h.ys, okY = reach(h.ys, widths, h.count)
	h.complete = okX && okY
	for _, f := range h.sizes {
		// A least area bends the argument of linear cuts.
		h.complete = h.complete && f.area <= f.length*f.width
	}
}

// disjoint reports whether no two largest clear rectangles share wood.
func (h *hunt) disjoint() bool {
	for i, a := range h.clear {
		for _, b := range h.clear[i+1:] {
			if !a.within(b).empty() {
				return false
			}
		}
	}
	return true
}

// reach adds to the anchors every place within their range that is up to count
// sizes away, forwards or backwards. The second result says that nothing was
// left out for want of room.
func reach(anchors, sizes []int64, count int) ([]int64, bool) {
	low, high := anchors[0], anchors[len(anchors)-1]
	sizes = sortedSet(slices.DeleteFunc(slices.Clone(sizes), func(v int64) bool { return v <= 0 }))
	all, last := anchors, anchors
	for range count {
		next := []int64{}
		for _, a := range last {
			for _, v := range sizes {
				for _, p := range [2]int64{a - v, a + v} {
					if p > low && p < high {
						next = append(next, p)
					}
				}
			}
		}
		grown := sortedSet(append(slices.Clone(all), next...))
		if len(grown) == len(all) {
			return all, true
		}
		if len(grown) > maxPlaces {
			return all, false
		}
		all, last = grown, sortedSet(next)
	}
	return all, true
}

// covered sums up the wood in clear rectangles over the cells between places:
// entry (i, j) is the area below ys[j] and left of xs[i].
func (h *hunt) covered() []int64 {
	nx, ny := len(h.xs), len(h.ys)
	in := make([]bool, nx*ny)
	for _, c := range h.clear {
		i0, i1 := indexOf(h.xs, c.x0), indexOf(h.xs, c.x1)
		for j := indexOf(h.ys, c.y0); j < indexOf(h.ys, c.y1); j++ {
			for i := i0; i < i1; i++ {
				in[j*nx+i] = true
			}
		}
	}
	sum := make([]int64, nx*ny)
	for j := 1; j < ny; j++ {
		row := int64(0)
		for i := 1; i < nx; i++ {
			if in[(j-1)*nx+i-1] {
				row += (h.xs[i] - h.xs[i-1]) * (h.ys[j] - h.ys[j-1])
			}
			sum[j*nx+i] = sum[(j-1)*nx+i] + row
		}
	}
	return sum
}
