package db

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// Got is what really came of a board that was not cut as planned.
type Got struct {
	// State is LayoutOtherwise, LayoutBroken or LayoutRejected.
	State string
	// Said is what happened, in the keeper's words.
	Said string
	// Pieces are the numbers of the planned blanks that were got, Offcuts the
	// places in the drawing of the planned offcuts that were.
	Pieces, Offcuts []int
	// Extra counts, by part of the plan, blanks that were got beside them.
	Extra map[int]int
	// Left are boards that were left, length and width, beside the offcuts.
	Left []grade.Size
}

// SawBoard moves the wood of a layout from its board to blanks and offcuts, as
// planned, in one transaction. edit names the layout and the version that was
// read: of two who tick the same board one wins and the other gets a
// *ConflictError. What the verdict does not allow any more is refused as
// FieldErrors.
func (s *Store) SawBoard(ctx context.Context, edit Edit) error {
	return s.Tx(ctx, func(tx pgx.Tx) error { return sawBoard(ctx, tx, edit, s.Now()) })
}

// SawAll does the same for every layout of a plan that is still to be cut,
// all or none, and returns how many there were.
func (s *Store) SawAll(ctx context.Context, edit Edit) (int, error) {
	n := 0
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		n = 0
		rows, err := tx.Query(ctx, `SELECT y.id, y.version FROM layout y JOIN board b ON b.id = y.board_id
			WHERE y.plan_id = $1 AND y.state = 'planned' AND y.struck_at IS NULL ORDER BY b.lot_id, y.board_id FOR UPDATE OF y`, edit.ID)
		if err != nil {
			return err
		}
		type open struct {
			ID      uuid.UUID
			Version int
		}
		list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[open])
		if err != nil {
			return err
		}
		for _, l := range list {
			one := edit
			one.ID, one.Version = l.ID, l.Version
			if err := sawBoard(ctx, tx, one, s.Now()); err != nil {
				return err
			}
			n++
		}
		return nil
	})
	return n, err
}

func sawBoard(ctx context.Context, tx pgx.Tx, edit Edit, now time.Time) error {
	w, err := openSaw(ctx, tx, edit, now)
	if err != nil {
		return err
	}
	var all []int
	for _, p := range w.drawing.Pieces {
		all = append(all, p.N)
	}
	offcuts := make([]int, len(w.drawing.Offcuts))
	for i := range offcuts {
		offcuts[i] = i
	}
	return w.saw(ctx, tx, Got{State: LayoutCut, Pieces: all, Offcuts: offcuts})
}

// SawOtherwise enters what really came of a layout's board: fewer blanks,
// others, or none.
func (s *Store) SawOtherwise(ctx context.Context, edit Edit, got Got) error {
	return s.Tx(ctx, func(tx pgx.Tx) error {
		w, err := openSaw(ctx, tx, edit, s.Now())
		if err != nil {
			return err
		}
		if faults := got.check(w.drawing, w.doc); len(faults) > 0 {
			return faults
		}
		return w.saw(ctx, tx, got)
	})
}

// check refuses more wood than the board had, and an answer without a word.
func (g *Got) check(d *LayoutDrawing, doc *PlanDocument) FieldErrors {
	switch {
	case g.State != LayoutOtherwise && g.State != LayoutBroken && g.State != LayoutRejected:
		return FieldErrors{{Field: "state", Value: clip(g.State), Problem: "is not a known choice", Remedy: "say whether it was cut otherwise, broke or was rejected"}}
	case strings.TrimSpace(g.Said) == "":
		return FieldErrors{{Field: "said", Problem: "is missing", Remedy: "say in a few words what happened"}}
	}
	if f := (textCodec{max: 500}).parse(new(string), strings.TrimSpace(g.Said), Env{}); f != nil {
		f.Field, f.Value = "said", clip(g.Said)
		return FieldErrors{f}
	}
	if f := checkText(g.Said); f != nil {
		f.Field, f.Value = "said", clip(strings.ToValidUTF8(g.Said, "�"))
		return FieldErrors{f}
	}
	if g.State == LayoutRejected {
		if len(g.Pieces)+len(g.Extra)+len(g.Left)+len(g.Offcuts) == 0 {
			return nil
		}
		return FieldErrors{{Field: "state", Value: g.State, Problem: "means that the board was not cut, yet pieces were got", Remedy: "say that it was cut otherwise, or untick the pieces"}}
	}
	if len(g.Pieces) >= len(d.Pieces) && len(g.Offcuts) >= len(d.Offcuts) && len(g.Extra)+len(g.Left) == 0 {
		return FieldErrors{{Field: "pieces", Problem: "are all that was planned", Remedy: "untick what was not got, or say that it was cut as planned"}}
	}
	used := 0.0
	for _, n := range g.Pieces {
		used += d.piece(n).M2()
	}
	for _, i := range g.Offcuts {
		if i >= 0 && i < len(d.Offcuts) {
			used += d.Offcuts[i].M2()
		}
	}
	rules := doc.Shop.Rules
	for i, n := range g.Extra {
		size := doc.Parts[i].Size
		used += float64(n) * (size.Length + rules.LengthAllowance).Metres() * (size.Width + rules.JointAllowance).Metres()
		if size.Thickness > d.Thickness || size.Length > d.Length || size.Width > d.Width {
			return FieldErrors{{Field: "extra", Problem: doc.Parts[i].Name() + " is larger than the board", Remedy: "choose what was really cut from it"}}
		}
	}
	for _, l := range g.Left {
		used += l.Length.Metres() * l.Width.Metres()
		if l.Length > d.Length || l.Width > d.Width {
			return FieldErrors{{Field: "left", Problem: "is larger than the board was", Remedy: "measure it again"}}
		}
		if l.Length < LeastBoard && l.Length < d.Length {
			return FieldErrors{{Field: "left", Problem: "is less than " + exactLength(LeastBoard) + " long", Remedy: "check the number and its unit; what is shorter is waste and is left out"}}
		}
	}
	if used > d.M2()*(1+1e-9) {
		return FieldErrors{{Field: "pieces", Problem: "come to more wood than the board had", Remedy: "untick what was not got"}}
	}
	return nil
}

// piece returns the blank with the number; one that is not there has no size.
func (d *LayoutDrawing) piece(n int) LayoutPiece {
	for _, p := range d.Pieces {
		if p.N == n {
			return p
		}
	}
	return LayoutPiece{}
}

// sawing is one board at the saw: its layout and board, held until the
// transaction ends.
type sawing struct {
	edit    Edit
	now     time.Time
	layout  Layout
	drawing *LayoutDrawing
	plan    Plan
	doc     *PlanDocument
	board   Board
	verdict string
}

// openSaw holds the layout and its board and refuses what may not be cut.
func openSaw(ctx context.Context, tx pgx.Tx, edit Edit, now time.Time) (*sawing, error) {
	w := &sawing{edit: edit, now: now}
	err := holdLayoutLot(ctx, tx, edit.ID)
	if err != nil {
		return nil, err
	}
	if w.layout, err = Layouts.locked(ctx, tx, edit); err != nil {
		return nil, err
	}
	if w.drawing, err = w.layout.Read(); err != nil {
		return nil, err
	}
	if w.plan, err = Plans.one(ctx, tx, w.layout.Plan.ID); err != nil {
		return nil, err
	}
	if w.doc, err = w.plan.Read(); err != nil {
		return nil, err
	}
	if _, err := tx.Exec(ctx, "SELECT 1 FROM board WHERE id = $1 FOR UPDATE", w.layout.Board.ID); err != nil {
		return nil, err
	}
	if w.board, err = Boards.one(ctx, tx, w.layout.Board.ID); err != nil {
		return nil, err
	}
	var stopped bool
	if err := tx.QueryRow(ctx, "SELECT verdict, ownership_stop FROM board WHERE id = $1", w.board.ID).Scan(&w.verdict, &stopped); err != nil {
		return nil, err
	}
	return w, w.allowed(stopped)
}

// holdLayoutLot holds the lot of a layout's board, before anything else, as
// everything that derives it does.
func holdLayoutLot(ctx context.Context, tx pgx.Tx, layout uuid.UUID) error {
	var lot uuid.UUID
	if err := tx.QueryRow(ctx, "SELECT b.lot_id FROM layout y JOIN board b ON b.id = y.board_id WHERE y.id = $1", layout).Scan(&lot); err != nil {
		return notFound(err, "layout")
	}
	return holdLots(ctx, tx, []uuid.UUID{lot})
}

// allowed refuses a board that is not as it was when it was planned.
func (w *sawing) allowed(stopped bool) error {
	refuse := func(problem, remedy string) error {
		return FieldErrors{{Problem: "board " + w.board.Code + " " + problem, Remedy: remedy}}
	}
	switch {
	case w.layout.State != LayoutPlanned:
		return &ConflictError{Entity: "layout", ID: w.layout.ID, Version: w.layout.Version}
	case w.layout.Struck() || w.plan.Struck():
		return refuse("belongs to a plan that is struck through", "restore the plan first")
	case w.board.Struck() || w.board.State != "rack":
		return refuse("is no longer on the rack", "plan the rest again, which leaves it out")
	case stopped || w.verdict == "hold" || w.verdict == "never":
		return refuse("must not be cut: its verdict is now "+w.verdict, "plan the rest again, which leaves it out")
	case w.board.Thickness != w.drawing.Thickness || w.board.Width != w.drawing.Width || w.board.Length != w.drawing.Length:
		return refuse("was measured anew since it was planned", "plan the rest again")
	}
	if w.verdict == "outside" {
		for _, p := range w.drawing.Pieces {
			if w.doc.Part(p.Part).Zone == "inside" {
				return refuse("is now for outside only, and the plan cuts inside parts from it", "plan the rest again, which leaves it out")
			}
		}
	}
	return nil
}

// saw moves the wood.
func (w *sawing) saw(ctx context.Context, tx pgx.Tx, got Got) error {
	for _, n := range got.Pieces {
		if p := w.drawing.piece(n); p.N > 0 {
			if err := w.blank(ctx, tx, n, p.Part, p.DX, p.DY); err != nil {
				return err
			}
		}
	}
	if err := w.extras(ctx, tx, got); err != nil {
		return err
	}
	if got.State != LayoutRejected {
		if err := w.freeBoard(ctx, tx, got); err != nil {
			return err
		}
	}
	why := w.edit.Why
	if strings.TrimSpace(why) == "" {
		why = "at the saw"
	}
	done := w.edit
	done.Why = why
	return Layouts.move(ctx, tx, done, func(l *Layout) { l.State, l.Said = got.State, strings.TrimSpace(got.Said) }, w.now)
}

// blank enters one blank.
func (w *sawing) blank(ctx context.Context, tx pgx.Tx, n, part int, length, width wood.Length) error {
	p := w.doc.Part(part)
	name := strings.TrimPrefix(p.Name(), p.Kit+": ")
	b := Blank{
		Base: Base{
			ID:       uuid.NewSHA1(w.layout.ID, fmt.Appendf(nil, "blank\x1f%d\x1f%d", w.layout.Version, n)),
			KeeperID: w.edit.Keeper, ReceivedAt: w.now, Version: 1,
		},
		Board: RefTo(w.board.ID), Layout: RefTo(w.layout.ID), Code: w.drawing.BlankCode(n), Kit: p.Kit, Part: name, Zone: p.Zone,
		Thickness: w.board.Thickness, Width: width, Length: length, State: "stock",
	}
	if p.Zone == "inside" && w.verdict != "inside" {
		return FieldErrors{{Field: "extra", Problem: fmt.Sprintf("%s goes inside, and board %s is for outside only", p.Name(), w.board.Code), Remedy: "enter it as a part that goes outside, or leave it out"}}
	}
	_, err := Blanks.insert(ctx, tx, &b)
	return err
}

// extras enters the blanks that were got beside the planned ones.
func (w *sawing) extras(ctx context.Context, tx pgx.Tx, got Got) error {
	n, rules := 0, w.doc.Shop.Rules
	for _, p := range w.drawing.Pieces {
		n = max(n, p.N)
	}
	for part := range w.doc.Parts {
		size := w.doc.Part(part).Size
		for range got.Extra[part] {
			n++
			if err := w.blank(ctx, tx, n, part, size.Length+rules.LengthAllowance, size.Width+rules.JointAllowance); err != nil {
				return err
			}
		}
	}
	return nil
}

// freeBoard takes the board off the rack and puts what was left of it there.
func (w *sawing) freeBoard(ctx context.Context, tx pgx.Tx, got Got) error {
	var pieces []BoardPiece
	for _, i := range got.Offcuts {
		if i >= 0 && i < len(w.drawing.Offcuts) {
			o := w.drawing.Offcuts[i]
			pieces = append(pieces, BoardPiece{Rect: grade.Rect{X: o.X, Y: o.Y, DX: o.DX, DY: o.DY}, Notes: "offcut"})
		}
	}
	if err := w.leftovers(ctx, tx, got.Left); err != nil {
		return err
	}
	if len(pieces) > 0 {
		request := BoardCut{ID: uuid.NewSHA1(w.layout.ID, fmt.Appendf(nil, "offcuts\x1f%d", w.layout.Version)), Board: w.board.ID, Keeper: w.edit.Keeper,
			Why: "cut by plan " + clip(w.plan.Name), RipKerf: 0, CrosscutKerf: 0, Pieces: pieces}
		if _, err := cutBoards(ctx, tx, []BoardCut{request}, w.now); err != nil {
			return err
		}
		if got.State != LayoutBroken {
			return nil
		}
	}
	state, why := "cut", "cut by plan "+clip(w.plan.Name)
	if got.State == LayoutBroken {
		state, why = "broken", clip(got.Said)
	}
	return moveBoard(ctx, tx, w.board.ID, w.edit, state, why, w.now)
}

// leftovers enters boards whose place on the old one nobody noted; their
// defects are still to be mapped.
func (w *sawing) leftovers(ctx context.Context, tx pgx.Tx, left []grade.Size) error {
	for i, size := range left {
		b := w.board
		b.Base = Base{ID: uuid.NewSHA1(w.layout.ID, fmt.Appendf(nil, "left\x1f%d\x1f%d", w.layout.Version, i)), KeeperID: w.edit.Keeper, ReceivedAt: w.now, Version: 1}
		b.Parent, b.Code, b.Label, b.Notes, b.State, b.LookedOver = RefTo(w.board.ID), "", "", "left when cut otherwise", "rack", false
		b.Length, b.Width, b.LeftTrim, b.RightTrim = size.Length, size.Width, nil, nil
		if _, err := Boards.insert(ctx, tx, &b); err != nil {
			return err
		}
	}
	return nil
}

// moveBoard changes a board's state and keeps why.
func moveBoard(ctx context.Context, tx pgx.Tx, id uuid.UUID, edit Edit, state, why string, now time.Time) error {
	var version int
	if err := tx.QueryRow(ctx, "SELECT version FROM board WHERE id = $1", id).Scan(&version); err != nil {
		return notFound(err, "board")
	}
	change := Edit{ID: id, Version: version, Keeper: edit.Keeper, Why: why, Env: SheetEnv(now)}
	_, err := Boards.correct(ctx, tx, change, map[string]string{"state": state}, now)
	return err
}

// move changes sealed columns of an entry, which no form can, and keeps the
// old values in the history.
func (e *Entity[T]) move(ctx context.Context, tx pgx.Tx, edit Edit, change func(*T), now time.Time) error {
	rec, err := e.locked(ctx, tx, edit)
	if err != nil {
		return err
	}
	if faults := edit.check(); len(faults) > 0 {
		return faults
	}
	before, was := e.Values(&rec, SheetEnv(now)), rec
	change(&rec)
	changes := e.diff(before, &rec, now)
	if len(changes) == 0 {
		return nil
	}
	if err := e.update(ctx, tx, &rec); err != nil {
		return err
	}
	if err := e.remember(ctx, tx, edit, ActionCorrected, changes, now); err != nil {
		return err
	}
	return e.deriveAll(ctx, tx, &rec, &was)
}
