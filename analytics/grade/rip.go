package grade

import (
	"slices"

	"skepwood/analytics/wood"
)

// The scale of rip cuts: steps of at most 1/32 in until a board is 16 in wide,
// then maxSteps steps.
const (
	ripStep  = wood.Inch / 32
	maxSteps = 512
)

// ripping rips one board into strips: a dynamic programme over the scale, the
// value of a place being the most wood in blanks from the strips before it.
type ripping struct {
	bench *bench
	strips
	width wood.Length
	// scale are the places where strips may begin or end, 0 to width.
	scale []wood.Length
	// edges are the defects' edges across the board. Strips that begin and
	// end between the same edges meet the same defects: low[i] is the last
	// edge at or below scale[i] plus one, high[i] the first at or above it.
	edges     []wood.Length
	low, high []int
	// free[i] is the first place of the scale that is a kerf past scale[i].
	free  []int
	known map[band]wood.Length
	// best[i] is the most wood, in square metres, from strips that leave the
	// saw at scale[i] or before; chosen[i] the strip that ends there, without
	// a menu where none does.
	best   []float64
	chosen []ripped
}

// ripped is a strip of a plan. It begins at scale[from].
type ripped struct {
	from   int
	y0, y1 wood.Length
	menu   *menu
}

// band names strips that meet the same defects with the same menu.
type band struct {
	low, high int
	menu      *menu
}

func newRipping(b *bench, f faceMap, length, width wood.Length) *ripping {
	r := &ripping{
		bench: b, strips: strips{faces: f, length: length, long: map[*menu]*packings{}},
		width: width, known: map[band]wood.Length{},
	}
	for _, k := range f.any {
		for _, y := range [2]wood.Length{k.Y, k.Far()} {
			if y > 0 && y < width {
				r.edges = append(r.edges, y)
			}
		}
	}
	slices.Sort(r.edges)
	r.edges = slices.Compact(r.edges)
	n := min(wood.Length(maxSteps), (width+ripStep-1)/ripStep)
	for i := range n + 1 {
		at := width * i / n
		r.scale = append(r.scale, at)
		r.low, r.high = append(r.low, r.lowOf(at)), append(r.high, r.highOf(at))
	}
	for _, at := range r.scale {
		r.free = append(r.free, r.freeFrom(at))
	}
	return r
}

// lowOf counts the edges at or below y.
func (r *ripping) lowOf(y wood.Length) int {
	i, found := slices.BinarySearch(r.edges, y)
	if found {
		i++
	}
	return i
}

// highOf counts the edges below y.
func (r *ripping) highOf(y wood.Length) int {
	i, _ := slices.BinarySearch(r.edges, y)
	return i
}

// freeFrom returns the first place of the scale a kerf past y; past the board
// that is its far edge, where no strip can begin.
func (r *ripping) freeFrom(y wood.Length) int {
	i, _ := slices.BinarySearch(r.scale, y+r.bench.opts.RipKerf)
	return min(i, len(r.scale)-1)
}

// plan fills in best and chosen.
func (r *ripping) plan() {
	n := len(r.scale)
	r.best, r.chosen = make([]float64, n), make([]ripped, n)
	for i := range n {
		if i > 0 && r.best[i] < r.best[i-1] {
			r.best[i], r.chosen[i] = r.best[i-1], ripped{}
		}
		if i < n-1 {
			r.exact(i)
			r.loose(i)
		}
	}
}

// exact offers a strip of every part's width that begins at scale[i].
func (r *ripping) exact(i int) {
	for k, w := range r.bench.widths {
		end := r.scale[i] + w
		if end > r.width {
			return
		}
		s := ripped{i, r.scale[i], end, r.bench.exact[k]}
		if to := r.freeFrom(end); r.worth(s, r.length, to) {
			r.offer(s, r.filled(s, r.highOf(end)), to)
		}
	}
}

// loose offers every strip of glued-up parts that begins at scale[i]. A wider
// strip meets no fewer defects and no more parts, so what a narrower one was
// filled to bounds it, and the first that gives nothing ends the row.
func (r *ripping) loose(i int) {
	start := r.scale[i]
	j, _ := slices.BinarySearch(r.scale, start+max(r.bench.opts.MinGlue, 1))
	filled, last := r.length, band{low: -1}
	for k := 0; j < len(r.scale); j++ {
		w := r.scale[j] - start
		for k < len(r.bench.widths) && r.bench.widths[k] < w {
			k++
		}
		if k == len(r.bench.widths) || len(r.bench.loose[k].items) == 0 {
			return
		}
		s := ripped{i, start, r.scale[j], r.bench.loose[k]}
		if !r.worth(s, filled, r.free[j]) {
			continue
		}
		if b := (band{r.low[i], r.high[j], s.menu}); b != last {
			filled, last = r.filled(s, b.high), b
		}
		if filled == 0 {
			return
		}
		r.offer(s, filled, r.free[j])
	}
}

// worth reports whether a strip filled to a length would better what is known
// at the place where the saw leaves it.
func (r *ripping) worth(s ripped, filled wood.Length, end int) bool {
	return r.best[s.from]+(s.y1-s.y0).Metres()*filled.Metres() > r.best[end]
}

// filled returns the length that a strip's menu fills of it; high is its first
// edge at or above it.
func (r *ripping) filled(s ripped, high int) wood.Length {
	b := band{r.low[s.from], high, s.menu}
	v, ok := r.known[b]
	if !ok {
		v = r.most(s.menu, s.y0, s.y1, false)
		r.known[b] = v
	}
	return v
}

// offer enters a strip where it betters what is known.
func (r *ripping) offer(s ripped, filled wood.Length, end int) {
	if r.worth(s, filled, end) {
		r.best[end], r.chosen[end] = r.best[s.from]+(s.y1-s.y0).Metres()*filled.Metres(), s
	}
}

// maxBands bounds the heights at which bound looks at each face. Above it a
// board counts as spoiled only where defects go through, which is looser.
const maxBands = 100

// bound returns an area in square metres that no ripping plan exceeds: at each
// height no strip is filled further than the freest menu fills a saw-thin strip
// there.
func (r *ripping) bound() float64 {
	freest := r.bench.freest(r.width)
	bands := r.strips
	if len(r.edges) > maxBands && bands.packings(freest).exact {
		bands.faces = faceMap{any: r.faces.both, both: r.faces.both, apart: true}
	}
	heights := slices.Concat([]wood.Length{0}, r.edges, []wood.Length{r.width})
	total := 0.0
	for i := 1; i < len(heights); i++ {
		y0, y1 := heights[i-1], heights[i]
		total += (y1 - y0).Metres() * bands.most(freest, y0, y1, true).Metres()
	}
	return total
}

// blanks lists the blanks of the plan by y and then by x, in the board's frame.
func (r *ripping) blanks() []Blank {
	opts := r.bench.opts
	var rows [][]Blank
	for i := len(r.scale) - 1; i > 0; {
		s := r.chosen[i]
		if s.menu == nil {
			i--
			continue
		}
		var row []Blank
		for _, p := range r.pieces(s.menu, s.y0, s.y1) {
			part := r.bench.parts[p.item.part]
			row = append(row, Blank{Kit: part.Kit, Part: part.Part, Rect: Rect{
				X: p.from + opts.EndTrim, Y: s.y0 + opts.EdgeTrim, DX: p.item.length, DY: s.y1 - s.y0,
			}})
		}
		rows = append(rows, row)
		i = s.from
	}
	slices.Reverse(rows)
	return slices.Concat(rows...)
}
