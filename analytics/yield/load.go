package yield

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Load is one way in which a visit may end, with its chance. The chances of a
// stop's loads add up to 1, and their means are the stop's Volume, Value and
// ShopMinutes.
type Load struct {
	Chance      float64 `json:"chance"`
	Volume      float64 `json:"volume_m3"`
	Value       float64 `json:"value"` // of the wood less disposal, minor units
	ShopMinutes float64 `json:"shop_minutes"`
}

// checkLoads refuses loads that cannot be meant.
func checkLoads(loads []Load) bool {
	if len(loads) == 0 {
		return true
	}
	var sum float64
	for _, l := range loads {
		if !(l.Chance >= 0 && l.Volume >= 0 && l.ShopMinutes >= 0) || math.IsNaN(l.Value) || math.IsInf(l.Value+l.Volume+l.ShopMinutes, 0) {
			return false
		}
		sum += l.Chance
	}
	return math.Abs(sum-1) < 1e-6
}

// A round is judged by imagined days on which every stop has one of its loads: a
// mean load may fit where every second real one does not. The days are a rank-one
// lattice (Korobov 1959, Doklady Akademii Nauk SSSR 124:1207-1210) of a prime number of
// points, its generator searched for the smallest worst-case error P2 in ExactStops
// dimensions whose weights fall as 1, 1/2, 1/3. Nothing is drawn.
const (
	imaginedDays = 509
	dayGenerator = 129
)

// haulage is what a stop brings on one imagined day: volume in m³, and worth less
// shop hours in minor units.
type haulage struct{ volume, worth float64 }

// imagine lays out the days of some stops. Without loads there is one day, on which
// everything is as expected.
func (p *roundProblem) imagine(stops []int) [][]haulage {
	n := 1
	for _, i := range stops {
		if len(p.Stops[i].Loads) > 0 {
			n = imaginedDays
		}
	}
	days := make([][]haulage, n)
	for d := range days {
		days[d] = make([]haulage, len(stops))
	}
	step := 1
	for k, i := range stops {
		s := &p.Stops[i]
		for d := range days {
			days[d][k] = haulage{s.Volume, p.worth(s)}
			if len(s.Loads) > 0 {
				l := s.load((float64(d*step%n) + 0.5) / float64(n))
				days[d][k] = haulage{l.Volume, l.Value - p.Hour/60*l.ShopMinutes}
			}
		}
		step = step * dayGenerator % imaginedDays
	}
	return days
}

// load returns the load at the probability u, in the order given.
func (s *Stop) load(u float64) Load {
	for _, l := range s.Loads {
		if u -= l.Chance; u < 0 {
			return l
		}
	}
	return s.Loads[len(s.Loads)-1]
}

// loading puts the wood of one day into the vehicle, the dearest first.
type loading struct {
	day   []haulage
	order []int // of the stops, by worth per m³
	room  float64
}

// loadingOf sorts a day once for all sets of stops.
func loadingOf(day []haulage, room float64) loading {
	order := make([]int, len(day))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(day[b].dearness(), day[a].dearness()) })
	return loading{day, order, room}
}

// dearness is the worth per m³; what takes no room comes first.
func (h haulage) dearness() float64 {
	if h.volume <= 0 {
		return math.Inf(1)
	}
	return h.worth / h.volume
}

// fill calls take for each stop of a set with the share of its load for which there
// is room. That is the best that can be done: a knapsack whose goods may be cut
// (Dantzig 1957, Operations Research 5:266-277).
func (l *loading) fill(set int, take func(stop int, share float64)) {
	room := l.room
	for _, k := range l.order {
		if set&(1<<k) == 0 {
			continue
		}
		share := 1.0
		if v := l.day[k].volume; l.room > 0 && v > 0 {
			share = min(1, room/v)
			room -= share * v
		}
		take(k, share)
	}
}

// lost is what stays behind, in money, on a mean day, for every set of stops. The
// dearest load goes in first, so the sets of the j dearest stops have each been filled
// when the next one comes: 2ⁿ steps a day.
func (p *roundProblem) lost(days [][]haulage, stops int) []float64 {
	lost := make([]float64, 1<<stops)
	if p.Vehicle == 0 {
		return lost
	}
	room, left, set := make([]float64, 1<<stops), make([]float64, 1<<stops), make([]int, 1<<stops)
	room[0] = p.Vehicle
	for _, day := range days {
		for j, k := range loadingOf(day, p.Vehicle).order {
			h, bit := day[k], 1<<j
			for s := range bit {
				in := min(room[s], h.volume)
				room[s|bit], left[s|bit], set[s|bit] = room[s]-in, left[s], set[s]|1<<k
				if in < h.volume {
					left[s|bit] += h.worth * (1 - in/h.volume)
				}
			}
		}
		for s, money := range left {
			lost[set[s]] += money / float64(len(days))
		}
	}
	return lost
}

// nets are the nets of a set on every imagined day, moved to have the given mean.
func (t *tours) nets(set int, mean float64) []float64 {
	nets := make([]float64, len(t.days))
	var sum float64
	for d, day := range t.days {
		l := loadingOf(day, t.p.Vehicle)
		l.fill(set, func(k int, share float64) { nets[d] += share * day[k].worth })
		sum += nets[d] / float64(len(nets))
	}
	for d := range nets {
		nets[d] += mean - sum
	}
	return nets
}

// shares are the mean shares of each load for which there is room.
func (t *tours) shares(set int) (shares, volumes []float64) {
	shares, volumes = make([]float64, len(t.candidates)), make([]float64, len(t.candidates))
	n := float64(len(t.days))
	for _, day := range t.days {
		l := loadingOf(day, t.p.Vehicle)
		l.fill(set, func(k int, share float64) {
			shares[k] += share / n
			volumes[k] += share * day[k].volume / n
		})
	}
	return shares, volumes
}

// spread is the forecast of the difference between the nets of two sets of stops,
// the empty one being staying home. Stops that are on both differ by what there is
// room for alone. Where a stop is known by its moments and not by its loads, the whole
// is.
func (t *tours) spread(set, less int, mean float64) Spread {
	nets, others := t.nets(set, 0), t.nets(less, 0)
	var variance, third float64
	mine, _ := t.shares(set)
	theirs, _ := t.shares(less)
	for k, i := range t.candidates {
		if s := &t.p.Stops[i]; len(s.Loads) == 0 {
			sd := (mine[k] - theirs[k]) * s.SD
			variance += sd * sd
			third += sd * sd * sd * s.Skew
		}
	}
	for d := range nets {
		nets[d] -= others[d]
	}
	if variance == 0 {
		return ofSample(nets, mean)
	}
	n := float64(len(nets))
	for _, x := range nets {
		variance += x * x / n
		third += x * x * x / n
	}
	return newSkewed(mean, variance, third/(variance*math.Sqrt(variance))).spread(mean, variance)
}

// ofSample sums equally likely deviations from a mean up; it sorts them.
func ofSample(deviations []float64, mean float64) Spread {
	slices.Sort(deviations)
	x := sample(deviations)
	var square float64
	for _, d := range deviations {
		square += d * d / float64(len(deviations))
	}
	around := func(b Bounds) Bounds { return Bounds{mean + b.Low, mean + b.High} }
	return Spread{Mean: mean, SD: math.Sqrt(square), Median: mean + x.at(0.5), Half: around(x.interval(0.5)), Most: around(x.interval(0.9))}
}

// sample is equally likely values, rising.
type sample []float64

// at is the q-quantile, linear between order statistics (R type 7).
func (x sample) at(q float64) float64 {
	h := q * float64(len(x)-1)
	i := min(int(h), len(x)-1)
	next := min(i+1, len(x)-1)
	return x[i] + (h-float64(i))*(x[next]-x[i])
}

// interval holds the given share as forecast.interval does: where many equal values,
// such as empty drives, fill one tail, the other takes what is left.
func (x sample) interval(hold float64) Bounds {
	low, high := (1-hold)/2, (1+hold)/2
	b := Bounds{x.at(low), x.at(high)}
	under, _, lowAtom := x.atom(b.Low)
	_, over, highAtom := x.atom(b.High)
	switch {
	case lowAtom && highAtom: // nothing else is likely enough
	case lowAtom:
		b.High = x.at(min(1, under+hold))
	case highAtom:
		b.Low = x.at(max(0, over-hold))
	}
	return b
}

// atom returns the shares of values below v and of values no more than v, and whether
// so many are equal to v that it has a probability of its own.
func (x sample) atom(v float64) (under, upTo float64, ok bool) {
	const least = 0.02
	equal := 1e-9 * (x[len(x)-1] - x[0])
	first, _ := slices.BinarySearch(x, v-equal)
	last, _ := slices.BinarySearch(x, v+equal)
	for last < len(x) && x[last] <= v+equal {
		last++
	}
	n := float64(len(x))
	return float64(first) / n, float64(last) / n, float64(last-first)/n >= least
}

// errLoads says what is wrong with loads.
func errLoads(i int, id string) error {
	return fmt.Errorf("%w: loads of stop %d (%q): give finite figures, zero or more for all but the value, and chances that add up to 1", ErrRound, i+1, id)
}
