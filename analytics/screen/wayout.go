package screen

import (
	"cmp"
	"slices"
)

// misreadText is the way out of a rule that nothing but a misreading answers.
const misreadText = "Only a recorded misreading: what it really is, and how you know."

// waysOut lists what would make the worst reasons in force milder.
func (h *hearing) waysOut(j *Judgement) []Lift {
	if j.Verdict == Inside {
		return nil
	}
	n := 0
	for i := range j.Reasons {
		if j.Reasons[i].Verdict == j.Verdict {
			n += max(1, len(h.t.rules[h.t.ruleByID[j.Reasons[i].RuleID]].Lifts))
		}
	}
	lifts := make([]Lift, 0, n)
	for i := range j.Reasons {
		reason := &j.Reasons[i]
		if reason.Verdict == j.Verdict {
			lifts = h.appendWaysOut(lifts, reason)
		}
	}
	return lifts
}

// appendWaysOut adds the lifts of one reason that would make it milder than it
// is now, those that lack least first.
func (h *hearing) appendWaysOut(lifts []Lift, reason *Reason) []Lift {
	i := h.t.ruleByID[reason.RuleID]
	r, c := &h.t.rules[i], &h.t.compiled[i]
	start, trigger := len(lifts), -1
	if len(reason.Findings) > 0 {
		trigger = reason.Findings[0]
	}
	// What the house made a never is as final as any other.
	if reason.Verdict == Never {
		return h.appendMisreadings(lifts, r, c, trigger)
	}
	for n := range r.Lifts {
		l := &r.Lifts[n]
		to := l.To
		if c.lifts[n].key != "" {
			to = h.setting(c.lifts[n].key, l.To, l.Allowed)
		}
		if to == "" || to.Severity() < reason.Verdict.Severity() {
			lifts = append(lifts, Lift{
				RuleID: r.ID, To: to, Text: l.Text, Needs: l.When,
				Missing: h.missing(&c.lifts[n], l, trigger),
			})
		}
	}
	if len(r.Lifts) > 0 {
		slices.SortStableFunc(lifts[start:], func(a, b Lift) int { return cmp.Compare(a.Missing, b.Missing) })
		return lifts
	}
	return h.appendMisreadings(lifts, r, c, trigger)
}

// appendMisreadings adds the misreading as the way out of a rule without lifts.
func (h *hearing) appendMisreadings(lifts []Lift, r *Rule, c *compiledRule, trigger int) []Lift {
	if r.Misread == nil {
		return append(lifts, Lift{RuleID: r.ID, Text: misreadText, Needs: [][]string{}, Misreading: true, Missing: 1})
	}
	aside := 1
	if trigger >= 0 && h.list[trigger].aside >= 0 {
		aside = 0
	}
	for n := range r.Misread.Steps {
		s := &r.Misread.Steps[n]
		lifts = append(lifts, Lift{
			RuleID: r.ID, To: s.To, Text: s.Text, Needs: s.When,
			Misreading: true, Missing: aside + h.missing(&c.misread[n], &RuleLift{}, trigger),
		})
	}
	return lifts
}

// missing counts the clauses of a lift that are not met yet.
func (h *hearing) missing(c *compiledLift, l *RuleLift, trigger int) int {
	n := 0
	for i := range c.clauses {
		if !h.clauseMet(&c.clauses[i], l, trigger, nil) {
			n++
		}
	}
	return n
}
