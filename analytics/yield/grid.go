package yield

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A grid stands for a standard normal where means are wanted: even steps with
// weights in proportion to the density. For smooth functions the trapezoid rule on
// it errs by about exp(−2π²/step²): 1e-50 at 0.4, 3e-9 at 1.
type grid struct{ z, w []float64 }

// newGrid lays points from −reach to reach.
func newGrid(reach, step float64) grid {
	n := 2*int(math.Round(reach/step)) + 1
	g := grid{make([]float64, n), make([]float64, n)}
	var sum float64
	for i := range g.z {
		g.z[i] = -reach + step*float64(i)
		g.w[i] = density(g.z[i])
		sum += g.w[i]
	}
	for i := range g.w {
		g.w[i] /= sum
	}
	return g
}

// fine and coarse are read only.
var (
	fine   = newGrid(3.6, 0.4)
	coarse = newGrid(3, 1)
)

// latticePoints is the number of equally likely triples of usable share, what of
// it may go inside, and pace. The volume is not among them: given the three, the
// net of a trip is a line in the volume, whose distribution is known.
const latticePoints = 24

// lattice are standard normal points of the three, a shifted rank-one lattice
// (Niederreiter 1992, Random Number Generation and Quasi-Monte Carlo Methods, ch.
// 5). Generator and shift were searched for the smallest error over six shapes of
// source: against 200,000 draws no probability was off by more than 0.011, 0.0034
// in the root mean square; other shapes may be off by 0.02. Read only.
var lattice = func() (l [3][latticePoints]float64) {
	generator := [3]float64{1, 14, 9}
	shift := [3]float64{0, 0.5, 0.4166666666666667}
	for d := range l {
		for k := range latticePoints {
			_, u := math.Modf((float64(k)*generator[d]+0.5)/latticePoints + shift[d])
			l[d][k] = distuv.UnitNormal.Quantile(u)
		}
	}
	return l
}()

// rankZ are the normal quantiles in the middle of rankPoints equal parts.
var rankZ = func() (z [rankPoints]float64) {
	for k := range z {
		z[k] = distuv.UnitNormal.Quantile((float64(k) + 0.5) / rankPoints)
	}
	return z
}()

// A table is read some two hundred times for each source and set of terms, so it is
// made to be read without transcendental functions. tableSteps is the number of steps of a table, tableReach how many standard
// deviations it spans to either side.
const (
	tableSteps = 64
	tableReach = 4.5
)

// table is the distribution of a positive quantity on even steps of about its
// logarithm, read linearly between them: off by at most 0.002.
type table struct {
	low, perStep float64 // about the logarithm of the first point; steps per unit of it
	upTo         [tableSteps + 1]float64
	least, most  float64 // the quantity's first and last point
	mean, square float64 // its first two moments
}

// logBend makes aboutLog nearly smooth between powers of two.
const logBend = 0.344

// aboutLog is near the binary logarithm of a positive number, within 0.009, and
// rises with it: the exponent and a parabola of the fraction. It takes a third of
// the time, and only its inverse has to fit it.
func aboutLog(v float64) float64 {
	b := math.Float64bits(v)
	f := float64(b&(1<<52-1)) / (1 << 52)
	return float64(int(b>>52)-1023) + f*(1+logBend*(1-f))
}

// aboutExp is the inverse of aboutLog.
func aboutExp(x float64) float64 {
	exponent := math.Floor(x)
	const b = 1 + logBend
	f := (b - math.Sqrt(b*b-4*logBend*(x-exponent))) / (2 * logBend)
	return math.Ldexp(1+f, int(exponent))
}

// tableZ are the points by which a table is laid out, tableP their
// probabilities. Read only.
var tableZ, tableP = func() (z, p [tableSteps + 1]float64) {
	for i := range z {
		z[i] = tableReach * (2*float64(i)/tableSteps - 1)
		p[i] = upperTail(-z[i])
	}
	return z, p
}()

// table lays out the distribution of exp(next value), whose moments are known: values at even normal points
// are matched with even steps by going through both once, as both rise.
func (o *outlook) table() table {
	var x [tableSteps + 1]float64 // about the logarithms of the values
	last := len(x) - 1
	t := table{mean: o.expNext, square: o.expSquare}
	next := o.next()
	for i, z := range tableZ {
		v := math.Exp(next.at(z))
		x[i] = aboutLog(v)
		switch i {
		case 0:
			t.least = v
		case last:
			t.most = v
		}
	}
	t.low = x[0]
	t.perStep = tableSteps / math.Max(1e-9, x[last]-t.low)
	j := 0
	for i := range t.upTo {
		at := t.low + float64(i)/t.perStep
		for j < last-1 && x[j+1] < at {
			j++
		}
		t.upTo[i] = tableP[j] + (tableP[j+1]-tableP[j])*min(1, max(0, (at-x[j])/math.Max(1e-300, x[j+1]-x[j])))
	}
	return t
}

// point returns the quantity at a place counted in steps.
func (t *table) point(step float64) float64 { return aboutExp(t.low + step/t.perStep) }

// quantile returns where the probability p is reached. It is used where a few
// points will do, so it looks for the step one by one.
func (t *table) quantile(p float64) float64 {
	i := 0
	for i < tableSteps-1 && t.upTo[i+1] < p {
		i++
	}
	step := 0.0
	if width := t.upTo[i+1] - t.upTo[i]; width > 0 {
		step = min(1, max(0, (p-t.upTo[i])/width))
	}
	return t.point(float64(i) + step)
}
