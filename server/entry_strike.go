package server

import (
	"context"
	"net/http"
	"strings"

	"github.com/google/uuid"

	"skepwood/db"
)

// strikeOrRestore crosses an entry out or takes the line away; both ask why.
func (a *app) strikeOrRestore(w http.ResponseWriter, r *http.Request,
	do func(db.EntryKind, context.Context, *db.Store, db.Edit) error, done string,
) error {
	if err := parseForm(r); err != nil {
		return err
	}
	kind, entry, err := a.loadEntry(r)
	if err != nil {
		return err
	}
	page := a.newCorrectPage(r, kind, entry)
	edit := a.readEdit(r, entry, page.base)
	if err := do(kind, r.Context(), a.store, edit); err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.StrikeWhy.Value = edit.Why
		page.refuse(kind, entry.Values, &page.StrikeWhy, faults)
		return a.render(w, http.StatusUnprocessableEntity, "entry_correct", page)
	}
	return seeOther(w, r, backAddress(r, entryAddress(kind.Name(), entry))+"?done="+done)
}

// backAddress returns the lot's or board's page that a form asks to go back
// to, or else. Any other address is not followed: it could lead elsewhere.
func backAddress(r *http.Request, otherwise string) string {
	back := r.PostFormValue("back")
	for _, room := range []string{"/lots/", "/boards/"} {
		if id, ok := strings.CutPrefix(back, room); ok && uuid.Validate(id) == nil {
			return back
		}
	}
	return otherwise
}
