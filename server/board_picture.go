package server

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"strconv"

	"github.com/google/uuid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/charts"
	"skepwood/db"
)

// bench is a board on the bench: with its defects, and the widths that hold.
type bench struct {
	Row    db.StockBoard
	Board  db.Board
	Wood   grade.Board
	Widths db.Widths
}

func (a *app) loadBenchBoard(r *http.Request, id uuid.UUID) (bench, error) {
	var b bench
	var err error
	if b.Board, err = db.Boards.Get(r.Context(), a.store, id); err != nil {
		return b, err
	}
	if b.Row, err = a.store.StockBoard(r.Context(), id); err != nil {
		return b, err
	}
	if b.Wood, err = a.store.GradeBoard(r.Context(), id); err != nil {
		return b, err
	}
	b.Widths, err = a.store.Widths(r.Context())
	return b, err
}

// defaultPicture is the width of a picture whose address names none.
const defaultPicture = 928

// serveBoard answers with a picture of a board at its own address.
func serveBoard(w http.ResponseWriter, r *http.Request, p boardPicture) error {
	style, err := styleOf(r)
	if err != nil {
		return err
	}
	p.Width, p.Dark = style.Width, style.Theme == charts.Dark
	if p.Width == 0 {
		p.Width = defaultPicture
	}
	text := []byte(p.SVG())
	sum := sha256.Sum256(text)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", "no-cache")
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	_, err = w.Write(text)
	return err
}

// boardHandler wraps a picture of one board.
func (a *app) boardHandler(draw func(b bench, r *http.Request, env db.Env) (boardPicture, error)) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := pathID(r)
		if err != nil {
			return err
		}
		b, err := a.loadBenchBoard(r, id)
		if err != nil {
			return err
		}
		p, err := draw(b, r, a.base(r, "").Env)
		if err != nil {
			return err
		}
		return serveBoard(w, r, p)
	}
}

// faceOf reads the face that an address asks for.
func faceOf(text string) grade.Face {
	if text == string(grade.Bottom) {
		return grade.Bottom
	}
	return grade.Top
}

// mapPicture draws a board's defects: one face, or both one below the other.
func mapPicture(b bench, r *http.Request, env db.Env) (boardPicture, error) {
	faces := []grade.Face{grade.Top, grade.Bottom}
	if text := r.URL.Query().Get("face"); text != "" {
		faces = []grade.Face{faceOf(text)}
	}
	return boardPicture{Board: b.Wood, Faces: faces, Label: b.mapWords(env), Code: b.Board.Code, Clearance: b.Widths.Clearance, Unit: env.Length}, nil
}

// mapWords says in a line what the map shows.
func (b bench) mapWords(env db.Env) string {
	count := map[grade.Kind]int{}
	metal := 0
	for _, d := range b.Wood.Defects {
		count[d.Kind]++
		if d.Metal {
			metal++
		}
	}
	s := fmt.Sprintf("Board %s, %s wide and %s long", b.Board.Code, b.Wood.Width.Format(env.Length), b.Wood.Length.Format(env.Length))
	if len(b.Wood.Defects) == 0 {
		if b.Row.Mapped {
			return s + ": looked over and clear"
		}
		return s + ": not looked over yet, no defect written down"
	}
	sep := ": "
	for _, k := range grade.Kinds() {
		if n := count[k]; n > 0 {
			s += sep + kindCount(k, n)
			sep = ", "
		}
	}
	if metal > 0 {
		s += "; metal in " + strconv.Itoa(metal)
	}
	return s
}

// kindCount counts defects of a kind in words.
func kindCount(k grade.Kind, n int) string {
	names := map[grade.Kind][2]string{
		grade.NailHole: {"nail hole", "nail holes"}, grade.Knot: {"knot", "knots"}, grade.Split: {"split", "splits"}, grade.Check: {"check", "checks"},
		grade.Wane: {"rectangle of wane", "rectangles of wane"}, grade.Decay: {"spot of decay", "spots of decay"}, grade.Stain: {"stain", "stains"}, grade.InsectHole: {"insect hole", "insect holes"},
	}
	return plural(n, names[k][0], names[k][1])
}

// sized prints a piece's width and length.
func sized(r grade.Rect, unit wood.Unit) string {
	return r.DY.Format(unit) + " × " + r.DX.Format(unit)
}
