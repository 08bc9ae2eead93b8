package screen

import "slices"

// Standing says what a rule rests on.
type Standing string

// The standings of a rule.
const (
	// Published rules rest on a standard, a law, a label or a study.
	Published Standing = "published"
	// CommonPractice rules rest on what careful people do; no source measured it.
	CommonPractice Standing = "common practice"
	// HousePolicy rules may be set by the keeper within the rule's bounds.
	HousePolicy Standing = "house policy"
)

// Status says how well the source of a statement was checked.
type Status string

// The statuses of a statement.
const (
	// Checked means that a copy of the source was read.
	Checked Status = "checked"
	// FromMemory means that nobody has read the source for this table yet.
	FromMemory Status = "from memory"
	// NoSource means that there is none: common practice.
	NoSource Status = "no source"
)

// Rule is one row of the rule table.
type Rule struct {
	// ID is "S" and two digits. S01 to S51 are the rows of the decision table the
	// rules grew from; later ones were found missing in it.
	ID string `json:"id"`
	// Row is the row of that table; zero for later rules.
	Row int `json:"row,omitempty"`
	// Name is a few words for lists.
	Name string `json:"name"`
	// When are the clauses of evidence: the rule fires for every finding that
	// yields a fact of the first, if each further one is met by some finding. No
	// clause at all fires always.
	When [][]string `json:"when"`
	// Verdict is what the rule asks for; empty for a remark or a legal stop.
	Verdict Verdict `json:"verdict"`
	// Stop is true for a legal stop.
	Stop bool `json:"stop,omitempty"`
	// Allowed are the verdicts a keeper may set; empty for a fixed rule.
	Allowed []Verdict `json:"allowed,omitempty"`
	// Why says what those bounds rest on.
	Why    string `json:"why,omitempty"`
	Text   string `json:"text"`
	Source string `json:"source"`
	// Year is the source's year where there is one source; several sources carry
	// their years in Source, each its own.
	Year string `json:"year,omitempty"`
	// Link is a page where the source, or a copy or report of it, was read.
	Link     string   `json:"link,omitempty"`
	Standing Standing `json:"standing"`
	Status   Status   `json:"status"`
	// Memory names the part of a checked rule that is from memory; else empty.
	Memory string `json:"memory,omitempty"`
	// Since is the first rule version that held this rule as it reads now.
	Since string `json:"since"`
	// Lifts are the ways to answer a firing, none for verdict never.
	Lifts []RuleLift `json:"lifts,omitempty"`
	// Misread says what a recorded misreading needs and does; nil means that it
	// needs nothing more and that the firing falls away.
	Misread *Misread `json:"misread,omitempty"`
}

// Footing says what the rule rests on in a few words: its standing, how well the
// source was checked and, where that differs for a part, which part is from
// memory: "published, checked; from memory: what PTI and EL2 hold".
func (r Rule) Footing() string { return footing(r.Standing, r.Status, r.Memory) }

func footing(standing Standing, status Status, memory string) string {
	text := string(standing) + ", " + string(status)
	if memory != "" {
		text += "; from memory: " + memory
	}
	return text
}

// RuleLift is one way to answer a firing of a rule.
type RuleLift struct {
	// ID names the lift within its rule.
	ID string `json:"id"`
	// When are the clauses of evidence, all of which must be met.
	When [][]string `json:"when"`
	// To is the verdict that remains; empty when the firing falls away.
	To Verdict `json:"to,omitempty"`
	// Allowed are the verdicts a keeper may set for To; empty for a fixed lift.
	Allowed []Verdict `json:"allowed,omitempty"`
	Why     string    `json:"why,omitempty"`
	// Own asks that the evidence was recorded on the board itself.
	Own bool `json:"own,omitempty"`
	// Apart asks that the evidence of each clause spans so many days.
	Apart int `json:"apart,omitempty"`
	// Later asks that the evidence is of a later day than what it answers.
	Later bool   `json:"later,omitempty"`
	Text  string `json:"text"`
}

// Misread says how far a recorded misreading of the finding answers a firing.
type Misread struct {
	Steps []MisreadStep `json:"steps"`
}

// MisreadStep is the verdict left by a recorded misreading together with
// further evidence; of several met steps the mildest counts.
type MisreadStep struct {
	When [][]string `json:"when"`
	To   Verdict    `json:"to"`
	Text string     `json:"text"`
}

// Version returns the version of the rules this program carries, and after a
// "+" that of the mark grammar they read with. It is stored beside every
// verdict; tests tie both to the content of the tables.
func Version() string { return tables().version }

// Versions returns every rule version there has been, newest last.
func Versions() []RuleVersion { return slices.Clone(tables().versions) }

// RuleVersion is one edition of the tables.
type RuleVersion struct {
	Version string `json:"version"`
	// Date is the day of the edition, as YYYY-MM-DD.
	Date string `json:"date"`
	// Change says what changed, for people.
	Change string `json:"change"`
	// SHA256 is the checksum of the document's tables, in hex.
	SHA256 string `json:"sha256"`
}

// Rules returns every rule, in order of id.
func Rules() []Rule { return slices.Clone(tables().rules) }

// RuleByID returns one rule and whether there is one with that id.
func RuleByID(id string) (Rule, bool) {
	t := tables()
	i, ok := t.ruleByID[id]
	if !ok {
		return Rule{}, false
	}
	return t.rules[i], true
}
