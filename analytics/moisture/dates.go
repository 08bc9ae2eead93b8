package moisture

import (
	"fmt"
	"math"
	"time"
)

// State says in one word how a stack stands to its target.
type State string

// The states of ReadyDates.
const (
	// StateReached: more likely than not the target is already reached.
	StateReached State = "reached"
	// StateDates: all three dates are known.
	StateDates State = "dates"
	// StateOpen: the stack will likely get there, but in air this close to the
	// target no date makes it almost sure.
	StateOpen State = "open"
	// StateNever: in this air the target is likely never reached.
	StateNever State = "never"
)

// The probabilities of the three dates: together they bound an 80 % interval.
const (
	notBeforeP = 0.10
	likelyP    = 0.50
	byP        = 0.90
)

// ReadyDates are the days on which the stack reaches its target, as a whole:
// with probability 10 % before NotBefore, 50 % before Likely and 90 % before
// By. A zero time means that there is no such day within ten years.
type ReadyDates struct {
	State                 State
	Target                float64
	NotBefore, Likely, By time.Time
	// PNever is the probability that the target is not reached within ten
	// years in this air.
	PNever float64
	// Text says the same in a sentence.
	Text string
}

// Ready returns when the stack's mean moisture reaches target, percent: the
// posterior integrated over its grid, not a symmetric error about one date.
// The air stays as the climate has it; wet spells to come are not assumed. A
// target outside 0 to 400 is ErrPercent.
func (p *Posterior) Ready(target float64) (ReadyDates, error) {
	if !(target >= 0 && target <= maxPercent) {
		return ReadyDates{}, bad("target", target, ErrPercent, "give percent of oven-dry mass, 12 for most woodenware")
	}
	c := p.crossing(target, 0)
	out := ReadyDates{Target: target, PNever: max(0, 1-c.most())}
	// The quantiles of one distribution, so they are in order by themselves.
	days := [3]float64{c.quantile(notBeforeP), c.quantile(likelyP), c.quantile(byP)}
	for i, to := range []*time.Time{&out.NotBefore, &out.Likely, &out.By} {
		if !math.IsInf(days[i], 1) {
			*to = p.timeOf(days[i])
		}
	}
	switch {
	case math.IsInf(days[1], 1):
		out.State = StateNever
	case days[1] <= p.dayOf(p.Last):
		out.State = StateReached
	case math.IsInf(days[2], 1):
		out.State = StateOpen
	default:
		out.State = StateDates
	}
	out.Text = out.words(p.climate.Lowest() + p.EMCShift.Mean)
	return out, nil
}

// words is the sentence a page shows.
func (d ReadyDates) words(lowest float64) string {
	const day = "2 January 2006"
	switch d.State {
	case StateNever:
		return fmt.Sprintf("Never at this humidity: the air holds the wood at %.1f %% or more and the target is %.1f %%. Bring it under a roof.",
			lowest, d.Target)
	case StateReached:
		return fmt.Sprintf("Likely at %.1f %% since %s.", d.Target, d.Likely.Format(day))
	case StateOpen:
		return fmt.Sprintf("Not before %s, likely by %s; with the air this close to %.1f %% no day is sure.",
			d.NotBefore.Format(day), d.Likely.Format(day), d.Target)
	}
	return fmt.Sprintf("Not before %s, likely %s, nine times in ten by %s.",
		d.NotBefore.Format(day), d.Likely.Format(day), d.By.Format(day))
}

// Probability returns the probability that the stack has reached target,
// percent, by t.
func (p *Posterior) Probability(target float64, t time.Time) float64 {
	return p.crossing(target, p.dayOf(t)).by(p.dayOf(t))
}

// NextReading returns when to measure again after the last reading: a third of
// the way to the likely date, at least 3 and at most 21 days on; a week when
// the target is reached, so that the two readings can show the stack steady.
// Common practice, no source.
func (p *Posterior) NextReading(d ReadyDates) time.Time {
	days := 21.0
	switch d.State {
	case StateReached:
		days = 7
	case StateDates, StateOpen:
		days = min(max((p.dayOf(d.Likely)-p.dayOf(p.Last))/3, 3), 21)
	}
	return p.Last.Add(time.Duration(days * 24 * float64(time.Hour)))
}

// crossing finds when the probability of being at or under the target passes a
// level. Seasons let moisture rise again after a dry month, so "reached by" is
// the largest probability so far: a lower bound, and an exact one when the air
// stays the same.
type crossing struct {
	p      *Posterior
	target float64
	air    *air
	knots  []knot
	starts [][]pathPoint // path at the beginning of each segment, per rate
}

// knot is a day with the segment that ends there or contains it, and the
// largest probability up to it.
type knot struct {
	day     float64
	segment int
	p       float64
}

// crossing lays the knots: month ends, or, in air that stays the same, days
// that grow by half each time. They reach at least until the given day, or, if
// that is zero, until the last date is found.
func (p *Posterior) crossing(target, until float64) *crossing {
	c := &crossing{p: p, target: target, air: p.air()}
	c.starts = make([][]pathPoint, 1, len(c.air.segments))
	first := make([]pathPoint, len(p.rates))
	for i := range first {
		first[i] = pathPoint{1, 0}
	}
	c.starts[0] = first
	c.knots = append(c.knots, knot{0, 0, c.probability(0, 0)})
	if len(c.air.segments) == 1 {
		// Twenty-odd knots from half a day to ten years; the root is found in the
		// stretch between two of them.
		for day := 0.5; day < horizonDays*1.5; day *= 1.5 {
			c.add(min(day, horizonDays), 0)
		}
		return c
	}
	for i := range c.air.segments {
		c.add(c.air.segments[i].to, i)
		if last := c.knots[len(c.knots)-1]; last.day > until && (until > 0 || last.p > byP) {
			break
		}
		c.starts = append(c.starts, c.next(i))
	}
	return c
}

// add appends a knot with the largest probability so far.
func (c *crossing) add(day float64, segment int) {
	last := c.knots[len(c.knots)-1].p
	c.knots = append(c.knots, knot{day, segment, max(last, c.probability(segment, day))})
}

// next is the path at the end of segment i, per rate.
func (c *crossing) next(i int) []pathPoint {
	s := &c.air.segments[i]
	out := make([]pathPoint, len(c.p.rates))
	for j, r := range c.p.rates {
		out[j] = s.through(r.k, s.to, c.starts[i][j])
	}
	return out
}

// probability is that of M(day) at or under the target, day being in segment i.
func (c *crossing) probability(i int, day float64) float64 {
	s := &c.air.segments[i]
	var sum float64
	for j := range c.p.rates {
		r := &c.p.rates[j]
		at := s.through(r.k, day, c.starts[i][j])
		for k := range r.nodes {
			n := &r.nodes[k]
			mean, variance := n.at(at)
			// A start and air known exactly leave no spread; then it is a step.
			if variance > 1e-18 {
				sum += n.weight * normalCDF((c.target-mean)/math.Sqrt(variance))
			} else if mean <= c.target {
				sum += n.weight
			}
		}
	}
	return sum
}

// cyclesAfter is how many months after the last date are looked through for a
// still larger probability: three years, after which a stack that was to get
// there has.
const cyclesAfter = 36

// most is the largest probability within the horizon.
func (c *crossing) most() float64 {
	last := c.knots[len(c.knots)-1]
	if last.p > byP && last.day < horizonDays && len(c.air.segments) > 1 {
		// The knots stop once the last date is found; what remains to be gained
		// afterwards comes in the driest months and just after them.
		lowest := c.p.climate.Lowest()
		for i := last.segment + 1; i < min(last.segment+cyclesAfter, len(c.air.segments)); i++ {
			c.starts = append(c.starts, c.next(i-1))
			if c.air.segments[i-1].emc == lowest || c.air.segments[i].emc == lowest {
				c.add(c.air.segments[i].to, i)
			}
		}
	}
	return c.knots[len(c.knots)-1].p
}

// by is the probability of having reached the target by day.
func (c *crossing) by(day float64) float64 {
	best := c.knots[0].p
	for i, k := range c.knots[1:] {
		if k.day >= day {
			return max(best, c.probability(k.segment, max(day, c.knots[i].day)))
		}
		best = k.p
	}
	return best
}

// quantile returns the first day on which the probability reaches level, +Inf
// when it never does.
func (c *crossing) quantile(level float64) float64 {
	if c.knots[0].p >= level {
		return 0
	}
	for i := 1; i < len(c.knots); i++ {
		if c.knots[i].p < level {
			continue
		}
		k := c.knots[i]
		return rootBetween(c.knots[i-1].day, k.day, c.knots[i-1].p-level, k.p-level, 0.005,
			func(day float64) float64 { return c.probability(k.segment, day) - level })
	}
	return math.Inf(1)
}

// rootBetween finds where f crosses zero between a and b, where it is fa < 0
// and fb >= 0, to within tolerance, by the Illinois variant of the false
// position (Dowell and Jarratt 1971) with bisection as a brake.
func rootBetween(a, b, fa, fb, tolerance float64, f func(float64) float64) float64 {
	side := 0
	for i := 0; i < 100 && b-a > tolerance; i++ {
		x := (a*fb - b*fa) / (fb - fa)
		if i%4 == 3 || !(x > a && x < b) {
			x = (a + b) / 2
		}
		y := f(x)
		// The Illinois rule: an end that stays twice has its value halved, so
		// that the other end moves too.
		if y < 0 {
			a, fa = x, y
			if side == -1 {
				fb /= 2
			}
			side = -1
			continue
		}
		b, fb = x, y
		if fb < 1e-12 {
			break
		}
		if side == 1 {
			fa /= 2
		}
		side = 1
	}
	return b
}
