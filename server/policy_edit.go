package server

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"skepwood/analytics/screen"
	"skepwood/db"
)

// rulesPage shows the rules the book judges by, and the house policy.
type rulesPage struct {
	base
	// RuleVersion is the version of the rules, not of the program.
	RuleVersion string
	Versions    []screen.RuleVersion
	Rules       []screen.Rule
	Settings    []policySetting
	// Pending is what this program's rules would change in lots that an older
	// version judged.
	Pending db.Effect
}

// policySetting is one choice with what stands now.
type policySetting struct {
	screen.PolicySetting
	Now screen.Verdict
	// Entry is the live choice in the book; nil where the default stands.
	Entry *db.PolicyChoice
}

func (a *app) rulesShow(w http.ResponseWriter, r *http.Request) error {
	page := &rulesPage{base: a.base(r, "Rules"), RuleVersion: screen.Version(), Versions: screen.Versions(), Rules: screen.Rules()}
	var err error
	if page.Settings, err = a.policySettings(r); err != nil {
		return err
	}
	if page.Pending, err = a.store.RuleEffect(r.Context()); err != nil {
		return err
	}
	return a.show(w, "rules_show", page)
}

func (a *app) policySettings(r *http.Request) ([]policySetting, error) {
	choices, err := a.store.PolicyChoices(r.Context())
	if err != nil {
		return nil, err
	}
	var out []policySetting
	for _, s := range screen.PolicySettings() {
		line := policySetting{PolicySetting: s, Now: s.Default}
		for i := range choices {
			if choices[i].Setting == s.ID {
				line.Entry, line.Now = &choices[i], screen.Verdict(choices[i].Verdict)
			}
		}
		out = append(out, line)
	}
	return out, nil
}

// policyWhy is an example of a reason for a house rule.
const policyWhy = "the club agreed on it in March"

// policyPage shows the effect of a choice before it is saved.
type policyPage struct {
	base
	Setting policySetting
	Chosen  string
	Why     field
	Effect  db.Effect
	Faults  []formFault
	NewID   string
}

// policyPreview judges the whole book with the choice, storing nothing.
func (a *app) policyPreview(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadPolicy(r, r.URL.Query().Get("setting"), r.URL.Query().Get("verdict"))
	if err != nil {
		return err
	}
	return a.show(w, "policy_edit", page)
}

func (a *app) loadPolicy(r *http.Request, setting, verdict string) (*policyPage, error) {
	page := &policyPage{base: a.base(r, "House policy"), Chosen: verdict, NewID: newID().String(), Why: whyField("", nil)}
	page.Why.Example = policyWhy
	settings, err := a.policySettings(r)
	if err != nil {
		return nil, err
	}
	policy := screen.Policy{Settings: map[string]screen.Verdict{}}
	found := false
	for _, s := range settings {
		if s.Entry != nil {
			policy.Settings[s.ID] = s.Now
		}
		if s.ID == setting {
			page.Setting, found = s, true
		}
	}
	policy.Settings[setting] = screen.Verdict(verdict)
	switch err := policy.Validate(); {
	case errors.Is(err, screen.ErrNoRule):
		return nil, &statusError{http.StatusNotFound, "There is no such rule. The rules page lists every one."}
	case err != nil:
		return nil, &statusError{http.StatusUnprocessableEntity, "The house cannot choose this: " + err.Error() + "."}
	case !found: // Validate knows every setting there is
		return nil, &statusError{http.StatusNotFound, "There is no such choice among the rules."}
	}
	page.Effect, err = a.store.PolicyEffect(r.Context(), policy)
	return page, err
}

// policySave stores the choice; the book is judged anew in the same step.
func (a *app) policySave(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadPolicy(r, r.PostFormValue("setting"), r.PostFormValue("verdict"))
	if err != nil {
		return err
	}
	why := r.PostFormValue("why")
	values := map[string]string{"setting": page.Setting.ID, "verdict": page.Chosen, "note": why}
	switch {
	case page.Setting.Entry != nil:
		edit := db.Edit{ID: page.Setting.Entry.ID, Version: page.Setting.Entry.Version, Keeper: page.Keeper.ID, Why: why, Env: page.Env}
		_, err = db.Policies.Correct(r.Context(), a.store, edit, values)
	case strings.TrimSpace(why) == "":
		// In a sheet the reason may be left out; here a person is asked for it.
		err = db.FieldErrors{{Field: "why", Problem: "is missing", Remedy: "say in a few words why your house does so"}}
	default:
		_, err = db.Policies.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	}
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.refuse(why, faults)
		return a.render(w, http.StatusUnprocessableEntity, "policy_edit", page)
	}
	return seeOther(w, r, "/rules?done=saved#policy")
}

// refuse puts what is wrong beside the reason, the one field that is typed.
func (p *policyPage) refuse(why string, faults db.FieldErrors) {
	p.Why = whyField(why, nil)
	p.Why.Example = policyWhy
	for _, f := range faults {
		fault := formFault{Text: f.Problem + "; " + f.Remedy}
		if f.Field == "why" || f.Field == "note" {
			p.Why.Error = fault.Text
			fault = formFault{ID: p.Why.ID, Text: p.Why.Label + " " + fault.Text}
		}
		if !slices.Contains(p.Faults, fault) {
			p.Faults = append(p.Faults, fault)
		}
	}
}

// rulesApply judges the book by this program's rules.
func (a *app) rulesApply(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	if _, err := a.store.Recompute(r.Context(), nil); err != nil {
		return err
	}
	return seeOther(w, r, "/rules?done=saved")
}

// rulesDocument publishes the rules and the mark grammar, complete enough that
// a script in the browser reaches the same verdict without signal.
func (a *app) rulesDocument(w http.ResponseWriter, r *http.Request) error {
	tag := `"` + screen.Version() + `"`
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", "no-cache")
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	_, err := w.Write(screen.Document())
	return err
}
