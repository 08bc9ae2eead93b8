package grade

import (
	"cmp"
	"slices"
)

// emptySpans returns the largest clear rectangles: those within area, free of
// keepouts, that cannot grow on any side. Every clear cutting lies in one of
// them. They come the largest first, ties by place.
//
// The keepouts' edges cut the area into cells that are wholly clear or wholly
// not. Row by row a stack of growing clear columns yields each rectangle that
// cannot grow to the left, right or downwards; those that cannot grow upwards
// either are kept. The work is proportional to the number of cells.
func emptySpans(area span, keepouts []span) []span {
	if area.empty() {
		return nil
	}
	g := newCellGrid(area, keepouts)
	depth := make([]int, g.nx)
	var out []span
	for j := range g.ny {
		for i := range g.nx {
			if g.blocked(i, j) {
				depth[i] = 0
			} else {
				depth[i]++
			}
		}
		out = g.rowSpans(out, depth, j)
	}
	slices.SortFunc(out, bySize)
	return out
}

// bySize orders the largest first, ties by place.
func bySize(a, b span) int {
	return cmp.Or(cmp.Compare(b.area(), a.area()), cmp.Compare(a.y0, b.y0), cmp.Compare(a.x0, b.x0), cmp.Compare(a.x1, b.x1))
}

// cellGrid says which cells between the keepouts' edges are not clear.
type cellGrid struct {
	xs, ys []int64
	nx, ny int
	cells  []bool
	// spoiled counts, along each row, the cells that are not clear before i.
	spoiled []int32
}

func newCellGrid(area span, keepouts []span) *cellGrid {
	xs, ys := []int64{area.x0, area.x1}, []int64{area.y0, area.y1}
	inside := make([]span, 0, len(keepouts))
	for _, k := range keepouts {
		if k = k.within(area); !k.empty() {
			inside = append(inside, k)
			xs, ys = append(xs, k.x0, k.x1), append(ys, k.y0, k.y1)
		}
	}
	g := &cellGrid{xs: sortedSet(xs), ys: sortedSet(ys)}
	g.nx, g.ny = len(g.xs)-1, len(g.ys)-1
	g.cells = make([]bool, g.nx*g.ny)
	for _, k := range inside {
		i0, i1 := indexOf(g.xs, k.x0), indexOf(g.xs, k.x1)
		for j := indexOf(g.ys, k.y0); j < indexOf(g.ys, k.y1); j++ {
			for i := i0; i < i1; i++ {
				g.cells[j*g.nx+i] = true
			}
		}
	}
	g.count()
	return g
}

// count fills in spoiled.
func (g *cellGrid) count() {
	g.spoiled = make([]int32, (g.nx+1)*g.ny)
	for j := range g.ny {
		row := g.spoiled[j*(g.nx+1):]
		for i := range g.nx {
			row[i+1] = row[i]
			if g.cells[j*g.nx+i] {
				row[i+1]++
			}
		}
	}
}

func (g *cellGrid) blocked(i, j int) bool { return g.cells[j*g.nx+i] }

// clearRow reports whether cells i0 to i1 of row j are all clear.
func (g *cellGrid) clearRow(i0, i1, j int) bool {
	row := g.spoiled[j*(g.nx+1):]
	return row[i0] == row[i1]
}

// rowSpans appends the largest rectangles whose far side is that of row j.
// depth[i] counts the clear cells from row j downwards in column i.
func (g *cellGrid) rowSpans(out []span, depth []int, j int) []span {
	type open struct{ start, depth int }
	var stack []open
	for i := 0; i <= g.nx; i++ {
		d := 0
		if i < g.nx {
			d = depth[i]
		}
		start := i
		for len(stack) > 0 && stack[len(stack)-1].depth > d {
			top := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			start = top.start
			if j+1 == g.ny || !g.clearRow(top.start, i, j+1) {
				out = append(out, span{g.xs[top.start], g.xs[i], g.ys[j+1-top.depth], g.ys[j+1]})
			}
		}
		if d > 0 && (len(stack) == 0 || stack[len(stack)-1].depth < d) {
			stack = append(stack, open{start, d})
		}
	}
	return out
}

// sortedSet sorts v and drops repeats.
func sortedSet(v []int64) []int64 {
	slices.Sort(v)
	return slices.Compact(v)
}

// indexOf returns the place of v, which is in the sorted set.
func indexOf(set []int64, v int64) int {
	i, _ := slices.BinarySearch(set, v)
	return i
}
