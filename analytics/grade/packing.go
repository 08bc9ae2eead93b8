package grade

import "skepwood/analytics/wood"

// usualLength is the length up to which packings are kept between boards.
const usualLength = 12 * wood.Foot

// maxTicks bounds the table of packings of one menu.
const maxTicks = 1 << 15

// packings says, for every length of a clear stretch, how much of it the items
// of a menu can fill: an unbounded knapsack by dynamic programming (Gilmore and
// Gomory 1966, Operations Research 14:1045-1074). A piece takes its length and
// one kerf; the stretch is lent one kerf, since its last piece needs none.
type packings struct {
	menu *menu
	tick wood.Length
	// exact says that every piece is a whole number of ticks. Where not,
	// strips are walked instead.
	exact bool
	ticks []int
	// filled[n] is the greatest length filled in n ticks, last[n] the item
	// placed last, -1 for none.
	filled []wood.Length
	last   []int16
}

func newPackings(m *menu, longest wood.Length) *packings {
	p := &packings{menu: m, tick: 1, exact: true}
	for i, it := range m.items {
		if i == 0 {
			p.tick = it.length + m.kerf
		}
		p.tick = gcd(p.tick, it.length+m.kerf)
	}
	if least := (longest + m.kerf) / maxTicks; p.tick <= least {
		p.tick, p.exact = least+1, false
	}
	for _, it := range m.items {
		p.ticks = append(p.ticks, int((it.length+m.kerf+p.tick-1)/p.tick))
	}
	n := int((longest+m.kerf)/p.tick) + 1
	p.filled, p.last = make([]wood.Length, n), make([]int16, n)
	for i := range n {
		p.last[i] = -1
		if i > 0 {
			p.filled[i] = p.filled[i-1]
		}
		for k, it := range m.items {
			if t := p.ticks[k]; t <= i && p.filled[i-t]+it.length > p.filled[i] {
				p.filled[i], p.last[i] = p.filled[i-t]+it.length, int16(k)
			}
		}
	}
	return p
}

func gcd(a, b wood.Length) wood.Length {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// place returns the entry of a stretch; stretches longer than the table are
// the caller's fault and read its end.
func (p *packings) place(stretch wood.Length) int {
	if stretch < 0 {
		return 0
	}
	return min(int((stretch+p.menu.kerf)/p.tick), len(p.filled)-1)
}

// most returns the length that a stretch can be filled to.
func (p *packings) most(stretch wood.Length) wood.Length { return p.filled[p.place(stretch)] }

// items lists the pieces that fill a stretch best, as places in the menu.
func (p *packings) items(stretch wood.Length) []int {
	var out []int
	for n := p.place(stretch); n > 0; {
		k := int(p.last[n])
		if k < 0 {
			n--
			continue
		}
		out = append(out, k)
		n -= p.ticks[k]
	}
	return out
}
