package yield

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// tours are the shortest ways round every subset of some candidates, with what the
// vehicle brings home from them.
type tours struct {
	p          *roundProblem
	candidates []int
	last       [][]float64 // [set][candidate]: shortest way from home through set, ending there
	length     []float64   // [set]: shortest way round, home again
	days       [][]haulage // [day][candidate]
	lost       []float64   // [set]: worth of what there is no room for, on a mean day
}

// tours fills the table of Held and Karp 1962: 2ⁿ·n² steps.
func (p *roundProblem) tours(candidates []int) *tours {
	n := len(candidates)
	t := &tours{p: p, candidates: candidates, last: make([][]float64, 1<<n), length: make([]float64, 1<<n)}
	for set := 1; set < 1<<n; set++ {
		t.last[set] = make([]float64, n)
		t.length[set] = math.Inf(1)
		for a := range n {
			t.last[set][a] = math.Inf(1)
			if set&(1<<a) == 0 {
				continue
			}
			// The shortest way that ends at a comes from the shortest way round the others
			// that ends anywhere else.
			i := candidates[a] + 1
			if rest := set &^ (1 << a); rest == 0 {
				t.last[set][a] = p.miles[0][i]
			} else {
				for b := range n {
					if rest&(1<<b) != 0 {
						t.last[set][a] = math.Min(t.last[set][a], t.last[rest][b]+p.miles[candidates[b]+1][i])
					}
				}
			}
			t.length[set] = math.Min(t.length[set], t.last[set][a]+p.miles[i][0])
		}
	}
	t.days = p.imagine(candidates)
	t.lost = p.lost(t.days, n)
	return t
}

// net is what a set of stops is expected to net by the shortest way round, the
// empty one what staying home is worth.
func (t *tours) net(set int) float64 {
	if set == 0 {
		return t.p.Stay
	}
	members := t.members(set)
	sum := -t.p.Mile*t.length[set] - t.p.Hour/60*t.p.minutes(members, t.length[set]) - t.lost[set]
	for _, i := range members {
		s := &t.p.Stops[i]
		sum += t.p.worth(s) - s.Cash
	}
	return sum
}

// best goes through all sets once. Time and money both rise with the length of the
// way, so of each set only the shortest way need be looked at. It returns the set without the forbidden ones that nets most in the time
// given; the empty set is staying home. Of equals the one with fewer stops wins.
func (t *tours) best(forbidden int) int {
	best, top := 0, t.p.Stay
	for set := 1; set < len(t.length); set++ {
		if set&forbidden != 0 {
			continue
		}
		if t.p.minutes(t.members(set), t.length[set]) > t.p.Hours*60*(1+1e-12) {
			continue
		}
		net := t.net(set)
		if net > top+1e-9 || net > top-1e-9 && bits.OnesCount(uint(set)) < bits.OnesCount(uint(best)) {
			best, top = set, net
		}
	}
	return best
}

// members returns the stops of a set.
func (t *tours) members(set int) []int {
	stops := make([]int, 0, bits.OnesCount(uint(set)))
	for b, i := range t.candidates {
		if set&(1<<b) != 0 {
			stops = append(stops, i)
		}
	}
	return stops
}

// order returns the stops of a set in the order of the shortest way.
func (t *tours) order(set int) []int {
	// From home backwards: the stop before the next is the one from which the whole
	// way so far is shortest.
	var backwards []int
	next := 0 // place in miles: home
	for set != 0 {
		best, least := -1, math.Inf(1)
		for a, i := range t.candidates {
			if set&(1<<a) == 0 {
				continue
			}
			if d := t.last[set][a] + t.p.miles[i+1][next]; d < least {
				best, least = a, d
			}
		}
		backwards = append(backwards, t.candidates[best])
		next = t.candidates[best] + 1
		set &^= 1 << best
	}
	slices.Reverse(backwards)
	return backwards
}

// minutes is the time a round over stops of the given length takes.
func (p *roundProblem) minutes(stops []int, miles float64) float64 {
	sum := miles / p.Speed * 60
	for _, i := range stops {
		sum += p.Stops[i].Minutes
	}
	return sum
}

// net is what a round over stops of the given length nets if every load is as
// expected: good enough to choose candidates by.
func (p *roundProblem) net(stops []int, miles float64) float64 {
	sum := -p.Mile*miles - p.Hour/60*p.minutes(stops, miles)
	for k, taken := range p.taken(stops) {
		s := &p.Stops[stops[k]]
		sum += taken*p.worth(s) - s.Cash
	}
	return sum
}

// worth is the value of a stop's whole load less the shop hours it takes: what
// leaving it behind would lose and save.
func (p *roundProblem) worth(s *Stop) float64 { return s.Value - p.Hour/60*s.ShopMinutes }

// taken fills the vehicle like a knapsack that may be cut: what is worth most per m³
// goes in whole, the last load in part. That is the best plan for expected loads; on
// the day, what lies there decides. It returns the share of each stop's load for which there is room, the
// dearest wood first.
func (p *roundProblem) taken(stops []int) []float64 {
	share := make([]float64, len(stops))
	var sum float64
	for k, i := range stops {
		share[k] = 1
		sum += p.Stops[i].Volume
	}
	if p.Vehicle == 0 || sum <= p.Vehicle {
		return share
	}
	order := make([]int, len(stops))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := &p.Stops[stops[a]], &p.Stops[stops[b]]
		return cmp.Compare(haulage{y.Volume, p.worth(y)}.dearness(), haulage{x.Volume, p.worth(x)}.dearness())
	})
	room := p.Vehicle
	for _, k := range order {
		if v := p.Stops[stops[k]].Volume; v > 0 {
			share[k] = min(1, room/v)
			room -= share[k] * v
		}
	}
	return share
}

// plan describes the round over a set of stops.
func (t *tours) plan(set int) *RoundPlan {
	p, order := t.p, t.order(set)
	plan := &RoundPlan{Stops: make([]RoundStop, 0, len(order))}
	if set == 0 {
		plan.Net = Spread{Mean: p.Stay, Median: p.Stay, Half: Bounds{p.Stay, p.Stay}, Most: Bounds{p.Stay, p.Stay}}
		return plan
	}
	_, volumes := t.shares(set)
	at := 0
	for _, i := range order {
		leg := p.miles[at][i+1]
		load := volumes[slices.Index(t.candidates, i)]
		plan.Stops = append(plan.Stops, RoundStop{ID: p.Stops[i].ID, Index: i, Miles: leg, Load: load})
		plan.Miles += leg
		plan.Volume += load
		at = i + 1
	}
	plan.Miles += p.miles[at][0]
	plan.Minutes = p.minutes(order, plan.Miles)
	plan.Net = t.spread(set, 0, t.net(set))
	return plan
}

// candidates cannot promise that the best round is among them, which is why such a
// plan is not called exact. It chooses ExactStops of many stops: a round is grown by the insertion
// that adds most, then single stops are dropped and exchanged while that helps; what
// is in it is joined by the stops that would be worth most on their own.
func (p *roundProblem) candidates() []int {
	round := p.grow(nil)
	for improved := true; improved; {
		improved = false
		for k := range round {
			less := slices.Delete(slices.Clone(round), k, k+1)
			if other := p.grow(less); p.value(other) > p.value(round)+1e-9 {
				round, improved = other, true
				break
			}
		}
	}
	chosen := slices.Clone(round)
	rest := make([]int, 0, len(p.Stops))
	for i := range p.Stops {
		if !slices.Contains(round, i) {
			rest = append(rest, i)
		}
	}
	slices.SortStableFunc(rest, func(a, b int) int { return cmp.Compare(p.value([]int{b}), p.value([]int{a})) })
	chosen = append(chosen, rest...)
	return chosen[:ExactStops]
}

// value is the net of a round in the given order, minus infinity where the hours do
// not suffice; the local search has no table of tours to ask.
func (p *roundProblem) value(order []int) float64 {
	miles, at := 0.0, 0
	for _, i := range order {
		miles += p.miles[at][i+1]
		at = i + 1
	}
	miles += p.miles[at][0]
	if p.minutes(order, miles) > p.Hours*60*(1+1e-12) {
		return math.Inf(-1)
	}
	return p.net(order, miles)
}

// grow is greedy, but each stop may go anywhere into the round, so the order is
// mended on the way. It inserts stops where they add most until none adds anything or the round
// has ExactStops stops.
func (p *roundProblem) grow(order []int) []int {
	for len(order) < ExactStops {
		now := p.value(order)
		if len(order) == 0 {
			now = 0
		}
		var best []int
		top := now + 1e-9
		for i := range p.Stops {
			if slices.Contains(order, i) {
				continue
			}
			for k := 0; k <= len(order); k++ {
				longer := slices.Insert(slices.Clone(order), k, i)
				if v := p.value(longer); v > top {
					best, top = longer, v
				}
			}
		}
		if best == nil {
			return order
		}
		order = best
	}
	return order
}
