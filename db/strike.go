package db

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// child is a kind of entry that falls with the entry it hangs on: the lots of
// a pickup, the boards of a lot.
type child struct {
	// select returns id and version of the children of $1 that are struck at
	// the moment $2, or live where $2 is null.
	sql string
	// strike is the child kind's own.
	strike func(ctx context.Context, tx pgx.Tx, edit Edit, action string, now time.Time) error
}

// childrenOf lists what hangs on an entry of the table. It is a function and
// not a field so that the kinds do not depend on each other's initialisation.
func childrenOf(table string) []child {
	switch table {
	case "source":
		return []child{{`SELECT id, version FROM pickup WHERE source_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Pickups.strike}}
	case "pickup":
		return []child{{`SELECT id, version FROM lot WHERE pickup_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Lots.strike}}
	case "lot":
		return []child{{`SELECT id, version FROM board WHERE lot_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, strikeBoardAlone},
			{`SELECT id, version FROM blank WHERE board_id IN (SELECT id FROM board WHERE lot_id = $1) AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Blanks.strike}}
	case "stack":
		return []child{{`SELECT id, version FROM move WHERE stack_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Moves.strike}}
	case "plan":
		return []child{{`SELECT y.id, y.version FROM layout y JOIN board b ON b.id = y.board_id WHERE y.plan_id = $1 AND y.struck_at IS NOT DISTINCT FROM $2 ORDER BY b.lot_id, y.id`, Layouts.strike}}
	case "layout":
		return []child{{`SELECT id, version FROM blank WHERE layout_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Blanks.strike},
			{`SELECT o.id, o.version FROM board o JOIN layout y ON y.board_id = o.parent_id WHERE y.id = $1 AND y.state IN ('cut', 'otherwise', 'broken')
				AND o.struck_at IS NOT DISTINCT FROM $2 ORDER BY o.id`, Boards.strike}}
	case "board":
		return []child{{`SELECT id, version FROM blank WHERE board_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Blanks.strike}, {`SELECT id, version FROM board WHERE parent_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Boards.strike}}
	}
	return nil
}

// strikeBefore does what must come before an entry of the table is struck or
// restored. Like childrenOf it is a function so that kinds do not depend on
// each other's initialisation.
func strikeBefore(ctx context.Context, tx pgx.Tx, table string, edit Edit, action string, now time.Time) error {
	switch {
	case table == "layout":
		return moveSawnBoard(ctx, tx, edit, action, now)
	case table == "board" && action == ActionRestored:
		return parentOfLot(ctx, tx, edit.ID)
	}
	return nil
}

// moveSawnBoard puts the board of a cut layout that is struck back on the rack,
// since its blanks and offcuts fall with the layout, and takes it off again
// when the layout is restored. What was used, cut or planned since stops it, and
// another plan stops a layout that would be still to cut.
func moveSawnBoard(ctx context.Context, tx pgx.Tx, edit Edit, action string, now time.Time) error {
	layout, err := Layouts.one(ctx, tx, edit.ID)
	if err == nil && layout.State == LayoutPlanned && action == ActionRestored {
		if taken, err := plannedElsewhere(ctx, tx, layout); !taken {
			return err
		}
		return FieldErrors{{Problem: "board " + layout.Board.Key + " is another plan's by now", Remedy: "set that plan aside first"}}
	}
	if err != nil || layout.State != LayoutCut && layout.State != LayoutOtherwise && layout.State != LayoutBroken {
		return err
	}
	board, err := Boards.one(ctx, tx, layout.Board.ID)
	if err != nil {
		return err
	}
	if action == ActionStruck {
		if err := refuseUsed(ctx, tx, layout); err != nil || board.Struck() || board.State != "cut" && board.State != "broken" {
			return err
		}
		return moveBoard(ctx, tx, board.ID, edit, "rack", "with its layout: "+clip(edit.Why), now)
	}
	if err := refuseTaken(ctx, tx, layout); err != nil {
		return err
	}
	state := "cut"
	if layout.State == LayoutBroken {
		state = "broken"
	}
	return moveBoard(ctx, tx, board.ID, edit, state, "its layout was restored: "+clip(edit.Why), now)
}

// plannedElsewhere reports whether another live plan means to cut the board of
// a layout, or has cut it.
func plannedElsewhere(ctx context.Context, tx pgx.Tx, layout Layout) (taken bool, err error) {
	err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM layout y JOIN plan n ON n.id = y.plan_id
		WHERE y.board_id = $1 AND y.id <> $2 AND y.state NOT IN ('set_aside', 'rejected') AND y.struck_at IS NULL AND n.struck_at IS NULL)`, layout.Board.ID, layout.ID).Scan(&taken)
	return taken, err
}

// strikeBoardAlone strikes a board of a struck lot without its offcuts, which
// are children of the lot themselves, and without adding up the lot each time.
func strikeBoardAlone(ctx context.Context, tx pgx.Tx, edit Edit, action string, now time.Time) error {
	alone := *Boards
	alone.derive = nil
	alone.childless = true
	return alone.strike(ctx, tx, edit, action, now)
}

// strikeChildren strikes what hangs on an entry at the same moment, or
// restores what was struck with it.
func strikeChildren(ctx context.Context, tx pgx.Tx, table string, edit Edit, action string, at *time.Time, now time.Time) error {
	for _, c := range childrenOf(table) {
		rows, err := tx.Query(ctx, c.sql, edit.ID, at)
		if err != nil {
			return fmt.Errorf("find what hangs on the %s: %w", table, err)
		}
		type versioned struct {
			ID      uuid.UUID
			Version int
		}
		list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[versioned])
		if err != nil {
			return fmt.Errorf("find what hangs on the %s: %w", table, err)
		}
		for _, v := range list {
			below := edit
			below.ID, below.Version, below.Why = v.ID, v.Version, "with its "+table+": "+edit.Why
			if r := []rune(below.Why); len(r) > 2000 {
				below.Why = string(r[:2000])
			}
			if err := c.strike(ctx, tx, below, action, now); err != nil {
				return err
			}
		}
	}
	return nil
}
