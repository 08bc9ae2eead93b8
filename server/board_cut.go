package server

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// cutPage rips or crosscuts a board into boards.
type cutPage struct {
	base
	bench
	Form form
	// Preview is what the sizes give, once they were typed and fit.
	Preview []cutLine
	Left    string
	Picture string
	// Careful says why a reason is asked for before this board is sawn.
	Careful []string
	NewID   string
}

// cutLine is one piece of the preview.
type cutLine struct {
	Size, Usable string
	Defects      int
}

// cutInfo are the fields of the form.
var cutInfo = []db.ColumnInfo{
	{Name: "how", Label: "Cut", Required: true, Options: []db.Option{{Value: "rip", Label: "rip, along the grain"}, {Value: "crosscut", Label: "crosscut, across it"}}},
	{Name: "sizes", Label: "Sizes, one after the other", Required: true, Example: "2 1/4, 2 1/4, 3/4", Help: "Widths from the near edge when ripping, lengths from the left end when crosscutting; a comma or a semicolon between them. Each cut takes the kerf."},
	{Name: "kerf", Label: "Kerf", Required: true, Example: "1/8 in", Help: "What the blade turns to dust."},
	{Name: "rest", Label: "What is left over", Required: true, Options: []db.Option{{Value: "keep", Label: "keep it as a board too"}, {Value: "waste", Label: "it is waste"}}},
	{Name: "why", Label: "Why it is cut all the same", Help: "Needed where something above speaks against it. Kept in the board's history."},
}

func (a *app) loadCut(r *http.Request) (*cutPage, error) {
	id, err := pathID(r)
	if err != nil {
		return nil, err
	}
	b, err := a.loadBenchBoard(r, id)
	if err != nil {
		return nil, err
	}
	page := &cutPage{base: a.base(r, "Cut board "+b.Board.Code), bench: b, NewID: newID().String()}
	page.Careful = careful(b)
	layouts, err := a.store.LayoutsOfBoard(r.Context(), id)
	if err != nil {
		return nil, err
	}
	for _, l := range layouts {
		if l.Open() {
			page.Careful = append(page.Careful, "The plan “"+l.PlanName+"” means to cut it, and would have to be planned again without it.")
		}
	}
	return page, nil
}

// careful lists what speaks against sawing a board.
func careful(b bench) []string {
	var out []string
	switch b.Board.Metal {
	case "found":
		out = append(out, "Metal was found in it and not yet swept clean.")
	case "not_swept":
		out = append(out, "It is not yet swept for metal.")
	}
	if b.Row.OwnershipStop {
		out = append(out, "It shows an owner: it is not ours to cut.")
	}
	if b.Row.Verdict == "never" || b.Row.Verdict == "hold" {
		out = append(out, "Its verdict is "+b.Row.Verdict+": "+verdictWords[b.Row.Verdict]+".")
	}
	return out
}

func (a *app) cutShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadCut(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	values := map[string]string{"how": "rip", "kerf": page.Widths.RipKerf.Format(page.Env.Length), "rest": "keep"}
	for name := range values {
		if q.Get(name) != "" {
			values[name] = q.Get(name)
		}
	}
	values["sizes"] = q.Get("sizes")
	if q.Get("how") == "crosscut" && q.Get("kerf") == "" {
		values["kerf"] = page.Widths.CrosscutKerf.Format(page.Env.Length)
	}
	var faults db.FieldErrors
	if values["sizes"] != "" {
		_, _, faults = page.read(values)
	}
	page.Form = newForm(cutInfo, "", values, faults)
	status := http.StatusOK
	if len(faults) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return a.render(w, status, "board_cut", page)
}

// read works out the pieces, and fills in the preview.
func (p *cutPage) read(values map[string]string) ([]grade.Rect, wood.Length, db.FieldErrors) {
	pieces, kerf, faults := readCut(p.Wood, values, p.Env)
	if len(faults) > 0 {
		return nil, 0, faults
	}
	p.Preview, p.Left = nil, ""
	for _, r := range pieces {
		piece, err := p.Wood.Piece(r)
		if err != nil {
			return nil, 0, db.FieldErrors{{Field: "sizes", Value: values["sizes"], Problem: err.Error(), Remedy: "cut within the board"}}
		}
		one := bench{Row: p.Row, Wood: piece, Widths: p.Widths}
		u, err := one.usable()
		if err != nil {
			return nil, 0, db.FieldErrors{{Field: "sizes", Value: values["sizes"], Problem: err.Error(), Remedy: "cut within the board"}}
		}
		p.Preview = append(p.Preview, cutLine{Size: sized(r, p.Env.Length), Usable: volumeText(p.Env, float64(u.Clear)), Defects: len(piece.Defects)})
	}
	lost := p.Wood.Width - spanOf(pieces, func(r grade.Rect) wood.Length { return r.DY })
	if values["how"] == "crosscut" {
		lost = p.Wood.Length - spanOf(pieces, func(r grade.Rect) wood.Length { return r.DX })
	}
	p.Left = lost.Format(p.Env.Length)
	q := url.Values{}
	for _, name := range []string{"how", "sizes", "kerf", "rest"} {
		q.Set(name, values[name])
	}
	p.Picture = q.Encode()
	return pieces, kerf, nil
}

func spanOf(pieces []grade.Rect, side func(grade.Rect) wood.Length) (sum wood.Length) {
	for _, r := range pieces {
		sum += side(r)
	}
	return sum
}

// leastSawn is the least width of a piece that a saw leaves whole; common
// practice, no source. Its length is at least db.LeastBoard.
const leastSawn = wood.Inch / 16

// readCut reads the form into rectangles of the board. What is left over counts
// as a piece unless it is waste or too small for a board.
func readCut(b grade.Board, values map[string]string, env db.Env) ([]grade.Rect, wood.Length, db.FieldErrors) {
	var faults db.FieldErrors
	wrong := func(name, problem, remedy string) {
		faults = append(faults, &db.FieldError{Field: name, Value: values[name], Problem: problem, Remedy: remedy})
	}
	cut := grade.Ripped
	switch values["how"] {
	case "rip":
	case "crosscut":
		cut = grade.Crosscut
	default:
		wrong("how", "is not a known choice", "rip or crosscut")
	}
	if values["rest"] != "keep" && values["rest"] != "waste" {
		wrong("rest", "is not a known choice", "keep it or not")
	}
	kerf, err := wood.ParseLength(values["kerf"], env.Length)
	if err != nil {
		wrong("kerf", db.LengthFault(err).Problem, "write it like 1/8 in or 3 mm")
	}
	sizes, err := grade.ParseSizes(values["sizes"], env.Length)
	if err != nil {
		faults = append(faults, cutFault(err, values)...)
	}
	if len(faults) > 0 {
		return nil, 0, faults
	}
	pieces, err := cut(b, kerf, sizes...)
	if err != nil {
		return nil, 0, cutFault(err, values)
	}
	least, short := leastSawn, "which no saw leaves whole"
	if values["how"] == "crosscut" {
		least, short = db.LeastBoard, "too short for a board"
	}
	for i, size := range sizes {
		if size < least {
			wrong("sizes", fmt.Sprintf("cannot be: size %d is less than %s, %s", i+1, least.Format(env.Length), short), "leave it out, or check its unit")
		}
	}
	if len(faults) > 0 {
		return nil, 0, faults
	}
	rest := pieces[len(pieces)-1]
	if len(pieces) > len(sizes) && (values["rest"] == "waste" || rest.DY < leastSawn || rest.DX < min(b.Length, db.LeastBoard)) {
		pieces = pieces[:len(sizes)]
	}
	return pieces, kerf, nil
}

// cutFault puts a fault of the saw cuts beside its field.
func cutFault(err error, values map[string]string) db.FieldErrors {
	var wrong *grade.Error
	if !errors.As(err, &wrong) {
		return db.FieldErrors{{Problem: err.Error(), Remedy: "correct the board first"}}
	}
	f := &db.FieldError{Field: "sizes", Value: values["sizes"], Problem: wrong.Problem, Remedy: wrong.Remedy}
	if wrong.Field == "kerf" {
		f.Field, f.Value = "kerf", values["kerf"]
	} else if wrong.Index >= 0 {
		f.Problem = fmt.Sprintf("cannot be: size %d %s", wrong.Index+1, wrong.Problem) // as a person counts
	}
	return db.FieldErrors{f}
}

func (a *app) cutCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadCut(r)
	if err != nil {
		return err
	}
	values := readValues(r, cutInfo, "")
	pieces, kerf, faults := page.read(values)
	why := strings.TrimSpace(values["why"])
	if len(page.Careful) > 0 && why == "" {
		faults = append(faults, &db.FieldError{Field: "why", Problem: "is missing", Remedy: strings.Join(page.Careful, " ") + " See to that first, or say why it is cut all the same"})
	}
	if len(faults) == 0 {
		ask := db.BoardCut{ID: formID(r, "id"), Board: page.Board.ID, Keeper: page.Keeper.ID, RipKerf: kerf, CrosscutKerf: kerf}
		ask.Why = strings.TrimSpace(map[string]string{"rip": "ripped", "crosscut": "crosscut"}[values["how"]] + " into " + plural(len(pieces), "board", "boards") + ". " + why)
		for _, p := range pieces {
			ask.Pieces = append(ask.Pieces, db.BoardPiece{Rect: p})
		}
		if _, err := a.store.CutBoard(r.Context(), ask); err == nil {
			return seeOther(w, r, "/boards/"+page.Board.ID.String()+"?done=cut#children")
		} else if faults, err = asFaults(err); err != nil {
			return err
		}
	}
	page.Form = newForm(cutInfo, "", values, faults)
	return a.render(w, http.StatusUnprocessableEntity, "board_cut", page)
}

// cutPicture draws what the address asks to cut.
func cutPicture(b bench, r *http.Request, env db.Env) (boardPicture, error) {
	q := r.URL.Query()
	values := map[string]string{"how": q.Get("how"), "sizes": q.Get("sizes"), "kerf": q.Get("kerf"), "rest": q.Get("rest")}
	p := boardPicture{Board: b.Wood, Faces: []grade.Face{grade.Top}, Clearance: b.Widths.Clearance, Unit: env.Length}
	pieces, _, faults := readCut(b.Wood, values, env)
	if len(faults) > 0 {
		return p, &statusError{http.StatusUnprocessableEntity, faults.Error()}
	}
	p.Label = fmt.Sprintf("Board %s cut into %s", b.Board.Code, plural(len(pieces), "piece", "pieces"))
	for i, piece := range pieces {
		p.Pieces = append(p.Pieces, drawnPiece{Rect: piece, Face: grade.Top, Label: fmt.Sprint(i + 1)})
	}
	return p, nil
}

// cutUndo takes a cut back that was written down by mistake.
func (a *app) cutUndo(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	page, err := a.loadCut(r)
	if err != nil {
		return err
	}
	edit := db.Edit{ID: page.Board.ID, Version: page.Board.Version, Keeper: page.Keeper.ID, Why: "the cut was taken back on the board's page", Env: page.Env}
	if err := a.store.UncutBoard(r.Context(), edit); err != nil {
		return err
	}
	return seeOther(w, r, "/boards/"+page.Board.ID.String()+"?done=undone")
}

// benchPart is what a board's page shows of it on the bench.
type benchPart struct {
	bench
	Grade     gradePart
	MapWords  string
	Ancestors []db.StockBoard
	Patterns  []db.PatternLine
	Sources   []string
}

// loadBench fills in what the board's page shows of it on the bench.
func (a *app) loadBench(r *http.Request, id uuid.UUID, env db.Env) (benchPart, error) {
	var out benchPart
	var err error
	if out.bench, err = a.loadBenchBoard(r, id); err != nil {
		return out, err
	}
	if out.Grade, err = out.grade(env); err != nil {
		return out, err
	}
	out.MapWords, out.Sources = out.mapWords(env), gradeSources
	out.Ancestors, err = a.store.AncestorsOf(r.Context(), id)
	return out, err
}
