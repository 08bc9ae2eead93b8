package server

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"skepwood/db"
)

// lotBoardsShown is how many boards of a lot stand on one page: a table of all
// of 10,000 took 6 MB and a phone some seconds.
const lotBoardsShown = 100

// lotBoards are the boards of a lot that its page shows.
type lotBoards struct {
	db.LotBoardsPage
	// Lot is the lot's address.
	Lot  string
	Find field
}

// loadLotBoards reads the boards that the address asks for.
func (a *app) loadLotBoards(r *http.Request, lot db.Lot) (lotBoards, error) {
	n, last := 1, 1<<30
	switch text := r.URL.Query().Get("boards"); text {
	case "last":
		n = last / lotBoardsShown
	default:
		if typed, err := strconv.Atoi(text); err == nil && typed > 0 {
			n = min(typed, last/lotBoardsShown)
		}
	}
	out := lotBoards{Lot: "/lots/" + lot.ID.String(), Find: findField("", "")}
	var err error
	out.LotBoardsPage, err = a.store.LotBoardsFrom(r.Context(), lot.ID, (n-1)*lotBoardsShown, lotBoardsShown)
	return out, err
}

func findField(value, fault string) field {
	return field{ColumnInfo: db.ColumnInfo{Label: "Find a board by the code on it, its number alone, or your own"}, ID: "find", Value: value, Error: fault}
}

// Pages is how many pages the boards fill, Page which of them this is.
func (l lotBoards) Pages() int { return (l.All + lotBoardsShown - 1) / lotBoardsShown }

// Page counts from 1.
func (l lotBoards) Page() int { return l.Before/lotBoardsShown + 1 }

// First and Last are the numbers, within the lot, of the boards shown.
func (l lotBoards) First() int { return l.Before + 1 }

// Last is beside First.
func (l lotBoards) Last() int { return l.Before + len(l.Boards) }

// Asks reports whether the boards do not fit on one page, or one of them was
// looked for in vain.
func (l lotBoards) Asks() bool { return l.Pages() > 1 || l.Find.Error != "" }

// pageStep is a step from one page of boards to another.
type pageStep struct{ Words, Address string }

// Steps are the pages that can be gone to from here.
func (l lotBoards) Steps() (steps []pageStep) {
	to := func(words string, page int) {
		if page >= 1 && page <= l.Pages() && page != l.Page() {
			steps = append(steps, pageStep{words, l.Lot + "?boards=" + strconv.Itoa(page) + "#boards-here"})
		}
	}
	to("First boards", 1)
	if l.Page() > 2 {
		to("Boards before", l.Page()-1)
	}
	if l.Page() < l.Pages()-1 {
		to("Next boards", l.Page()+1)
	}
	to("Last boards", l.Pages())
	return steps
}

// lotFind opens the board that the keeper has in hand, or says beside the field
// that there is none.
func (a *app) lotFind(w http.ResponseWriter, r *http.Request, page *lotPage) error {
	typed := strings.TrimSpace(r.URL.Query().Get("find"))
	name := typed
	if n, err := strconv.Atoi(name); err == nil && n > 0 && !strings.HasPrefix(name, "+") {
		if id, err := a.store.BoardByName(r.Context(), page.Lot.Code+"-"+strconv.Itoa(n)); err == nil {
			return seeOther(w, r, "/boards/"+id.String())
		}
	}
	fault := "no board has this code or own number; look again for a letter that was misread, or go through the pages"
	switch {
	case name == "":
		fault = "is missing; write the code that stands on the board, like " + page.Lot.Code + "-1"
	case len(name) <= 300: // longer than any code or own number
		id, err := a.store.BoardByName(r.Context(), name)
		if err == nil {
			return seeOther(w, r, "/boards/"+id.String())
		}
		if !errors.Is(err, db.ErrNotFound) {
			return err
		}
	}
	page.Boards.Find = findField(typed, fault)
	return a.render(w, http.StatusUnprocessableEntity, "lot_show", page)
}
