package moisture

import (
	"fmt"
	"math"
)

// PlanInput is what a probing plan must show.
type PlanInput struct {
	// Boards is the number in the stack.
	Boards int `json:"boards"`
	// Share is the largest share of boards that may be wetter than the target,
	// and Confidence how sure the plan must be: a stack with more wet boards
	// than that passes with probability at most 1 - Confidence.
	Share      float64 `json:"share"`
	Confidence float64 `json:"confidence"`
	// GoodShare is a share of wet boards at which the stack should still pass;
	// zero means a quarter of Share. GoodRisk is how often such a stack may
	// fail; zero means 1 - Confidence.
	GoodShare float64 `json:"good_share"`
	GoodRisk  float64 `json:"good_risk"`
}

// FixedPlan is a number of probes decided beforehand.
type FixedPlan struct {
	// Probes is how many boards to read, Accept how many of them may be wet.
	Probes int `json:"probes"`
	Accept int `json:"accept"`
	// PassRisk is the exact probability that a stack with too many wet boards
	// passes, FailRisk that a good one fails.
	PassRisk float64 `json:"pass_risk"`
	FailRisk float64 `json:"fail_risk"`
}

// Plan is how to probe a stack: with as few probes as possible when every one
// is dry, with a fixed number, or one after another.
type Plan struct {
	Input PlanInput `json:"input"`
	// Bad is the fewest wet boards that are too many, Good the most at which the
	// stack should still pass.
	Bad  int `json:"too_many_wet"`
	Good int `json:"few_enough_wet"`
	// Shortest allows no wet board: the fewest probes, and the most false alarms.
	Shortest FixedPlan `json:"shortest"`
	// Fixed keeps both risks.
	Fixed FixedPlan `json:"fixed"`
	// Sequential keeps both risks and stops early.
	Sequential SequentialPlan `json:"sequential"`
}

// maxPlanBoards bounds the exact recursions; more boards than this lie in no
// yard of ours.
const maxPlanBoards = 10000

// roundingSlack forgives the last digits of a probability that equals its limit
// by design, such as one in twenty against 1 - 0.95.
const roundingSlack = 1e-12

// NewPlan returns the probing plans of a stack. Settings outside their range
// are ErrSetting.
func NewPlan(in PlanInput) (Plan, error) {
	if err := in.complete(); err != nil {
		return Plan{}, err
	}
	p := Plan{Input: in, Bad: int(math.Floor(in.Share*float64(in.Boards)+1e-9)) + 1, Good: int(math.Floor(in.GoodShare*float64(in.Boards) + 1e-9))}
	if p.Bad > in.Boards {
		return Plan{}, bad("share", in.Share, ErrSetting, "every board may be wet: there is nothing to show")
	}
	shortest, err := FixedProbes(in.Boards, p.Bad, 0, in.Confidence)
	if err != nil {
		return Plan{}, err
	}
	p.Shortest = p.fixed(shortest, 0)
	for accept := 0; ; accept++ {
		probes, err := FixedProbes(in.Boards, p.Bad, accept, in.Confidence)
		if err != nil {
			return Plan{}, err
		}
		p.Fixed = p.fixed(probes, accept)
		// The census fails no good stack, so this ends.
		if p.Fixed.FailRisk <= in.GoodRisk+roundingSlack {
			break
		}
	}
	p.Sequential = newSequential(&p)
	return p, nil
}

// complete fills the defaults and checks the ranges.
func (in *PlanInput) complete() error {
	if in.Boards < 1 || in.Boards > maxPlanBoards {
		return bad("number of boards", float64(in.Boards), ErrSetting, fmt.Sprintf("give 1 to %d", maxPlanBoards))
	}
	if err := checkConfidence(in.Confidence); err != nil {
		return err
	}
	if in.GoodShare == 0 {
		in.GoodShare = in.Share / 4
	}
	if in.GoodRisk == 0 {
		in.GoodRisk = 1 - in.Confidence
	}
	switch {
	case !(in.Share >= 0 && in.Share < 1):
		return bad("share", in.Share, ErrSetting, "give a number from 0 to below 1, such as 0.1")
	case !(in.GoodShare >= 0 && in.GoodShare <= in.Share):
		return bad("good share", in.GoodShare, ErrSetting, "give no more than the share itself")
	case !(in.GoodRisk > 0 && in.GoodRisk < 1):
		return bad("risk of failing a good stack", in.GoodRisk, ErrSetting, "give a number between 0 and 1")
	}
	return nil
}

// fixed is a fixed plan with its exact risks.
func (p *Plan) fixed(probes, accept int) FixedPlan {
	return FixedPlan{
		Probes: probes, Accept: accept,
		PassRisk: passProbability(p.Input.Boards, p.Bad, probes, accept),
		FailRisk: 1 - passProbability(p.Input.Boards, p.Good, probes, accept),
	}
}

// FixedProbes returns the fewest probes such that a lot of boards with bad wet
// ones passes, with at most accept wet probes, with probability no more than
// 1 - confidence: exact, without replacement (hypergeometric). accept at or
// above bad can never show it and is ErrPlan.
func FixedProbes(lot, bad_, accept int, confidence float64) (int, error) {
	if lot < 1 || bad_ < 1 || bad_ > lot || accept < 0 {
		return 0, bad("number of wet boards", float64(bad_), ErrSetting, "give 1 to the number of boards")
	}
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	if accept >= bad_ {
		return 0, bad("wet probes allowed", float64(accept), ErrPlan, "allow fewer wet probes than wet boards")
	}
	low, high := accept, lot // passes at low, fails at high
	for high-low > 1 {
		mid := (low + high) / 2
		if passProbability(lot, bad_, mid, accept) <= 1-confidence+roundingSlack {
			high = mid
		} else {
			low = mid
		}
	}
	return high, nil
}

// FixedProbesInfinite is FixedProbes for a lot so large that probes do not
// deplete it (binomial); share is that of wet boards, above 0 and below 1. 59
// dry probes of none wet show 5 % at 95 %, the success-run figure of textbooks.
func FixedProbesInfinite(share float64, accept int, confidence float64) (int, error) {
	if !(share > 0 && share < 1) || accept < 0 {
		return 0, bad("share", share, ErrSetting, "give a number between 0 and 1")
	}
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	enough := func(n int) bool { return passInfinite(share, n, accept) <= 1-confidence+roundingSlack }
	high := accept + 1
	for !enough(high) {
		if high > 1<<40 {
			return 0, bad("share", share, ErrPlan, "too small a share to show by probing")
		}
		high *= 2
	}
	low := high / 2
	for high-low > 1 {
		if mid := (low + high) / 2; enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high, nil
}
