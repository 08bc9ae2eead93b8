package cut

import (
	"math"
	"slices"
)

// column is a pattern for a kind of board: how many of which items it makes.
type column struct {
	kind  int
	of    int     // the problem's kind, where kinds were added to the master
	worth float64 // of its items, less the board's cost
	items []int32 // rows, ascending
	n     []float64
	bits  []bit
	costs bool // its board costs something
}

// master is the linear programme that mixes columns: it maximises worth with
// at most want of each item and exactly count columns of each kind, of which
// the empty one is one. It is solved by the primal simplex method with the
// rows of the kinds kept implicit (generalized upper bounding, Dantzig and Van
// Slyke 1967): each kind has a key column, and only a working basis as large
// as the number of items is inverted.
type master struct {
	want  []float64 // slightly shifted, against degeneracy
	count []float64
	cols  []column
	of    [][]int32 // columns by kind; the first is the empty one
	place []int32   // by column: slot, or outside or isKey
	off   []bool    // by column: not to enter
	key   []int32   // by kind
	slot  []int32   // by row: column, or a loose end (see looseOf)
	drop  []float64 // by row: what a copy is worth, lost when it is made beyond want
	inv   [][]float64
	x     []float64 // by slot
	xkey  []float64 // by kind
	dual  []float64 // by row
	held  []int32   // by kind: how many slots hold its columns
	rate  []float64 // by kind, scratch
	w     []float64
	since int // pivots since the inverse was computed afresh
	stop  func() bool
}

const (
	outside = -1
	isKey   = -2
	tiny    = 1e-9
)

// looseOf numbers the loose ends of a row: copies lacking, and copies made
// beyond those wanted and thrown away. Patterns are listed only at their
// fullest, so throwing away is what stands for every emptier one.
func (m *master) looseOf(row int, surplus bool) int32 {
	if surplus {
		return int32(-1 - row - len(m.want))
	}
	return int32(-1 - row)
}

// loose returns a loose end's row, its sign there and what it adds to the
// worth.
func (m *master) loose(id int32) (row int, sign, worth float64) {
	row = int(-1 - id)
	if row >= len(m.want) {
		row -= len(m.want)
		return row, -1, -m.drop[row]
	}
	return row, 1, 0
}

// newMaster starts with every board whole and every item lacking. drop is what
// a copy of each item is worth.
func newMaster(want, drop, count []float64, stop func() bool) *master {
	m := &master{
		drop: drop,
		want: make([]float64, len(want)), count: slices.Clone(count), stop: stop,
		of: make([][]int32, len(count)), key: make([]int32, len(count)), xkey: slices.Clone(count),
		slot: make([]int32, len(want)), x: make([]float64, len(want)), dual: make([]float64, len(want)),
		held: make([]int32, len(count)), rate: make([]float64, len(count)), w: make([]float64, len(want)),
		inv: make([][]float64, len(want)),
	}
	for i, d := range want {
		// Fixed pseudo-random shifts, far below what one piece is worth.
		m.want[i] = d + 1e-7*(1+float64((i*7919)%101)/101)
		m.slot[i] = int32(-1 - i)
		m.x[i] = m.want[i]
		m.inv[i] = make([]float64, len(want))
		m.inv[i][i] = 1
	}
	for k := range count {
		m.add(column{kind: k})
		m.key[k] = m.of[k][0]
		m.place[m.key[k]] = isKey
	}
	return m
}

// addKind appends a kind of which there are count and returns its number; its
// boards start whole.
func (m *master) addKind(count float64) int {
	k := len(m.of)
	m.of = append(m.of, nil)
	m.count = append(m.count, count)
	m.xkey = append(m.xkey, count)
	m.held = append(m.held, 0)
	m.rate = append(m.rate, 0)
	m.key = append(m.key, m.add(column{kind: k}))
	m.place[m.key[k]] = isKey
	return k
}

// add appends a column and returns its index.
func (m *master) add(c column) int32 {
	id := int32(len(m.cols))
	m.cols = append(m.cols, c)
	m.place = append(m.place, outside)
	m.off = append(m.off, false)
	m.of[c.kind] = append(m.of[c.kind], id)
	return id
}

// reduced returns what a column is worth beyond its items at dual prices.
func (c *column) reduced(dual []float64) float64 {
	v := c.worth
	for i, r := range c.items {
		v -= dual[r] * c.n[i]
	}
	return v
}

// solve pivots until no column improves, or stop says so.
func (m *master) solve(tol float64) {
	type candidate struct {
		col  int32
		gain float64
	}
	var list []candidate
	for !m.stop() {
		list = list[:0]
		for k := range m.of {
			mu := m.cols[m.key[k]].reduced(m.dual)
			best := candidate{-1, tol}
			for _, c := range m.of[k] {
				if m.place[c] == outside && !m.off[c] {
					if d := m.cols[c].reduced(m.dual) - mu; d > best.gain {
						best = candidate{c, d}
					}
				}
			}
			if best.col >= 0 {
				list = append(list, best)
			}
		}
		for r := range m.dual {
			for _, surplus := range [2]bool{false, true} {
				id := m.looseOf(r, surplus)
				if d := m.gainOf(id); d > tol && !slices.Contains(m.slot, id) {
					list = append(list, candidate{id, d})
				}
			}
		}
		if len(list) == 0 {
			return
		}
		slices.SortFunc(list, func(a, b candidate) int {
			if a.gain > b.gain {
				return -1
			}
			return 1
		})
		for _, c := range list {
			if m.stop() {
				return
			}
			m.enter(c.col, tol)
		}
	}
}

// gainOf returns the reduced cost of a column or slack outside the basis.
func (m *master) gainOf(col int32) float64 {
	if col < 0 {
		row, sign, worth := m.loose(col)
		return worth - sign*m.dual[row]
	}
	c := &m.cols[col]
	return c.reduced(m.dual) - m.cols[m.key[c.kind]].reduced(m.dual)
}

// enter brings a column into the basis if it still improves.
func (m *master) enter(col int32, tol float64) {
	gain := m.gainOf(col)
	if gain <= tol || col >= 0 && m.place[col] != outside {
		return
	}
	k := m.transform(col)
	limit, row, kind := m.ratio(k)
	if math.IsInf(limit, 1) {
		return
	}
	if row < 0 && kind == k && m.held[k] == 0 {
		m.move(limit, k)
		m.place[m.key[k]] = outside
		m.key[k], m.place[col] = col, isKey
		m.xkey[k] = m.count[k]
		return
	}
	if row < 0 {
		row = m.swapKey(kind, k)
	}
	m.pivot(row, col, limit, gain, k)
	if m.since++; m.since > 400 {
		m.refresh()
	}
}

// transform sets w to the column in terms of the working basis and returns
// its kind, -1 for a slack.
func (m *master) transform(col int32) int {
	clear(m.w)
	if col < 0 {
		row, sign, _ := m.loose(col)
		for i := range m.w {
			m.w[i] = sign * m.inv[i][row]
		}
		return -1
	}
	c := &m.cols[col]
	key := &m.cols[m.key[c.kind]]
	for i := range m.w {
		row, s := m.inv[i], 0.0
		for j, r := range c.items {
			s += row[r] * c.n[j]
		}
		for j, r := range key.items {
			s -= row[r] * key.n[j]
		}
		m.w[i] = s
	}
	return c.kind
}

// kindOf returns the kind of a slot's column, -1 for a slack.
func (m *master) kindOf(slot int) int {
	if c := m.slot[slot]; c >= 0 {
		return m.cols[c].kind
	}
	return -1
}

// ratio finds how far the entering column can rise, and which slot or which
// kind's key stops it. It leaves in rate how fast each touched key falls.
func (m *master) ratio(k int) (limit float64, row, kind int) {
	limit, row, kind = math.Inf(1), -1, -1
	for i := range m.slot {
		if l := m.kindOf(i); l >= 0 {
			m.rate[l] = 0
		}
	}
	if k >= 0 {
		m.rate[k] = 1
	}
	pivot := 0.0
	try := func(x, rate float64, r, l int) {
		if rate <= tiny || math.IsInf(x, 1) {
			return
		}
		t := max(x, 0) / rate
		if t < limit-1e-10 || t <= limit+1e-10 && rate > pivot {
			limit, row, kind, pivot = min(limit, t), r, l, rate
		}
	}
	for i, w := range m.w {
		if l := m.kindOf(i); l >= 0 {
			m.rate[l] -= w
		}
		try(m.x[i], w, i, -1)
	}
	for i := range m.slot {
		if l := m.kindOf(i); l >= 0 && l != k {
			try(m.xkey[l], m.rate[l], -1, l)
		}
	}
	if k >= 0 {
		try(m.xkey[k], m.rate[k], -1, k)
	}
	return limit, row, kind
}

// move raises the entering column, of kind k, by t.
func (m *master) move(t float64, k int) {
	for i := range m.slot {
		if l := m.kindOf(i); l >= 0 && l != k && m.rate[l] != 0 {
			m.xkey[l] -= t * m.rate[l]
			m.rate[l] = 0
		}
		m.x[i] -= t * m.w[i]
	}
	if k >= 0 {
		m.xkey[k] -= t * m.rate[k]
	}
}

// swapKey makes another column of the kind its key, so that the old key
// stands in a slot and can leave; it returns that slot. Entering kind k's w is
// turned into the new terms.
func (m *master) swapKey(kind, k int) int {
	r := -1
	for i := range m.slot {
		if m.kindOf(i) == kind && (r < 0 || m.x[i] > m.x[r]) {
			r = i
		}
	}
	row, w := m.inv[r], m.w[r]
	for i := range m.slot {
		if i != r && m.kindOf(i) == kind {
			w += m.w[i]
			for j, v := range m.inv[i] {
				row[j] += v
			}
		}
	}
	for j := range row {
		row[j] = -row[j]
	}
	m.w[r] = -w
	if k == kind {
		m.w[r] = 1 - w
	}
	old := m.key[kind]
	m.key[kind], m.slot[r] = m.slot[r], old
	m.place[m.key[kind]], m.place[old] = isKey, int32(r)
	m.xkey[kind], m.x[r] = m.x[r], m.xkey[kind]
	// In the new terms the new key falls at the rate at which its slot did;
	// rate is worked out again from w.
	m.rate[kind] = 0
	if k == kind {
		m.rate[kind] = 1
	}
	for i := range m.slot {
		if m.kindOf(i) == kind {
			m.rate[kind] -= m.w[i]
		}
	}
	return r
}

// pivot puts col, which rises by t, into slot r.
func (m *master) pivot(r int, col int32, t, gain float64, k int) {
	m.move(t, k)
	if l := m.kindOf(r); l >= 0 {
		m.held[l]--
		m.place[m.slot[r]] = outside
	}
	p := m.inv[r]
	scale := 1 / m.w[r]
	for j := range p {
		p[j] *= scale
	}
	for j, v := range p {
		m.dual[j] += gain * v
	}
	for i, row := range m.inv {
		if f := m.w[i]; i != r && f != 0 {
			for j, v := range p {
				row[j] -= f * v
			}
		}
	}
	m.slot[r], m.x[r] = col, t
	if k >= 0 {
		m.held[k]++
		m.place[col] = int32(r)
	}
}
