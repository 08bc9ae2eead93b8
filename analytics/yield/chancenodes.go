package yield

import (
	"math"
	"slices"
)

// layChances lays nodes over m and log κ. They are drawn closer around the mass,
// along each axis by itself, until half of an axis carries it: a book of twenty
// thousand trips knows m to a hundredth and would fall between the first nodes.
func layChances(t *tally, prior chancePrior) chanceNodes {
	across := axis{0, 1, 14}
	along := axis{math.Log(leastLikeness), math.Log(mostLikeness), 7}
	const closest = 5 // times drawn closer; each takes a third or less of an axis
	for try := 1; ; try++ {
		c := newChanceNodes(t, prior, across, along)
		sumM, sumK := make([]float64, across.n), make([]float64, along.n)
		for n, w := range c.weight {
			sumM[n/along.n] += w
			sumK[n%along.n] += w
		}
		var moreM, moreK bool
		across, moreM = across.closer(sumM)
		along, moreK = along.closer(sumK)
		if try == closest || !moreM && !moreK {
			c.drop()
			return c
		}
	}
}

// newChanceNodes weighs every pair of cells. The log evidence counts the area of
// the cells, so it can be compared between grids.
func newChanceNodes(t *tally, prior chancePrior, across, along axis) chanceNodes {
	var c chanceNodes
	a, b := prior.mean*prior.trips, (1-prior.mean)*prior.trips
	kappas, ofTrips := make([]float64, along.n), make([]float64, along.n)
	for j := range kappas {
		kappas[j] = math.Exp(along.at(j))
		ofTrips[j] = t.ofTrips(kappas[j])
	}
	for i := range across.n {
		m := across.at(i)
		log := (a-1)*math.Log(m) + (b-1)*math.Log(1-m)
		for j, kappa := range kappas {
			c.m, c.kappa = append(c.m, m), append(c.kappa, kappa)
			c.weight = append(c.weight, log+t.log(m, kappa, ofTrips[j]))
		}
	}
	c.log = normalise(c.weight) + math.Log(across.step()*along.step())
	return c
}

// drop leaves out nodes that carry next to nothing.
func (c *chanceNodes) drop() {
	kept := 0
	var sum float64
	for n, w := range c.weight {
		if w > 1e-4 {
			c.m[kept], c.kappa[kept], c.weight[kept] = c.m[n], c.kappa[n], w
			sum += w
			kept++
		}
	}
	c.m, c.kappa, c.weight = c.m[:kept], c.kappa[:kept], c.weight[:kept]
	for n := range c.weight {
		c.weight[n] /= sum
	}
}

// axis is a row of even cells, each stood for by its middle, that can be drawn
// closer around where the mass lies.
type axis struct {
	low, high float64
	n         int
}

// step is the width of a cell.
func (a axis) step() float64 { return (a.high - a.low) / float64(a.n) }

// at is the middle of cell i.
func (a axis) at(i int) float64 { return a.low + a.step()*(float64(i)+0.5) }

// closer returns the axis around the cells that carry the mass and one beyond to
// either side; it returns false where enough cells carry it already.
func (a axis) closer(weight []float64) (axis, bool) {
	top := slices.Max(weight)
	first, last := 0, a.n-1
	for weight[first] < 1e-3*top {
		first++
	}
	for weight[last] < 1e-3*top {
		last--
	}
	if last-first >= a.n/2 {
		return a, false
	}
	first, last = max(0, first-1), min(a.n-1, last+1)
	return axis{a.low + a.step()*float64(first), a.low + a.step()*float64(last+1), a.n}, true
}
