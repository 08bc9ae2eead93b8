package moisture

import "math"

// Stage is what to do after a number of probes.
type Stage struct {
	// Probes is the number read so far.
	Probes int `json:"probes"`
	// PassAt is the most wet ones at which to stop and pass, -1 for none yet;
	// FailAt the fewest at which to stop and fail, above Probes for none yet.
	PassAt int `json:"pass_at"`
	FailAt int `json:"fail_at"`
}

// SequentialPlan probes one board after another and stops as soon as the
// outcome is clear enough. It may in the end take up to half as many probes again
// as the fixed plan, and on average takes far fewer.
type SequentialPlan struct {
	// Stages are the rules after 1, 2, 3… probes.
	Stages []Stage `json:"stages"`
	// PassRisk and FailRisk are exact, by recursion over the stages.
	PassRisk float64 `json:"pass_risk"`
	FailRisk float64 `json:"fail_risk"`
	// MeanGood and MeanBad are the exact average numbers of probes of a good
	// stack and of one with just too many wet boards.
	MeanGood float64 `json:"mean_probes_good"`
	MeanBad  float64 `json:"mean_probes_bad"`

	boards int
}

// newSequential finds the plan with the fewest probes on average, over good and
// bad stacks alike, that keeps both risks of the input and ends by half as many
// probes again as the fixed plan's. For given costs of the two errors the best plan is found
// exactly by backward recursion (Wald and Wolfowitz 1948 for why its bounds are
// on the likelihood ratio); the costs are then raised until both risks hold.
func newSequential(p *Plan) SequentialPlan {
	s := newSequentialSearch(p)
	// The fixed plan, stopped as soon as its outcome is settled, holds both
	// risks; it stays where nothing better is found.
	best := s.curtailed()
	holds := func(plan SequentialPlan) (pass, fail bool) {
		return plan.PassRisk <= s.passRisk+roundingSlack, plan.FailRisk <= s.failRisk+roundingSlack
	}
	// Both costs only rise, each while its risk is too large, so this ends:
	// at high costs the plan runs to its last probe.
	passCost, failCost := 2.0, 2.0
	for range 400 {
		plan := s.solve(passCost, failCost)
		pass, fail := holds(plan)
		if pass && fail {
			if plan.MeanGood+plan.MeanBad < best.MeanGood+best.MeanBad {
				best = plan
			}
			break
		}
		if !pass {
			passCost *= costStep
		}
		if !fail {
			failCost *= costStep
		}
	}
	return s.refine(best, passCost, failCost)
}

// costStep is the factor by which an error's cost is raised until its risk
// holds. Boards are whole, so a finer step hardly finds another plan.
const costStep = 1.07

// refine looks about the costs found for a plan with fewer probes.
func (s *sequentialSearch) refine(best SequentialPlan, passCost, failCost float64) SequentialPlan {
	for i := -2; i <= 2; i++ {
		for j := -2; j <= 2; j++ {
			plan := s.solve(passCost*math.Pow(costStep, float64(3*i)), failCost*math.Pow(costStep, float64(3*j)))
			if plan.PassRisk <= s.passRisk+roundingSlack && plan.FailRisk <= s.failRisk+roundingSlack &&
				plan.MeanGood+plan.MeanBad < best.MeanGood+best.MeanBad {
				best = plan
			}
		}
	}
	return best
}

// sequentialSearch holds what the recursions share.
type sequentialSearch struct {
	lot, good, bad     int
	fixed, accept      int // the fixed plan's probes and wet ones allowed
	last               int // the last probe of the sequential plan
	most               int // more wet probes than this always fail
	passRisk, failRisk float64
	// odds[n][x] is the posterior probability of a bad stack after n probes
	// with x wet, good and bad being as likely beforehand.
	odds [][]float64
}

func newSequentialSearch(p *Plan) *sequentialSearch {
	s := &sequentialSearch{
		lot: p.Input.Boards, good: p.Good, bad: p.Bad, accept: p.Fixed.Accept, fixed: p.Fixed.Probes,
		last:     min(p.Input.Boards, p.Fixed.Probes+(p.Fixed.Probes+1)/2),
		passRisk: 1 - p.Input.Confidence, failRisk: p.Input.GoodRisk,
	}
	// More wet boards than this fail at once in any sensible plan; the bound
	// keeps the recursion small.
	s.most = min(3*s.accept+6, s.last)
	s.odds = make([][]float64, s.last+1)
	for n := range s.odds {
		s.odds[n] = make([]float64, min(n, s.most)+1)
		for x := range s.odds[n] {
			s.odds[n][x] = s.posterior(n, x)
		}
	}
	return s
}

// posterior is the probability of a bad stack after x wet of n probes.
func (s *sequentialSearch) posterior(n, x int) float64 {
	good, bad := logWays(s.lot, s.good, n, x), logWays(s.lot, s.bad, n, x)
	switch {
	case math.IsInf(bad, -1) && math.IsInf(good, -1):
		return 0.5 // cannot happen; never reached by the recursions
	case math.IsInf(bad, -1):
		return 0
	case math.IsInf(good, -1):
		return 1
	}
	return 1 / (1 + math.Exp(good-bad))
}

// logWays is the log of the hypergeometric numerator: the ways to draw x of the
// bad and n-x of the others.
func logWays(lot, bad, n, x int) float64 {
	if x < 0 || x > bad || n-x > lot-bad {
		return math.Inf(-1)
	}
	return logChoose(bad, x) + logChoose(lot-bad, n-x)
}

func logChoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}

// solve finds the plan that is cheapest on average over good and bad stacks
// when a probe costs one, passing a bad stack passCost and failing a good one
// failCost; by backward recursion from the last probe.
func (s *sequentialSearch) solve(passCost, failCost float64) SequentialPlan {
	stages := make([]Stage, s.last)
	value := make([]float64, s.most+2)
	for n := s.last; n >= 1; n-- {
		stage := Stage{Probes: n, PassAt: -1, FailAt: n + 1}
		most := min(n, s.most)
		// value holds stage n+1 and is overwritten from the top.
		next := append([]float64(nil), value...)
		for x := most; x >= 0; x-- {
			bad := s.odds[n][x]
			pass, fail := passCost*bad, failCost*(1-bad)
			// The three things to do now: pass, fail, or read another board.
			stop := min(pass, fail)
			goOn := math.Inf(1)
			if n < s.last {
				q := bad*s.wetNext(s.bad, n, x) + (1-bad)*s.wetNext(s.good, n, x)
				goOn = 1 + q*next[min(x+1, s.most+1)] + (1-q)*next[x]
			}
			value[x] = min(stop, goOn)
			if goOn < stop {
				continue
			}
			if pass <= fail {
				stage.PassAt = max(stage.PassAt, x)
			} else {
				stage.FailAt = min(stage.FailAt, x)
			}
		}
		if most == s.most {
			value[s.most+1] = 0 // failed already; its cost is counted by FailAt
			stage.FailAt = min(stage.FailAt, s.most+1)
		}
		stages[n-1] = stage
	}
	return s.finish(stages)
}

// wetNext is the probability that the next board is wet.
func (s *sequentialSearch) wetNext(bad, n, x int) float64 {
	return min(1, max(0, float64(bad-x)/float64(s.lot-n)))
}

// curtailed is the fixed plan, stopped once its outcome is settled.
func (s *sequentialSearch) curtailed() SequentialPlan {
	stages := make([]Stage, s.fixed)
	for i := range stages {
		n := i + 1
		stages[i] = Stage{Probes: n, PassAt: s.accept - (s.fixed - n), FailAt: s.accept + 1}
		stages[i].PassAt = max(stages[i].PassAt, -1)
	}
	return s.finish(stages)
}

// finish adds the exact risks and averages.
func (s *sequentialSearch) finish(stages []Stage) SequentialPlan {
	p := SequentialPlan{Stages: stages, boards: s.lot}
	pass, mean := p.outcome(s.bad)
	p.PassRisk, p.MeanBad = pass, mean
	pass, mean = p.outcome(s.good)
	p.FailRisk, p.MeanGood = 1-pass, mean
	return p
}

// Outcome returns, for a stack with the given number of wet boards, the exact
// probability of passing and the average number of probes, by recursion over
// the stages.
func (p SequentialPlan) Outcome(wet int) (pass, meanProbes float64, err error) {
	if wet < 0 || wet > p.boards {
		return 0, 0, bad("number of wet boards", float64(wet), ErrSetting, "give 0 to the number of boards")
	}
	pass, meanProbes = p.outcome(wet)
	return pass, meanProbes, nil
}

func (p SequentialPlan) outcome(wet int) (pass, mean float64) {
	// still[x] is the probability of having seen x wet boards and not stopped.
	still := make([]float64, len(p.Stages)+2)
	still[0] = 1
	for i, stage := range p.Stages {
		left := float64(p.boards - i)
		// Downward, so that a path moved to x+1 is not moved again.
		for x := min(i, wet); x >= 0; x-- {
			if still[x] == 0 {
				continue
			}
			q := min(1, float64(wet-x)/left)
			still[x+1] += still[x] * q
			still[x] *= 1 - q
		}
		for x := 0; x <= min(stage.Probes, wet); x++ {
			if still[x] == 0 || x > stage.PassAt && x < stage.FailAt {
				continue
			}
			mean += still[x] * float64(stage.Probes)
			if x <= stage.PassAt {
				pass += still[x]
			}
			still[x] = 0
		}
	}
	return pass, mean
}

// Turns are the stages at which a rule first holds or changes: the plan as a
// person reads it. Between them the last one goes on.
func (p SequentialPlan) Turns() []Stage {
	var out []Stage
	pass, fail := -1, 0
	for _, s := range p.Stages {
		failing := s.FailAt <= s.Probes
		if s.PassAt == pass && (!failing || s.FailAt == fail) {
			continue
		}
		pass = s.PassAt
		if failing {
			fail = s.FailAt
		}
		out = append(out, s)
	}
	return out
}
