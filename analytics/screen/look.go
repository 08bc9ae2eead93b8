package screen

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Prior counts what lots of this source came to once they were settled. The
// zero value knows nothing; negative counts are taken as zero.
type Prior struct {
	Inside  int `json:"inside"`
	Outside int `json:"outside"`
	Hold    int `json:"hold"`
	Never   int `json:"never"`
}

// count is how often the verdict came up.
func (p Prior) count(v Verdict) int {
	return max(0, [...]int{p.Inside, p.Outside, p.Hold, p.Never}[v.Severity()])
}

// total is how many lots are behind the prior.
func (p Prior) total() int {
	n := 0
	for _, v := range Verdicts() {
		n += p.count(v)
	}
	return n
}

// share is the expected share of a verdict: the mean of a Dirichlet
// distribution that starts from one imagined lot of each verdict (Laplace's
// rule of succession).
func (p Prior) share(v Verdict) float64 {
	return float64(p.count(v)+1) / float64(p.total()+len(Verdicts()))
}

// Look is one check a person can make, chosen for a held lot.
type Look struct {
	// ID is the check's id in the document; Label names it.
	ID    string `json:"id"`
	Label string `json:"label"`
	// How says how to do it, in a sentence or two.
	How string `json:"how"`
	// Why explains the choice in one sentence.
	Why string `json:"why"`
	// Minutes is about how long it takes, waiting not counted.
	Minutes int `json:"minutes"`
	// Settles is the chance, 0 to 1, that the check alone ends the hold.
	Settles float64 `json:"settles"`
	// Gain is what it was chosen by, 0 to 1: see NextLook.
	Gain float64 `json:"gain"`
	// Outcomes are what may come out, each with the findings to record and the
	// verdict that would follow.
	Outcomes []LookOutcome `json:"outcomes"`
}

// LookOutcome is one thing a check may show.
type LookOutcome struct {
	Label string `json:"label"`
	// Add are the findings to record; empty where a mark must be typed first.
	Add []Finding `json:"add,omitempty"`
	// Chance is its chance, 0 to 1.
	Chance  float64 `json:"chance"`
	Verdict Verdict `json:"verdict"`
}

// NextLook returns the single check most likely to settle a hold; nil when the
// findings are not held or no check on the list could change anything.
//
// The chance of an outcome is its weight in checks.json (a house estimate)
// times the share of the source's past lots that came to the verdict it would
// lead to (Laplace's rule of succession), scaled to add up to one. An outcome
// that ends the hold gains 1; one that does not gains half the share of holding
// reasons it answers. The check with the largest expected gain is chosen, of
// equals the quickest, then the first by id.
func NextLook(findings []Finding, prior Prior, opts Options) *Look {
	return nextLook(findings, prior, opts, false)
}

// NextLookBoard is NextLook for one board; the arguments are those of JudgeBoard.
func NextLookBoard(lot, board []Finding, prior Prior, opts Options) *Look {
	return nextLook(together(lot, board), prior, opts, true)
}

func nextLook(findings []Finding, prior Prior, opts Options, board bool) *Look {
	s := lookSearch{findings: findings, prior: prior, opts: opts, board: board}
	s.read()
	now := s.judge(nil, nil, 0)
	if now.Verdict != Hold {
		return nil
	}
	s.holding = holdingRules(&now)
	s.today = s.lastDay()
	var best *Look
	checks := tables().checks
	for i := range checks {
		if !s.offered(&checks[i]) {
			continue
		}
		if l := s.weigh(&checks[i]); l.Gain > 0 && better(l, best) {
			best = l
		}
	}
	if best != nil {
		best.Why = s.why(best)
	}
	return best
}

// better reports whether a is to be preferred to b. Gains closer than rounding
// count as equal.
func better(a, b *Look) bool {
	const rounding = 1e-9
	switch {
	case b == nil:
		return true
	case math.Abs(a.Gain-b.Gain) > rounding:
		return a.Gain > b.Gain
	case a.Minutes != b.Minutes:
		return a.Minutes < b.Minutes
	default:
		return a.ID < b.ID
	}
}

// lookSearch is one search for the next look.
type lookSearch struct {
	findings []Finding
	prior    Prior
	opts     Options
	board    bool
	known    []evidence // the findings, read once for all outcomes
	holding  []string
	present  factSet
	today    time.Time
}

// read reads the findings once for all outcomes, and notes their facts.
func (s *lookSearch) read() {
	h := hearing{t: tables(), findings: s.findings, opts: s.opts, board: s.board, imagined: imagined{from: len(s.findings)}}
	h.gather()
	s.known = slices.Clone(h.list)
	again := hearing{t: h.t, findings: s.findings, opts: s.opts, board: s.board, imagined: imagined{from: len(s.findings), known: s.known}}
	again.hear()
	s.present = again.present
}

// lastDay dates the imagined findings: today, or the newest finding where no
// day was given, so that they are not taken for older than what they answer.
func (s *lookSearch) lastDay() time.Time {
	last := s.opts.Today
	if last.IsZero() {
		for i := range s.findings {
			if s.findings[i].At.After(last) {
				last = s.findings[i].At
			}
		}
	}
	return last
}

// offered reports whether the check fits: a rule it can help with holds, and it
// was not done yet.
func (s *lookSearch) offered(c *check) bool {
	if c.unless.meets(&s.present) || len(c.Needs) > 0 && !c.needs.meets(&s.present) {
		return false
	}
	return slices.ContainsFunc(c.For, func(id string) bool { return slices.Contains(s.holding, id) })
}

// weigh works a check out.
func (s *lookSearch) weigh(c *check) *Look {
	l := &Look{ID: c.ID, Label: c.Label, How: c.How, Minutes: c.Minutes}
	gains := make([]float64, len(c.Outcomes))
	total := 0.0
	for i := range c.Outcomes {
		o := &c.Outcomes[i]
		add, days := s.imagine(o)
		j := s.judge(add, o.facts, days)
		gains[i] = s.gain(&j)
		chance := o.Weight * s.prior.share(j.Verdict)
		total += chance
		l.Outcomes = append(l.Outcomes, LookOutcome{Label: o.Label, Add: add, Chance: chance, Verdict: j.Verdict})
	}
	for i := range l.Outcomes {
		o := &l.Outcomes[i]
		o.Chance /= total
		l.Gain += o.Chance * gains[i]
		if o.Verdict != Hold {
			l.Settles += o.Chance
		}
	}
	return l
}

// imagine gives the findings of an outcome, and how many days it takes. Notes
// are filled where the kind asks for one, since a person would.
func (s *lookSearch) imagine(o *checkOutcome) ([]Finding, int) {
	on, days := OnLot, 0
	if s.board {
		on = OnBoard
	}
	var add []Finding
	for _, a := range o.Add {
		f := Finding{Kind: a.Kind, Value: a.Value, On: on}
		if !s.today.IsZero() {
			f.At = s.today.AddDate(0, 0, a.Days)
		}
		days = max(days, a.Days)
		add = append(add, f)
	}
	return add, days
}

// judge judges the findings with imagined ones after so many days.
func (s *lookSearch) judge(add []Finding, facts []factID, days int) Judgement {
	opts := s.opts
	// Drying takes weeks: the outcome is judged on the day it would be known.
	if !opts.Today.IsZero() {
		opts.Today = opts.Today.AddDate(0, 0, days)
	}
	all := s.findings
	if len(add) > 0 {
		all = slices.Concat(s.findings, add)
	}
	return deliberate(all, opts, s.board, imagined{from: len(s.findings), facts: facts, known: s.known})
}

// gain is 1 for an outcome that ends the hold, else half the share of the
// holding reasons it answers.
func (s *lookSearch) gain(j *Judgement) float64 {
	if j.Verdict != Hold {
		return 1
	}
	left := holdingRules(j)
	gone := 0
	for _, id := range s.holding {
		if !slices.Contains(left, id) {
			gone++
		}
	}
	const halfWay = 0.5
	return halfWay * float64(gone) / float64(len(s.holding))
}

// holdingRules lists the ids of the rules that hold.
func holdingRules(j *Judgement) []string {
	var ids []string
	for i := range j.Reasons {
		if j.Reasons[i].Verdict == Hold && !slices.Contains(ids, j.Reasons[i].RuleID) {
			ids = append(ids, j.Reasons[i].RuleID)
		}
	}
	return ids
}

// why explains the choice in one sentence.
func (s *lookSearch) why(l *Look) string {
	basis := "nothing is known yet of this source's lots"
	if n := s.prior.total(); n == 1 {
		basis = "one earlier lot of this source counted in"
	} else if n > 1 {
		basis = fmt.Sprintf("%d earlier lots of this source counted in", n)
	}
	if l.Settles > 0 {
		return fmt.Sprintf("Of all single checks this one does most: it ends the hold in about %.0f of 100 cases (a house estimate, %s).", 100*l.Settles, basis)
	}
	return fmt.Sprintf("No single check ends this hold; this one answers most of what holds it (a house estimate, %s).", basis)
}
