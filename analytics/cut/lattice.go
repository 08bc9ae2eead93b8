package cut

import "slices"

// lattice is the whole-number combinations of some vectors, held as a
// triangular basis (Hermite normal form; Cohen 1993, section 2.4). basis[i],
// if there is one, starts at coordinate i with a number above 0, and what
// stands above that number is at least 0 and less than it.
type lattice struct {
	basis [][]int64
	wild  bool // numbers grew too large to go on
}

// latticeLimit keeps products of two numbers within 64 bits.
const latticeLimit = 1 << 31

// newLattice starts with the zero vector alone, in n dimensions.
func newLattice(n int) *lattice { return &lattice{basis: make([][]int64, n)} }

// add takes in a vector.
func (l *lattice) add(v []int64) {
	v = slices.Clone(v)
	changed := false
	for i := range v {
		if v[i] == 0 || l.wild {
			continue
		}
		if l.basis[i] == nil {
			if v[i] < 0 {
				scaleBy(v, -1)
			}
			l.basis[i] = v
			l.tidy()
			return
		}
		b := l.basis[i]
		for v[i] != 0 {
			subtract(v, b, v[i]/b[i])
			if v[i] != 0 {
				v, b = b, v
				changed = true
			}
		}
		if b[i] < 0 {
			scaleBy(b, -1)
		}
		l.basis[i] = b
		l.shrink(v, i+1)
	}
	if changed {
		l.tidy()
	}
}

// shrink brings v's coordinates from one on between 0 and the basis.
func (l *lattice) shrink(v []int64, from int) {
	for k := from; k < len(v); k++ {
		if b := l.basis[k]; b != nil && v[k] != 0 {
			subtract(v, b, floorDiv(v[k], b[k]))
		}
		if v[k] > latticeLimit || v[k] < -latticeLimit {
			l.wild = true
		}
	}
}

// tidy shrinks every basis vector by those that start later.
func (l *lattice) tidy() {
	for i := len(l.basis) - 1; i >= 0; i-- {
		if l.basis[i] != nil {
			l.shrink(l.basis[i], i+1)
		}
	}
}

// scaleBy multiplies a vector.
func scaleBy(v []int64, f int64) {
	for i := range v {
		v[i] *= f
	}
}

// subtract takes f times b from v.
func subtract(v, b []int64, f int64) {
	if f == 0 {
		return
	}
	for i, n := range b {
		v[i] -= f * n
	}
}

// floorDiv divides, rounding down; b is above 0.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// classes are what whole vectors are to a lattice: two are of one class when
// they differ by one of the lattice. They add up as remainders do. Class 0 is
// the lattice itself.
type classes struct {
	order int
	unit  []int     // by coordinate: the class of one
	plus  [][]uint8 // by class and class
	minus []uint8   // by class: what adds up with it to class 0
	many  [][]uint8 // by class and count, modulo order
}

// mostClasses bounds how many classes are told apart.
const mostClasses = 64

// classes returns the classes of a lattice; nil where there are more than
// most, which is at most mostClasses.
func (l *lattice) classes(most int) *classes {
	order := int64(1)
	var odd []int // coordinates that classes differ in
	for i, b := range l.basis {
		if l.wild || b == nil {
			return nil
		}
		if b[i] > 1 {
			odd = append(odd, i)
		}
		if order *= b[i]; order > int64(most) {
			return nil
		}
	}
	c := &classes{order: int(order), unit: make([]int, len(l.basis))}
	number := func(v []int64) int {
		l.shrink(v, 0)
		n := int64(0)
		for _, i := range odd {
			n = n*l.basis[i][i] + v[i]
		}
		return int(n)
	}
	vectors := make([][]int64, c.order)
	for id := range vectors {
		v, rest := make([]int64, len(l.basis)), int64(id)
		for _, i := range slices.Backward(odd) {
			v[i], rest = rest%l.basis[i][i], rest/l.basis[i][i]
		}
		vectors[id] = v
	}
	for i := range c.unit {
		v := make([]int64, len(l.basis))
		v[i] = 1
		c.unit[i] = number(v)
	}
	c.fill(vectors, number)
	return c
}

// oneClass returns the classes of n items that tell nothing apart.
func oneClass(n int) *classes {
	return &classes{order: 1, unit: make([]int, n), plus: [][]uint8{{0}}, minus: []uint8{0}, many: [][]uint8{{0}}}
}

// rows returns the same classes for rows, of which row r stands for item
// items[r].
func (c *classes) rows(items []int) *classes {
	other := *c
	other.unit = make([]int, len(items))
	for r, i := range items {
		other.unit[r] = c.unit[i]
	}
	return &other
}

// fill works out the tables.
func (c *classes) fill(vectors [][]int64, number func([]int64) int) {
	c.minus = make([]uint8, c.order)
	for a, u := range vectors {
		row := make([]uint8, c.order)
		for b, v := range vectors {
			sum := slices.Clone(u)
			subtract(sum, v, -1)
			row[b] = uint8(number(sum))
			if row[b] == 0 {
				c.minus[a] = uint8(b)
			}
		}
		c.plus = append(c.plus, row)
	}
	for a := range c.order {
		row := make([]uint8, c.order)
		for n := 1; n < c.order; n++ {
			row[n] = c.plus[row[n-1]][a]
		}
		c.many = append(c.many, row)
	}
}

// times returns the class of n vectors of a class; n may be below 0.
func (c *classes) times(class, n int) int {
	if n %= c.order; n < 0 {
		n += c.order
	}
	return int(c.many[class][n])
}

// of returns the class of some copies of some coordinates.
func (c *classes) of(items []int32, n []float64) int {
	class := 0
	for i, r := range items {
		class = int(c.plus[class][c.times(c.unit[r], int(n[i]))])
	}
	return class
}
