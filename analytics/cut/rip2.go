package cut

// stripPricer prices two-stage patterns for a stripEngine.
type stripPricer struct {
	e      *stripEngine
	lw     lineWork
	bands  []band
	strips [][]float64 // by shelf, line; negative when not yet known
	best2  []float64
	from   []int32
	by     []int32
	next   []int
}

// run cuts a line of a shelf best.
func (sp *stripPricer) run(k *kind, g *ground, shelf int, line int32, trace bool) float64 {
	sp.bands = sp.bands[:0]
	for _, lb := range g.lines[shelf][line] {
		if offers := sp.e.shelfs[k.group][lb.shelf].offers; len(offers) > 0 {
			sp.bands = append(sp.bands, band{g.edges[lb.edges], offers})
		}
	}
	return sp.lw.run(sp.bands, k.L, sp.e.p.ku, trace)
}

// strip returns the best gain of a strip of the given shelf on a line.
func (sp *stripPricer) strip(k *kind, g *ground, shelf int, line int32) float64 {
	if v := sp.strips[shelf][line]; v >= 0 {
		return v
	}
	var v float64
	if g.clear(shelf, line) {
		v = sp.e.shelfs[k.group][shelf].clear[k.L+sp.e.p.ku]
	} else {
		v = sp.run(k, g, shelf, line, false)
	}
	sp.strips[shelf][line] = v
	return v
}

// reset clears the strip values for another kind.
func (sp *stripPricer) reset(g *ground) {
	for len(sp.strips) < len(g.lines) {
		sp.strips = append(sp.strips, nil)
	}
	for i := range g.lines {
		row := sp.strips[i][:0]
		for range g.lines[i] {
			row = append(row, -1)
		}
		sp.strips[i] = row
	}
}

// best stacks strips from the low edge up. As along a strip, a strip starts
// only where the running best has risen or a band's defects change.
func (sp *stripPricer) best(ki int) (float64, []bit) {
	k, g := &sp.e.p.kinds[ki], sp.e.grounds[ki]
	shelves := sp.e.p.groups[k.group].shelves
	sp.reset(g)
	size := k.W + sp.e.p.kv + 1
	best := append(sp.best2[:0], make([]float64, size)...)
	from := append(sp.from[:0], make([]int32, size)...)
	by := append(sp.by[:0], make([]int32, size)...)
	next := append(sp.next[:0], make([]int, len(shelves))...)
	sp.best2, sp.from, sp.by, sp.next = best, from, by, next
	prev, nextSpan := -1.0, 0
	for y := range size {
		if best[y] <= prev {
			best[y], from[y] = prev, -1
			if y < nextSpan || y >= k.W {
				continue
			}
		}
		prev = best[y]
		if y >= nextSpan {
			nextSpan = advance(g.spans, next, y, size)
		}
		for i := range shelves {
			w := shelves[i].w
			if y+w > k.W || sp.e.shelfs[k.group][i].clear == nil {
				continue
			}
			v := sp.strip(k, g, i, g.spans[i][next[i]-1].line)
			if to := y + w + sp.e.p.kv; prev+v > best[to] {
				best[to], from[to], by[to] = prev+v, int32(y), int32(i)
			}
		}
	}
	return best[size-1], sp.layout(k, g)
}

// advance moves each shelf to its span at y and returns where one next
// changes.
func advance(spans [][]span, next []int, y, size int) int {
	nextSpan := size
	for i := range spans {
		for next[i] < len(spans[i]) && int(spans[i][next[i]].v) <= y {
			next[i]++
		}
		if next[i] < len(spans[i]) {
			nextSpan = min(nextSpan, int(spans[i][next[i]].v))
		}
	}
	return nextSpan
}

// layout walks the last best back and lays out its strips.
func (sp *stripPricer) layout(k *kind, g *ground) []bit {
	var bits []bit
	for y := len(sp.best2) - 1; y > 0; {
		if sp.from[y] < 0 || sp.best2[y] == 0 {
			y--
			continue
		}
		v, shelf := sp.from[y], int(sp.by[y])
		sp.run(k, g, shelf, lineAt(g.spans[shelf], int(v)), true)
		bits = sp.lw.walk(bits, v)
		y = int(v)
	}
	return bits
}
