package cut

import (
	"math"
	"slices"
)

// dualPoint is a vector of prices and what it proves: no plan gains more than
// bound.
type dualPoint struct {
	price []float64 // by item, what a wanted copy is worth unmade
	bound float64
	raw   []float64 // by kind, the best pattern's gain less the board's cost
	gains []float64 // by kind, the same but at least 0
}

// duals runs column generation: it looks for the prices with the least bound
// and gathers patterns on the way.
type duals struct {
	p      *problem
	pool   *pricePool
	m      *master
	rows   []int32 // by item: its row in the master, -1 where want is no limit
	best   dualPoint
	rounds int
	stop   func() bool
}

// newDuals starts a column generation for p.
func newDuals(p *problem, e engine, workers int, stop func() bool) *duals {
	d := &duals{p: p, pool: newPricePool(p, e, workers, stop), stop: stop, rows: make([]int32, len(p.items))}
	var want, drop []float64
	for i, it := range p.items {
		d.rows[i] = -1
		if it.want < Unlimited {
			d.rows[i] = int32(len(want))
			want, drop = append(want, float64(it.want)), append(drop, it.worth)
		}
	}
	count := make([]float64, len(p.kinds))
	for k, kd := range p.kinds {
		count[k] = float64(kd.count)
		if kd.count >= Unlimited {
			count[k] = math.Inf(1)
		}
	}
	d.m = newMaster(want, drop, count, stop)
	d.best = dualPoint{bound: math.Inf(1)}
	return d
}

// price answers all kinds at the given prices, adds the patterns to the
// master, and keeps the point if its bound is the least so far. It reports
// false when it was stopped before all kinds were answered.
func (d *duals) price(price []float64) bool {
	d.rounds++
	gain := make([]float64, len(price))
	for i, it := range d.p.items {
		if it.want > 0 {
			gain[i] = max(0, it.worth-price[i])
		}
	}
	answers, ok := d.pool.all(gain)
	if !ok {
		return false
	}
	// Where boards are without number none may gain: prices rise until none
	// does, which scales all gains alike (Farley 1990).
	scale := 1.0
	for k, a := range answers {
		if d.p.kinds[k].count >= Unlimited && a.gain > d.p.kinds[k].cost {
			scale = min(scale, d.p.kinds[k].cost/a.gain)
		}
	}
	point := dualPoint{price: make([]float64, len(price)), raw: make([]float64, len(answers)), gains: make([]float64, len(answers))}
	for i, it := range d.p.items {
		if it.want < Unlimited {
			point.price[i] = max(0, it.worth-gain[i]*scale)
			point.bound += point.price[i] * float64(it.want)
		}
	}
	for k, a := range answers {
		point.raw[k] = a.gain*scale - d.p.kinds[k].cost
		point.gains[k] = max(0, point.raw[k])
		if point.gains[k] > 0 && d.p.kinds[k].count < Unlimited {
			point.bound += point.gains[k] * float64(d.p.kinds[k].count)
		}
	}
	for k, a := range answers {
		d.addPattern(k, a.bits)
	}
	if point.bound < d.best.bound {
		d.best = point
	}
	return true
}

// addPattern puts a pattern into the master unless it gains nothing there.
func (d *duals) addPattern(kind int, bits []bit) {
	c := d.columnOf(kind, bits)
	if len(bits) == 0 {
		return
	}
	mu := d.m.cols[d.m.key[kind]].reduced(d.m.dual)
	if c.reduced(d.m.dual)-mu > 1e-9*(1+math.Abs(c.worth)) || d.rounds <= 1 {
		d.m.add(c)
	}
}

// columnOf counts the items of a pattern.
func (d *duals) columnOf(kind int, bits []bit) column {
	c := column{kind: kind, worth: -d.p.kinds[kind].cost, bits: bits}
	for _, b := range bits {
		c.worth += d.p.items[b.item].worth
		if r := d.rows[b.item]; r >= 0 {
			c.items = append(c.items, r)
		}
	}
	slices.Sort(c.items)
	kept := c.items[:0]
	for _, r := range c.items {
		if k := len(kept); k > 0 && kept[k-1] == r {
			c.n[k-1]++
			continue
		}
		kept, c.n = append(kept, r), append(c.n, 1)
	}
	c.items = kept
	return c
}

// rowPrices spreads the master's duals over the items.
func (d *duals) rowPrices() []float64 {
	price := make([]float64, len(d.p.items))
	for i, r := range d.rows {
		if r >= 0 {
			price[i] = max(0, d.m.dual[r])
		}
	}
	return price
}

// run generates columns until the bound meets the master's value within tol,
// the rounds are used up or the stop. Prices are drawn towards the best ones so far (Wentges 1997),
// less so after a round that brought no new column.
func (d *duals) run(tol float64, rounds int) {
	hold := 0.5
	for ; rounds > 0 && !d.stop(); rounds-- {
		d.m.solve(1e-9 * (1 + math.Abs(d.best.bound)/float64(1+len(d.p.kinds))))
		value := d.m.objective()
		if d.best.bound-value <= tol {
			return
		}
		price := d.rowPrices()
		for i := range price {
			if d.best.price != nil {
				price[i] += hold * (d.best.price[i] - price[i])
			}
		}
		before, bound := len(d.m.cols), d.best.bound
		if !d.price(price) {
			return
		}
		switch {
		case len(d.m.cols) == before && hold == 0:
			return
		case len(d.m.cols) == before:
			hold = 0
		case d.best.bound < bound:
			hold = min(0.8, hold+0.1)
		default:
			hold = max(0, hold-0.1)
		}
	}
}

// start prices a first round at prices that leave each item worth its share
// of the wood: value beyond a fixed worth per area. The best of a few such
// shares is a good guess at where to begin.
func (d *duals) start() {
	if len(d.m.want) == 0 {
		d.price(make([]float64, len(d.p.items)))
		return
	}
	density := 0.0
	for _, it := range d.p.items {
		density = max(density, it.worth/float64(it.l*it.w))
	}
	price := make([]float64, len(d.p.items))
	for _, share := range []float64{0.9, 0.75, 0.6, 0.45, 0.3, 0} {
		for i, it := range d.p.items {
			price[i] = 0
			if it.want < Unlimited {
				price[i] = max(0, it.worth-share*density*float64(it.l*it.w))
			}
		}
		if !d.price(price) {
			return
		}
	}
}
