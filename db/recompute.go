package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Recompute rebuilds everything that follows from entries: corrected
// readings, verdicts, volumes and sums. On a book that is up to date it
// changes nothing. progress, if not nil, is told how many of how many lots
// are done. It returns how many lots there were.
func (s *Store) Recompute(ctx context.Context, progress func(done, total int)) (int, error) {
	ids, err := s.allIDs(ctx, "lot")
	if err != nil {
		return 0, err
	}
	for start := 0; start < len(ids); start += deriveBatch {
		batch := ids[start:min(start+deriveBatch, len(ids))]
		err := s.Tx(ctx, func(tx pgx.Tx) error { return recomputeLots(ctx, tx, batch) })
		if err != nil {
			return start, fmt.Errorf("recompute: %w", err)
		}
		if progress != nil {
			progress(start+len(batch), len(ids))
		}
	}
	pickups, err := s.allIDs(ctx, "pickup")
	if err != nil {
		return len(ids), err
	}
	err = s.Tx(ctx, func(tx pgx.Tx) error { return sumPickups(ctx, tx, pickups) })
	return len(ids), err
}

func recomputeLots(ctx context.Context, tx pgx.Tx, lots []uuid.UUID) error {
	rows, err := tx.Query(ctx, "SELECT id FROM board WHERE lot_id = ANY($1) ORDER BY id", lots)
	if err != nil {
		return err
	}
	boards, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return err
	}
	if err := deriveReadings(ctx, tx, boards); err != nil {
		return err
	}
	return deriveLots(ctx, tx, lots)
}

func (s *Store) allIDs(ctx context.Context, table string) ([]uuid.UUID, error) {
	rows, err := s.pool.Query(ctx, "SELECT id FROM "+table+" ORDER BY id")
	if err != nil {
		return nil, fmt.Errorf("list every %s: %w", table, err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
}
