package screen

// check is one row of checks.json: something a person can do, and what may come
// of it. The weights are house estimates without a source; the document and the
// page say so. They only rank checks and never touch a verdict.
type check struct {
	ID      string `json:"id"`
	Label   string `json:"label"`
	How     string `json:"how"`
	Minutes int    `json:"minutes"`
	// For are the rules it can help with; one must be in force and hold.
	For []string `json:"for"`
	// Unless are facts that show it was done; Needs are facts it must follow.
	Unless   []string       `json:"unless,omitempty"`
	Needs    []string       `json:"needs,omitempty"`
	Outcomes []checkOutcome `json:"outcomes"`

	unless, needs factSet
}

// checkOutcome is one thing a check may show: findings to record, or facts of
// a mark whose text nobody has read yet.
type checkOutcome struct {
	Label  string     `json:"label"`
	Weight float64    `json:"weight"`
	Add    []checkAdd `json:"add,omitempty"`
	Facts  []string   `json:"facts,omitempty"`

	facts []factID
}

// checkAdd is a finding the outcome would add, so many days from now.
type checkAdd struct {
	Kind  Kind   `json:"kind"`
	Value string `json:"value"`
	Days  int    `json:"days,omitempty"`
}

func (t *tableSet) compileChecks() {
	for i := range t.checks {
		c := &t.checks[i]
		for _, f := range t.factIDs(c.Unless) {
			c.unless.add(f)
		}
		for _, f := range t.factIDs(c.Needs) {
			c.needs.add(f)
		}
		for j := range c.Outcomes {
			c.Outcomes[j].facts = t.factIDs(c.Outcomes[j].Facts)
		}
	}
}
