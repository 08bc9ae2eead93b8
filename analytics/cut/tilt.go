package cut

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// tilt finds prices at which boards that draw their columns at random, a
// column that loses more the less often (a Gibbs measure), make on average
// what a master wants. The prices minimise the smoothed dual of the linear
// programme (Nesterov 2005), by Newton's method. The best columns at the
// linear programme's own prices make something else as a rule, because a
// vertex leans on fractions.
type tilt struct {
	m       *master
	heat    float64   // a loss of so much makes a column e times rarer
	price   []float64 // by row, between 0 and what a copy is worth
	entropy float64   // of what the boards draw, in nats
	lack    []float64 // by row: how many copies are not made, on average

	grad []float64
	hess *mat.SymDense
	step *mat.VecDense
	next []float64
	prob []float64 // by column of one board
	mean []float64 // by row, of one board
	rows []int32   // that the board makes
}

// newTilt starts at the master's own prices.
func newTilt(m *master) *tilt {
	n := len(m.want)
	t := &tilt{
		m: m, price: make([]float64, n), lack: make([]float64, n), grad: make([]float64, n), next: make([]float64, n),
		mean: make([]float64, n), hess: mat.NewSymDense(n, nil), step: mat.NewVecDense(n, nil),
	}
	for r := range t.price {
		t.price[r] = min(max(m.dual[r], 1e-3*m.drop[r]), 0.999*m.drop[r])
	}
	return t
}

// cool lowers or raises the heat, which is at most most, until the entropy is
// between 70 and 100 % of goal or the heat has nowhere to go.
func (t *tilt) cool(goal, most float64) {
	t.heat = most / 8
	for range 16 {
		t.settle(10)
		switch {
		case t.m.stop():
			return
		case t.entropy > goal:
			t.heat *= 0.5
		case t.entropy < 0.7*goal && t.heat < most:
			t.heat = min(most, 1.4*t.heat)
		default:
			return
		}
	}
}

// coolTo lowers the heat until what is drawn loses no more than most on average
// and its entropy is at most so many nats; it reports false where that is not
// to be had.
func (t *tilt) coolTo(most, entropy float64) bool {
	for range 30 {
		t.settle(12)
		if t.m.stop() {
			return false
		}
		if t.meanLoss() <= most && t.entropy <= entropy {
			return true
		}
		t.heat *= 0.75
	}
	return false
}

// meanLoss returns what the boards lose on average, copies lacked and thrown
// away counted in.
func (t *tilt) meanLoss() float64 {
	t.derive()
	sum := 0.0
	for r, p := range t.price {
		sum += p*t.lack[r] + (t.m.drop[r]-p)/math.Expm1((t.m.drop[r]-p)/t.heat)
	}
	for k := range t.m.of {
		top, z := t.weigh(k, t.price)
		for i, c := range t.m.of[k] {
			if p := t.prob[i] / z; p > 1e-9 {
				sum += p * (top - t.m.cols[c].reduced(t.price))
			}
		}
	}
	return sum
}

// settle moves the prices until what is made on average is within about one
// standard deviation of what is wanted, in at most so many steps.
func (t *tilt) settle(steps int) {
	var chol mat.Cholesky
	for ; steps > 0 && !t.m.stop(); steps-- {
		value := t.derive()
		if !chol.Factorize(t.hess) {
			return
		}
		grad := mat.NewVecDense(len(t.grad), t.grad)
		if chol.SolveVecTo(t.step, grad) != nil {
			return
		}
		fall := mat.Dot(t.step, grad) // twice what a whole step gains
		if fall < 0.5*t.heat || !t.move(value, fall) {
			return
		}
	}
}

// move goes along the step as far as prices stay within their limits and the
// dual falls; it reports whether it went anywhere.
func (t *tilt) move(value, fall float64) bool {
	size := 1.0
	for r, p := range t.price {
		if d := t.step.AtVec(r); d > 0 {
			size = min(size, 0.9*p/d)
		} else if d < 0 {
			size = min(size, 0.9*(t.m.drop[r]-p)/-d)
		}
	}
	for ; size > 1e-4; size /= 2 {
		for r, p := range t.price {
			t.next[r] = p - size*t.step.AtVec(r)
		}
		if t.smooth(t.next) <= value-0.1*size*fall {
			t.price, t.next = t.next, t.price
			return true
		}
	}
	return false
}

// ends returns what a row adds to the smoothed dual at a price. Copies lacking
// and copies thrown away count as drawn at random too, so prices keep clear of
// their limits by themselves.
func (t *tilt) ends(r int, price float64) float64 {
	return price*math.Round(t.m.want[r]) -
		t.heat*(math.Log(-math.Expm1(-price/t.heat))+math.Log(-math.Expm1(-(t.m.drop[r]-price)/t.heat)))
}

// smooth returns the smoothed dual at prices.
func (t *tilt) smooth(price []float64) float64 {
	sum := 0.0
	for r, p := range price {
		sum += t.ends(r, p)
	}
	for k := range t.m.of {
		top, z := t.weigh(k, price)
		sum += top + t.heat*math.Log(z)
	}
	return sum
}

// weigh sets prob to how often, in proportion, a board draws each of its
// columns; it returns the best column's gain and the sum of prob.
func (t *tilt) weigh(k int, price []float64) (top, z float64) {
	top = math.Inf(-1)
	t.prob = t.prob[:0]
	for _, c := range t.m.of[k] {
		v := t.m.cols[c].reduced(price)
		t.prob = append(t.prob, v)
		top = max(top, v)
	}
	for i, v := range t.prob {
		t.prob[i] = 0
		if d := (v - top) / t.heat; d > -40 {
			t.prob[i] = math.Exp(d)
		}
		z += t.prob[i]
	}
	return top, z
}

// derive returns the smoothed dual and works out its derivatives, the entropy
// and what is lacking.
func (t *tilt) derive() float64 {
	sum := 0.0
	t.entropy = 0
	t.hess.Zero()
	for r, p := range t.price {
		lack, over := 1/math.Expm1(p/t.heat), 1/math.Expm1((t.m.drop[r]-p)/t.heat)
		t.lack[r] = lack
		t.grad[r] = math.Round(t.m.want[r]) - lack + over
		t.hess.SetSym(r, r, (lack*(1+lack)+over*(1+over)+1e-6)/t.heat)
		sum += t.ends(r, p)
	}
	for k := range t.m.of {
		sum += t.deriveBoard(k)
	}
	return sum
}

// deriveBoard adds a board to the derivatives and returns its part of the
// smoothed dual.
func (t *tilt) deriveBoard(k int) float64 {
	top, z := t.weigh(k, t.price)
	h, n := t.hess.RawSymmetric().Data, len(t.price) // the upper half counts
	t.rows = t.rows[:0]
	for i, c := range t.m.of[k] {
		q := t.prob[i] / z
		if q < 1e-9 {
			continue
		}
		t.entropy -= q * math.Log(q)
		col := &t.m.cols[c]
		for a, r := range col.items {
			if t.mean[r] == 0 {
				t.rows = append(t.rows, r)
			}
			t.mean[r] += q * col.n[a]
			f := q * col.n[a] / t.heat
			for b, other := range col.items {
				if other >= r {
					h[int(r)*n+int(other)] += f * col.n[b]
				}
			}
		}
	}
	for _, r := range t.rows {
		t.grad[r] -= t.mean[r]
		for _, other := range t.rows {
			if other >= r {
				h[int(r)*n+int(other)] -= t.mean[r] * t.mean[other] / t.heat
			}
		}
	}
	for _, r := range t.rows {
		t.mean[r] = 0
	}
	return top + t.heat*math.Log(z)
}

// dual returns the bound that the prices give: no choice of columns is worth
// more.
func (t *tilt) dual() float64 {
	sum := 0.0
	for r, p := range t.price {
		sum += p * math.Round(t.m.want[r])
	}
	for k := range t.m.of {
		sum += t.gain(k)
	}
	return sum
}

// gain returns the most that a column of a board gains.
func (t *tilt) gain(k int) float64 {
	best := math.Inf(-1)
	for _, c := range t.m.of[k] {
		best = max(best, t.m.cols[c].reduced(t.price))
	}
	return best
}
