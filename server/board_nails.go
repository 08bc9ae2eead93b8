package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// nailInfo are the fields of the quick pattern.
var nailInfo = []db.ColumnInfo{
	{Name: "rows", Label: "Rows of nails", Example: "3", InputMode: "numeric", Required: true, Help: "The first and last as far in from the ends as said below, the others evenly between."},
	{Name: "across", Label: "Nails in a row", Example: "3", InputMode: "numeric", Required: true},
	{Name: "from_end", Label: "Rows in from each end", Example: "2 in", Required: true},
	{Name: "from_edge", Label: "Nails in from each edge", Example: "3/4 in", Help: "Empty spreads them evenly over the width."},
	{Name: "size", Label: "Size of a hole", Example: "1/4 in", Help: "With the crushed wood round it.", Required: true},
	{Name: "face", Label: "How deep", Required: true, Options: []db.Option{{Value: "both", Label: "through"}, {Value: "top", Label: "top face only"}, {Value: "bottom", Label: "bottom face only"}}},
	{Name: "metal", Label: "Metal still in them", Required: true, Options: []db.Option{{Value: "no", Label: "no, holes only"}, {Value: "yes", Label: "yes, nails are in"}}},
}

// nailDefaults are nail rows as deck boards of a pallet with three stringers
// carry them.
func nailDefaults(env db.Env) map[string]string {
	return map[string]string{"rows": "3", "across": "3", "from_end": (2 * wood.Inch).Format(env.Length), "size": (wood.Inch / 4).Format(env.Length), "face": "both", "metal": "no"}
}

func (p *mapPage) nailDefaults() map[string]string { return nailDefaults(p.Env) }

// readNails reads the pattern's form.
func readNails(values map[string]string, env db.Env) (grade.NailRows, db.FieldErrors) {
	var faults db.FieldErrors
	wrong := func(name, problem, remedy string) {
		faults = append(faults, &db.FieldError{Field: name, Value: values[name], Problem: problem, Remedy: remedy})
	}
	whole := func(name string) int {
		n, err := strconv.Atoi(strings.TrimSpace(values[name]))
		if err != nil || n < 1 || n > 50 {
			wrong(name, "is not a number from 1 to 50", "count the nails")
		}
		return n
	}
	length := func(name string, least wood.Length) wood.Length {
		text := strings.TrimSpace(values[name])
		if text == "" && least < 0 {
			return 0
		}
		l, err := wood.ParseLength(text, env.Length)
		switch {
		case err != nil:
			wrong(name, db.LengthFault(err).Problem, "write it like 2 in or 50 mm")
		case l < least:
			wrong(name, "is zero", "give the size of a hole with the crushed wood round it, about 1/4 in")
		}
		return l
	}
	p := grade.NailRows{Rows: whole("rows"), Across: whole("across"), FromEnd: length("from_end", 0), FromEdge: length("from_edge", -1), Size: length("size", 1), Face: grade.Face(values["face"]), Metal: values["metal"] == "yes"}
	if p.Face != grade.Top && p.Face != grade.Bottom && p.Face != grade.Both {
		wrong("face", "is not a known choice", "choose how deep they go")
	}
	if values["metal"] != "yes" && values["metal"] != "no" {
		wrong("metal", "is not a known choice", "say whether the nails are still in")
	}
	return p, faults
}

// nailNote says the pattern in a line, to be kept with every nail.
func nailNote(p grade.NailRows, env db.Env) string {
	end := p.FromEnd.Format(env.Length)
	if p.Rows == 1 {
		return fmt.Sprintf("nails: 1 row, %s from the left end, %d across", end, p.Across)
	}
	return fmt.Sprintf("nails: %d rows, the outer ones %s from the ends, %d across", p.Rows, end, p.Across)
}

// nailsCreate puts nail rows onto one board, or onto its whole lot.
func (a *app) nailsCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	face := faceOf(r.PostFormValue("up"))
	page, err := a.loadMap(r, id, face)
	if err != nil {
		return err
	}
	values := readValues(r, nailInfo, "nails-")
	put := db.DefectPattern{ID: formID(r, "id"), Board: id, Keeper: page.Keeper.ID}
	if r.PostFormValue("scope") == "lot" {
		put.Board, put.Lot = uuid.Nil, page.Board.Lot.ID
	}
	faults, err := a.putNails(r, put, values, page.Env)
	if err != nil {
		return err
	}
	if len(faults) == 0 {
		return seeOther(w, r, page.Map+"?face="+string(face)+"&done=added#map")
	}
	page.Nails = newForm(nailInfo, "nails-", values, faults)
	page.Spot = newForm(spotInfo(face), "spot-", map[string]string{"kind": "nail_hole", "face": "both", "dx": page.usual(), "dy": page.usual()}, nil).Only(spotColumns...)
	return a.render(w, http.StatusUnprocessableEntity, "board_map", page)
}

// putNails stores the pattern; faults are of what was typed.
func (a *app) putNails(r *http.Request, put db.DefectPattern, values map[string]string, env db.Env) (db.FieldErrors, error) {
	nails, faults := readNails(values, env)
	if len(faults) > 0 {
		return faults, nil
	}
	put.Note, put.On = nailNote(nails, env), nails.Defects
	if _, err := a.store.PutPattern(r.Context(), put); err != nil {
		return asFaults(err)
	}
	return nil, nil
}

// nailsPage puts nail rows onto every board of a lot.
type nailsPage struct {
	base
	Lot      db.LotRow
	Boards   int
	Form     form
	Patterns []db.PatternLine
	NewID    string
}

func (a *app) loadNails(r *http.Request) (*nailsPage, error) {
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	page := &nailsPage{base: a.base(r, "Nail rows"), NewID: newID().String()}
	if page.Lot, err = a.store.Lot(r.Context(), id); err != nil {
		return nil, err
	}
	page.Title = "Nail rows on lot " + page.Lot.Code
	if page.Boards, err = a.store.WholeBoards(r.Context(), id); err != nil {
		return nil, err
	}
	page.Form = newForm(nailInfo, "nails-", nailDefaults(page.Env), nil)
	page.Patterns, err = a.store.PatternsOfLot(r.Context(), id)
	return page, err
}

func (a *app) lotNails(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadNails(r)
	if err != nil {
		return err
	}
	return a.show(w, "lot_nails", page)
}

func (a *app) lotNailsPut(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadNails(r)
	if err != nil {
		return err
	}
	values := readValues(r, nailInfo, "nails-")
	faults, err := a.putNails(r, db.DefectPattern{ID: formID(r, "id"), Lot: page.Lot.ID, Keeper: page.Keeper.ID}, values, page.Env)
	if err != nil {
		return err
	}
	if len(faults) == 0 {
		return seeOther(w, r, r.URL.Path+"?done=added")
	}
	page.Form = newForm(nailInfo, "nails-", values, faults)
	return a.render(w, http.StatusUnprocessableEntity, "lot_nails", page)
}

// lotNailsUndo takes a pattern back from every board of the lot.
func (a *app) lotNailsUndo(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadNails(r)
	if err != nil {
		return err
	}
	if _, err := a.store.StrikePattern(r.Context(), r.PostFormValue("pattern"), page.Keeper.ID, "the pattern was taken back on the lot's page"); err != nil {
		return err
	}
	return seeOther(w, r, "/lots/"+page.Lot.ID.String()+"/nails?done=undone")
}
