package server

import (
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// mapPage is the defect map of one board, one face up.
type mapPage struct {
	base
	bench
	Face    grade.Face
	Picture template.HTML
	// LengthMM and WidthMM tell the script where a tap is, StepMM how fine; an
	// arrow key moves by StrideMM, with shift by StepMM.
	LengthMM, WidthMM, StepMM, StrideMM float64
	Spot                                form
	Nails                               form
	// LotBoards counts the lot's boards that take rows of nails with this one; 0
	// for a piece that was cut from another.
	LotBoards   int
	Defects     []mapLine
	Patterns    []db.PatternLine
	Last        *mapLine
	LastPattern *db.PatternLine
	NewID       string
	Reason      string
	Map         string
}

// mapLine is one live defect of the list.
type mapLine struct {
	db.Defect
	// Y is measured as the face is seen.
	SeenY wood.Length
}

// spotColumns are asked for a defect beside its place and size.
var spotColumns = []string{"kind", "face", "dx", "dy", "x", "y", "depth", "metal", "note"}

// spotInfo are the columns of a defect as the map asks for them: places are
// measured as the face is seen.
func spotInfo(face grade.Face) []db.ColumnInfo {
	var out []db.ColumnInfo
	for _, c := range db.Defects.Info() {
		switch c.Name {
		case "face":
			c.Label, c.Required = "How deep", true
			c.Options = []db.Option{{Value: "both", Label: "goes through"}, {Value: string(face), Label: "on this face only"}}
		case "x":
			c.Help = "From the left end to where it begins."
		case "y":
			c.Label = "From the edge near you"
			c.Help = "As this face lies before you."
		case "dx":
			c.Label = "Size along"
		case "dy":
			c.Label = "Size across"
		case "depth":
			c.Help = "Empty where it was not measured."
		}
		out = append(out, c)
	}
	return out
}

func (a *app) mapShow(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	page, err := a.loadMap(r, id, faceOf(q.Get("face")))
	if err != nil {
		return err
	}
	values := map[string]string{"kind": "nail_hole", "face": "both", "dx": page.usual(), "dy": page.usual(), "metal": "no"}
	for _, name := range []string{"kind", "dx", "dy", "metal"} {
		if v := q.Get(name); v != "" && len(v) < 40 {
			values[name] = v
		}
	}
	if q.Get("deep") == "one" {
		values["face"] = string(page.Face)
	}
	page.Spot = newForm(spotInfo(page.Face), "spot-", values, nil).Only(spotColumns...)
	page.Nails = newForm(nailInfo, "nails-", page.nailDefaults(), nil)
	return a.show(w, "board_map", page)
}

// usual is the size a defect is taken as until told otherwise: 1/4 in, a pallet
// nail's hole with the crushed wood round it (common practice, no source).
func (p *mapPage) usual() string { return (wood.Inch / 4).Format(p.Env.Length) }

func (a *app) loadMap(r *http.Request, id uuid.UUID, face grade.Face) (*mapPage, error) {
	b, err := a.loadBenchBoard(r, id)
	if err != nil {
		return nil, err
	}
	page := &mapPage{base: a.base(r, "Map of board "+b.Board.Code), bench: b, Face: face, NewID: newID().String()}
	page.Map = "/boards/" + id.String() + "/map"
	page.LengthMM, page.WidthMM = millimetres(b.Wood.Length), millimetres(b.Wood.Width)
	page.StepMM, page.StrideMM = 1, 10
	if page.Env.Length == wood.UnitInch {
		page.StepMM, page.StrideMM = 25.4/16, 25.4/2
	}
	page.Picture = page.draw(420)
	page.Reason = db.AllowanceInfos()[0].Reason
	defects, err := a.store.DefectsOf(r.Context(), id)
	if err != nil {
		return nil, err
	}
	for _, d := range defects {
		if d.Struck() {
			continue
		}
		page.Defects = append(page.Defects, mapLine{d, b.Wood.Drawn(face, d.Grade().Rect()).Y})
	}
	if page.Patterns, err = a.store.PatternsOn(r.Context(), id); err != nil {
		return nil, err
	}
	page.findLast()
	if b.Board.Parent.Empty() {
		page.LotBoards, err = a.store.WholeBoards(r.Context(), b.Board.Lot.ID)
	}
	return page, err
}

// draw draws the face that is up, to be tapped.
func (p *mapPage) draw(width int) template.HTML {
	picture := boardPicture{Board: p.Wood, Faces: []grade.Face{p.Face}, Label: p.mapWords(p.Env), Clearance: p.Widths.Clearance, Width: width, Live: true, Unit: p.Env.Length}
	// Every text in it was escaped where it was written.
	return template.HTML(picture.SVG()) //nolint:gosec
}

// KeyLabel names the drawn board for those who mark it by keyboard.
func (p *mapPage) KeyLabel() string {
	return "Board " + p.Board.Code + ", " + string(p.Face) + " face: move the cross with the arrow keys"
}

func millimetres(l wood.Length) float64 { return float64(l) / float64(wood.Millimetre) }

// findLast finds what one undo takes back: the newest defect, or the pattern
// that it came with.
func (p *mapPage) findLast() {
	for i := range p.Defects {
		d := &p.Defects[i]
		if p.Last == nil || d.ReceivedAt.After(p.Last.ReceivedAt) || (d.ReceivedAt.Equal(p.Last.ReceivedAt) && strings.Compare(d.ID.String(), p.Last.ID.String()) > 0) {
			p.Last = d
		}
	}
	if p.Last == nil || p.Last.Pattern == "" {
		return
	}
	for i := range p.Patterns {
		if p.Patterns[i].Name == p.Last.Pattern {
			p.LastPattern, p.Last = &p.Patterns[i], nil
			return
		}
	}
}

// mapCreate puts one defect onto the board. What was typed is as the face is
// seen; a tap or a drag comes as millimetres from the left end and the edge
// near the keeper, which take the place of what was typed.
func (a *app) mapCreate(w http.ResponseWriter, r *http.Request) error {
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
	info := spotInfo(face)
	values := readValues(r, info, "spot-")
	values["board"] = page.Board.Code
	page.tapped(r, values)
	stored, faults := page.asStored(values)
	if len(faults) == 0 {
		_, err = db.Defects.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, stored, page.Env)
		if err == nil {
			return seeOther(w, r, page.sticky(values))
		}
		if faults, err = asFaults(err); err != nil {
			return err
		}
	}
	page.Spot = newForm(info, "spot-", values, faults).Only(spotColumns...)
	page.Nails = newForm(nailInfo, "nails-", page.nailDefaults(), nil)
	return a.render(w, http.StatusUnprocessableEntity, "board_map", page)
}

// tapped reads a tap or a drag into the form's values. A tap is the middle of
// the defect whose size was typed; a drag is the whole of it. Both are kept on
// the board.
func (p *mapPage) tapped(r *http.Request, values map[string]string) {
	read := func(name string) (wood.Length, bool) {
		v, err := strconv.ParseFloat(r.PostFormValue(name), 64)
		if err != nil || !(v >= 0 && v <= 1e5) { // NaN is none either
			return 0, false
		}
		return wood.Length(v * float64(wood.Millimetre)), true
	}
	x, okX := read("tap-x")
	y, okY := read("tap-y")
	if !okX || !okY {
		return
	}
	dx, dragged := read("tap-dx")
	dy, _ := read("tap-dy")
	if !dragged || dx <= 0 || dy <= 0 {
		var err error
		if dx, err = wood.ParseLength(values["dx"], p.Env.Length); err != nil {
			return
		}
		if dy, err = wood.ParseLength(values["dy"], p.Env.Length); err != nil {
			return
		}
		x, y = x-dx/2, y-dy/2
	}
	x, dx = within(p.snap(x), p.snap(dx), p.Wood.Length)
	y, dy = within(p.snap(y), p.snap(dy), p.Wood.Width)
	for name, l := range map[string]wood.Length{"x": x, "y": y, "dx": dx, "dy": dy} {
		values[name] = l.Format(p.Env.Length)
	}
}

// snap rounds to what a keeper reads off a tape: 1/16 in or 1 mm.
func (p *mapPage) snap(l wood.Length) wood.Length {
	step := wood.Millimetre
	if p.Env.Length == wood.UnitInch {
		step = wood.Inch / 16
	}
	return (l + step/2) / step * step
}

// within moves a span onto the board.
func within(at, size, room wood.Length) (wood.Length, wood.Length) {
	size = min(max(size, 1), room)
	return min(max(at, 0), room-size), size
}

// asStored turns a place as it is seen into the board's own frame.
func (p *mapPage) asStored(values map[string]string) (map[string]string, db.FieldErrors) {
	stored := maps.Clone(values)
	var faults db.FieldErrors
	for _, name := range []string{"x", "y"} {
		if strings.TrimSpace(values[name]) == "" {
			faults = append(faults, &db.FieldError{Field: name, Problem: "is missing", Remedy: "measure where it begins, 0 at the very edge, or tap the board"})
		}
	}
	if len(faults) > 0 || p.Face == grade.Top {
		return stored, faults
	}
	y, errY := wood.ParseLength(strings.TrimSpace(values["y"]), p.Env.Length)
	dy, errDY := wood.ParseLength(values["dy"], p.Env.Length)
	if readable := errors.Join(errY, errDY) == nil; !readable || dy <= 0 {
		return stored, nil // the entry says what is wrong
	}
	if y+dy > p.Wood.Width {
		return stored, db.FieldErrors{{Field: "y", Value: values["y"], Problem: "puts the defect past the far edge of the board (" + p.Wood.Width.Format(p.Env.Length) + ")", Remedy: "measure from the edge near you"}}
	}
	seen := p.Wood.Drawn(grade.Bottom, grade.Rect{Y: y, DY: dy})
	// To the nanometre: what a keeper's unit shows may be rounded.
	stored["y"] = fmt.Sprintf("%d.%06d mm", seen.Y/wood.Millimetre, seen.Y%wood.Millimetre)
	return stored, nil
}

// sticky is the map's address with what the next defect most likely is like.
func (p *mapPage) sticky(values map[string]string) string {
	q := url.Values{"face": {string(p.Face)}, "done": {"added"}}
	for _, name := range []string{"kind", "dx", "dy", "metal"} {
		q.Set(name, values[name])
	}
	if values["face"] != "both" {
		q.Set("deep", "one")
	}
	return p.Map + "?" + q.Encode() + "#map"
}

// mapUndo strikes one defect, or a whole pattern.
func (a *app) mapUndo(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	b := a.base(r, "")
	back := "/boards/" + id.String() + "/map?face=" + string(faceOf(r.PostFormValue("up"))) + "&done=undone#map"
	if pattern := r.PostFormValue("pattern"); pattern != "" {
		if _, err := a.store.StrikePattern(r.Context(), pattern, b.Keeper.ID, "the pattern was taken back on the board's map"); err != nil {
			return err
		}
		return seeOther(w, r, back)
	}
	defect, err := uuid.Parse(r.PostFormValue("defect"))
	if err != nil {
		return &statusError{http.StatusNotFound, "There is no such entry in the book."}
	}
	version, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		version = -1 // none was read: treated as an old one
	}
	edit := db.Edit{ID: defect, Version: version, Keeper: b.Keeper.ID, Why: "taken back on the board's map", Env: b.Env}
	if err := db.Defects.Strike(r.Context(), a.store, edit); err != nil {
		return err
	}
	return seeOther(w, r, back)
}
