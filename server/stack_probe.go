package server

import (
	"context"
	"fmt"
	"hash/fnv"
	"slices"
	"time"

	"github.com/google/uuid"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// probing is how many boards to read before the stack is trusted, which, and
// how the probing stands.
type probing struct {
	moisture.Plan
	// Picks are the boards to read next, none when the outcome is settled.
	Picks []pick
	// Wet is the moisture above which a board counts as too wet.
	Wet float64
	// Turns are the sequential plan's rules as a person reads them.
	Turns []turn
	// Next says what to do now, by the boards read in the last ten days.
	Next    string
	Settled bool
	// Chance says what is thought of the stack as a whole by its own history.
	Chance string
}

// pick is a board to read and why.
type pick struct {
	Board  db.StockBoard
	Reason string
}

// turn is one rule of the sequential plan.
type turn struct {
	Probes     int
	Pass, Fail string
}

// boardsPerScreen is how many boards one round of readings shows.
const boardsPerScreen = 20

// What an earlier round of readings of the same stack counts for: half, from
// ten days to a month back. Common practice, no source.
const (
	recentDays    = 10
	earlierDays   = 31
	earlierWeight = 0.5
)

// planStack shows whether the stack is ready, by the function that plans of the
// Build page ask too, and what to probe next.
func (a *app) planStack(ctx context.Context, p *stackPage, now time.Time) error {
	ready, known, err := p.ReadyNow(p.Boards, now)
	if err != nil || !known {
		return err
	}
	p.Readiness = &ready.Readiness
	p.Plan = &probing{Plan: ready.Plan, Wet: p.Target.High, Turns: turnsOf(ready.Plan.Sequential)}
	need := p.Plan.stand(ready.Probed, len(ready.Wet))
	if p.Plan.Chance, err = chanceText(ready.Plan, ready.Readiness, earlierRound(ready.Obs, p.Target.High, now)); err != nil {
		return err
	}
	layers, err := a.store.StackLayers(ctx, p.ID)
	if err != nil {
		return err
	}
	return p.pickBoards(need, ready.Obs, layers, now)
}

// turnsOf puts the sequential plan's rules into words.
func turnsOf(p moisture.SequentialPlan) []turn {
	var out []turn
	for _, s := range p.Turns() {
		t := turn{Probes: s.Probes, Pass: "not yet", Fail: "not yet"}
		switch {
		case s.PassAt == 0:
			t.Pass = "none"
		case s.PassAt > 0:
			t.Pass = fmt.Sprintf("at most %d", s.PassAt)
		}
		if s.FailAt <= s.Probes {
			t.Fail = fmt.Sprintf("%d or more", s.FailAt)
		}
		out = append(out, t)
	}
	return out
}

// stand says how the probing stands after some boards, and returns how many to
// read next.
func (p *probing) stand(probed, wet int) int {
	stages := p.Sequential.Stages
	so := fmt.Sprintf("%s read in the last ten days, %d of them too wet", plural(probed, "board was", "boards were"), wet)
	if probed > 0 {
		s := stages[min(probed, len(stages))-1]
		switch {
		case wet <= s.PassAt:
			p.Next, p.Settled = so+": stop, the stack is dry enough by this plan.", true
			return 0
		case wet >= s.FailAt || probed >= len(stages):
			p.Next, p.Settled = so+": stop, too much of it is still wet. Read it again when the dates above say so.", true
			return 0
		}
	}
	// The soonest turn at which nothing more being wet would pass it.
	i := slices.IndexFunc(stages, func(s moisture.Stage) bool { return s.Probes > probed && s.PassAt >= wet })
	if i < 0 {
		i = len(stages) - 1
	}
	need := stages[i].Probes - probed
	first := fmt.Sprintf("Probe %s now; if none is wetter than %.0f %%, stop: the stack is dry enough.", plural(need, "board", "boards"), p.Wet)
	if fail := failingSoon(stages, probed, wet); fail > 0 {
		first += fmt.Sprintf(" If %s among them, stop too: it needs more time.", plural(fail, "wetter one is", "wetter ones are"))
	}
	if probed > 0 {
		first = so + ". " + first
	}
	p.Next = first
	return need
}

// failingSoon is how many more wet boards end the probing, 0 when no number does.
func failingSoon(stages []moisture.Stage, probed, wet int) int {
	for _, s := range stages {
		if s.Probes > probed && s.FailAt <= s.Probes {
			return max(1, s.FailAt-wet)
		}
	}
	return 0
}

// earlierRound is what the stack's boards read before the last ten days, each
// board's newest within a month.
func earlierRound(obs []moisture.Obs, wetAbove float64, now time.Time) moisture.Earlier {
	wet := make(map[string]bool)
	for _, o := range obs { // oldest first
		age := now.Sub(o.At)
		if age <= recentDays*24*time.Hour || age > earlierDays*24*time.Hour {
			continue
		}
		wet[o.BoardID] = o.Range == moisture.RangeAbove || o.Known() && o.Percent > wetAbove
	}
	out := moisture.Earlier{Probed: len(wet), Weight: earlierWeight}
	for _, w := range wet {
		if w {
			out.Wet++
		}
	}
	return out
}

// chanceText says how likely the stack is dry enough, by what was read now and
// before.
func chanceText(plan moisture.Plan, ready moisture.Readiness, before moisture.Earlier) (string, error) {
	belief, err := moisture.BeliefFrom([]moisture.Earlier{before})
	if err != nil {
		return "", err
	}
	n, allowed, probed, wet := plan.Input.Boards, plan.Bad-1, ready.Probed, len(ready.Wet)
	chance, err := belief.ChanceWithin(n, allowed, probed, wet)
	if err != nil {
		return "", err
	}
	more, err := belief.DryProbesNeeded(n, allowed, probed, wet, plan.Input.Confidence)
	if err != nil {
		return "", err
	}
	text := fmt.Sprintf("By the stack’s own readings (%s lately, %d too wet", plural(probed, "board", "boards"), wet)
	if before.Probed > 0 {
		text += fmt.Sprintf("; %d before that, %d too wet, counted half", before.Probed, before.Wet)
	}
	text += fmt.Sprintf(") at most %d of %d boards are too wet with a probability of %.0f %%. ", allowed, n, 100*chance)
	switch {
	case more == 0:
		text += "That is enough."
	case more > 0:
		text += fmt.Sprintf("%s would make it %.0f %%.", plural(more, "more dry board", "more dry boards"), 100*plan.Input.Confidence)
	default:
		text += "No number of dry boards makes it enough: more of them are wet already."
	}
	return text, nil
}

// pickBoards names the boards to read next: none that was read lately, while
// others are left.
func (p *stackPage) pickBoards(need int, obs []moisture.Obs, layers map[uuid.UUID]int, now time.Time) error {
	if need == 0 {
		return nil
	}
	lately := make(map[string]bool)
	for _, o := range obs {
		if now.Sub(o.At) <= recentDays*24*time.Hour {
			lately[o.BoardID] = true
		}
	}
	byID := make(map[string]db.StockBoard, len(p.Boards))
	var candidates []moisture.Candidate
	for _, b := range p.Boards {
		byID[b.ID.String()] = b
		if !lately[b.ID.String()] {
			candidates = append(candidates, moisture.Candidate{BoardID: b.ID.String(), LotID: b.LotID.String(), ThicknessMM: b.Thickness.Millimetres(), Layer: layers[b.ID]})
		}
	}
	if len(candidates) == 0 {
		return nil
	}
	picks, err := moisture.Choose(candidates, min(need, len(candidates)), probingSeed(p.ID, now))
	if err != nil {
		return err
	}
	for _, c := range picks {
		p.Plan.Picks = append(p.Plan.Picks, pick{byID[c.BoardID], c.Reason})
	}
	return nil
}

// probingSeed makes one day's choice of boards the same however often the
// page is opened.
func probingSeed(id uuid.UUID, now time.Time) uint64 {
	h := fnv.New64a()
	_, _ = h.Write(id[:])
	_, _ = h.Write([]byte(now.UTC().Format(time.DateOnly)))
	return h.Sum64()
}
