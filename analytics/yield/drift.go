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
	for _, memory := range memories {
		for _, n := range heavy {
			s := f.sumsOf(n.ratio, memory)
			gain := f.logWeight(s) - f.logWeight(n.sums)
			prior := n.weight / share * (1 - priorSteady) / float64(len(memories))
			logs = append(logs, math.Log(prior)+gain)
			f.nodes = append(f.nodes, node{ratio: n.ratio, memory: memory, sums: s})
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
	f.logWeights = make([]float64, d.sources())
	for i := range f.logWeights {
		for j := d.start[i]; j < d.start[i+1]; j++ {
			d.v[j] = 1 / d.w[j]
			f.logWeights[i] += math.Log(d.w[j])
		}
	}
	f.kept = make(map[float64][]float64, len(memories))
	for _, memory := range memories {
		f.kept[memory] = d.kept(memory)
	}
}

// sumsOf adds up the sums of all sources for one ratio and a memory that ends.
func (f *tier) sumsOf(ratio, memory float64) sums {
	s := sums{a: make([]float64, f.data.kinds), b: make([]float64, f.data.kinds)}
	kept := f.kept[memory]
	for i := range f.data.sources() {
		f.filter(i, ratio, kept, &s)
	}
	return s
}

// kept returns what a memory keeps of the deviation of the trip before at each
// trip, and at the end, for each source, what it keeps of its last trip today.
func (s *series) kept(memory float64) []float64 {
	phi := make([]float64, len(s.y)+s.sources())
	for i := range s.sources() {
		from, to := s.start[i], s.start[i+1]
		if from == to {
			continue
		}
		for j := from + 1; j < to; j++ {
			phi[j] = math.Exp(-(s.t[j] - s.t[j-1]) / memory)
		}
		phi[len(s.y)+i] = math.Exp(-math.Max(0, s.today-s.t[to-1]) / memory)
	}
	return phi
}

// filter runs over the trips of source i, adds to s where it is given, and
// returns the state of today; kept is that of the memory. Two series go through one
// filter: the values, and ones in their place, whose share of the state is what the
// mean of the kind contributes; that keeps the mean out of the filter, so it can be
// integrated afterwards. The level starts at its stationary variance λ = ratio²: a
// long gap forgets all, and no memory changes what is predicted of a place not seen.
func (f *tier) filter(i int, ratio float64, kept []float64, s *sums) filtered {
	lambda := ratio * ratio
	state := filtered{p: lambda}
	var a, b, c, logDet float64
	product := 1.0
	d := f.data
	from, to := d.start[i], d.start[i+1]
	for j := from; j < to; j++ {
		if j > from {
			state.fade(kept[j], lambda)
		}
		// Innovations of both series and their common variance; a, b and c collect
		// 1'V⁻¹1, 1'V⁻¹y and y'V⁻¹y without ever forming V.
		total := state.p + d.v[j]
		y, one := d.y[j]-f.prior.mean-state.y, 1-state.one
		inverse := 1 / total
		a += one * one * inverse
		b += one * y * inverse
		c += y * y * inverse
		product *= total
		if product > 1e200 {
			logDet += math.Log(product)
			product = 1
		}
		gain := state.p * inverse
		state.y += gain * y
		state.one += gain * one
		state.p -= gain * state.p
	}
	if s != nil {
		s.a[d.kind[i]] += a
		s.b[d.kind[i]] += b
		s.c += c
		s.logDet += logDet + math.Log(product) + f.logWeights[i] // the still sums leave out Σ log(1/w)
	}
	if from < to {
		state.fade(kept[len(d.y)+i], lambda)
	}
	return state
}

// fade lets time pass in which the level keeps the share phi of its deviation.
func (s *filtered) fade(phi, lambda float64) {
	s.y *= phi
	s.one *= phi
	s.p = phi*phi*s.p + (1-phi*phi)*lambda
}

// rest is the filter where nothing fades: the trips of a source are then all alike
// and their sums suffice. It returns the state of today where sources do not change.
func (t still) rest(ratio float64) filtered {
	lambda := ratio * ratio
	d := 1 / (1 + lambda*t.w)
	return filtered{y: lambda * t.wy * d, one: lambda * t.w * d, p: lambda * d}
}
