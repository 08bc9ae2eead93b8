package server

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// boardColumns are asked for boards alike, beside how they were measured and
// what their edges lack.
var boardColumns = []string{"thickness", "width", "length", "species", "place", "metal", "looked_over", "left_trim", "right_trim"}

// edgeInfo are the fields of a board's entry that are no column of it: they
// become its actual size, and defects along its far edge.
var edgeInfo = []db.ColumnInfo{
	{Name: "measure", Label: "Thickness and width are", Required: true, Options: []db.Option{{Value: "actual", Label: "as measured"}, {Value: "dry", Label: "nominal softwood, dressed dry"}, {Value: "green", Label: "nominal softwood, dressed green"}},
		Help: "A nominal 1 × 6 dressed dry is taken as 3/4 × 5 1/2 in (" + wood.SourceNominal + "). Wood of packaging is rarely a nominal size: measure it where you can."},
	{Name: "end_width", Label: "Width at the right end, if it tapers", Example: "5 in", Help: "Measured, not nominal. The wedge that is missing counts as wane along the far edge in eight steps, each a little too large, so that no blank reaches into wood that is not there."},
	{Name: "wane", Label: "Wane: how far in from the far edge", Example: "3/4 in", Help: "At its widest, on the worse face. It counts as wane through the board, as wide all along: more than is missing, never less."},
	{Name: "wane_run", Label: "Wane: how far along from the left end", Example: "20 in", Help: "Empty means all along."},
}

// boardEntry is the form of boards alike as it was read.
type boardEntry struct {
	like   db.Board
	edges  []grade.Defect
	faults db.FieldErrors
	// nominal says that the sizes were resolved by the softwood table.
	nominal bool
}

// boardForm lays the form out.
func boardForm(values map[string]string, faults db.FieldErrors) form {
	info := append(append([]db.ColumnInfo(nil), db.Boards.Info()...), edgeInfo...)
	return newForm(info, "", values, faults).Only(append([]string{"measure"}, append(append([]string(nil), boardColumns...), "end_width", "wane", "wane_run")...)...)
}

func countField(value, problem string) field {
	return field{ColumnInfo: db.ColumnInfo{Name: "boards", Label: "How many alike", Example: "7", InputMode: "numeric", Required: true}, ID: "boards", Value: value, Error: problem}
}

// maxAlike bounds the boards of one form.
const maxAlike = 500

// readBoards reads the form.
func readBoards(values map[string]string, env db.Env) boardEntry {
	var in boardEntry
	in.faults = db.Boards.Parse(&in.like, values, env)
	if len(in.faults) > 0 {
		return in
	}
	in.resolve(values)
	if len(in.faults) == 0 {
		in.readEdges(values, env)
	}
	return in
}

// resolve turns nominal sizes into what such boards measure.
func (in *boardEntry) resolve(values map[string]string) {
	seasoning := wood.Seasoning(values["measure"])
	switch values["measure"] {
	case "", "actual":
		return
	case string(wood.Dry), string(wood.Green):
	default:
		in.wrong("measure", values["measure"], "is not a known choice", "say how thickness and width were measured")
		return
	}
	nominal := wood.Section{Thickness: in.like.Thickness, Width: in.like.Width}
	actual, err := wood.ActualOf(nominal, seasoning)
	if err != nil {
		in.wrong("measure", values["measure"], err.Error(), "choose as measured and give the actual size")
		return
	}
	in.nominal = true
	in.like.Thickness, in.like.Width = actual.Thickness, actual.Width
	said := "nominal " + nominal.Thickness.Format(wood.UnitInch) + " × " + nominal.Width.Format(wood.UnitInch) + ", dressed " + string(seasoning) +
		"; taken as " + actual.Thickness.Format(wood.UnitInch) + " × " + actual.Width.Format(wood.UnitInch) + " (PS 20-20)"
	in.like.Notes = strings.TrimSpace(in.like.Notes + "\n" + said)
}

func (in *boardEntry) wrong(name, value, problem, remedy string) {
	in.faults = append(in.faults, &db.FieldError{Field: name, Value: value, Problem: problem, Remedy: remedy})
}

// readEdges works out what taper and wane take from the far edge.
func (in *boardEntry) readEdges(values map[string]string, env db.Env) {
	length := func(name string) wood.Length {
		text := strings.TrimSpace(values[name])
		if text == "" {
			return 0
		}
		l, err := wood.ParseLength(text, env.Length)
		switch {
		case err != nil:
			in.wrong(name, text, db.LengthFault(err).Problem, "write it like 5 1/2 in or 140 mm")
		case l <= 0:
			in.wrong(name, text, "is zero", "leave it empty where there is none")
		}
		return l
	}
	end, wane, run := length("end_width"), length("wane"), length("wane_run")
	if run > 0 && wane == 0 && len(in.faults) == 0 {
		in.wrong("wane", "", "is missing", "say how far it comes in from the edge")
	}
	if len(in.faults) > 0 {
		return
	}
	left := in.like.Width
	in.like.Width = max(left, end)
	b := grade.Board{Thickness: in.like.Thickness, Width: in.like.Width, Length: in.like.Length}
	if end > 0 {
		in.edge("end_width", values, func() ([]grade.Defect, error) { return grade.Taper(b, left, end) })
	}
	if wane > 0 {
		in.edge("wane", values, func() ([]grade.Defect, error) { return grade.EdgeWane{Width: wane, Length: run}.Defects(b) })
	}
}

// edge adds what an edge lacks; a fault stands beside the field that asked.
func (in *boardEntry) edge(name string, values map[string]string, work func() ([]grade.Defect, error)) {
	defects, err := work()
	var wrong *grade.Error
	switch {
	case errors.As(err, &wrong):
		if name == "wane" && wrong.Field == "length" {
			name = "wane_run"
		}
		in.wrong(name, values[name], wrong.Problem, wrong.Remedy)
	case err != nil:
		in.wrong(name, values[name], err.Error(), "measure it again")
	}
	in.edges = append(in.edges, defects...)
}

// boardCreate adds boards alike to a lot.
func (a *app) boardCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	page, err := a.loadLot(r, id)
	if err != nil {
		return err
	}
	values := readValues(r, append(db.Boards.Info(), edgeInfo...), "")
	values["lot"] = id.String()
	in := readBoards(values, page.Env)
	n, err := strconv.Atoi(strings.TrimSpace(r.PostFormValue("boards")))
	problem := ""
	if err != nil || n < 1 || n > maxAlike {
		problem = "is not a number from 1 to " + strconv.Itoa(maxAlike) + "; count the boards of this size"
	}
	if len(in.faults) == 0 && problem == "" {
		in.like.ID, in.like.KeeperID = formID(r, "id"), page.Keeper.ID
		if _, err := a.store.AddBoardsWith(r.Context(), in.like, n, in.edges); err == nil {
			done := "added"
			if in.nominal {
				done = "nominal"
			}
			return seeOther(w, r, "/lots/"+id.String()+"?done="+done+"&boards=last#boards-here")
		} else if in.faults, err = asFaults(err); err != nil {
			return err
		}
	}
	page.BoardForm = boardForm(values, in.faults)
	page.Count = countField(r.PostFormValue("boards"), problem)
	if problem != "" {
		page.BoardForm.Faults = append(page.BoardForm.Faults, formFault{ID: "boards", Text: page.Count.Label + " " + problem})
	}
	return a.render(w, http.StatusUnprocessableEntity, "lot_show", page)
}
