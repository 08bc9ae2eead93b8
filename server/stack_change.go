package server

import (
	"context"
	"net/http"
	"strings"
	"time"

	"skepwood/db"
)

// stackChanges are the forms for what happens to a stack as a whole, with what
// was typed into the one that was refused.
type stackChanges struct {
	Move       form
	Out        form
	Down       form
	MoveFaults bool
	OutFaults  bool
	DownFaults bool
}

// Columns of those forms that are no column of an entry.
var (
	outColumns = []db.ColumnInfo{
		{Name: "codes", Label: "Boards, by their codes", Required: true, Example: "K7MWX-3 K7MWX-4"},
		{Name: "left_stack", Label: "Taken out on", Example: "2026-06-01", Help: "Empty means today."},
		{Name: "why", Label: "Why", Required: true, Example: "dry, cut next Saturday"},
	}
	downColumns = []db.ColumnInfo{
		{Name: "taken_down", Label: "Taken down on", Example: "2026-09-01", Help: "Empty means today."},
		{Name: "why", Label: "Why", Example: "ready: into the shop"},
	}
)

// newStackChanges lays the forms out; today is the day they propose.
func newStackChanges(env db.Env) stackChanges {
	today := env.Now
	if env.Zone != nil {
		today = today.In(env.Zone)
	}
	day := today.Format(time.DateOnly)
	return stackChanges{
		Move: newForm(db.Moves.Info(), "move-", map[string]string{"day": day}, nil).Only("day", "place", "cover", "note"),
		Out:  newForm(outColumns, "out-", map[string]string{"left_stack": day}, nil),
		Down: newForm(downColumns, "down-", map[string]string{"taken_down": day}, nil),
	}
}

// stackMove notes that the whole stack was carried to another place.
func (a *app) stackMove(w http.ResponseWriter, r *http.Request) error {
	page, err := a.postedStack(r)
	if err != nil {
		return err
	}
	values := readValues(r, db.Moves.Info(), "move-")
	values["stack"] = page.ID.String()
	_, err = db.Moves.Add(r.Context(), a.store, db.Base{ID: formID(r, "id"), KeeperID: page.Keeper.ID}, values, page.Env)
	return a.stackChanged(w, r, page, "moved", err, func(faults db.FieldErrors) {
		page.Changes.Move, page.Changes.MoveFaults = newForm(db.Moves.Info(), "move-", values, faults).Only("day", "place", "cover", "note"), true
	})
}

// stackTakeOut takes single boards out of the stack.
func (a *app) stackTakeOut(w http.ResponseWriter, r *http.Request) error {
	page, err := a.postedStack(r)
	if err != nil {
		return err
	}
	values := readValues(r, outColumns, "out-")
	_, err = a.store.TakeOut(r.Context(), db.Edit{ID: page.ID, Keeper: page.Keeper.ID, Why: values["why"], Env: page.Env}, values["codes"], values["left_stack"])
	return a.stackChanged(w, r, page, "out", err, func(faults db.FieldErrors) {
		page.Changes.Out, page.Changes.OutFaults = newForm(outColumns, "out-", values, faults), true
	})
}

// stackTakeDown ends the stack: it dries no more, and teaches the others.
func (a *app) stackTakeDown(w http.ResponseWriter, r *http.Request) error {
	page, err := a.postedStack(r)
	if err != nil {
		return err
	}
	values := readValues(r, downColumns, "down-")
	day, why := values["taken_down"], strings.TrimSpace(values["why"])
	if strings.TrimSpace(day) == "" {
		day = "today"
	}
	if why == "" {
		why = "taken down"
	}
	edit := db.Edit{ID: page.ID, Version: page.Stack.Version, Keeper: page.Keeper.ID, Why: why, Env: page.Env}
	_, err = db.Stacks.Correct(r.Context(), a.store, edit, map[string]string{"taken_down": day})
	return a.stackChanged(w, r, page, "down", err, func(faults db.FieldErrors) {
		page.Changes.Down, page.Changes.DownFaults = newForm(downColumns, "down-", values, faults), true
	})
}

func (a *app) postedStack(r *http.Request) (*stackPage, error) {
	if err := parseForm(r); err != nil {
		return nil, err
	}
	return a.loadStack(r)
}

// stackChanged goes back to the stack's page, or shows what is wrong beside its
// field.
func (a *app) stackChanged(w http.ResponseWriter, r *http.Request, page *stackPage, done string, err error, put func(db.FieldErrors)) error {
	if err == nil {
		return seeOther(w, r, "/stacks/"+page.ID.String()+"?done="+done)
	}
	faults, other := asFaults(err)
	if other != nil {
		return other
	}
	put(faults)
	return a.render(w, http.StatusUnprocessableEntity, "stack_show", page)
}

// moveHistory is what was corrected about moves, the newest first.
func (a *app) moveHistory(ctx context.Context, moves []db.Move) ([]db.History, error) {
	var out []db.History
	for _, m := range moves {
		if m.Version == 1 {
			continue // nothing happened to it
		}
		h, err := a.store.HistoryOf(ctx, "move", m.ID)
		if err != nil {
			return nil, err
		}
		out = append(out, h...)
	}
	return out, nil
}
