package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// takeBoards makes sure that the boards of new layouts are on the rack still,
// and no other plan's: working a plan out takes seconds, in which another may
// have taken them or the saw have spoken. Their lots are held, so that of two
// plans for one board the second to store sees the first.
func takeBoards(ctx context.Context, tx pgx.Tx, layouts []Layout) error {
	ids, own := make([]uuid.UUID, len(layouts)), make([]uuid.UUID, len(layouts))
	for i, l := range layouts {
		ids[i], own[i] = l.Board.ID, l.ID
	}
	if err := holdLotsOf(ctx, tx, ids); err != nil {
		return err
	}
	rows, err := tx.Query(ctx, `SELECT b.code FROM board b WHERE b.id = ANY($1) AND (b.state <> 'rack' OR b.struck_at IS NOT NULL
		OR EXISTS (SELECT 1 FROM layout y JOIN plan n ON n.id = y.plan_id
			WHERE y.board_id = b.id AND y.id <> ALL($2) AND y.state = 'planned' AND y.struck_at IS NULL AND n.struck_at IS NULL)) ORDER BY b.code`, ids, own)
	if err != nil {
		return fmt.Errorf("look whether the boards are free: %w", err)
	}
	codes, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return fmt.Errorf("look whether the boards are free: %w", err)
	}
	if len(codes) > 0 {
		return FieldErrors{{Problem: "boards were cut, struck or taken by another plan while this one was worked out: " + clip(strings.Join(codes, ", ")), Remedy: "plan it once more"}}
	}
	return nil
}

// refuseTaken refuses to make a layout one that is still to be cut again,
// while another plan means to cut its board or has cut it.
func refuseTaken(ctx context.Context, tx pgx.Tx, layout Layout) error {
	taken, err := plannedElsewhere(ctx, tx, layout)
	if err != nil {
		return fmt.Errorf("look for other plans of the board: %w", err)
	}
	board, err := Boards.one(ctx, tx, layout.Board.ID)
	if err != nil {
		return err
	}
	if taken || board.Struck() || board.State != "rack" {
		return FieldErrors{{Problem: "board " + board.Code + " is no longer on the rack, or another plan means to cut it", Remedy: "take that back first, or set that plan aside"}}
	}
	return nil
}
