package server

import (
	"errors"
	"net/http"

	"github.com/google/uuid"

	"skepwood/db"
)

// mergePage joins a source with another, or parts it in two.
type mergePage struct {
	base
	Source db.Entry
	Others []db.Source
	Trips  []db.PickupSum
	// Merge and Split are the two forms; each has a reason of its own.
	Merge, Split form
	NewID        string
	Version      int
	// Into is the other source chosen, Picked the pickups chosen.
	Into   string
	Picked map[string]bool
	// IntoError and PickError are what is wrong with those choices.
	IntoError, PickError string
}

// choice moves the fault of a field that is no column of a form to the place of its
// choice: it returns what is wrong, and puts a link to it on top of the form.
func choice(f *form, faults db.FieldErrors, field, id, label string) string {
	fault := faults.For(field)
	if fault == nil {
		return ""
	}
	text := fault.Problem + "; " + fault.Remedy
	for i := range f.Faults {
		if f.Faults[i].ID == "" && f.Faults[i].Text == fault.Error() {
			f.Faults[i] = formFault{ID: id, Text: label + " " + text}
		}
	}
	return text
}

// The fields of the two forms; the prefix keeps their ids apart.
var (
	mergeColumns = []db.ColumnInfo{{Name: "why", Label: "Why they are one place", Required: true, Example: "same dock, spelt twice"}}
	splitColumns = []db.ColumnInfo{
		{Name: "name", Label: "Name of the other place", Required: true, Example: "Harbour Tile, back gate"},
		{Name: "why", Label: "Why they are two places", Required: true, Example: "two docks with different cargo"},
	}
)

func (a *app) loadMerge(r *http.Request) (*mergePage, error) {
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	page := &mergePage{base: a.base(r, "Merge or split"), NewID: newID().String(), Picked: map[string]bool{}}
	ctx := r.Context()
	if page.Source, err = db.Sources.Load(ctx, a.store, id, page.Env); err != nil {
		return nil, err
	}
	page.Version = page.Source.Version
	sources, err := a.store.SourceList(ctx)
	if err != nil {
		return nil, err
	}
	for _, s := range sources {
		if s.ID != id {
			page.Others = append(page.Others, s)
		}
	}
	page.Merge = newForm(mergeColumns, "merge-", nil, nil)
	page.Split = newForm(splitColumns, "split-", nil, nil)
	page.Trips, err = a.store.PickupsOf(ctx, id)
	return page, err
}

func (a *app) mergeShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadMerge(r)
	if err != nil {
		return err
	}
	return a.show(w, "source_merge", page)
}

func (a *app) mergeSave(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadMerge(r)
	if err != nil {
		return err
	}
	page.Into = r.PostFormValue("into")
	edit := a.readEdit(r, page.Source, page.base)
	edit.Why = r.PostFormValue("merge-why")
	into, err := uuid.Parse(page.Into)
	if err != nil {
		err = db.FieldErrors{{Field: "into", Value: page.Into, Problem: "is not chosen", Remedy: "choose the source that stays"}}
	} else {
		_, err = a.store.MergeSource(r.Context(), edit, into)
	}
	if err != nil {
		faults, other := mergeFaults(err)
		if other != nil {
			return other
		}
		page.Merge = newForm(mergeColumns, "merge-", map[string]string{"why": edit.Why}, faults)
		page.IntoError = choice(&page.Merge, faults, "into", "into", "The source that stays")
		return a.render(w, http.StatusUnprocessableEntity, "source_merge", page)
	}
	return seeOther(w, r, "/sources/"+into.String()+"?done=corrected")
}

func (a *app) splitSave(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadMerge(r)
	if err != nil {
		return err
	}
	edit := a.readEdit(r, page.Source, page.base)
	edit.Why = r.PostFormValue("split-why")
	split := db.Split{Fresh: formID(r, "id"), Name: r.PostFormValue("split-name")}
	for _, text := range r.PostForm["pickup"] {
		if id, err := uuid.Parse(text); err == nil {
			split.Pickups = append(split.Pickups, id)
			page.Picked[id.String()] = true
		}
	}
	if err := a.store.SplitSource(r.Context(), edit, split); err != nil {
		faults, other := mergeFaults(err)
		if other != nil {
			return other
		}
		page.Split = newForm(splitColumns, "split-", map[string]string{"name": split.Name, "why": edit.Why}, faults)
		page.PickError = choice(&page.Split, faults, "pickups", "pickups", "Pickups at the other place:")
		return a.render(w, http.StatusUnprocessableEntity, "source_merge", page)
	}
	return seeOther(w, r, "/sources/"+split.Fresh.String()+"?done=added")
}

// mergeFaults separates what a person can mend from other failures; the source
// that was to stay may have gone meanwhile.
func mergeFaults(err error) (db.FieldErrors, error) {
	if errors.Is(err, db.ErrNotFound) {
		return db.FieldErrors{{Field: "into", Problem: "is not in the book", Remedy: "choose another source"}}, nil
	}
	return asFaults(err)
}
