package screen

import "time"

// Options are the circumstances of a judgement. The zero value judges by the
// default policy, takes no date for being in the future, and chooses no next look.
type Options struct {
	// Policy is the house policy; the zero value is the published default.
	Policy Policy
	// Today dates the judgement: findings dated later than the day after it
	// count against the wood but clear nothing. The zero time checks nothing.
	Today time.Time
	// Prior, when not nil, makes Judge fill Judgement.Next for a held lot.
	Prior *Prior
}

// Judgement is a verdict with everything a person needs to check it.
type Judgement struct {
	// Verdict is the worst verdict left standing.
	Verdict Verdict `json:"verdict"`
	// OwnershipStop is true while the wood shows an owner who has not released
	// it. It stands apart from Verdict: such wood is not ours to judge or take.
	OwnershipStop bool `json:"ownership_stop"`
	// Reasons are the rules in force, worst first, then by rule id. There is
	// always at least one.
	Reasons []Reason `json:"reasons"`
	// Stops are the legal stops in force; their Verdict is empty.
	Stops []Reason `json:"stops,omitempty"`
	// Remarks are rules that inform and ask for no verdict.
	Remarks []Reason `json:"remarks,omitempty"`
	// Lifted are the rules that fired and were answered away. One that was only
	// made milder is in Reasons, with From, By and Answer filled.
	Lifted []Reason `json:"lifted,omitempty"`
	// Lifts say what would change the verdict, from the worst reasons only.
	Lifts []Lift `json:"lifts,omitempty"`
	// Next is the most telling single check of a held lot, when asked for.
	Next *Look `json:"next,omitempty"`
	// Cautions belong to the findings: mask, metal, lead, burning, hands.
	Cautions []Caution `json:"cautions,omitempty"`
	// Notes are remarks on the findings themselves that change no verdict:
	// "older than 2010 or misread", "this misreading gives no reason".
	Notes []Note `json:"notes,omitempty"`
	// RuleVersion is Version() of the rules that judged.
	RuleVersion string `json:"rule_version"`
}

// Reason is one rule in force (or, in Judgement.Lifted, one that was answered).
type Reason struct {
	// RuleID is the rule's id, such as "S04"; RuleByID finds it.
	RuleID string `json:"rule"`
	// Name is the rule in a few words.
	Name string `json:"name"`
	// Findings are indexes into the judged findings, ascending. Empty for the
	// rule that fires on silence.
	Findings []int `json:"findings"`
	// Verdict is what this reason asks for now; empty in Stops and Remarks and
	// where a lift left nothing.
	Verdict Verdict `json:"verdict,omitempty"`
	// From is the verdict before a lift, after house policy; empty when nothing
	// was lifted.
	From Verdict `json:"from,omitempty"`
	// By are indexes of the findings that lifted it.
	By []int `json:"by,omitempty"`
	// Answer says, once lifted, what answered it.
	Answer string `json:"answer,omitempty"`
	// Text is the reason in a sentence for a person who is no chemist.
	Text string `json:"text"`
	// Source is where the rule comes from, and Year its year.
	Source string `json:"source"`
	Year   string `json:"year,omitempty"`
	// Link is a page where the source, or a copy or report of it, was read.
	Link string `json:"link,omitempty"`
	// Standing is "published", "common practice" or "house policy".
	Standing Standing `json:"standing"`
	// Status is "checked" or "from memory", after the source was read or not.
	Status Status `json:"status"`
	// Memory names the part of a checked rule that is from memory.
	Memory string `json:"memory,omitempty"`
}

// Footing says what the reason rests on, as Rule.Footing does.
func (r Reason) Footing() string { return footing(r.Standing, r.Status, r.Memory) }

// Lift is one way to change a reason in force.
type Lift struct {
	RuleID string `json:"rule"`
	// To is the verdict the reason would take; empty when it would fall away.
	To Verdict `json:"to,omitempty"`
	// Text says what evidence would do it.
	Text string `json:"text"`
	// Needs are the clauses of evidence: each needs one of its facts.
	Needs [][]string `json:"needs"`
	// Misreading is true when a recorded misreading is needed besides.
	Misreading bool `json:"misreading,omitempty"`
	// Missing is how many of these are not met yet.
	Missing int `json:"missing"`
}

// Caution is a warning at the place it matters.
type Caution struct {
	ID string `json:"id"`
	// Place is where it matters: "taking", "opening", "sawing", "metal",
	// "burning", "hands", "hive".
	Place  string `json:"place"`
	Text   string `json:"text"`
	Source string `json:"source"`
	Status Status `json:"status"`
}

// Note is a remark on one finding that changes no verdict.
type Note struct {
	// Finding is an index into the judged findings; -1 for the whole.
	Finding int    `json:"finding"`
	Text    string `json:"text"`
}

// Judge gives the verdict the findings support. It takes them as being about
// one piece of wood: findings on boards in the list count for the whole, and
// nothing recorded on one board answers what was seen on another or on the lot.
// Judge never fails: what it cannot read holds the wood and says so.
func Judge(findings []Finding, opts Options) Judgement {
	return judge(findings, opts, false)
}

// JudgeBoard gives the verdict of one board: all findings of its lot count, and
// its own. The board's own evidence may answer what was seen on the lot, for
// this board only. Finding indexes of the result count through lot first, then
// board. Findings in board count as the board's whatever their On says.
func JudgeBoard(lot, board []Finding, opts Options) Judgement {
	return judge(together(lot, board), opts, true)
}

// together lists the findings of a lot and of one of its boards, each marked as
// such.
func together(lot, board []Finding) []Finding {
	all := make([]Finding, 0, len(lot)+len(board))
	for _, f := range lot {
		f.On = OnLot
		all = append(all, f)
	}
	for _, f := range board {
		f.On = OnBoard
		all = append(all, f)
	}
	return all
}
