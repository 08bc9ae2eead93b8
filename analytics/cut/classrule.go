package cut

import (
	"math"
	"math/rand/v2"
)

// classRule works out which boards of a drawing take a pattern of another
// class than their best, so that all together are of the class wanted.
type classRule struct {
	least  [][]float64 // by board, then by loose end: by class, the least loss
	wanted int
}

// newClassRule gathers the least losses by class.
func newClassRule(d *drawing) classRule {
	rule := classRule{}
	for _, menus := range d.menus {
		list := make([]float64, d.c.order)
		for c, m := range menus {
			list[c] = math.Inf(1)
			if m != nil {
				list[c] = m.options[0].loss
			}
		}
		rule.least = append(rule.least, list)
	}
	for _, o := range d.ends {
		list := make([]float64, d.c.order)
		for c := range list {
			list[c] = math.Inf(1)
		}
		list[0], list[d.classOfLoose(o.col)] = 0, o.loss
		rule.least = append(rule.least, list)
	}
	for r, want := range d.m.want {
		rule.wanted = int(d.c.plus[rule.wanted][d.c.times(d.c.unit[r], int(math.Round(want)))])
	}
	return rule
}

// pickClasses picks a class for each board, and loose ends, so that the sum is
// the class wanted and about the least is lost: how much each loses is varied
// a little, so that the picks differ. It returns nil where there is no way.
func (d *drawing) pickClasses(rng *rand.Rand) (picked []uint8, loose []*drawOption) {
	order := d.c.order
	sum := make([]float64, order)
	for c := range sum {
		sum[c] = math.Inf(1)
	}
	sum[0] = 0
	was := make([][]uint8, len(d.rule.least)) // by board and class: the board's own class
	for b, least := range d.rule.least {
		next := make([]float64, order)
		for c := range next {
			next[c] = math.Inf(1)
		}
		was[b] = make([]uint8, order)
		for own, l := range least {
			if l > 0 {
				l = l*(0.7+0.6*rng.Float64()) + 0.1*d.t.heat*rng.ExpFloat64()
			}
			for c, v := range sum {
				if to := d.c.plus[c][own]; v+l < next[to] {
					next[to], was[b][to] = v+l, uint8(own)
				}
			}
		}
		sum = next
	}
	if math.IsInf(sum[d.rule.wanted], 1) {
		return nil, nil
	}
	picked = make([]uint8, len(d.menus))
	class := uint8(d.rule.wanted)
	for b := len(was) - 1; b >= 0; b-- {
		own := was[b][class]
		if b < len(picked) {
			picked[b] = own
		} else if own != 0 {
			loose = append(loose, &d.ends[b-len(picked)])
		}
		class = d.c.plus[class][d.c.minus[own]]
	}
	return picked, loose
}
