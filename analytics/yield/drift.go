package yield

import (
	"cmp"
	"math"
	"slices"
)

// filtered is what a filter over the trips of one source leaves: the level of
// today is y + (1−one)·m with m the mean of its kind, and variance p·σ² on top of
// that of m.
type filtered struct{ y, one, p float64 }

// memoryNodes is how many ratios a memory is tried at: the heaviest.
const memoryNodes = 3

// addMemories shares the weight out between sources that do not change and each
// memory. The evidence for a memory is taken at the heaviest ratios only, where
// nearly all of the likelihood lies, because a filter has to visit every trip.
func (f *tier) addMemories() {
	heavy := slices.Clone(f.nodes)
	slices.SortStableFunc(heavy, func(a, b node) int { return cmp.Compare(b.weight, a.weight) })
	heavy = heavy[:min(memoryNodes, len(heavy))]
	var share float64
	for _, n := range heavy {
		share += n.weight
	}
	f.plain = heavy[0]
	f.finish(&f.plain)
	f.prepareFilter()
	// Logs, because the evidence of a large book can be beyond any float.
	logs := make([]float64, len(f.nodes), len(f.nodes)+len(memories)*len(heavy))
	for i, n := range f.nodes {
		logs[i] = math.Log(priorSteady * n.weight)
	}
	steady := len(logs)
	const hopeless = -25 // log evidence; neighbouring ratios are no e²⁵ apart
	kept := newKeeping(f.data.start, f.data.t, f.data.today)
	for m, memory := range memories {
		if m > 0 {
			kept.shorten()
		}
		for _, n := range heavy {
			tried := f.fading(n.ratio, memory, kept)
			gain := f.logWeight(tried.sums) - f.logWeight(n.sums)
			prior := n.weight / share * (1 - priorSteady) / float64(len(memories))
			logs = append(logs, math.Log(prior)+gain)
			f.nodes = append(f.nodes, tried)
			if gain < hopeless {
				break
			}
		}
	}
	normalise(logs)
	f.steady = 0
	for i, w := range logs {
		f.nodes[i].weight = w
		if i < steady {
			f.steady += w
		}
	}
	f.nodes = prune(f.nodes)
}

// prepareFilter works out what the filters of all nodes share.
func (f *tier) prepareFilter() {
	d := f.data
	d.v = make([]float64, len(d.w))
	weights := newProduct()
	for j, w := range d.w {
		d.v[j] = 1 / w
		weights.times(w)
	}
	f.logWeights = weights.sum()
}

// fading lays the node of one ratio and of a memory that ends; kept is what it keeps.
func (f *tier) fading(ratio, memory float64, kept *keeping) node {
	n := node{ratio: ratio, memory: memory, now: make([]filtered, f.data.sources())}
	n.sums = sums{a: make([]float64, f.data.kinds), b: make([]float64, f.data.kinds), logDet: f.logWeights}
	for i := range n.now {
		n.now[i] = f.filter(i, ratio, kept, &n.sums)
	}
	return n
}

// filter runs over the trips of source i, adds to s, and returns the state of
// today; kept is that of the memory. Two series go through one
// filter: the values, and ones in their place, whose share of the state is what the
// mean of the kind contributes; that keeps the mean out of the filter, so it can be
// integrated afterwards. The level starts at its stationary variance λ = ratio²: a
// long gap forgets all, and no memory changes what is predicted of a place not seen.
func (f *tier) filter(i int, ratio float64, kept *keeping, s *sums) filtered {
	d := f.data
	from, to := d.start[i], d.start[i+1]
	state := filtering{top: ratio * ratio, det: 1, lambda: ratio * ratio}
	if from == to {
		return state.now()
	}
	var a, b, c, logDet float64
	for j := from; j < to; j++ {
		if j > from {
			state.fade(kept.trip[j])
		}
		// Innovations of both series and their common variance; a, b and c collect
		// 1'V⁻¹1, 1'V⁻¹y and y'V⁻¹y without ever forming V.
		y, one := d.y[j]-f.prior.mean-state.y, 1-state.one
		precision := state.see(y, one, d.v[j])
		a += one * one * precision
		b += one * y * precision
		c += y * y * precision
		if state.det > productHigh || state.det < productLow {
			logDet += math.Log(state.det)
			state.top, state.det = state.top/state.det, 1
		}
	}
	s.a[d.kind[i]] += a
	s.b[d.kind[i]] += b
	s.c += c
	s.logDet += logDet + math.Log(state.det)
	state.fade(kept.today[i])
	return state.now()
}

// filtering is a filter at work. Its variance is kept as a fraction top/det whose
// denominator is the product of the variances of all innovations so far, the
// determinant of V: so each step need not wait for the division of the one before.
type filtering struct {
	y, one, top, det float64
	lambda           float64
}

// see takes in a trip with the innovations y and one and the error variance v, and
// returns one over the variance of the innovations, top/det + v.
func (s *filtering) see(y, one, v float64) (precision float64) {
	next := s.top + v*s.det
	per := 1 / next
	gain := s.top * per
	precision = s.det * per
	s.y += gain * y
	s.one += gain * one
	s.top *= v
	s.det = next
	return precision
}

// fade lets time pass in which the level keeps the share phi of its deviation.
func (s *filtering) fade(phi float64) {
	s.y *= phi
	s.one *= phi
	s.top = phi*phi*s.top + (1-phi*phi)*s.lambda*s.det
}

// now returns the state that has been reached.
func (s *filtering) now() filtered { return filtered{s.y, s.one, s.top / s.det} }

// rest is the filter where nothing fades: the trips of a source are then all alike
// and their sums suffice. It returns the state of today where sources do not change.
func (t still) rest(ratio float64) filtered {
	lambda := ratio * ratio
	d := 1 / (1 + lambda*t.w)
	return filtered{y: lambda * t.wy * d, one: lambda * t.w * d, p: lambda * d}
}
