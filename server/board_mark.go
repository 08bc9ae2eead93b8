package server

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"skepwood/db"
)

// mostLeft is how many boards that a tap left as they are it names.
const mostLeft = 20

// markWhy is what the history keeps of a tap.
var markWhy = map[string]string{
	"metal=clean":     "swept clean: magnet or detector over both faces",
	"metal=found":     "metal found in the sweep",
	"metal=not_swept": "to be swept again",
	"looked_over=yes": "both faces looked over",
	"looked_over=no":  "to be looked over again",
}

// boardMark sets a board's state of metal, or that it was looked over, with
// one tap.
func (a *app) boardMark(w http.ResponseWriter, r *http.Request) error {
	return a.markWith(w, r, func(m *db.BoardMark, id uuid.UUID) { m.Board = id })
}

// lotMark does the same for every board of a lot that is on the rack.
func (a *app) lotMark(w http.ResponseWriter, r *http.Request) error {
	return a.markWith(w, r, func(m *db.BoardMark, id uuid.UUID) { m.Lot = id })
}

func (a *app) markWith(w http.ResponseWriter, r *http.Request, on func(*db.BoardMark, uuid.UUID)) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	mark := r.PostFormValue("mark")
	why, ok := markWhy[mark]
	if !ok {
		return &statusError{http.StatusUnprocessableEntity, "That is nothing a board can be marked as. Go back and use its buttons."}
	}
	m := db.BoardMark{Keeper: a.base(r, "").Keeper.ID, Why: why}
	m.Column, m.Value, _ = strings.Cut(mark, "=")
	on(&m, id)
	done, err := a.store.MarkBoards(r.Context(), m)
	if err != nil {
		return err
	}
	if m.Board != uuid.Nil {
		back := "/boards/" + id.String()
		if r.PostFormValue("back") == "map" {
			back += "/map"
		}
		return seeOther(w, r, back+"?done=saved#bench")
	}
	named := done.Left[:min(len(done.Left), mostLeft)] // an address has no room for thousands
	q := url.Values{"done": {"saved"}, "marked": {strconv.Itoa(done.Changed)}, "left": {strings.Join(named, " ")}, "more": {strconv.Itoa(len(done.Left) - len(named))}}
	return seeOther(w, r, "/lots/"+id.String()+"?"+q.Encode()+"#boards-here")
}

// markedWords says what a tap on a lot did; the address carries the figures.
func markedWords(r *http.Request) string {
	n, err := strconv.Atoi(r.URL.Query().Get("marked"))
	if err != nil || n < 0 {
		return ""
	}
	s := plural(n, "board", "boards") + " changed."
	left := strings.Fields(r.URL.Query().Get("left"))
	if len(left) == 0 {
		return s
	}
	s += " Left as they are, because metal is written down on them: " + strings.Join(left[:min(len(left), mostLeft)], ", ")
	if more, err := strconv.Atoi(r.URL.Query().Get("more")); err == nil && more > 0 {
		s += " and " + strconv.Itoa(more) + " more"
	}
	return s + "."
}
