package yield

import "math"

// Ratios τ/σ from smallest to largest are laid evenly in their logarithm.
const smallestRatio, largestRatio = 0.03, 8

// layRatios lays nodes over τ/σ: first over the whole range, then closer where
// few of them carry the mass. A dozen trips leave τ/σ open over a decade, twenty
// thousand fix it to a percent; both end with at least seven nodes that matter. Nodes
// beyond 7 in the logarithm weigh less than a thousandth of the heaviest.
func (f *tier) layRatios() {
	low, high := math.Log(smallestRatio), math.Log(largestRatio)
	for range 4 {
		const nodes = 15
		f.nodes = make([]node, nodes)
		logs := make([]float64, nodes)
		step := (high - low) / (nodes - 1)
		top := math.Inf(-1)
		for i := range f.nodes {
			ratio := math.Exp(low + float64(i)*step)
			f.nodes[i] = node{ratio: ratio, sums: f.stillSums(ratio)}
			logs[i] = f.logWeight(f.nodes[i].sums) + f.logRatio(ratio)
			top = math.Max(top, logs[i])
		}
		first, last := 0, nodes-1
		for logs[first] < top-7 {
			first++
		}
		for logs[last] < top-7 {
			last--
		}
		low, high = low+float64(max(0, first-1))*step, low+float64(min(nodes-1, last+1))*step
		normalise(logs)
		for i := range f.nodes {
			f.nodes[i].weight = logs[i]
		}
		if last-first >= 6 {
			break
		}
	}
}

// logRatio is the log prior density of τ/σ per unit of its logarithm, as the nodes
// are even in that; hence the factor r. Half-t: most sources of a kind are more alike
// than one source's trips, but the tail stays open for places that are not.
func (f *tier) logRatio(r float64) float64 {
	x := r / f.prior.ratio
	return math.Log(r) - (priorTails+1)/2*math.Log1p(x*x/priorTails)
}

// prune drops nodes that carry next to nothing and scales the rest to sum 1.
func prune(nodes []node) []node {
	kept := nodes[:0]
	var sum float64
	for _, n := range nodes {
		if n.weight > 1e-3 {
			kept = append(kept, n)
			sum += n.weight
		}
	}
	for i := range kept {
		kept[i].weight /= sum
	}
	return kept
}
