package yield

import "math"

// chances is the part that says whether a trip brings anything at all: of source
// i, k of n trips did, k ~ Binomial(n, p), p ~ Beta(mκ, (1−m)κ). The common chance
// m and the likeness κ of the sources are integrated on nodes, once with one m for
// the whole book and once with one for each kind; the two are averaged by their
// evidence. A miss that is not quite sure yet counts by a part of a trip: its chance
// is raised to that power, and it adds that part to n. Where sources change, a trip
// counts less the older it is; that is tried by how well each trip was foretold by those
// before it.
type chances struct {
	seen   []seen        // of each source
	kind   []int         // of each source
	book   chanceNodes   // one m for all
	kinds  []chanceNodes // one for each kind
	split  float64       // weight of the kinds
	steady float64       // probability that sources do not change
	fades  []float64     // weight of each entry of memories
	still  []chance      // of each source where sources do not change
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
	faded [len(memories)]fadedTrips
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

// drives are the trips of all sources, source by source, oldest first.
type drives struct {
	start []int
	t     []float64 // years
	hit   []bool    // brought something
	w     []float64 // 0 to 1: by how much it counts, 1 for every hit
	kind  []int     // of each source
	kinds int
	today float64
}

// fitChances learns from d; byKind says that kinds may differ. Whether they do is
// then decided by the evidence: the book with one m for all against each kind with
// one of its own, where a kind with few trips is held back by the breadth of its
// prior.
func fitChances(d *drives, prior chancePrior, byKind bool) *chances {
	c := &chances{seen: make([]seen, len(d.start)-1), kind: d.kind, steady: 1}
	var whole tally
	parts := make([]tally, d.kinds)
	for i := range c.seen {
		s := &c.seen[i]
		for j := d.start[i]; j < d.start[i+1]; j++ {
			s.n += d.w[j]
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
	c.addMemories(d, &whole)
	c.rest()
	return c
}

// rest works out the chance of each source where sources do not change. Counts are
// mostly small whole numbers, so that many sources share one answer.
func (c *chances) rest() {
	type key struct {
		n, k float64
		kind int
	}
	known := make(map[key]chance)
	c.still = make([]chance, len(c.seen))
	for i := range c.seen {
		s := &c.seen[i]
		at := key{s.n, s.k, c.kind[i]}
		p, ok := known[at]
		if !ok {
			c.add(&p, i, c.steady, fadedTrips{s.n, s.k})
			known[at] = p
		}
		c.still[i] = p
	}
}

// chance is the posterior of one source's chance of bringing something, by its
// first three moments, with the share of its variance that one more trip would
// resolve: 1/(total+1) of that of a beta distribution of total trips.
type chance struct{ p, p2, p3, resolves float64 }

// at returns the chance of source i. The common chance is taken from the nodes of
// sources that do not change: it hardly depends on how single sources drift.
func (c *chances) at(i int) chance {
	all := c.still[i]
	for f, w := range c.fades {
		c.add(&all, i, w, c.seen[i].faded[f])
	}
	return all
}

// add adds what the nodes of the book and of the kind of source i say of trips.
func (c *chances) add(all *chance, i int, weight float64, trips fadedTrips) {
	if weight < 1e-4 {
		return
	}
	all.add(&c.book, weight*(1-c.split), trips)
	if c.split > 0 {
		all.add(&c.kinds[c.kind[i]], weight*c.split, trips)
	}
}

// add adds the mixture of beta distributions that the nodes give for the trips: at
// each node Beta(mκ+k, (1−m)κ+n−k).
func (all *chance) add(c *chanceNodes, weight float64, trips fadedTrips) {
	if weight == 0 {
		return
	}
	var sum chance
	for j, w := range c.weight {
		total := c.kappa[j] + trips.n
		a := c.m[j]*c.kappa[j] + trips.k
		// The four are fractions of one denominator: dividing takes longer than the rest.
		first, second := total*(total+1), total+2
		part := w / (first * second)
		sum.p += part * second * (total + 1) * a
		sum.p2 += part * second * a * (a + 1)
		sum.p3 += part * a * (a + 1) * (a + 2)
		sum.resolves += part * second * total
	}
	all.p += weight * sum.p
	all.p2 += weight * sum.p2
	all.p3 += weight * sum.p3
	all.resolves += weight * sum.resolves
}

// variance is the posterior variance of the chance.
func (c chance) variance() float64 { return math.Max(0, c.p2-c.p*c.p) }
