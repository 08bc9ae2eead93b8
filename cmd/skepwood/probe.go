package main

import (
	"fmt"

	"skepwood/analytics/moisture"
)

// probeCmd answers how many boards of a stack to probe.
type probeCmd struct {
	Boards     int    `short:"n" required:"" help:"Number of boards in the stack."`
	Confidence string `short:"c" default:"90" help:"How sure to be, in percent."`
	Share      string `default:"10" help:"Largest share of boards that may be wetter than the target, in percent."`
	GoodShare  string `help:"Share of wet boards, in percent, with which a stack should still pass; a quarter of --share if not given."`

	Probed int `help:"Boards probed so far, for the Bayesian line."`
	Wet    int `help:"How many of them were wet."`
	Before int `help:"Boards probed in this stack a week or so ago; each counts half."`
	Were   int `help:"How many of those were wet."`

	JSON bool `name:"json" help:"Print JSON."`
}

// probeAnswer is what is printed.
type probeAnswer struct {
	Plan moisture.Plan `json:"plan"`
	// Chance is the probability that no more than the share is wet, after what
	// was probed, and More how many more dry probes would reach the confidence;
	// -1 for never.
	Chance float64 `json:"chance_now"`
	More   int     `json:"more_dry_probes"`
}

// Run prints the plans.
func (c *probeCmd) Run(std *streams) error {
	a, err := c.answer()
	if err != nil {
		return refuse(std, "probe", err)
	}
	return desk{JSON: c.JSON}.print(std.Out, a, probeSheet(a, c))
}

// answer works out the plans and the Bayesian line.
func (c *probeCmd) answer() (probeAnswer, error) {
	f := &deskFlags{}
	in := moisture.PlanInput{Boards: c.Boards}
	for _, flag := range []struct {
		name, text string
		to         *float64
	}{{"confidence", c.Confidence, &in.Confidence}, {"share", c.Share, &in.Share}, {"good-share", c.GoodShare, &in.GoodShare}} {
		if v := f.percent(flag.name, flag.text); v != nil {
			*flag.to = *v / 100
		}
	}
	if err := f.err(); err != nil {
		return probeAnswer{}, err
	}
	if in.Confidence < 0.5 {
		return probeAnswer{}, fmt.Errorf("--confidence: %s is read as percent, and less than 50 would be no confidence: write 90 for nine times in ten", c.Confidence)
	}
	plan, err := moisture.NewPlan(in)
	if err != nil {
		return probeAnswer{}, err
	}
	belief, err := moisture.BeliefFrom([]moisture.Earlier{{Probed: c.Before, Wet: c.Were, Weight: 0.5}})
	if err != nil {
		return probeAnswer{}, err
	}
	a := probeAnswer{Plan: plan}
	if a.Chance, err = belief.ChanceWithin(c.Boards, plan.Bad-1, c.Probed, c.Wet); err != nil {
		return probeAnswer{}, err
	}
	a.More, err = belief.DryProbesNeeded(c.Boards, plan.Bad-1, c.Probed, c.Wet, in.Confidence)
	return a, err
}

// probeSheet lays the plans out for reading.
func probeSheet(a probeAnswer, c *probeCmd) *deskSheet {
	p := a.Plan
	s := &deskSheet{sources: []string{"hypergeometric distribution, exact; sequential plan by recursion over the stages"}}
	s.line("boards", "%d, of which at most %d may be wet", p.Input.Boards, p.Bad-1)
	s.line("shortest", "probe %d; pass if none is wet", p.Shortest.Probes)
	s.line("", "a stack with %d wet would fail %.0f times in 100", p.Good, 100*p.Shortest.FailRisk)
	s.line("fixed", "probe %d; pass if at most %d wet", p.Fixed.Probes, p.Fixed.Accept)
	s.line("risks", "passes with %d wet: %.1f %%; fails with %d wet: %.1f %%", p.Bad, 100*p.Fixed.PassRisk, p.Good, 100*p.Fixed.FailRisk)
	s.line("one by one", "on average %.1f probes of a good stack, %.1f of a bad one", p.Sequential.MeanGood, p.Sequential.MeanBad)
	for _, t := range p.Sequential.Turns() {
		s.line("", "%s", probeTurn(t))
	}
	s.line("chance now", "%.1f %% that no more than %d are wet", 100*a.Chance, p.Bad-1)
	if a.More < 0 {
		s.line("Bayesian", "no number of dry probes can make it sure enough")
	} else {
		s.line("Bayesian", "%d more dry probes make it sure enough", a.More)
	}
	s.note("take some of every lot, the thickest, and some of the middle, the bottom and the top of the stack")
	if c.Probed == 0 && c.Before == 0 {
		s.note("the Bayesian line starts from next to no knowledge; say what was probed with --probed and --wet")
	}
	return s
}

// probeTurn says from which probe on a rule holds.
func probeTurn(t moisture.Stage) string {
	pass, fail := "", ""
	if t.PassAt >= 0 {
		pass = fmt.Sprintf("pass at %d wet or fewer", t.PassAt)
	}
	if t.FailAt <= t.Probes {
		fail = fmt.Sprintf("fail at %d wet or more", t.FailAt)
	}
	if pass != "" && fail != "" {
		pass += ", "
	}
	return fmt.Sprintf("from probe %d: %s%s", t.Probes, pass, fail)
}
