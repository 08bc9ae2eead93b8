package server

import (
	"net/http"
	"strings"

	"skepwood/db"
)

// buildPart is what a board's page shows of plans and of what was cut from it,
// and the form for its ends.
type buildPart struct {
	Layouts []db.PlanLayout
	Blanks  []db.StockBlank
	Ends    form
}

// endColumns are the fields of the form for a board's ends.
var endColumns = []string{"left_trim", "right_trim"}

// loadBuild reads the plans that use a board and its blanks.
func (a *app) loadBuild(r *http.Request, board db.Board, env db.Env) (buildPart, error) {
	var out buildPart
	var err error
	if out.Layouts, err = a.store.LayoutsOfBoard(r.Context(), board.ID); err != nil {
		return out, err
	}
	if out.Blanks, err = a.store.BlanksOf(r.Context(), board.ID); err != nil {
		return out, err
	}
	out.Ends = newForm(db.Boards.Info(), "ends-", db.Boards.Values(&board, env), nil).Only(endColumns...)
	return out, nil
}

// boardEnds writes down how much of a board's ends is dirty or split.
func (a *app) boardEnds(w http.ResponseWriter, r *http.Request) error {
	page, err := a.postedBoard(r)
	if err != nil {
		return err
	}
	typed := map[string]string{}
	for _, name := range endColumns {
		typed[name] = strings.TrimSpace(r.PostFormValue("ends-" + name))
	}
	edit := db.Edit{ID: page.Board.ID, Version: page.Board.Version, Keeper: page.Keeper.ID, Why: "its ends were measured", Env: page.Env}
	if _, err := db.Boards.Correct(r.Context(), a.store, edit, typed); err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Build.Ends = newForm(db.Boards.Info(), "ends-", typed, faults).Only(endColumns...)
		return a.render(w, http.StatusUnprocessableEntity, "board_show", page)
	}
	return seeOther(w, r, "/boards/"+page.Board.ID.String()+"?done=saved#plans")
}
