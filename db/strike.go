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
		return []child{{`SELECT id, version FROM layout WHERE plan_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Layouts.strike}}
	case "layout":
		return []child{{`SELECT id, version FROM blank WHERE layout_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Blanks.strike}}
	case "board":
		return []child{{`SELECT id, version FROM blank WHERE board_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Blanks.strike}, {`SELECT id, version FROM board WHERE parent_id = $1 AND struck_at IS NOT DISTINCT FROM $2 ORDER BY id`, Boards.strike}}
	}
	return nil
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
