package screen

// Policy is the house policy: for rules whose standing is HousePolicy, the
// verdict a keeper chose within the rule's published bounds. The zero value is
// the default of every rule.
type Policy struct {
	// Settings maps a setting's id (see PolicySettings) to the chosen verdict.
	Settings map[string]Verdict `json:"settings,omitempty"`
}

// PolicySetting is one thing a keeper may decide: the verdict of a house-policy
// rule, or the verdict left after a house-policy lift.
type PolicySetting struct {
	// ID is the rule's id ("S04") or the rule's id and lift ("S03/aired").
	ID string `json:"id"`
	// RuleID is the rule it belongs to.
	RuleID string `json:"rule"`
	// Label names the decision in a few words.
	Label string `json:"label"`
	// Default is the verdict when nothing is chosen.
	Default Verdict `json:"default"`
	// Allowed are the verdicts within the published bounds, mildest first.
	Allowed []Verdict `json:"allowed"`
	// Why says what the bounds rest on.
	Why string `json:"why"`
}

// Judged is a lot or board with the verdict it had or would have.
type Judged struct {
	ID            string  `json:"id"`
	Verdict       Verdict `json:"verdict"`
	OwnershipStop bool    `json:"ownership_stop,omitempty"`
}

// Move is how many lots go from one verdict to another, and which.
type Move struct {
	From Verdict  `json:"from"`
	To   Verdict  `json:"to"`
	IDs  []string `json:"ids"`
}
