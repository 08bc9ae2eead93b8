package yield

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
)

// rank fills in the chance of being best, the expected rank and the set that
// cannot be told apart from the best. Draws are used for the first alone; they
// come from the seed of the options, so the same book gives the same figures.
func (m *Model) rank(all []*priced) {
	if len(all) == 0 {
		return
	}
	var wait sync.WaitGroup
	wait.Go(func() { expectedRanks(all) })
	wins := m.drawBest(all)
	wait.Wait()
	for i := range all {
		all[i].answer.BestChance = wins[i]
	}
	// The likeliest winners that together hold the best with 90 %: a credible set of
	// which source is best, rather than a row of comparisons with the one in front.
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(wins[b], wins[a]) })
	var sum float64
	for _, i := range order {
		if sum >= 0.9 {
			break
		}
		all[i].answer.Contender = true
		sum += wins[i]
	}
}

// drawsFor says how many draws a chance of being best rests on; 200 leave it within
// 0.035. It keeps the work of ranking bounded: at least 200 draws.
func (m *Model) drawsFor(n int) int { return max(200, min(m.opts.Draws, 200*1000/n)) }

// drawBest draws all sources together and counts how often each is best. What
// sources of one kind have in common is drawn once for the kind.
func (m *Model) drawBest(all []*priced) []float64 {
	wins := make([]float64, len(all))
	kinds := map[string]int{}
	kind := make([]int, len(all))
	own, shared := make([]float64, len(all)), make([]float64, len(all))
	for i := range all {
		// A belief is drawn as the sum of a part of its own and a part of its kind, in
		// the ratio of what is not known of each.
		name := all[i].answer.Kind
		if !m.grouped {
			name = "" // one book, one common mean
		}
		k, ok := kinds[name]
		if !ok {
			k = len(kinds)
			kinds[name] = k
		}
		kind[i] = k
		common := min(max(all[i].common, 0), 1)
		own[i], shared[i] = math.Sqrt(1-common), math.Sqrt(common)
	}
	open := contenders(all)
	top := ceilings(all, open)
	random := rand.New(rand.NewPCG(m.opts.Seed, 0x5ee9))
	draws := m.drawsFor(len(all))
	of := make([]float64, len(kinds))
	for range draws {
		for k := range of {
			of[k] = random.NormFloat64()
		}
		best, most := open[0], math.Inf(-1)
		for k, i := range open {
			z := own[i]*random.NormFloat64() + shared[i]*of[kind[i]]
			if top[k].over(z) <= most {
				continue
			}
			if v := all[i].belief.at(z); v > most {
				best, most = i, v
			}
		}
		wins[best]++
	}
	for i := range wins {
		wins[i] /= float64(draws)
	}
	return wins
}

// contenders leaves out the sources that could be best only if they did better
// than 4 standard deviations while the one with the best low end did worse than 2:
// less often than the draws could show.
func contenders(all []*priced) []int {
	floor := math.Inf(-1)
	for _, p := range all {
		floor = math.Max(floor, p.belief.at(-2))
	}
	var open []int
	for i, p := range all {
		if p.belief.at(4) >= floor {
			open = append(open, i)
		}
	}
	return open
}

// ceiling bounds a belief from above without an exponential: its values at steps
// of ceilingStep between ceilingReach standard deviations to either side. Most draws
// of most sources lie below the best so far and need not be known closer.
type ceiling [2*ceilingReach/ceilingStep + 1]float64

const (
	ceilingReach = 5
	ceilingStep  = 0.5
)

// over returns a value no less than the belief's at the standard normal point z; a
// belief rises with z.
func (c *ceiling) over(z float64) float64 {
	if z >= ceilingReach {
		return math.Inf(1)
	}
	return c[int(max(0, math.Ceil((z+ceilingReach)/ceilingStep)))]
}

// ceilings are those of the sources at the given places.
func ceilings(all []*priced, places []int) []ceiling {
	c := make([]ceiling, len(places))
	inParts(len(places), func(from, to int) {
		for k := from; k < to; k++ {
			for s := range c[k] {
				c[k][s] = all[places[k]].belief.at(-ceilingReach + ceilingStep*float64(s))
			}
		}
	})
	return c
}

// rankPoints are the points by which a belief enters the expected ranks.
const rankPoints = 8

// expectedRanks needs no draws: the probability that another nets more is a sum over
// pairs of points, and one sort counts all pairs. Doubt that sources share is left
// out here; it moves all of them alike and hardly their order. It computes 1 + Σ P(another nets more) with every belief as
// rankPoints values of equal probability, sorted together once.
func expectedRanks(all []*priced) {
	type point struct {
		x   float64
		own int
	}
	points := make([]point, 0, rankPoints*len(all))
	for i := range all {
		for k := range rankPoints {
			points = append(points, point{all[i].belief.at(rankZ[k]), i})
		}
	}
	slices.SortFunc(points, func(a, b point) int { return cmp.Or(cmp.Compare(b.x, a.x), cmp.Compare(a.own, b.own)) })
	// Going down from the largest value, from counts the points above; those of the
	// source itself are taken off.
	ownAbove := make([]int, len(all))
	for from := 0; from < len(points); {
		to := from
		for to < len(points) && points[to].x == points[from].x {
			to++
		}
		// Equal values share the places they take.
		ownHere := map[int]int{}
		if to-from > 1 {
			for _, p := range points[from:to] {
				ownHere[p.own]++
			}
		}
		for _, p := range points[from:to] {
			above := float64(from - ownAbove[p.own])
			if to-from > 1 {
				above += float64(to-from-ownHere[p.own]) / 2
			}
			all[p.own].answer.ExpectedRank += above / (rankPoints * rankPoints)
		}
		for _, p := range points[from:to] {
			ownAbove[p.own]++
		}
		from = to
	}
	for i := range all {
		all[i].answer.ExpectedRank++
	}
}
