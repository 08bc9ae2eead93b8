package yield

import (
	"cmp"
	"math"
	"slices"
)

// chances is the part that says whether a trip brings anything at all: of source
// i, k of n trips did, k ~ Binomial(n, p), p ~ Beta(mκ, (1−m)κ). The common chance
// m and the likeness κ of the sources are integrated on nodes, once with one m for
// the whole book and once with one for each kind; the two are averaged by their
// evidence. Where sources change, a trip counts less the older it is; that is
// tried by how well each trip was foretold by those before it.
type chances struct {
	seen   []seen        // of each source
	kind   []int         // of each source
	book   chanceNodes   // one m for all
	kinds  []chanceNodes // one for each kind
	split  float64       // weight of the kinds
	steady float64       // probability that sources do not change
	fades  []float64     // weight of each entry of memories
}

// chanceNodes are points of m and κ with their weights.
type chanceNodes struct {
	m, kappa, weight []float64
	log              float64 // log evidence
}

// seen are the trips of one source with equal weights, and with the weights
// that each of memories gives them today.
type seen struct {
	n, k  float64
	faded []fadedTrips
}

// fadedTrips are trips and hits that count less the older they are.
type fadedTrips struct{ n, k float64 }

// chancePrior is what is believed of the common chance m before any trip: a
// beta distribution with this mean, counted like so many trips.
type chancePrior struct{ mean, trips float64 }

// Beliefs before any trip: a drive brings something four times in five, and
// something of a load can be used 14 times in 15; κ between leastLikeness and
// mostLikeness, evenly in its logarithm. Common practice, no source.
var (
	bringsPrior = chancePrior{0.8, 4}
	usablePrior = chancePrior{0.93, 5}
)

const (
	leastLikeness = 3.0
	mostLikeness  = 100.0
)

// tally counts, for exact sums of logs, how many sources have more than j
// trips, hits and misses; sources with very many trips are kept apart.
type tally struct {
	trips, hits, misses [tallyMost]float64
	many                []seen
}

// tallyMost bounds the table of a tally.
const tallyMost = 64

func (t *tally) add(s seen) {
	if s.n > tallyMost {
		t.many = append(t.many, s)
		return
	}
	for j := range int(s.n) {
		t.trips[j]++
	}
	for j := range int(s.k) {
		t.hits[j]++
	}
	for j := range int(s.n - s.k) {
		t.misses[j]++
	}
}

// log is the log probability of the tally given m and κ:
// Π B(mκ+k, (1−m)κ+n−k)/B(mκ, (1−m)κ).
func (t *tally) log(m, kappa float64) float64 {
	a, b := m*kappa, (1-m)*kappa
	var sum float64
	for j := 0; j < tallyMost && t.trips[j] > 0; j++ {
		x := float64(j)
		sum += t.hits[j]*math.Log(a+x) + t.misses[j]*math.Log(b+x) - t.trips[j]*math.Log(kappa+x)
	}
	for _, s := range t.many {
		sum += rise(a, s.k) + rise(b, s.n-s.k) - rise(kappa, s.n)
	}
	return sum
}

// rise is log Γ(a+n) − log Γ(a).
func rise(a, n float64) float64 {
	high, _ := math.Lgamma(a + n)
	low, _ := math.Lgamma(a)
	return high - low
}

// axis is a row of even cells, each stood for by its middle, that can be drawn
// closer around where the mass lies.
type axis struct {
	low, high float64
	n         int
}

func (a axis) step() float64 { return (a.high - a.low) / float64(a.n) }

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

// layChances lays nodes over m and log κ, closer where few carry the mass.
func layChances(t *tally, prior chancePrior) chanceNodes {
	across := axis{0, 1, 14}
	along := axis{math.Log(leastLikeness), math.Log(mostLikeness), 7}
	a, b := prior.mean*prior.trips, (1-prior.mean)*prior.trips
	area := math.Log(across.high-across.low) + math.Log(along.high-along.low)
	for try := 0; ; try++ {
		var c chanceNodes
		sumM, sumK := make([]float64, across.n), make([]float64, along.n)
		for i := range across.n {
			m := across.at(i)
			log := (a-1)*math.Log(m) + (b-1)*math.Log(1-m)
			for j := range along.n {
				kappa := math.Exp(along.at(j))
				c.m, c.kappa = append(c.m, m), append(c.kappa, kappa)
				c.weight = append(c.weight, log+t.log(m, kappa))
			}
		}
		c.log = normalise(c.weight) + math.Log(across.high-across.low) + math.Log(along.high-along.low) - area
		for n, w := range c.weight {
			sumM[n/along.n] += w
			sumK[n%along.n] += w
		}
		var moreM, moreK bool
		across, moreM = across.closer(sumM)
		along, moreK = along.closer(sumK)
		if try == 4 || !moreM && !moreK {
			c.drop()
			return c
		}
	}
}

// drop leaves out nodes that carry next to nothing.
func (c *chanceNodes) drop() {
	kept := 0
	var sum float64
	for n, w := range c.weight {
		if w > 1e-5 {
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

// drives are the trips of all sources, source by source, oldest first.
type drives struct {
	start []int
	t     []float64 // years
	hit   []bool    // brought something
	kind  []int     // of each source
	kinds int
	today float64
}

// fitChances learns from d; byKind says that kinds may differ.
func fitChances(d *drives, prior chancePrior, byKind bool) *chances {
	c := &chances{seen: make([]seen, len(d.start)-1), kind: d.kind, steady: 1}
	var whole tally
	parts := make([]tally, d.kinds)
	for i := range c.seen {
		s := &c.seen[i]
		for j := d.start[i]; j < d.start[i+1]; j++ {
			s.n++
			if d.hit[j] {
				s.k++
			}
		}
		whole.add(*s)
		parts[d.kind[i]].add(*s)
	}
	c.book = layChances(&whole, prior)
	if byKind {
		nothing := layChances(&tally{}, prior).log // the integral of the prior alone
		log := nothing - c.book.log
		for k := range parts {
			c.kinds = append(c.kinds, layChances(&parts[k], prior))
			log += c.kinds[k].log - nothing
		}
		odds := math.Exp(math.Min(600, log)) * (1 - priorAlike) / priorAlike
		c.split = odds / (1 + odds)
	}
	c.addMemories(d)
	return c
}

// addMemories weighs each memory by how well it lets trips be foretold by those
// before them, at the heaviest nodes of the book, against no fading at all.
func (c *chances) addMemories(d *drives) {
	const tried = 3
	heavy := heaviest(c.book.weight, tried)
	still, phi := make([]float64, len(d.t)), make([]float64, len(d.t))
	for j := range still {
		still[j] = 1
	}
	base := c.foretold(d, heavy, still)
	c.fades = make([]float64, len(memories))
	for f, memory := range memories {
		for i := range c.seen {
			for j := d.start[i] + 1; j < d.start[i+1]; j++ {
				phi[j] = math.Exp(-(d.t[j] - d.t[j-1]) / memory)
			}
			c.seen[i].fade(d, i, memory, phi)
		}
		var weight, share float64
		for h, log := range c.foretold(d, heavy, phi) {
			w := c.book.weight[heavy[h]]
			weight += w * math.Exp(math.Min(600, log-base[h]))
			share += w
		}
		c.fades[f] = weight / share * (1 - priorSteady) / float64(len(memories))
	}
	sum := priorSteady
	for _, w := range c.fades {
		sum += w
	}
	c.steady = priorSteady / sum
	for f := range c.fades {
		c.fades[f] /= sum
	}
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
		a, kappa := c.book.m[node]*c.book.kappa[node], c.book.kappa[node]
		product := 1.0
		for i := range c.seen {
			var n, k float64
			for j := d.start[i]; j < d.start[i+1]; j++ {
				if j > d.start[i] {
					n, k = n*phi[j], k*phi[j]
				}
				p := (a + k) / (kappa + n)
				n++
				if d.hit[j] {
					k++
					product *= p
				} else {
					product *= 1 - p
				}
				if product < 1e-200 {
					logs[h] += math.Log(product)
					product = 1
				}
			}
		}
		logs[h] += math.Log(product)
	}
	return logs
}

// fade appends what the trips of source i weigh today under one memory.
func (s *seen) fade(d *drives, i int, memory float64, phi []float64) {
	var n, k float64
	last := d.today
	for j := d.start[i]; j < d.start[i+1]; j++ {
		if j > d.start[i] {
			n, k = n*phi[j], k*phi[j]
		}
		n++
		if d.hit[j] {
			k++
		}
		last = d.t[j]
	}
	left := math.Exp(-math.Max(0, d.today-last) / memory)
	s.faded = append(s.faded, fadedTrips{n * left, k * left})
}

// chance is the posterior of one source's chance of bringing something, by its
// first three moments, with what one more trip would resolve of its variance.
type chance struct{ p, p2, p3, resolves float64 }

// at returns the chance of source i.
func (c *chances) at(i int) chance {
	var all chance
	c.mix(&all, i, c.steady, c.seen[i].n, c.seen[i].k)
	for f, w := range c.fades {
		if w > 1e-4 {
			c.mix(&all, i, w, c.seen[i].faded[f].n, c.seen[i].faded[f].k)
		}
	}
	return all
}

// mix adds the mixture of beta distributions that the nodes give for n trips of
// which k brought something.
func (c *chances) mix(all *chance, i int, weight, n, k float64) {
	if c.split < 1 {
		c.book.mix(all, weight*(1-c.split), n, k)
	}
	if c.split > 0 {
		c.kinds[c.kind[i]].mix(all, weight*c.split, n, k)
	}
}

func (c *chanceNodes) mix(all *chance, weight, n, k float64) {
	for j, w := range c.weight {
		w *= weight
		total := c.kappa[j] + n
		a := c.m[j]*c.kappa[j] + k
		p := a / total
		p2 := p * (a + 1) / (total + 1)
		all.p += w * p
		all.p2 += w * p2
		all.p3 += w * p2 * (a + 2) / (total + 2)
		all.resolves += w / (total + 1)
	}
}

// variance is the posterior variance of the chance.
func (c chance) variance() float64 { return math.Max(0, c.p2-c.p*c.p) }
