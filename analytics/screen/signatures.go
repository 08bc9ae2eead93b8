package screen

// Kinds returns every kind of finding a person can record, in the order forms
// show them.
func Kinds() []KindInfo { return nil }

// KindByName returns the description of a kind.
func KindByName(kind Kind) (KindInfo, bool) { return KindInfo{}, false }

// Validate says whether a form may take the finding. The error is a
// *FindingError. Judge needs no validated findings.
func Validate(f Finding) error { return nil }

// Version returns the version of the rules this program carries.
func Version() string { return "" }

// Rules returns every rule, in order of id.
func Rules() []Rule { return nil }

// RuleByID returns one rule.
func RuleByID(id string) (Rule, bool) { return Rule{}, false }

// Rule is one row of the rule table.
type Rule struct {
	ID       string   `json:"id"`
	Verdict  Verdict  `json:"verdict"`
	Text     string   `json:"text"`
	Source   string   `json:"source"`
	Year     string   `json:"year,omitempty"`
	Standing Standing `json:"standing"`
	Status   Status   `json:"status"`
	Since    string   `json:"since"`
}

// Unit is a lot judged together with its boards.
type Unit struct {
	Lot    Judgement        `json:"lot"`
	Boards []BoardJudgement `json:"boards,omitempty"`
}

// BoardJudgement is the judgement of one board of a unit.
type BoardJudgement struct {
	On        string    `json:"on"`
	Judgement Judgement `json:"judgement"`
}

// JudgeUnit splits the findings by Finding.On and judges the lot and each board.
func JudgeUnit(findings []Finding, opts Options) Unit { return Unit{} }

// WorstOf gives the judgement of a panel glued up from several pieces.
func WorstOf(parts ...Judgement) Judgement { return Judgement{Verdict: Hold} }

// PolicySettings returns what a keeper may decide.
func PolicySettings() []PolicySetting { return nil }

// Validate returns an error wrapping ErrFixedRule, ErrOutOfBounds or
// ErrUnknownVerdict for the first setting, by id, that cannot be.
func (p Policy) Validate() error { return nil }

// Diff says which lots move between verdicts, worst new verdict first.
func Diff(before, after []Judged) []Move { return nil }

// Sentence says a move in words: "14 lots would move from outside to never".
func (m Move) Sentence() string { return "" }

// NextLook returns the single check most likely to settle a hold; nil when the
// findings are not held or no check could change anything.
func NextLook(findings []Finding, prior Prior, opts Options) *Look { return nil }

// RiskTrend gives shares with intervals and tests whether risk has risen.
func RiskTrend(lots []Outcome, opts RiskOptions) (Risk, error) { return Risk{}, nil }

// RiskOptions set the test of RiskTrend.
type RiskOptions struct {
	// Alpha is the largest accepted chance of a false alarm; zero means 0.05.
	Alpha float64
	// Days is how many of the latest days of fetching are tested; zero means 60.
	Days int
}

// Document returns the versioned JSON document of rules, kinds, checks, cautions
// and mark grammar.
func Document() []byte { return nil }
