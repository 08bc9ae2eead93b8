package screen

import (
	"cmp"
	"slices"
)

// tally gathers the firings of one rule that came to the same answer.
type tally struct {
	firing
	answer
}

// judge is Judge and JudgeBoard. The next look is chosen last and only on
// request: it judges once more for every outcome of every check that fits.
func judge(findings []Finding, opts Options, board bool) Judgement {
	j := deliberate(findings, opts, board, imagined{from: len(findings)})
	if opts.Prior != nil && j.Verdict == Hold {
		j.Next = nextLook(findings, *opts.Prior, opts, board)
	}
	return j
}

// imagined is what a look might show, for NextLook: the findings from one index
// on, whose notes count as written, and facts of a mark nobody has typed. The
// findings before it may be given as evidence already gathered.
type imagined struct {
	from  int
	facts []factID
	known []evidence
}

// deliberate judges, without choosing a next look.
func deliberate(findings []Finding, opts Options, board bool, what imagined) Judgement {
	h := &hearing{t: tables(), findings: findings, opts: opts, board: board, imagined: what}
	h.hear()
	fired := h.fire()
	j := Judgement{RuleVersion: h.t.version}
	h.sortOut(fired, &j)
	j.Verdict = worstVerdict(j.Reasons)
	j.Lifts = h.waysOut(&j)
	j.Cautions = h.cautionsFor(&j)
	j.Notes = h.notes
	return j
}

// fire lists every firing with its answer, in order of rule, answer and finding.
func (h *hearing) fire() []tally {
	fired := make([]tally, 0, 2*len(h.list)+len(h.t.always))
	for _, rule := range h.t.always {
		f := firing{rule, -1}
		fired = append(fired, tally{firing: f, answer: h.answerOf(f)})
	}
	for i := range h.list {
		// A misread finding fires its rules too, so that what was answered stays
		// visible and the old entry is not lost from sight.
		start := len(fired)
		for _, fact := range h.list[i].facts {
			for _, rule := range h.t.firedBy[fact] {
				f := firing{rule, i}
				if h.firedAlready(fired[start:], rule) || !h.restMet(rule) {
					continue
				}
				fired = append(fired, tally{firing: f, answer: h.answerOf(f)})
			}
		}
	}
	slices.SortFunc(fired, func(a, b tally) int {
		return cmp.Or(cmp.Compare(a.rule, b.rule), cmp.Compare(a.lift, b.lift), cmp.Compare(a.finding, b.finding))
	})
	return fired
}

// firedAlready reports whether this finding has fired the rule by another fact.
func (h *hearing) firedAlready(fired []tally, rule int) bool {
	for i := range fired {
		if fired[i].rule == rule {
			return true
		}
	}
	return false
}

// restMet reports whether the clauses after the first are met.
func (h *hearing) restMet(rule int) bool {
	for i := range h.t.compiled[rule].more {
		if !h.t.compiled[rule].more[i].meets(&h.present) {
			return false
		}
	}
	return true
}

// sortOut turns firings into reasons in force, stops, remarks and what was
// lifted. Firings of a rule with the same answer become one reason.
func (h *hearing) sortOut(fired []tally, j *Judgement) {
	indexes := make([]int, 0, len(fired))
	j.Reasons = make([]Reason, 0, h.groups(fired))
	for i := 0; i < len(fired); {
		start, k := len(indexes), i
		for ; k < len(fired) && fired[k].rule == fired[i].rule && fired[k].lift == fired[i].lift; k++ {
			if fired[k].finding >= 0 {
				indexes = append(indexes, fired[k].finding)
			}
		}
		h.file(fired[i:k], indexes[start:len(indexes):len(indexes)], j)
		i = k
	}
	// Worst first; the sort is stable, so that ids stay in order within a verdict.
	slices.SortStableFunc(j.Reasons, func(a, b Reason) int {
		return cmp.Compare(b.Verdict.Severity(), a.Verdict.Severity())
	})
}

// groups counts the reasons in force, so that they are made in one piece.
func (h *hearing) groups(fired []tally) int {
	n := 0
	for i := range fired {
		first := i == 0 || fired[i].rule != fired[i-1].rule || fired[i].lift != fired[i-1].lift
		if first && !fired[i].fell && fired[i].verdict != "" {
			n++
		}
	}
	return n
}

// file puts one group of firings where it belongs in the judgement.
func (h *hearing) file(group []tally, findings []int, j *Judgement) {
	a := &group[0].answer
	r := &h.t.rules[group[0].rule]
	reason := Reason{
		RuleID: r.ID, Name: r.Name, Findings: findings, Verdict: a.verdict,
		Text: r.Text, Source: r.Source, Year: r.Year, Link: r.Link, Standing: r.Standing, Status: r.Status, Memory: r.Memory,
	}
	if a.lift != noLift {
		reason.From, reason.By, reason.Answer = h.setting(r.ID, r.Verdict, r.Allowed), h.answeredBy(group), a.text
	}
	switch {
	case a.fell && r.Verdict == "" && !r.Stop: // a remark on a misread entry
	case a.fell:
		j.Lifted = append(j.Lifted, reason)
	case r.Stop:
		j.OwnershipStop = true
		j.Stops = append(j.Stops, reason)
	case a.verdict == "":
		j.Remarks = append(j.Remarks, reason)
	default:
		j.Reasons = append(j.Reasons, reason)
	}
}

// answeredBy lists the findings that met the lift of a group, ascending.
func (h *hearing) answeredBy(group []tally) []int {
	var by []int
	for i := range group {
		g := &group[i]
		lift, clauses := h.liftOf(g)
		if g.finding >= 0 && h.list[g.finding].aside >= 0 {
			by = append(by, int(h.list[g.finding].aside))
		}
		for c := range clauses {
			h.clauseMet(&clauses[c], lift, g.finding, func(i int) { by = append(by, i) })
		}
	}
	slices.Sort(by)
	return slices.Compact(by)
}

// liftOf gives the lift that answered a firing and its clauses.
func (h *hearing) liftOf(g *tally) (*RuleLift, []factSet) {
	r, c := &h.t.rules[g.rule], &h.t.compiled[g.rule]
	switch {
	case g.lift >= stepMisread:
		return &RuleLift{}, c.misread[g.lift-stepMisread].clauses
	case g.lift >= plainMisread || g.lift < 0:
		return &RuleLift{}, nil
	default:
		return &r.Lifts[g.lift], c.lifts[g.lift].clauses
	}
}

// worstVerdict is the worst verdict of the reasons. None at all is a hold.
func worstVerdict(reasons []Reason) Verdict {
	if len(reasons) == 0 {
		return Hold
	}
	worst := Inside
	for i := range reasons {
		worst = Worse(worst, reasons[i].Verdict)
	}
	return worst
}
