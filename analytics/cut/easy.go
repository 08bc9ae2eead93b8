package cut

import (
	"cmp"
	"math"
	"slices"
)

// easyBound bounds the worth of a plan without solving anything: by all that
// is wanted and by the area there is, or that it takes.
func (p *problem) easyBound() float64 {
	all, dense := 0.0, 0.0
	for _, it := range p.items {
		all += it.worth * float64(it.want)
		dense = max(dense, it.worth/(float64(it.l)*float64(it.w)))
	}
	if p.in.Objective == MinBoardCost {
		return all - p.leastCost()
	}
	return min(all, dense*p.area())
}

// area returns the boards' area, in square ticks.
func (p *problem) area() float64 {
	area := 0.0
	for _, k := range p.kinds {
		area += float64(k.L) * float64(k.W) * float64(k.count)
	}
	return area
}

// mostValue bounds the value of any plan, complete or not.
func (p *problem) mostValue() float64 {
	all, dense := 0.0, 0.0
	for _, part := range p.in.Parts {
		all += float64(part.Value) * float64(part.Max)
		dense = max(dense, float64(part.Value)/(float64(part.Length)*float64(part.Width)))
	}
	return math.Ceil(min(all, dense*p.area()))
}

// leastCost bounds from below what a plan loses in boards and in copies not
// made: as if wood could be had by the area, from the boards that are cheapest
// by it. It is 0 where leaving out a copy may save more than it loses.
func (p *problem) leastCost() float64 {
	kinds := slices.Clone(p.kinds)
	rate := func(k kind) float64 { return k.cost / (float64(k.L) * float64(k.W)) }
	slices.SortStableFunc(kinds, func(a, b kind) int { return cmp.Compare(rate(a), rate(b)) })
	dearest, need := 0.0, 0.0
	if len(kinds) > 0 {
		dearest = rate(kinds[len(kinds)-1])
	}
	for _, it := range p.items {
		area := float64(it.l) * float64(it.w)
		if it.worth < area*dearest {
			return 0
		}
		need += area * float64(it.want)
	}
	cost := 0.0
	for _, k := range kinds {
		take := min(need, float64(k.L)*float64(k.W)*float64(k.count))
		cost += rate(k) * take
		need -= take
	}
	return cost
}
