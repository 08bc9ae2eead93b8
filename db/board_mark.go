package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// BoardMark sets one value of a board, or of every board of a lot on the rack,
// with one tap: swept clean, looked over.
type BoardMark struct {
	// Board is the board; without one, Lot is the lot.
	Board, Lot uuid.UUID
	// Column and Value are "metal" with not_swept, clean or found, or
	// "looked_over" with yes or no.
	Column, Value string
	Keeper        uuid.UUID
	// Why is kept in the history of each board.
	Why string
}

// Marked says what a BoardMark did.
type Marked struct {
	// Changed is how many boards changed; those that had the value already do
	// not count.
	Changed int
	// Left are the codes of boards that the value contradicts, such as swept
	// clean with metal written down.
	Left []string
}

// MarkBoards sets the value in one transaction, each board with a line in its
// history. A single board that the value contradicts is a fault; of a lot such
// boards are left as they are and named.
func (s *Store) MarkBoards(ctx context.Context, m BoardMark) (Marked, error) {
	if m.Column != "metal" && m.Column != "looked_over" {
		return Marked{}, FieldErrors{{Field: "column", Value: clip(m.Column), Problem: "cannot be set with one tap", Remedy: "correct the board"}}
	}
	var out Marked
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		out = Marked{}
		where, id := "t.id = $1", m.Board
		if m.Board == uuid.Nil {
			where, id = "t.lot_id = $1 AND t.struck_at IS NULL AND t.state = 'rack'", m.Lot
		}
		hold := holdLotsOf
		if m.Board == uuid.Nil {
			hold = holdLots
		}
		if err := hold(ctx, tx, []uuid.UUID{id}); err != nil {
			return err
		}
		boards, err := Boards.list(ctx, tx, "WHERE "+where+" ORDER BY t.id FOR NO KEY UPDATE OF t", id)
		if err != nil {
			return err
		}
		if len(boards) == 0 && m.Board != uuid.Nil {
			return fmt.Errorf("board: %w", ErrNotFound)
		}
		for i := range boards {
			if err := m.set(ctx, tx, &boards[i], s.Now(), &out); err != nil {
				return err
			}
		}
		if out.Changed == 0 {
			return nil
		}
		return deriveBoards(ctx, tx, boards[0].Lot.ID, idsOf(boards))
	})
	return out, err
}

// set corrects one board.
func (m BoardMark) set(ctx context.Context, tx pgx.Tx, b *Board, now time.Time, out *Marked) error {
	alone := *Boards
	alone.derive = nil
	edit := Edit{ID: b.ID, Version: b.Version, Keeper: m.Keeper, Why: m.Why, Env: SheetEnv(now)}
	was := b.Version
	after, err := alone.correct(ctx, tx, edit, map[string]string{m.Column: m.Value}, now)
	var faults FieldErrors
	switch {
	case errors.As(err, &faults) && m.Board == uuid.Nil && faults.For("why") == nil:
		out.Left = append(out.Left, b.Code)
		return nil
	case err != nil:
		return err
	case after.Version != was:
		out.Changed++
	}
	return nil
}

// metalFound notes on boards that metal was found in them. It stays so until a
// keeper has pulled it and swept the board again.
func metalFound(ctx context.Context, tx pgx.Tx, boards []uuid.UUID, edit Edit, now time.Time) error {
	if len(boards) == 0 {
		return nil
	}
	if err := holdLotsOf(ctx, tx, boards); err != nil {
		return err
	}
	list, err := Boards.list(ctx, tx, "WHERE t.id = ANY($1) AND t.metal <> 'found' ORDER BY t.id FOR NO KEY UPDATE OF t", boards)
	if err != nil {
		return err
	}
	alone := *Boards
	alone.derive = nil
	for _, b := range list {
		one := edit
		one.ID, one.Version, one.Env = b.ID, b.Version, SheetEnv(now)
		if _, err := alone.correct(ctx, tx, one, map[string]string{"metal": "found"}, now); err != nil {
			return fmt.Errorf("note metal on board %s: %w", b.Code, err)
		}
	}
	return nil
}

// findingOfMetal notes a finding of metal on its board, or on every board of
// its lot that is on the rack. A finding that all metal is out changes no
// board: each is swept by itself.
func findingOfMetal(ctx context.Context, tx pgx.Tx, f *Finding) error {
	if f.Struck() || f.Kind != "metal" || f.Value != "found" {
		return nil
	}
	boards := []uuid.UUID{f.Board.ID}
	if f.Board.ID == uuid.Nil {
		rows, err := tx.Query(ctx, "SELECT id FROM board WHERE lot_id = $1 AND struck_at IS NULL AND state = 'rack'", f.Lot.ID)
		if err != nil {
			return err
		}
		if boards, err = pgx.CollectRows(rows, pgx.RowTo[uuid.UUID]); err != nil {
			return err
		}
	}
	now, err := lastTouched(ctx, tx, "finding", f.Base)
	if err != nil {
		return err
	}
	return metalFound(ctx, tx, boards, Edit{Keeper: f.KeeperID, Why: "metal was found"}, now)
}

// lastTouched returns when an entry was made or last corrected, so that what
// follows from it bears the same moment.
func lastTouched(ctx context.Context, tx pgx.Tx, entity string, base Base) (time.Time, error) {
	var at *time.Time
	err := tx.QueryRow(ctx, "SELECT max(received_at) FROM history WHERE entity = $1 AND entity_id = $2", entity, base.ID).Scan(&at)
	if err != nil || at == nil {
		return base.ReceivedAt, err
	}
	return at.UTC(), nil
}
