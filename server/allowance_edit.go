package server

import (
	"net/http"
	"strings"

	"github.com/google/uuid"

	"skepwood/db"
)

// widthLine is one width of the house as the settings show it.
type widthLine struct {
	db.AllowanceInfo
	// Now is what holds; ID the entry that says so, uuid.Nil for the usual one.
	Now db.Allowance
	Set bool
}

// widthsPart is the widths round metal and of the saws.
type widthsPart struct {
	Lines []widthLine
	Form  form
}

func (a *app) loadWidths(r *http.Request) (widthsPart, error) {
	var out widthsPart
	set, err := a.store.AllowancesSet(r.Context())
	if err != nil {
		return out, err
	}
	for _, info := range db.AllowanceInfos() {
		line := widthLine{AllowanceInfo: info, Now: db.Allowance{Name: info.Name, Size: info.Usual}}
		for _, s := range set {
			if s.Name == info.Name {
				line.Now, line.Set = s, true
			}
		}
		out.Lines = append(out.Lines, line)
	}
	out.Form = newForm(db.Allowances.Info(), "allowance-", map[string]string{}, nil)
	return out, nil
}

// settingsAllowance sets a width of the house, or changes it; every board is
// measured anew.
func (a *app) settingsAllowance(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadSettings(r)
	if err != nil {
		return err
	}
	values := readValues(r, db.Allowances.Info(), "allowance-")
	if err := a.setWidth(r, page, values); err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Widths.Form = newForm(db.Allowances.Info(), "allowance-", values, faults)
		return a.render(w, http.StatusUnprocessableEntity, "settings", page)
	}
	return seeOther(w, r, "/settings?done=saved#allowances")
}

func (a *app) setWidth(r *http.Request, page *settingsPage, values map[string]string) error {
	for _, line := range page.Widths.Lines {
		if !line.Set || line.Name != values["name"] || line.Now.ID == uuid.Nil {
			continue
		}
		why := strings.TrimSpace(values["note"])
		if why == "" {
			why = "changed in the settings"
		}
		edit := db.Edit{ID: line.Now.ID, Version: line.Now.Version, Keeper: page.Keeper.ID, Why: why, Env: page.Env}
		_, err := db.Allowances.Correct(r.Context(), a.store, edit, values)
		return err
	}
	_, err := db.Allowances.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	return err
}
