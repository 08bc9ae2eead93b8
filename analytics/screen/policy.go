package screen

import (
	"fmt"
	"maps"
	"slices"
	"strings"
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
// wrapping ErrFixedRule for a rule no keeper may set (ErrNoRule where there is
// none of that id), ErrUnknownVerdict for a word that is no verdict,
// ErrOutOfBounds for a verdict beyond the bounds.
func (p Policy) Validate() error {
	settings := PolicySettings()
	for _, id := range slices.Sorted(maps.Keys(p.Settings)) {
		chosen := p.Settings[id]
		at := slices.IndexFunc(settings, func(s PolicySetting) bool { return s.ID == id })
		switch {
		case at < 0:
			return fixed(id, settings)
		case !chosen.Known():
			return fmt.Errorf("%s: %w: %q: choose %s", id, ErrUnknownVerdict, clip(string(chosen)), oneOf(settings[at].Allowed))
		case !slices.Contains(settings[at].Allowed, chosen):
			return fmt.Errorf("%s: %s is %w: choose %s", id, chosen, ErrOutOfBounds, oneOf(settings[at].Allowed))
		}
	}
	return nil
}

// fixed says why an id is no setting: a published rule, another rule, the lift
// that is one where its rule is not, or no rule at all.
func fixed(id string, settings []PolicySetting) error {
	name, _, _ := strings.Cut(id, "/")
	r, ok := RuleByID(name)
	if !ok {
		return fmt.Errorf("%s %w: name one of %s", clip(id), ErrNoRule, settingIDs(settings))
	}
	own := slices.DeleteFunc(slices.Clone(settings), func(s PolicySetting) bool { return s.RuleID != r.ID })
	switch {
	case len(own) > 0:
		return fmt.Errorf("%s %w: of this rule the house decides %s", clip(id), ErrFixedRule, settingIDs(own))
	case r.Standing == Published:
		return fmt.Errorf("%s (%s) %w: it is published and cannot be softened", r.ID, r.Name, ErrFixedRule)
	default:
		return fmt.Errorf("%s (%s) %w: it is %s and not left to the house", r.ID, r.Name, ErrFixedRule, r.Standing)
	}
}

func settingIDs(settings []PolicySetting) string {
	ids := make([]string, len(settings))
	for i, s := range settings {
		ids[i] = s.ID
	}
	return strings.Join(ids, ", ")
}

// oneOf lists verdicts in words: "outside, hold or never".
func oneOf(verdicts []Verdict) string {
	words := make([]string, len(verdicts))
	for i, v := range verdicts {
		words[i] = string(v)
	}
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
