package screen

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
	Checked    Status = "checked"
	FromMemory Status = "from memory"
	NoSource   Status = "no source"
)
