package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// versioned is an entry and the version that was read of it.
type versioned struct {
	ID      uuid.UUID
	Version int
}

// UndoSaw takes a tick back: blanks and offcuts that came of the layout are
// struck through, its board is on the rack again, the layout is still to cut.
// What has been used, cut or planned further meanwhile stops it.
func (s *Store) UndoSaw(ctx context.Context, edit Edit) error {
	return s.Tx(ctx, func(tx pgx.Tx) error {
		if err := holdLayoutLot(ctx, tx, edit.ID); err != nil {
			return err
		}
		layout, err := Layouts.locked(ctx, tx, edit)
		if err != nil {
			return err
		}
		if faults := edit.check(); len(faults) > 0 {
			return faults
		}
		if layout.State == LayoutPlanned || layout.Struck() {
			return &ConflictError{Entity: "layout", ID: layout.ID, Version: layout.Version}
		}
		if layout.State == LayoutRejected || layout.State == LayoutSetAside {
			err = refuseTaken(ctx, tx, layout)
		} else {
			err = s.putBack(ctx, tx, edit, layout)
		}
		if err != nil {
			return err
		}
		return Layouts.move(ctx, tx, edit, func(l *Layout) { l.State, l.Said = LayoutPlanned, "" }, s.Now())
	})
}

// putBack strikes what came of the board and puts it on the rack.
func (s *Store) putBack(ctx context.Context, tx pgx.Tx, edit Edit, layout Layout) error {
	if err := refuseUsed(ctx, tx, layout); err != nil {
		return err
	}
	now := s.Now()
	strike := func(sql string, id uuid.UUID, with func(context.Context, pgx.Tx, Edit) error) error {
		rows, err := tx.Query(ctx, sql, id)
		if err != nil {
			return err
		}
		list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[versioned])
		if err != nil {
			return err
		}
		for _, v := range list {
			below := edit
			below.ID, below.Version = v.ID, v.Version
			if err := with(ctx, tx, below); err != nil {
				return err
			}
		}
		return nil
	}
	if err := strike("SELECT id, version FROM blank WHERE layout_id = $1 AND struck_at IS NULL ORDER BY id", layout.ID, func(ctx context.Context, tx pgx.Tx, e Edit) error {
		return Blanks.strike(ctx, tx, e, ActionStruck, now)
	}); err != nil {
		return err
	}
	if err := strike("SELECT id, version FROM board WHERE parent_id = $1 AND struck_at IS NULL ORDER BY id", layout.Board.ID, func(ctx context.Context, tx pgx.Tx, e Edit) error {
		return Boards.strike(ctx, tx, e, ActionStruck, now)
	}); err != nil {
		return err
	}
	return moveBoard(ctx, tx, layout.Board.ID, edit, "rack", edit.Why, now)
}

// refuseUsed refuses to take back a layout of which a piece was used, cut or
// planned further meanwhile.
func refuseUsed(ctx context.Context, tx pgx.Tx, layout Layout) error {
	var used int
	err := tx.QueryRow(ctx, `SELECT (SELECT count(*) FROM blank WHERE layout_id = $1 AND struck_at IS NULL AND state <> 'stock')
		+ (SELECT count(*) FROM board b WHERE b.parent_id = $2 AND b.struck_at IS NULL AND (b.state <> 'rack'
			OR EXISTS (SELECT 1 FROM layout y JOIN plan n ON n.id = y.plan_id WHERE y.board_id = b.id AND y.struck_at IS NULL AND n.struck_at IS NULL AND y.state <> 'set_aside')))`,
		layout.ID, layout.Board.ID).Scan(&used)
	if err != nil {
		return fmt.Errorf("look what came of the board: %w", err)
	}
	if used > 0 {
		return FieldErrors{{Problem: fmt.Sprintf("%s of board %s is used, cut or planned already", plural(used, "piece", "pieces"), layout.Board.Key), Remedy: "take that back first"}}
	}
	return nil
}

// SetAside frees the boards that a plan still means to cut and returns how
// many there were. edit names the plan.
func (s *Store) SetAside(ctx context.Context, edit Edit) (int, error) {
	n := 0
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		var err error
		n, err = setAside(ctx, tx, s, edit)
		return err
	})
	return n, err
}

func setAside(ctx context.Context, tx pgx.Tx, s *Store, edit Edit) (int, error) {
	rows, err := tx.Query(ctx, "SELECT id, version FROM layout WHERE plan_id = $1 AND state = 'planned' AND struck_at IS NULL ORDER BY id FOR UPDATE", edit.ID)
	if err != nil {
		return 0, err
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[versioned])
	if err != nil {
		return 0, err
	}
	for _, v := range list {
		one := edit
		one.ID, one.Version = v.ID, v.Version
		if err := Layouts.move(ctx, tx, one, func(l *Layout) { l.State = LayoutSetAside }, s.Now()); err != nil {
			return 0, err
		}
	}
	return len(list), nil
}
