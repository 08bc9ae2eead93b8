package screen

import (
	"math"
	"slices"
)

// firing is one rule fired by one finding, or by silence.
type firing struct {
	rule    int
	finding int // -1 for a rule that fires always
}

// answer is what became of a firing.
type answer struct {
	verdict Verdict // what is left; empty and fell=true when nothing is
	fell    bool
	lift    int // which lift answered, noLift for none
	text    string
}

// Codes in answer.lift beside the index of a lift.
const (
	noLift       = -1
	plainMisread = 1000 // a misreading that needs nothing more
	stepMisread  = 2000 // plus the index of the step
)

// answerOf finds what became of a firing: the mildest of the lifts it meets. A
// never takes no lift, also where only the house made it one: it falls to a
// recorded misreading of what fired it and to nothing else.
func (h *hearing) answerOf(f firing) answer {
	r, c := &h.t.rules[f.rule], &h.t.compiled[f.rule]
	best := answer{verdict: h.setting(r.ID, r.Verdict, r.Allowed), lift: noLift}
	if f.finding >= 0 && h.list[f.finding].aside >= 0 {
		return h.misreadAnswer(f, best)
	}
	if best.verdict == Never {
		return best
	}
	for i := range c.lifts {
		l := &r.Lifts[i]
		if !h.met(&c.lifts[i], l, f.finding) {
			continue
		}
		to := l.To
		if c.lifts[i].key != "" {
			to = h.setting(c.lifts[i].key, l.To, l.Allowed)
		}
		best = milder(best, answer{verdict: to, fell: to == "", lift: i, text: l.Text})
	}
	return best
}

// misreadAnswer is answerOf for a finding that was set aside.
func (h *hearing) misreadAnswer(f firing, best answer) answer {
	r, c := &h.t.rules[f.rule], &h.t.compiled[f.rule]
	if r.Misread == nil {
		return answer{fell: true, lift: plainMisread, text: "Recorded as a misreading."}
	}
	for i := range c.misread {
		if h.met(&c.misread[i], &RuleLift{}, f.finding) {
			s := &r.Misread.Steps[i]
			best = milder(best, answer{verdict: s.To, fell: s.To == "", lift: stepMisread + i, text: s.Text})
		}
	}
	return best
}

// milder returns the milder answer; falling away is milder than any verdict. A
// lift that would make things worse (a policy below the rule) changes nothing.
func milder(a, b answer) answer {
	if a.fell || !b.fell && b.verdict.Severity() >= a.verdict.Severity() {
		return a
	}
	return b
}

// setting returns the keeper's choice where there is one within the bounds, else
// the default. Out of bounds it is ignored: nothing published can be softened.
func (h *hearing) setting(key string, otherwise Verdict, allowed []Verdict) Verdict {
	if len(h.opts.Policy.Settings) == 0 || len(allowed) == 0 {
		return otherwise
	}
	if v, ok := h.opts.Policy.Settings[key]; ok && slices.Contains(allowed, v) {
		return v
	}
	return otherwise
}

// met reports whether every clause of a lift is met for what the trigger saw.
func (h *hearing) met(c *compiledLift, l *RuleLift, trigger int) bool {
	for i := range c.clauses {
		if !h.clauseMet(&c.clauses[i], l, trigger, nil) {
			return false
		}
	}
	return true
}

// clauseMet reports whether one clause is met, and calls seen (when not nil)
// with each finding that meets it.
func (h *hearing) clauseMet(clause *factSet, l *RuleLift, trigger int, seen func(int)) bool {
	// Most clauses are met by nothing at all; the sets say so in a few words of
	// memory, before the findings are gone through.
	if !clause.meets(&h.clearing) {
		return false
	}
	found := false
	first, last := int32(math.MaxInt32), int32(math.MinInt32)
	for i := range h.list {
		e := &h.list[i]
		if !e.clears || !e.holds(clause) || !h.reaches(e, l, trigger) || !h.timely(e, l, trigger) {
			continue
		}
		// An undated reading cannot show that days lay between.
		if l.Apart > 0 && e.day == noDay {
			continue
		}
		found = true
		first, last = min(first, e.day), max(last, e.day)
		if seen != nil {
			seen(i)
		}
	}
	return found && (l.Apart == 0 || int64(last)-int64(first) >= int64(l.Apart))
}

// holds reports whether the finding yields a fact of the clause.
func (e *evidence) holds(clause *factSet) bool {
	for _, f := range e.facts {
		if clause.has(f) {
			return true
		}
	}
	return false
}

// reaches reports whether evidence speaks for the piece of wood the trigger is
// about: the same piece; a board's lot, unless only one piece of it was looked
// at; or, judging one board, that board for its lot.
func (h *hearing) reaches(e *evidence, l *RuleLift, trigger int) bool {
	if l.Own {
		return h.board && e.place != lotPlace
	}
	about := int32(lotPlace)
	if trigger >= 0 {
		about = h.list[trigger].place
	}
	switch {
	case e.place == about:
		return true
	case e.place == lotPlace:
		return !e.piece
	default:
		return h.board && about == lotPlace
	}
}

// timely reports whether a deed or test came no earlier than what it answers.
// Where only one of the two days is known, nothing shows that it did.
func (h *hearing) timely(e *evidence, l *RuleLift, trigger int) bool {
	if !e.dated || trigger < 0 {
		return true
	}
	seen := h.list[trigger].day
	if l.Later {
		return seen != noDay && e.day != noDay && e.day > seen
	}
	return seen == noDay || e.day >= seen
}
