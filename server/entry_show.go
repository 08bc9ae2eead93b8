package server

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"skepwood/db"
)

// entryPage is any entry as it stands in the Book: every value, and all that
// happened to it.
type entryPage struct {
	base
	Kind    string
	Entry   db.Entry
	Rows    []entryRow
	History []db.History
	// Page is the address of the entry's own page, where it has one.
	Page string
}

type entryRow struct{ Label, Value string }

// ownPages are the kinds that have a page beside the Book's.
var ownPages = map[string]string{"source": "/sources/", "pickup": "/pickups/", "lot": "/lots/", "board": "/boards/", "stack": "/stacks/", "plan": "/build/plans/", "layout": "/build/layouts/"}

// loadEntry finds the entry that the address names.
func (a *app) loadEntry(r *http.Request) (db.EntryKind, db.Entry, error) {
	kind, err := db.KindOf(chi.URLParam(r, "kind"))
	if err != nil {
		return nil, db.Entry{}, err
	}
	id, err := pathID(r)
	if err != nil {
		return nil, db.Entry{}, err
	}
	entry, err := kind.Load(r.Context(), a.store, id, a.base(r, "").Env)
	return kind, entry, err
}

func (a *app) entryShow(w http.ResponseWriter, r *http.Request) error {
	kind, entry, err := a.loadEntry(r)
	if err != nil {
		return err
	}
	page := &entryPage{base: a.base(r, "Entry: "+kind.Name()), Kind: kind.Name(), Entry: entry}
	for _, c := range kind.Info() {
		value := entry.Values[c.Name]
		if c.Sealed && len(value) > 1000 {
			value = fmt.Sprintf("%d characters, as the program wrote them; the export has them", len(value))
		}
		page.Rows = append(page.Rows, entryRow{c.Label, spokenValue(c, value)})
	}
	if prefix, ok := ownPages[kind.Name()]; ok {
		page.Page = prefix + entry.ID.String()
	}
	if page.History, err = a.store.HistoryOf(r.Context(), kind.Name(), entry.ID); err != nil {
		return err
	}
	return a.show(w, "entry_show", page)
}

// correctPage is the form that corrects an entry.
type correctPage struct {
	base
	Kind  string
	Entry db.Entry
	Form  form
	// Why is the reason of a correction, StrikeWhy that of a strike or of a
	// restoration.
	Why, StrikeWhy field
	// Version is the one the form was made from.
	Version int
	// Conflict says that somebody else corrected the entry meanwhile; the
	// form then shows both values.
	Conflict bool
}

// correctable lists the columns that a person may correct.
func correctable(kind db.EntryKind) []db.ColumnInfo {
	return slices.DeleteFunc(kind.Info(), func(c db.ColumnInfo) bool { return c.Sealed })
}

// newCorrectPage is the form as it is first shown.
func (a *app) newCorrectPage(r *http.Request, kind db.EntryKind, entry db.Entry) *correctPage {
	page := &correctPage{base: a.base(r, "Correct: "+kind.Name()), Kind: kind.Name(), Entry: entry, Version: entry.Version}
	page.Form = newForm(correctable(kind), "", entry.Values, nil)
	page.Why = whyField("", nil)
	page.StrikeWhy = reasonField("strike-why", "Why it is struck")
	if entry.Struck() {
		page.StrikeWhy = reasonField("restore-why", "Why it is restored")
	}
	return page
}

// whyField is the reason of a correction, and what is wrong with it.
func whyField(value string, faults db.FieldErrors) field {
	f := reasonField("why", "Why it is changed")
	f.Value = value
	if fault := faults.For("why"); fault != nil {
		f.Error = fault.Problem + "; " + fault.Remedy
	}
	return f
}

func reasonField(id, label string) field {
	return field{ColumnInfo: db.ColumnInfo{Name: "why", Label: label, Required: true, Example: "misread the tape"}, ID: id}
}

// refuse puts what is wrong beside the fields; why is the reason that was sent.
func (p *correctPage) refuse(kind db.EntryKind, values map[string]string, why *field, faults db.FieldErrors) {
	rest := make(db.FieldErrors, 0, len(faults))
	for _, f := range faults {
		if f.Field != "why" {
			rest = append(rest, f)
		}
	}
	p.Form = newForm(correctable(kind), "", values, rest)
	if f := faults.For("why"); f != nil {
		why.Error = f.Problem + "; " + f.Remedy
		p.Form.Faults = append(p.Form.Faults, formFault{ID: why.ID, Text: why.Label + " " + why.Error})
	}
}

func (a *app) entryEdit(w http.ResponseWriter, r *http.Request) error {
	kind, entry, err := a.loadEntry(r)
	if err != nil {
		return err
	}
	return a.show(w, "entry_correct", a.newCorrectPage(r, kind, entry))
}

// readEdit takes from a posted form which version is changed, and why.
func (a *app) readEdit(r *http.Request, entry db.Entry, b base) db.Edit {
	version, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		version = -1 // no version was read: treated as an old one
	}
	return db.Edit{ID: entry.ID, Version: version, Keeper: b.Keeper.ID, Why: r.PostFormValue("why"), Env: b.Env}
}

func (a *app) entryCorrect(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	kind, entry, err := a.loadEntry(r)
	if err != nil {
		return err
	}
	page := a.newCorrectPage(r, kind, entry)
	edit, values := a.readEdit(r, entry, page.base), readValues(r, correctable(kind), "")
	corrected, err := kind.Correct(r.Context(), a.store, edit, values)
	var conflict *db.ConflictError
	if errors.As(err, &conflict) {
		return a.showConflict(w, page, kind, values, edit, conflict)
	}
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Version, page.Why.Value = edit.Version, edit.Why
		page.refuse(kind, values, &page.Why, faults)
		return a.render(w, http.StatusUnprocessableEntity, "entry_correct", page)
	}
	done := "corrected"
	if corrected.Version == edit.Version {
		done = "same"
	}
	return seeOther(w, r, entryAddress(kind.Name(), entry)+"?done="+done)
}

// showConflict shows the second writer both values of each field that differs;
// sending the form again is then a correction of the newer entry.
func (a *app) showConflict(w http.ResponseWriter, page *correctPage, kind db.EntryKind, values map[string]string, edit db.Edit, c *db.ConflictError) error {
	page.Conflict, page.Version, page.Why.Value = true, c.Version, edit.Why
	page.Form = newForm(correctable(kind), "", values, nil)
	page.Form.compare(c.Now)
	return a.render(w, http.StatusConflict, "entry_correct", page)
}

// entryAddress is where a person sees the entry in its place.
func entryAddress(kind string, entry db.Entry) string {
	if prefix, ok := ownPages[kind]; ok {
		return prefix + entry.ID.String()
	}
	return "/book/" + kind + "/" + entry.ID.String()
}

func (a *app) entryStrike(w http.ResponseWriter, r *http.Request) error {
	return a.strikeOrRestore(w, r, db.EntryKind.Strike, "struck")
}

func (a *app) entryRestore(w http.ResponseWriter, r *http.Request) error {
	return a.strikeOrRestore(w, r, db.EntryKind.Restore, "restored")
}
