package server

import (
	"errors"
	"net/http"
	"strings"

	"github.com/google/uuid"

	"skepwood/db"
)

// field is one labelled input of a form: what it is, what was typed, and what
// is wrong with it.
type field struct {
	db.ColumnInfo
	// ID is the input's id and name.
	ID    string
	Value string
	Error string
	// Now is the value somebody else stored meanwhile, on a conflict.
	Now string
}

// form is a list of fields with the faults found in them.
type form struct {
	Fields []field
	// Faults are listed above the form, each with a link to its field.
	Faults []formFault
}

type formFault struct {
	ID, Text string
}

// newForm lays out columns with their values and faults; prefix keeps the
// fields of several parts of one page apart.
func newForm(columns []db.ColumnInfo, prefix string, values map[string]string, faults db.FieldErrors) form {
	var f form
	for _, c := range columns {
		item := field{ColumnInfo: c, ID: prefix + c.Name, Value: values[c.Name]}
		if fault := faults.For(c.Name); fault != nil {
			item.Error = fault.Problem + "; " + fault.Remedy
			f.Faults = append(f.Faults, formFault{ID: item.ID, Text: c.Label + " " + item.Error})
		}
		f.Fields = append(f.Fields, item)
	}
	for _, fault := range faults {
		if !f.has(prefix + fault.Field) {
			f.Faults = append(f.Faults, formFault{Text: fault.Error()})
		}
	}
	return f
}

// compare shows beside each value that differs what is in the book now.
func (f *form) compare(now map[string]string) {
	for i := range f.Fields {
		item := &f.Fields[i]
		value := now[item.Name]
		if value == strings.TrimSpace(item.Value) {
			continue
		}
		if item.Now = value; value == "" {
			item.Now = "(empty)"
		}
	}
}

func (f form) has(id string) bool {
	for _, item := range f.Fields {
		if item.ID == id {
			return true
		}
	}
	return false
}

// Get returns the field with the name, for templates that place fields by hand.
func (f form) Get(name string) (field, error) {
	for _, item := range f.Fields {
		if item.Name == name {
			return item, nil
		}
	}
	return field{}, errors.New("the form has no field " + name)
}

// Only keeps the named fields, in that order.
func (f form) Only(names ...string) form {
	out := form{Faults: f.Faults}
	for _, n := range names {
		if item, err := f.Get(n); err == nil {
			out.Fields = append(out.Fields, item)
		}
	}
	return out
}

// readValues takes the columns' values out of a posted form.
func readValues(r *http.Request, columns []db.ColumnInfo, prefix string) map[string]string {
	out := make(map[string]string, len(columns))
	for _, c := range columns {
		out[c.Name] = r.PostFormValue(prefix + c.Name)
	}
	return out
}

// parseForm reads a posted form and refuses one that is too large or broken.
func parseForm(r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		var tooBig *http.MaxBytesError
		if errors.As(err, &tooBig) {
			return err
		}
		return &statusError{http.StatusBadRequest, "The form could not be read. Go back and send it again."}
	}
	return nil
}

// formID is the id the page gave to the entry it asks for, so that a form sent
// twice is one entry; a missing or broken one is replaced.
func formID(r *http.Request, name string) uuid.UUID {
	id, err := uuid.Parse(strings.TrimSpace(r.PostFormValue(name)))
	if err != nil {
		return newID()
	}
	return id
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

// freshID is the id for the form's next try: the same, unless it belongs to
// another entry already.
func freshID(id string, err error) string {
	var made *db.MadeError
	if errors.As(err, &made) {
		return newID().String()
	}
	return id
}

// asFaults separates faults of what was typed from other failures.
func asFaults(err error) (db.FieldErrors, error) {
	var faults db.FieldErrors
	if errors.As(err, &faults) {
		return faults, nil
	}
	return nil, err
}
