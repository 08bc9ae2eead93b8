package server

import (
	"errors"
	"net/http"
	"strconv"

	"skepwood/db"
)

// settingsPage is the keeper's units and the dated figures.
type settingsPage struct {
	base
	// Conflict says that the units were changed after this form was opened.
	Conflict bool
	Units    form
	Figure   form
	Figures  []db.Setting
	NewID    string
	// Widths are those kept round metal and taken by the saws.
	Widths widthsPart
}

func (a *app) settingsShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadSettings(r)
	if err != nil {
		return err
	}
	return a.show(w, "settings", page)
}

func (a *app) loadSettings(r *http.Request) (*settingsPage, error) {
	page := &settingsPage{base: a.base(r, "Settings"), NewID: newID().String()}
	page.Units = newForm(db.KeeperFields(), "", db.KeeperValues(page.Keeper), nil)
	page.Figure = newForm(db.Settings.Info(), "figure-", map[string]string{"currency": page.Env.Currency}, nil)
	var err error
	if page.Figures, err = a.store.Figures(r.Context()); err != nil {
		return nil, err
	}
	page.Widths, err = a.loadWidths(r)
	return page, err
}

func (a *app) settingsUnits(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadSettings(r)
	if err != nil {
		return err
	}
	values := readValues(r, db.KeeperFields(), "")
	version, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		version = -1 // no version was read: treated as an old one
	}
	_, err = a.store.SaveKeeper(r.Context(), page.Keeper.ID, version, values)
	var conflict *db.ConflictError
	if errors.As(err, &conflict) {
		page.Conflict, page.Keeper.Version = true, conflict.Version
		page.Units = newForm(db.KeeperFields(), "", values, nil)
		page.Units.compare(conflict.Now)
		return a.render(w, http.StatusConflict, "settings", page)
	}
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Units = newForm(db.KeeperFields(), "", values, faults)
		return a.render(w, http.StatusUnprocessableEntity, "settings", page)
	}
	return seeOther(w, r, "/settings?done=saved")
}

func (a *app) settingsFigure(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadSettings(r)
	if err != nil {
		return err
	}
	values := readValues(r, db.Settings.Info(), "figure-")
	_, err = db.Settings.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Figure = newForm(db.Settings.Info(), "figure-", values, faults)
		return a.render(w, http.StatusUnprocessableEntity, "settings", page)
	}
	return seeOther(w, r, "/settings?done=saved")
}
