package screen

import (
	"cmp"
	"slices"
)

// Unit is a lot judged together with its boards.
type Unit struct {
	Lot    Judgement        `json:"lot"`
	Boards []BoardJudgement `json:"boards,omitempty"`
}

// BoardJudgement is the judgement of one board of a unit.
type BoardJudgement struct {
	// On is the board as Finding.On named it.
	On string `json:"on"`
	// Apart is true when the verdict differs from the lot's: the one board to
	// single out.
	Apart     bool      `json:"apart"`
	Judgement Judgement `json:"judgement"`
}

// JudgeUnit splits the findings by Finding.On and judges the lot and every board
// that has findings of its own, by name of board. Finding indexes of all results
// are those of the argument.
func JudgeUnit(findings []Finding, opts Options) Unit {
	var lot []int
	boards := map[string][]int{}
	for i, f := range findings {
		if f.OfLot() {
			lot = append(lot, i)
		} else {
			boards[f.On] = append(boards[f.On], i)
		}
	}
	u := Unit{Lot: judge(pick(findings, lot), opts, false)}
	u.Lot.renumber(lot)
	// A board is judged with its lot's findings, which pass to every board cut
	// from it; its own stay on it.
	for on, own := range boards {
		j := JudgeBoard(pick(findings, lot), pick(findings, own), opts)
		j.renumber(slices.Concat(lot, own))
		u.Boards = append(u.Boards, BoardJudgement{On: on, Apart: j.Verdict != u.Lot.Verdict, Judgement: j})
	}
	slices.SortFunc(u.Boards, func(a, b BoardJudgement) int { return cmp.Compare(a.On, b.On) })
	return u
}

func pick(findings []Finding, indexes []int) []Finding {
	picked := make([]Finding, len(indexes))
	for i, at := range indexes {
		picked[i] = findings[at]
	}
	return picked
}

// renumber puts the original index in place of every finding index.
func (j *Judgement) renumber(original []int) {
	for _, list := range [][]Reason{j.Reasons, j.Stops, j.Remarks, j.Lifted} {
		for i := range list {
			list[i].Findings = renumbered(list[i].Findings, original)
			list[i].By = renumbered(list[i].By, original)
		}
	}
	for i := range j.Notes {
		if n := j.Notes[i].Finding; n >= 0 {
			j.Notes[i].Finding = original[n]
		}
	}
}

// renumbered keeps nil and empty apart, as JSON does.
func renumbered(indexes, original []int) []int {
	if indexes == nil {
		return nil
	}
	out := make([]int, len(indexes))
	for i, n := range indexes {
		out[i] = original[n]
	}
	slices.Sort(out)
	return out
}

// WorstOf gives the judgement of a panel glued up from several pieces, or of
// anything else that joins them: the worst verdict, a legal stop if any piece
// has one, and all that was said of each piece, without repeats. Finding indexes
// are those of each part and mean nothing across parts, so they are left out.
// Without parts nothing is known: a hold.
func WorstOf(parts ...Judgement) Judgement {
	if len(parts) == 0 {
		return Judge(nil, Options{})
	}
	out := Judgement{Verdict: Inside, RuleVersion: parts[0].RuleVersion}
	for i := range parts {
		p := &parts[i]
		out.Verdict = Worse(out.Verdict, p.Verdict)
		out.OwnershipStop = out.OwnershipStop || p.OwnershipStop
		out.Reasons = join(out.Reasons, p.Reasons)
		out.Stops = join(out.Stops, p.Stops)
		out.Remarks = join(out.Remarks, p.Remarks)
		out.Lifted = join(out.Lifted, p.Lifted)
		if p.RuleVersion != out.RuleVersion {
			out.RuleVersion = ""
		}
	}
	slices.SortStableFunc(out.Reasons, func(a, b Reason) int {
		return cmp.Or(cmp.Compare(b.Verdict.Severity(), a.Verdict.Severity()), cmp.Compare(a.RuleID, b.RuleID))
	})
	out.joinAdvice(parts)
	return out
}

// join adds the reasons that are not there yet, without their finding indexes.
func join(have, more []Reason) []Reason {
	for _, r := range more {
		r.Findings, r.By = []int{}, nil
		same := func(o Reason) bool { return o.RuleID == r.RuleID && o.Verdict == r.Verdict && o.Answer == r.Answer }
		if !slices.ContainsFunc(have, same) {
			have = append(have, r)
		}
	}
	return have
}

// joinAdvice keeps the ways out of the worst pieces and the cautions of all.
func (j *Judgement) joinAdvice(parts []Judgement) {
	for i := range parts {
		p := &parts[i]
		for _, l := range p.Lifts {
			same := func(o Lift) bool { return o.RuleID == l.RuleID && o.Text == l.Text }
			if p.Verdict == j.Verdict && !slices.ContainsFunc(j.Lifts, same) {
				j.Lifts = append(j.Lifts, l)
			}
		}
		for _, c := range p.Cautions {
			if !slices.Contains(j.Cautions, c) {
				j.Cautions = append(j.Cautions, c)
			}
		}
	}
}
