package yield

import "math"

// tally counts how many sources have more than j trips, hits and misses, parts of
// trips by their parts. A ratio
// of gamma functions with whole steps is a product, Γ(a+n)/Γ(a) = Π (a+j), so the
// probability of all sources together needs one logarithm for each j, however many
// sources there are. Sources with very many trips are kept apart.
type tally struct {
	trips, hits, misses [tallyMost]float64
	many                []seen
}

// tallyMost bounds the table of a tally.
const tallyMost = 64

// add counts a source. A part of a trip comes last and counts the step of its own by
// that part.
func (t *tally) add(s seen) {
	if s.n > tallyMost {
		t.many = append(t.many, s)
		return
	}
	steps(&t.trips, s.n)
	steps(&t.hits, s.k)
	steps(&t.misses, s.n-s.k)
}

// steps counts the steps of n trips.
func steps(count *[tallyMost]float64, n float64) {
	whole := int(n)
	for j := range whole {
		count[j]++
	}
	if part := n - float64(whole); part > 0 {
		count[whole] += part
	}
}

// log is the log probability of the tally given m and κ:
// Π B(mκ+k, (1−m)κ+n−k)/B(mκ, (1−m)κ). The part that κ alone decides is given by
// ofTrips, so that it need not be worked out for every m.
func (t *tally) log(m, kappa, ofTrips float64) float64 {
	a, b := m*kappa, (1-m)*kappa
	sum := -ofTrips
	for j := 0; j < tallyMost && t.trips[j] > 0; j++ {
		x := float64(j)
		if t.hits[j] > 0 {
			sum += t.hits[j] * math.Log(a+x)
		}
		if t.misses[j] > 0 {
			sum += t.misses[j] * math.Log(b+x)
		}
	}
	for _, s := range t.many {
		sum += rise(a, s.k) + rise(b, s.n-s.k)
	}
	return sum
}

// ofTrips is the log of Π Γ(κ+n)/Γ(κ).
func (t *tally) ofTrips(kappa float64) float64 {
	var sum float64
	for j := 0; j < tallyMost && t.trips[j] > 0; j++ {
		sum += t.trips[j] * math.Log(kappa+float64(j))
	}
	for _, s := range t.many {
		sum += rise(kappa, s.n)
	}
	return sum
}

// rise is log Γ(a+n) − log Γ(a).
func rise(a, n float64) float64 {
	high, _ := math.Lgamma(a + n)
	low, _ := math.Lgamma(a)
	return high - low
}
