package cut

import (
	"math"
	"slices"
)

// chainLister lists the ways to cut a strip of a three-stage pattern: a chain
// of segments along u, each a stack of parts of one length.
type chainLister struct {
	e      *segmentEngine
	ki     int
	gain   []float64
	v1, v2 int
	most   float64
}

// best returns the greatest gain of the strip.
func (c *chainLister) best() float64 { return c.most }

// list treats the strip as a board on its side: segments are its strips.
func (c *chainLister) list(least float64, q *quota) []stripWay {
	if q.over() {
		return nil
	}
	p, k, g := c.e.p, &c.e.p.kinds[c.ki], c.e.grounds[c.ki]
	b := &boardLister{p: p, k: k, gain: c.gain, size: k.L + p.ku}
	for i, s := range c.e.shelves[k.group] {
		if q.over() {
			return nil
		}
		lines := make([]*stripLine, len(g.lines[i]))
		for j, sp := range g.spans[i] {
			if lines[sp.line] == nil {
				lines[sp.line] = &stripLine{lister: c.stackLister(s, g.edges[g.lines[i][sp.line][0].edges]), need: math.Inf(1)}
			}
			line := lines[sp.line]
			end := int32(k.L - s.w + 1)
			if j+1 < len(g.spans[i]) {
				end = g.spans[i][j+1].v
			}
			if best := line.lister.best(); best >= 0 {
				for u := sp.v; u < end; u++ {
					b.strips = append(b.strips, stripOffer{v: u, to: u + int32(s.w+p.ku), best: best, line: line})
				}
			}
			b.spans = append(b.spans, sp.v)
		}
	}
	b.sortStrips()
	slices.Sort(b.spans)
	b.spans = slices.Compact(b.spans)
	z := b.best()
	list := b.list(z-least, q)
	ways := make([]stripWay, 0, len(list))
	for _, pt := range list {
		w := stripWay{gain: z - pt.loss, items: pt.items}
		for _, n := range pt.n {
			w.n = append(w.n, uint16(n))
		}
		for _, bt := range pt.bits {
			w.bits = append(w.bits, bit{bt.item, bt.v, bt.u})
		}
		ways = append(ways, w)
	}
	return ways
}

// stackLister lists the stacks of a shelf's items on a line between v1 and v2.
func (c *chainLister) stackLister(s shelf, edges []edge) *lineLister {
	offers := make([]offer, len(s.items))
	for j, it := range s.items {
		offers[j] = offer{int32(c.e.p.items[it].w), int32(c.e.p.items[it].level), int32(it), c.gain[it]}
	}
	return newLineLister([]band{{window(edges, c.v1, c.v2), offers}}, c.v2-c.v1, c.e.p.kv, c.e.p.items)
}

// window returns the edges of the part of a line between v1 and v2, from v1.
func window(edges []edge, v1, v2 int) []edge {
	var out []edge
	for i := edgeAt(edges, int32(v1)); i < len(edges) && int(edges[i].at) < v2; i++ {
		e := edges[i]
		e.at = max(0, e.at-int32(v1))
		for l := range e.reach {
			e.reach[l] = min(e.reach[l], int32(v2)) - int32(v1)
		}
		out = append(out, e)
	}
	return out
}
