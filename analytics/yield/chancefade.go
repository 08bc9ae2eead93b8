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
func (c *chances) addMemories(d *drives) {
	const tried = 3
	heavy := heaviest(c.book.weight, tried)
	still, phi := make([]float64, len(d.t)), make([]float64, len(d.t))
	for j := range still {
		still[j] = 1
	}
	base := c.foretold(d, heavy, still)
	logs := []float64{math.Log(priorSteady)}
	for _, memory := range memories {
		for i := range c.seen {
			for j := d.start[i] + 1; j < d.start[i+1]; j++ {
				phi[j] = math.Exp(-(d.t[j] - d.t[j-1]) / memory)
			}
			c.seen[i].faded = append(c.seen[i].faded, d.fade(i, memory, phi))
		}
		nodes := c.foretold(d, heavy, phi)
		var share float64
		for h := range nodes {
			w := c.book.weight[heavy[h]]
			nodes[h] += math.Log(w) - base[h]
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
// before it. A product is taken as long as it is far from vanishing: a logarithm for
// every trip would take most of the time.
func (d *drives) foretell(i int, prior fadedTrips, phi []float64) (log float64) {
	product := 1.0
	var n, k float64
	for j := d.start[i]; j < d.start[i+1]; j++ {
		if j > d.start[i] {
			n, k = n*phi[j], k*phi[j]
		}
		p := (prior.k + k) / (prior.n + n)
		n++
		if d.hit[j] {
			k++
			product *= p
		} else {
			product *= 1 - p
		}
		if product < 1e-200 {
			log += math.Log(product)
			product = 1
		}
	}
	return log + math.Log(product)
}

// fade returns what the trips of source i weigh today under one memory.
func (d *drives) fade(i int, memory float64, phi []float64) fadedTrips {
	var f fadedTrips
	last := d.today
	for j := d.start[i]; j < d.start[i+1]; j++ {
		if j > d.start[i] {
			f.n, f.k = f.n*phi[j], f.k*phi[j]
		}
		f.n++
		if d.hit[j] {
			f.k++
		}
		last = d.t[j]
	}
	left := math.Exp(-math.Max(0, d.today-last) / memory)
	return fadedTrips{f.n * left, f.k * left}
}
