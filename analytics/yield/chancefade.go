package yield

import (
	"cmp"
	"math"
	"slices"
)

// addMemories weighs each memory by how well it lets trips be foretold by those
// before them, at the heaviest nodes of the book, against no fading at all. Counts
// that fade are not the exact posterior of a chance that drifts, but their forecasts
// are proper probabilities, so they can be compared (power discounting; West and
// Harrison, Bayesian Forecasting and Dynamic Models, 1997, chapter 6).
func (c *chances) addMemories(d *drives, whole *tally) {
	const tried = 3
	heavy := heaviest(c.book.weight, tried)
	logs := []float64{math.Log(priorSteady)}
	kept := newKeeping(d.start, d.t, d.today)
	for m := range memories {
		if m > 0 {
			kept.shorten()
		}
		for i := range c.seen {
			c.seen[i].faded[m] = d.fade(i, kept)
		}
		nodes := c.foretold(d, heavy, kept.trip)
		var share float64
		for h := range nodes {
			at := heavy[h]
			// Where nothing fades, the order of trips does not matter (that of parts of trips
			// hardly): the tally foretells them.
			m, kappa, w := c.book.m[at], c.book.kappa[at], c.book.weight[at]
			nodes[h] += math.Log(w) - whole.log(m, kappa, whole.ofTrips(kappa))
			share += w
		}
		logs = append(logs, normalise(nodes)+math.Log((1-priorSteady)/float64(len(memories))/share))
	}
	normalise(logs)
	c.steady, c.fades = logs[0], logs[1:]
}

// heaviest returns the places of the largest weights.
func heaviest(weight []float64, most int) []int {
	places := make([]int, len(weight))
	for i := range places {
		places[i] = i
	}
	slices.SortStableFunc(places, func(a, b int) int { return cmp.Compare(weight[b], weight[a]) })
	return places[:min(most, len(places))]
}

// foretold returns, for each of the chosen nodes, the log probability of all
// trips, each given those before it, where phi[j] is what is kept of the earlier
// trips of the source at trip j.
func (c *chances) foretold(d *drives, chosen []int, phi []float64) []float64 {
	logs := make([]float64, len(chosen))
	for h, node := range chosen {
		prior := fadedTrips{n: c.book.kappa[node], k: c.book.m[node] * c.book.kappa[node]}
		for i := range c.seen {
			logs[h] += d.foretell(i, prior, phi)
		}
	}
	return logs
}

// foretell returns the log probability of the trips of source i, each given those
// before it.
func (d *drives) foretell(i int, prior fadedTrips, phi []float64) float64 {
	all := newProduct()
	var n, k float64
	for j := d.start[i]; j < d.start[i+1]; j++ {
		if j > d.start[i] {
			n, k = n*phi[j], k*phi[j]
		}
		p := (prior.k + k) / (prior.n + n)
		n += d.w[j]
		switch {
		case d.hit[j]:
			k++
			all.times(p)
		case d.w[j] == 1:
			all.times(1 - p)
		default:
			all.times(math.Pow(1-p, d.w[j]))
		}
	}
	return all.sum()
}

// fade returns what the trips of source i weigh today under one memory.
func (d *drives) fade(i int, kept *keeping) fadedTrips {
	var f fadedTrips
	for j := d.start[i]; j < d.start[i+1]; j++ {
		if j > d.start[i] {
			f.n, f.k = f.n*kept.trip[j], f.k*kept.trip[j]
		}
		f.n += d.w[j]
		if d.hit[j] {
			f.k++
		}
	}
	return fadedTrips{f.n * kept.today[i], f.k * kept.today[i]}
}
