package cut

import "math"

// refresh computes the inverse, the values and the duals afresh from the
// basis, so that rounding does not pile up.
func (m *master) refresh() {
	m.since = 0
	n := len(m.slot)
	mat := make([][]float64, n) // working basis beside the unit matrix
	for i := range mat {
		mat[i] = make([]float64, 2*n)
		mat[i][n+i] = 1
	}
	rhs := make([]float64, n)
	copy(rhs, m.want)
	for k, key := range m.key {
		if c := &m.cols[key]; len(c.items) > 0 {
			for j, r := range c.items {
				rhs[r] -= c.n[j] * m.count[k]
			}
		}
	}
	for s := range m.slot {
		m.eachEntry(s, func(row int, v float64) { mat[row][s] += v })
	}
	if !invert(mat) {
		return
	}
	for s := range m.inv {
		copy(m.inv[s], mat[s][n:])
		v := 0.0
		for j, b := range rhs {
			v += m.inv[s][j] * b
		}
		m.x[s] = v
	}
	copy(m.xkey, m.count)
	for s := range m.slot {
		if k := m.kindOf(s); k >= 0 {
			m.xkey[k] -= m.x[s]
		}
	}
	m.reprice()
}

// reprice computes the duals afresh, after worths have changed.
func (m *master) reprice() {
	clear(m.dual)
	for s, c := range m.slot {
		if c < 0 {
			_, _, d := m.loose(c)
			for j, v := range m.inv[s] {
				m.dual[j] += d * v
			}
			continue
		}
		d := m.cols[c].worth - m.cols[m.key[m.cols[c].kind]].worth
		for j, v := range m.inv[s] {
			m.dual[j] += d * v
		}
	}
}

// eachEntry visits the entries of a slot's column in the working basis.
func (m *master) eachEntry(slot int, visit func(row int, v float64)) {
	id := m.slot[slot]
	if id < 0 {
		row, sign, _ := m.loose(id)
		visit(row, sign)
		return
	}
	c := &m.cols[id]
	for j, r := range c.items {
		visit(int(r), c.n[j])
	}
	key := &m.cols[m.key[c.kind]]
	for j, r := range key.items {
		visit(int(r), -key.n[j])
	}
}

// invert reduces the left half of mat to the unit matrix by Gauss-Jordan with
// row pivoting; the right half becomes the inverse. It reports false for a
// singular matrix.
func invert(mat [][]float64) bool {
	n := len(mat)
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(mat[r][c]) > math.Abs(mat[p][c]) {
				p = r
			}
		}
		if math.Abs(mat[p][c]) < 1e-11 {
			return false
		}
		mat[c], mat[p] = mat[p], mat[c]
		f := 1 / mat[c][c]
		for j := c; j < 2*n; j++ {
			mat[c][j] *= f
		}
		for r := range n {
			if g := mat[r][c]; r != c && g != 0 {
				row, piv := mat[r], mat[c]
				for j := c; j < 2*n; j++ {
					row[j] -= g * piv[j]
				}
			}
		}
	}
	return true
}

// objective returns the worth of the present mix.
func (m *master) objective() float64 {
	sum := 0.0
	for s, c := range m.slot {
		if c >= 0 {
			sum += m.x[s] * m.cols[c].worth
		} else {
			_, _, worth := m.loose(c)
			sum += m.x[s] * worth
		}
	}
	for k, c := range m.key {
		if w := m.cols[c].worth; w != 0 {
			sum += m.xkey[k] * w
		}
	}
	return sum
}
