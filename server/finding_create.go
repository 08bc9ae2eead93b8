package server

import (
	"net/http"
	"strings"

	"github.com/google/uuid"

	"skepwood/db"
)

// findingPage is the form of one finding that was refused, with what is wrong.
type findingPage struct {
	base
	Lot  db.Lot
	Form form
	ID   string
}

// findingCreate adds one finding to a lot, or to one board of it. A button
// carries "kind=value"; a text field carries its kind beside it.
func (a *app) findingCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	lot, err := db.Lots.Get(r.Context(), a.store, id)
	if err != nil {
		return err
	}
	page := &findingPage{base: a.base(r, "Add a finding to "+lot.Code), Lot: lot, ID: formID(r, "id").String()}
	values := readValues(r, db.Findings.Info(), "")
	values["lot"] = id.String()
	if tap := r.PostFormValue("tap"); tap != "" {
		values["kind"], values["value"], _ = strings.Cut(tap, "=")
	}
	before, err := a.store.Lot(r.Context(), id)
	if err != nil {
		return err
	}
	_, err = db.Findings.Add(r.Context(), a.store, db.Base{ID: tapID(r, values), KeeperID: page.Keeper.ID}, values, page.Env)
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Form = newForm(db.Findings.Info(), "", values, faults).Only("kind", "value", "board", "note", "seen")
		return a.render(w, http.StatusUnprocessableEntity, "finding_create", page)
	}
	back := "/lots/" + id.String()
	if board := r.PostFormValue("back"); board == "board" && values["board"] != "" {
		if b, err := a.store.BoardByCode(r.Context(), values["board"]); err == nil {
			back = "/boards/" + b.String()
		}
	}
	return seeOther(w, r, back+"?done=added&was="+before.Verdict)
}

// tapID makes the id of a finding from its form's id and what it says: a tap
// sent twice is one finding, while other taps of the same page are others.
func tapID(r *http.Request, values map[string]string) uuid.UUID {
	says := strings.Join([]string{values["kind"], values["value"], values["board"], values["note"]}, "\x1f")
	return uuid.NewSHA1(formID(r, "id"), []byte(says))
}
