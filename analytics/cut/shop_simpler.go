package cut

import "context"

// Simpler lists patterns of which every plan is one by p too. They are searched
// much faster, so that a batch that p itself is too slow for is cut by them.
func (p Pattern) Simpler() []Pattern {
	switch p {
	case Guillotine:
		return []Pattern{Rip2Trim, Crosscut2Trim, Rip3, Crosscut3}
	case Rip3:
		return []Pattern{Rip2Trim}
	case Crosscut3:
		return []Pattern{Crosscut2Trim}
	}
	return nil
}

// SimplerShop looks for a better plan than p, a fresh plan for s, by a pattern
// that is [Pattern.Simpler], and returns the better of the two with p's bound: a
// freer pattern is to give no worse a plan than a simpler one just because its
// search is slower. Where p is proven, or as good as opts ask, it comes back as
// it is. Errors match ErrInstance or ErrPlan.
func SimplerShop(ctx context.Context, s Shop, p ShopPlan, pattern Pattern, opts Options) (ShopPlan, error) {
	best := p.Plan
	if best.settled(opts) {
		return p, nil
	}
	g, err := s.gridderOf(p)
	if err != nil {
		return p, err
	}
	one := p.Instance
	one.Pattern = pattern
	found, err := Solve(ctx, one, opts)
	if err != nil {
		return p, err
	}
	dropIdle(one, &found)
	if found = found.boundedBy(best); !found.beats(p.Instance, best) {
		return p, nil
	}
	return g.finish(p.Instance, found, nil)
}

// settled reports whether nothing better need be looked for.
func (p Plan) settled(opts Options) bool {
	return p.Status == Optimal || p.Status == Infeasible || p.Missing == nil && p.Gap <= opts.GapGoal
}

// orSimpler returns the best of p, whose search ended before the stop, and the
// plans by simpler patterns: its pools may lack what a simpler pattern's hold.
func (p Plan) orSimpler(in Instance, opts Options, stop func() bool) (Plan, error) {
	for _, pattern := range in.Pattern.Simpler() {
		if p.settled(opts) || stop() {
			break
		}
		one := in
		one.Pattern = pattern
		q, err := solve(one, opts, nil, stop)
		if err != nil {
			return p, err
		}
		if q = q.boundedBy(p); q.beats(in, p) {
			p = q
		}
	}
	return p, nil
}

// boundedBy is a plan by a simpler pattern with the bound of the freer one.
func (p Plan) boundedBy(freer Plan) Plan {
	p.Bound, p.Prices, p.Gap = freer.Bound, freer.Prices, gapOf(p.Value, freer.Bound)
	switch {
	case p.Missing != nil:
		p.Status = Short
	case p.Value == p.Bound:
		p.Status = Optimal
	default:
		p.Status = Bounded
	}
	return p
}

// beats reports whether a plan is better than another for the same instance:
// first it lacks fewer copies, then it is worth more or costs less.
func (p Plan) beats(in Instance, q Plan) bool {
	lacks := func(p Plan) (sum int) {
		for _, n := range p.Missing {
			sum += n
		}
		return sum
	}
	if l, m := lacks(p), lacks(q); l != m {
		return l < m
	}
	if in.Objective == MinBoardCost {
		return p.Value < q.Value
	}
	return p.Value > q.Value
}
