package server

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"skepwood/db"
)

// cutOne ticks one board: cut as planned.
func (b *builder) cutOne(w http.ResponseWriter, r *http.Request) error {
	return b.atTheSaw(w, r, func(edit db.Edit) error { return b.store.SawBoard(r.Context(), edit) })
}

// atTheSaw carries out what the form says of a layout and goes back to its
// plan; a refusal is shown there.
func (b *builder) atTheSaw(w http.ResponseWriter, r *http.Request, do func(db.Edit) error) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	layout, err := b.store.Layout(r.Context(), id)
	if err != nil {
		return err
	}
	back := "/build/plans/" + layout.Plan.ID.String()
	err = do(b.edit(r, id))
	if err == nil {
		return seeOther(w, r, back+"?done=sawn#board-"+strconv.Itoa(layout.Number))
	}
	return b.refuseAt(w, r, layout.Plan.ID, err)
}

// edit reads the version that the form was made from, and the reason.
func (b *builder) edit(r *http.Request, id uuid.UUID) db.Edit {
	base := b.base(r, "")
	version, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		version = -1
	}
	why := strings.TrimSpace(r.PostFormValue("why"))
	if why == "" {
		why = "at the saw"
	}
	return db.Edit{ID: id, Version: version, Keeper: base.Keeper.ID, Why: why, Env: base.Env}
}

// refuseAt shows on the plan's page why nothing was moved.
func (b *builder) refuseAt(w http.ResponseWriter, r *http.Request, plan uuid.UUID, err error) error {
	faults, other := asFaults(err)
	late := tooLate(err)
	if other != nil && !late {
		return other
	}
	page, err := b.planAt(r, plan)
	if err != nil {
		return err
	}
	if late {
		page.Faults = []formFault{{Text: quicker}}
		return b.render(w, http.StatusConflict, "plan_show", page)
	}
	for _, f := range faults {
		page.Faults = append(page.Faults, formFault{Text: f.Problem + "; " + f.Remedy})
	}
	return b.render(w, http.StatusUnprocessableEntity, "plan_show", page)
}

// quicker tells the second of two people who tick the same board, on the page
// as it is by now.
const quicker = "Somebody was quicker: this board was ticked or changed after you opened the page. Nothing was moved twice; this page shows what came of it."

// tooLate reports whether somebody was quicker.
func tooLate(err error) bool {
	var conflict *db.ConflictError
	return errors.As(err, &conflict)
}

// lateFor shows a board at the saw as it is by now.
func (b *builder) lateFor(w http.ResponseWriter, r *http.Request) error {
	page, err := b.loadLayout(r)
	if err != nil {
		return err
	}
	page.Faults = []formFault{{Text: quicker}}
	return b.render(w, http.StatusConflict, "layout_show", page)
}

// planAt loads the page of a plan that the address does not name.
func (b *builder) planAt(r *http.Request, plan uuid.UUID) (*planPage, error) {
	clone := r.Clone(r.Context())
	setPathID(clone, plan)
	return b.loadPlan(clone)
}

// cutAll ticks every board that is still to be cut.
func (b *builder) cutAll(w http.ResponseWriter, r *http.Request) error {
	return b.withPlan(w, r, "sawn", func(edit db.Edit) error {
		_, err := b.store.SawAll(r.Context(), edit)
		return err
	})
}

// setAside frees the boards that the plan still means to cut.
func (b *builder) setAside(w http.ResponseWriter, r *http.Request) error {
	return b.withPlan(w, r, "aside", func(edit db.Edit) error {
		edit.Why = "set aside"
		_, err := b.store.SetAside(r.Context(), edit)
		return err
	})
}

func (b *builder) withPlan(w http.ResponseWriter, r *http.Request, done string, do func(db.Edit) error) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	if _, err := db.Plans.Get(r.Context(), b.store, id); err != nil {
		return err
	}
	if err := do(b.edit(r, id)); err != nil {
		return b.refuseAt(w, r, id, err)
	}
	return seeOther(w, r, "/build/plans/"+id.String()+"?done="+done)
}
