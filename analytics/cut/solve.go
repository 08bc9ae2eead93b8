package cut

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"sync/atomic"
)

// Solve plans in. It returns when the plan is proven optimal, when the search
// has nothing left to try, simpler patterns included, or within 100 ms of ctx
// being done with the best plan so far and its bound; ctx being done is not an
// error. Errors match ErrInstance. Every plan returned has passed Check.
func Solve(ctx context.Context, in Instance, opts Options) (Plan, error) {
	if err := in.Validate(); err != nil {
		return Plan{}, err
	}
	var done atomic.Bool
	defer context.AfterFunc(ctx, func() { done.Store(true) })()
	if ctx.Err() != nil {
		done.Store(true)
	}
	if opts.Workers <= 0 {
		opts.Workers = runtime.GOMAXPROCS(0)
	}
	plan, err := solve(in, opts, nil, done.Load)
	if err != nil {
		return plan, err
	}
	return plan.orSimpler(in, opts, done.Load)
}

// solve plans a valid instance until the stop, from a warm start if there is
// one.
func solve(in Instance, opts Options, warm *warmStart, stop func() bool) (Plan, error) {
	first, last := penalties(in)
	s := newSolver(in, opts, first, stop)
	s.warm = warm
	s.run()
	if s.lacking() && s.hopeless() {
		s.never = true
	}
	if first < last && s.lacking() && !s.never {
		again := newSolver(in, opts, last, stop)
		again.warm = warm
		again.run()
		if again.inc.worth >= again.worthOf(s.inc) {
			s = again
		}
	}
	plan := s.plan()
	if err := Check(in, plan); err != nil {
		return Plan{}, err
	}
	return plan, nil
}

// solver is one run of Solve at one penalty.
type solver struct {
	in       Instance
	opts     Options
	p        *problem
	e        engine
	d        *duals
	inc      *incumbent
	stop     func() bool
	grain    float64 // every worth is a whole number of grains from base
	bound    float64 // no plan is worth more
	rng      *rand.Rand
	pools    pools
	warm     *warmStart
	fitter   *fitter
	never    bool       // proven: not all that must be made can be
	now      *incumbent // the plan that repairs work on, not always the best
	tries    int        // attempts in all
	idle     int        // attempts since the best plan got better
	stale    int        // attempts since now got better
	reach    float64    // how many boards a refit takes
	kicks    int        // since the best plan got better
	matchers []*matcher // by worker
	casc     *cascades  // nil before the first
}

// newSolver prepares a run.
func newSolver(in Instance, opts Options, penalty float64, stop func() bool) *solver {
	p := newProblem(in, penalty)
	p.stop = stop
	s := &solver{
		in: in, opts: opts, p: p, stop: stop, inc: newIncumbent(p), bound: p.easyBound(),
		grain: p.grainOf(), rng: rand.New(rand.NewPCG(opts.Seed, 0x5ca1ab1e)), reach: 4,
	}
	return s
}

// lacking reports whether the plan lacks parts that must be made, or could be
// better by lacking fewer.
func (s *solver) lacking() bool { return s.inc.lacks() != nil }

// worthOf returns what another run's incumbent is worth at this penalty.
func (s *solver) worthOf(other *incumbent) float64 {
	w := 0.0
	for i := range other.slots {
		w += s.p.worthOf(other.slots[i], other.use[i])
	}
	return w
}

// grainOf returns the greatest number of which all worths, seen from base,
// are multiples.
func (p *problem) grainOf() float64 {
	g := 0
	if p.in.Objective == MinBoardCost {
		for _, b := range p.in.Boards {
			g = gcd(g, b.Cost)
		}
	} else {
		for _, part := range p.in.Parts {
			g = gcd(g, part.Value)
		}
	}
	return float64(max(1, g))
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// ceiling returns the greatest worth that a complete plan can have under the
// bound.
func (s *solver) ceiling() float64 { return s.ceilingOf(s.bound) }

// ceilingOf rounds a bound down to what a complete plan can be worth.
func (s *solver) ceilingOf(bound float64) float64 {
	eps := 1e-6 + math.Abs(bound)*1e-12
	return s.p.base + math.Floor((bound-s.p.base+eps)/s.grain)*s.grain
}

// proven reports whether no plan can be better.
func (s *solver) proven() bool { return s.inc.worth >= s.ceiling()-1e-6*s.grain-s.p.shade }

// good reports whether the search may end: proven, or as near as asked for.
func (s *solver) good() bool {
	if s.proven() {
		return true
	}
	if s.opts.GapGoal <= 0 || s.inc.lacks() != nil {
		return false
	}
	value := math.Abs(s.inc.worth - s.p.base)
	return s.ceiling()-s.inc.worth <= s.opts.GapGoal*max(1, value)
}

// plan turns the run's best into a Plan with its bound and status.
func (s *solver) plan() Plan {
	plan := s.inc.plan()
	limit := s.ceiling() - s.p.base
	if s.in.Objective == MinBoardCost {
		limit = -limit
	}
	if plan.Missing != nil && s.in.Objective == MaxValue {
		limit = s.p.mostValue() // s.bound is about plans that make all they must
	}
	limit = max(-maxMoney*1e3, min(maxMoney*1e3, limit))
	plan.Bound = int(math.Round(limit))
	switch {
	case plan.Missing != nil && s.impossible():
		plan.Status = Infeasible
	case plan.Missing != nil:
		plan.Status = Short
	case plan.Bound == plan.Value:
		plan.Status = Optimal
	}
	if s.d != nil {
		plan.Prices = make([]float64, len(s.in.Parts))
		for i, it := range s.p.items {
			if s.d.best.price != nil {
				plan.Prices[it.part] = max(plan.Prices[it.part], s.d.best.price[i])
			}
		}
	}
	plan.Gap = gapOf(plan.Value, plan.Bound)
	return plan
}

// gapOf returns the gap between a value and its bound, relative to the value.
func gapOf(value, bound int) float64 {
	return math.Abs(float64(value-bound)) / max(1, math.Abs(float64(value)))
}

// impossible reports whether it is proven that no plan makes all that must be
// made: even the best bound lies below the worst complete plan, or the best
// plan at the last penalty lacks something.
func (s *solver) impossible() bool {
	if s.never {
		return true
	}
	worst := s.p.base
	for _, k := range s.p.kinds {
		worst -= k.cost * float64(min(k.count, 1_000_000))
	}
	_, last := penalties(s.in)
	return s.bound < worst-0.5 || s.p.penalty >= last && s.proven()
}
