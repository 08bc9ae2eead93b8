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

// freeOfPlans refuses layouts of a sheet that are still to be cut and whose board
// another one, of the book or of an earlier row, means to cut.
func freeOfPlans(ctx context.Context, run *importRun, rows []*staged[Layout]) error {
	var boards []uuid.UUID
	toCut := func(l *Layout) bool { return l.State == LayoutPlanned && !l.Struck() }
	for _, s := range rows {
		if toCut(&s.rec) {
			boards = append(boards, s.rec.Board.ID)
		}
	}
	if len(boards) == 0 {
		return nil
	}
	found, err := run.tx.Query(ctx, "SELECT board_id FROM layout WHERE board_id = ANY($1) AND state = 'planned' AND struck_at IS NULL", boards)
	if err != nil {
		return fmt.Errorf("look whether the boards are free: %w", err)
	}
	list, err := pgx.CollectRows(found, pgx.RowTo[uuid.UUID])
	if err != nil {
		return fmt.Errorf("look whether the boards are free: %w", err)
	}
	taken := make(map[uuid.UUID]bool, len(list))
	for _, id := range list {
		taken[id] = true
	}
	for _, s := range rows {
		if !toCut(&s.rec) {
			continue
		}
		if taken[s.rec.Board.ID] {
			s.fail(run, &FieldError{Field: "board", Value: clip(s.rec.Board.Key), Problem: "is to be cut by another plan already", Remedy: "set that plan aside first, or write set_aside as the state of one of the two"})
		}
		taken[s.rec.Board.ID] = true
	}
	return nil
}
