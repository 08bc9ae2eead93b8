package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// UncutBoard takes a cut back that was written down by mistake: its pieces are
// struck through and the board is on the rack again. Pieces that were used,
// cut further or given away, and blanks made of the board, stop it.
func (s *Store) UncutBoard(ctx context.Context, edit Edit) error {
	return s.Tx(ctx, func(tx pgx.Tx) error {
		board, err := Boards.locked(ctx, tx, edit)
		if err != nil {
			return err
		}
		if faults := edit.check(); len(faults) > 0 {
			return faults
		}
		if board.State != "cut" || board.Struck() {
			return FieldErrors{{Field: "board", Value: board.Code, Problem: "is not cut up", Remedy: "open it again"}}
		}
		var blanks int
		if err := tx.QueryRow(ctx, "SELECT count(*) FROM blank WHERE board_id = $1 AND struck_at IS NULL", board.ID).Scan(&blanks); err != nil {
			return err
		}
		if blanks > 0 {
			return FieldErrors{{Field: "board", Value: board.Code, Problem: "gave " + plural(blanks, "blank", "blanks") + " on the Build page", Remedy: "take that back there"}}
		}
		pieces, err := Boards.list(ctx, tx, "WHERE t.parent_id = $1 AND t.struck_at IS NULL ORDER BY t.id", board.ID)
		if err != nil {
			return err
		}
		now := s.Now()
		for _, p := range pieces {
			if p.State != "rack" {
				return FieldErrors{{Field: "board", Value: p.Code, Problem: fmt.Sprintf("came of it and is %s already", stateWords(p.State)), Remedy: "take that back first"}}
			}
			one := edit
			one.ID, one.Version, one.Why = p.ID, p.Version, "the cut of board "+board.Code+" was taken back: "+edit.Why
			if r := []rune(one.Why); len(r) > 2000 {
				one.Why = string(r[:2000])
			}
			if err := strikeBoardAlone(ctx, tx, one, ActionStruck, now); err != nil {
				return err
			}
		}
		if _, err := Boards.correct(ctx, tx, edit, map[string]string{"state": "rack"}, now); err != nil {
			return err
		}
		return nil
	})
}

func stateWords(state string) string {
	for _, o := range boardStates {
		if o.Value == state {
			return o.Label
		}
	}
	return state
}

// AncestorsOf returns the boards that a board was cut from, its parent first.
func (s *Store) AncestorsOf(ctx context.Context, board uuid.UUID) ([]StockBoard, error) {
	return s.stockBoards(ctx, `JOIN (WITH RECURSIVE line AS (SELECT id, parent_id, 0 AS depth FROM board WHERE id = $1
			UNION ALL SELECT b.id, b.parent_id, line.depth + 1 FROM board b JOIN line ON b.id = line.parent_id WHERE line.depth < 100)
			SELECT id, depth FROM line WHERE depth > 0) up ON up.id = b.id ORDER BY up.depth`, board)
}
