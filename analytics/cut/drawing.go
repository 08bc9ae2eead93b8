package cut

import (
	"cmp"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
)

// drawing is what cascades of a plan share: for every board the patterns that
// may be drawn for it, how often each is at prices at which the boards make on
// average what is wanted (see tilt).
type drawing struct {
	m     *master
	t     *tilt
	c     *classes
	menus [][]*menu // by board and class; nil where it has no pattern of it
	loose *menu     // copies lacked or thrown away that leave the class as it is
	ends  []drawOption
	rule  classRule

	spread   []float64 // by row: how much what is made varies, as a variance
	tight    []int     // the rows to settle, those that vary most first
	makes    []float64 // by row: the most that all boards can make
	meanLoss float64   // of what is drawn for all boards
	dual     float64   // the bound at these prices

	bits, each int   // how wide a row's field is, how many fit into a word
	place      []int // by row: its place among the tight ones, -1 for none
	wanted     mark
}

// markWords bounds how many rows can be told apart, see pack.
const markWords = 6

// mark says how many copies of each row a pattern or combination makes.
type mark [markWords]uint64

// plus adds two marks.
func (m *mark) plus(o *mark) mark {
	return mark{m[0] + o[0], m[1] + o[1], m[2] + o[2], m[3] + o[3], m[4] + o[4], m[5] + o[5]}
}

// minus takes a mark from another.
func (m *mark) minus(o *mark) mark {
	return mark{m[0] - o[0], m[1] - o[1], m[2] - o[2], m[3] - o[3], m[4] - o[4], m[5] - o[5]}
}

// key hashes what a mark says of the rows under a mask.
func (m *mark) key(mask *mark) uint64 {
	h := uint64(0)
	for i, w := range mask {
		if w != 0 {
			h = mix64(h ^ m[i]&w)
		}
	}
	return h
}

// drawOption is a column of a board, or a loose end, and what it loses.
type drawOption struct {
	mark mark
	loss float64
	col  int32 // a loose end's number where below 0
}

// menu is options of one class for a board, those that lose least first. sums
// are of their weights.
type menu struct {
	options []drawOption
	sums    []float64
}

// draw picks an option: any, or by weight.
func (m *menu) draw(rng *rand.Rand, free bool) int {
	n := min(len(m.options), math.MaxUint16)
	if free {
		return rng.IntN(n)
	}
	u := rng.Float64() * m.sums[n-1]
	at := 0
	for at < n-1 && m.sums[at] < u {
		at++
	}
	return at
}

// add appends an option of a weight.
func (m *menu) add(o drawOption, weight float64) {
	if n := len(m.sums); n > 0 {
		weight += m.sums[n-1]
	}
	m.options, m.sums = append(m.options, o), append(m.sums, weight)
}

// newDrawing prepares drawing from a master's boards at a tilt that has
// settled, with options that lose up to most; nil where there are too many
// rows or copies to settle.
func newDrawing(t *tilt, c *classes, most float64) *drawing {
	d := &drawing{m: t.m, t: t, c: c, dual: t.dual(), spread: make([]float64, len(t.price)), makes: make([]float64, len(t.price))}
	t.derive()
	for k := range t.m.of {
		d.addBoard(k, most)
	}
	for r := range t.price {
		if t.lack[r] <= mostLack {
			d.tight = append(d.tight, r)
		}
	}
	slices.SortStableFunc(d.tight, func(a, b int) int { return cmp.Compare(d.spread[b], d.spread[a]) })
	d.addLoose(most)
	d.rule = newClassRule(d)
	if !d.pack() {
		return nil
	}
	return d
}

// mostLack is from how many copies lacking on average on an item's count is
// left to chance.
const mostLack = 0.7

// addBoard lists a board's options by class and adds up its part of the means.
func (d *drawing) addBoard(k int, most float64) {
	t := d.t
	_, z := t.weigh(k, t.price)
	gain := t.gain(k)
	type option struct {
		drawOption
		weight float64
	}
	var all []option
	mean, square, top := make([]float64, len(t.price)), make([]float64, len(t.price)), make([]float64, len(t.price))
	for i, c := range t.m.of[k] {
		col := &t.m.cols[c]
		p := t.prob[i] / z
		for a, r := range col.items {
			mean[r] += p * col.n[a]
			square[r] += p * col.n[a] * col.n[a]
			top[r] = max(top[r], col.n[a])
		}
		loss := max(0, gain-col.reduced(t.price))
		d.meanLoss += p * loss
		if loss <= most {
			all = append(all, option{drawOption{loss: loss, col: c}, max(p, 1e-12)})
		}
	}
	for r := range mean {
		d.spread[r] += square[r] - mean[r]*mean[r]
		d.makes[r] += top[r]
	}
	slices.SortStableFunc(all, func(a, b option) int { return cmp.Compare(a.loss, b.loss) })
	menus := make([]*menu, d.c.order)
	for _, o := range all {
		col := &t.m.cols[o.col]
		class := d.c.of(col.items, col.n)
		if menus[class] == nil {
			menus[class] = &menu{}
		}
		menus[class].add(o.drawOption, o.weight)
	}
	d.menus = append(d.menus, menus)
}

// addLoose lists what it costs to lack a copy or to throw one away.
func (d *drawing) addLoose(most float64) {
	d.loose = &menu{}
	d.loose.add(drawOption{col: d.m.looseOf(0, false)}, 1)
	for _, r := range d.tight {
		price := d.t.price[r]
		for _, o := range []drawOption{
			{loss: price, col: d.m.looseOf(r, false)}, {loss: d.m.drop[r] - price, col: d.m.looseOf(r, true)},
		} {
			if o.loss > most {
				continue
			}
			if d.classOfLoose(o.col) == 0 {
				d.loose.add(o, math.Exp(-o.loss/d.t.heat))
			} else {
				d.ends = append(d.ends, o)
			}
		}
	}
}

// classOfLoose returns the class that a loose end stands for.
func (d *drawing) classOfLoose(col int32) int {
	r, sign, _ := d.m.loose(col)
	return d.c.times(d.c.unit[r], int(sign))
}

// mostWanted is how many copies of an item may be wanted at most: what goals
// are given to make is looked for copy by copy.
const mostWanted = 4000

// pack gives each row to be settled a field of bits wide enough for all that the
// boards can make of it, so that counts of many rows add up as few numbers do. It
// reports false where there are too many rows or copies.
func (d *drawing) pack() bool {
	most, wanted := 0.0, 0.0
	for _, r := range d.tight {
		wanted = max(wanted, d.m.want[r])
		most = max(most, d.makes[r], d.m.want[r])
	}
	d.bits = bits.Len(uint(most) + 1<<cascadeLevels) // each lot may lack one more
	d.each = 64 / d.bits
	if len(d.tight) > d.each*markWords || wanted > mostWanted {
		return false
	}
	d.place = make([]int, len(d.spread))
	for r := range d.place {
		d.place[r] = -1
	}
	for i, r := range d.tight {
		d.place[r] = i
		d.put(&d.wanted, r, int64(math.Round(d.m.want[r])))
	}
	for _, menus := range d.menus {
		for _, m := range menus {
			if m != nil {
				d.markMenu(m)
			}
		}
	}
	d.markMenu(d.loose)
	for i := range d.ends {
		d.markOption(&d.ends[i])
	}
	return true
}

// put adds n copies of a row to a mark.
func (d *drawing) put(m *mark, r int, n int64) {
	if at := d.place[r]; at >= 0 {
		m[at/d.each] += uint64(n) << (at % d.each * d.bits)
	}
}

// count returns how many copies of the row at a place a mark holds.
func (d *drawing) count(m *mark, at int) int {
	return int(m[at/d.each] >> (at % d.each * d.bits) & (1<<d.bits - 1))
}

// span returns a mask of the rows at places from up to to.
func (d *drawing) span(from, to int) mark {
	var m mark
	for at := from; at < to; at++ {
		m[at/d.each] |= (1<<d.bits - 1) << (at % d.each * d.bits)
	}
	return m
}

// cost returns about how rare a plan, in nats, makes what is wanted of the tight
// rows from one on.
func (d *drawing) cost(from int) float64 {
	sum := 0.0
	for _, r := range d.tight[from:] {
		sum += 0.5 * math.Log(2*math.Pi*d.spread[r]+1)
	}
	return sum
}

// markMenu marks a menu's options.
func (d *drawing) markMenu(m *menu) {
	for i := range m.options {
		d.markOption(&m.options[i])
	}
}

// markOption sets what an option makes.
func (d *drawing) markOption(o *drawOption) {
	o.mark = mark{}
	if o.col < 0 {
		if r, sign, _ := d.m.loose(o.col); o.loss > 0 {
			d.put(&o.mark, r, int64(sign))
		}
		return
	}
	col := &d.m.cols[o.col]
	for i, r := range col.items {
		d.put(&o.mark, int(r), int64(col.n[i]))
	}
}

// worthOf returns what a plan is worth that cuts the boards by the given
// columns, copies beyond those wanted thrown away.
func (d *drawing) worthOf(picked []int32) float64 {
	left := make([]float64, len(d.m.want))
	for r, w := range d.m.want {
		left[r] = math.Round(w)
	}
	worth := 0.0
	for _, c := range picked {
		col := &d.m.cols[c]
		worth += col.worth
		for i, r := range col.items {
			left[r] -= col.n[i]
		}
	}
	for r, n := range left {
		if n < 0 {
			worth += n * d.m.drop[r]
		}
	}
	return worth
}
