package screen

import (
	"fmt"
	"maps"
	"slices"
)

// Policy is the house policy: for what the rules leave to the keeper, the
// verdict chosen within the rule's published bounds. The zero value is the
// default of every rule. Judge ignores a setting that Validate would refuse.
type Policy struct {
	// Settings maps a setting's id (see PolicySettings) to the chosen verdict.
	Settings map[string]Verdict `json:"settings,omitempty"`
}

// PolicySetting is one thing a keeper may decide: the verdict of a house-policy
// rule, or the verdict left after one of its lifts.
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

// PolicySettings returns what a keeper may decide, in order of rule.
func PolicySettings() []PolicySetting {
	var out []PolicySetting
	for _, r := range Rules() {
		if len(r.Allowed) > 0 {
			out = append(out, PolicySetting{r.ID, r.ID, r.Name, r.Verdict, slices.Clone(r.Allowed), r.Why})
		}
		for _, l := range r.Lifts {
			if len(l.Allowed) > 0 {
				out = append(out, PolicySetting{r.ID + "/" + l.ID, r.ID, r.Name + ", " + l.ID, l.To, slices.Clone(l.Allowed), l.Why})
			}
		}
	}
	return out
}

// Validate returns an error for the first setting, by id, that cannot be: one
// wrapping ErrFixedRule for a rule no keeper may set, ErrUnknownVerdict for a
// word that is no verdict, ErrOutOfBounds for a verdict beyond the bounds.
func (p Policy) Validate() error {
	settings := PolicySettings()
	for _, id := range slices.Sorted(maps.Keys(p.Settings)) {
		chosen := p.Settings[id]
		at := slices.IndexFunc(settings, func(s PolicySetting) bool { return s.ID == id })
		switch {
		case at < 0:
			return fmt.Errorf("%w: %q: only the settings marked house policy can be set", ErrFixedRule, clip(id))
		case !chosen.Known():
			return fmt.Errorf("%s: %w: %q: write one of %v", id, ErrUnknownVerdict, clip(string(chosen)), settings[at].Allowed)
		case !slices.Contains(settings[at].Allowed, chosen):
			return fmt.Errorf("%s: %w: %s: write one of %v", id, ErrOutOfBounds, chosen, settings[at].Allowed)
		}
	}
	return nil
}
