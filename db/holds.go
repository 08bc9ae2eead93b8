package db

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/screen"
)

// HeldLot is a lot on hold with the findings its verdict rests on.
type HeldLot struct {
	LotRow
	// Since is when the book got the last entry that speaks to its verdict.
	Since    time.Time
	Findings []screen.Finding
}

// HeldLots returns live lots on hold, the longest held first, at most limit.
func (s *Store) HeldLots(ctx context.Context, limit int) ([]HeldLot, error) {
	rows, err := s.lotRows(ctx, `WHERE l.struck_at IS NULL AND p.struck_at IS NULL AND l.verdict = 'hold' AND NOT l.ownership_stop
		ORDER BY l.received_at, l.id LIMIT $1`, limit)
	if err != nil {
		return nil, err
	}
	ids := make([]uuid.UUID, len(rows))
	out := make([]HeldLot, len(rows))
	place := make(map[uuid.UUID]*HeldLot, len(rows))
	for i, r := range rows {
		ids[i], out[i].LotRow = r.ID, r
		place[r.ID] = &out[i]
	}
	found, err := s.pool.Query(ctx, `SELECT f.lot_id, f.id::text, f.kind, f.value, f.note, f.seen_at FROM finding f
		WHERE f.lot_id = ANY($1) AND f.board_id IS NULL AND f.struck_at IS NULL ORDER BY f.id`, ids)
	if err != nil {
		return nil, fmt.Errorf("read what holds are about: %w", err)
	}
	var lot uuid.UUID
	f := screen.Finding{On: screen.OnLot}
	if _, err := pgx.ForEachRow(found, []any{&lot, &f.ID, (*string)(&f.Kind), &f.Value, &f.Note, &f.At}, func() error {
		place[lot].Findings = append(place[lot].Findings, f)
		return nil
	}); err != nil {
		return nil, fmt.Errorf("read what holds are about: %w", err)
	}
	since, err := s.pool.Query(ctx, `SELECT l.id, greatest(l.received_at, max(f.received_at)) FROM lot l LEFT JOIN finding f ON f.lot_id = l.id
		WHERE l.id = ANY($1) GROUP BY l.id`, ids)
	if err != nil {
		return nil, fmt.Errorf("read since when lots are held: %w", err)
	}
	var at time.Time
	_, err = pgx.ForEachRow(since, []any{&lot, &at}, func() error {
		place[lot].Since = at.UTC()
		return nil
	})
	return out, err
}

// AddFindings stores the same finding for several lots in one transaction.
// Their ids follow from base's and the lots', so that the same call twice is
// one finding for each.
func (s *Store) AddFindings(ctx context.Context, base Base, lots []uuid.UUID, values map[string]string, env Env) error {
	return s.Tx(ctx, func(tx pgx.Tx) error {
		for _, lot := range lots {
			var f Finding
			values["lot"] = lot.String()
			if faults := Findings.Parse(&f, values, env); len(faults) > 0 {
				return faults
			}
			f.Base = s.fresh(base)
			f.ID = uuid.NewSHA1(f.ID, []byte(lot.String()+values["kind"]+"="+values["value"]))
			if _, err := Findings.insert(ctx, tx, &f); err != nil {
				return err
			}
		}
		return nil
	})
}

// SourceOutcomes returns the verdicts of a source's live lots with the day
// each was fetched, oldest first.
func (s *Store) SourceOutcomes(ctx context.Context, source uuid.UUID) ([]screen.Outcome, error) {
	rows, err := s.pool.Query(ctx, `SELECT p.day, l.verdict FROM lot l JOIN pickup p ON p.id = l.pickup_id
		WHERE p.source_id = $1 AND l.struck_at IS NULL AND p.struck_at IS NULL ORDER BY p.day, p.visit, l.id`, source)
	if err != nil {
		return nil, fmt.Errorf("read a source's verdicts: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (screen.Outcome, error) {
		var o screen.Outcome
		err := row.Scan(&o.At, (*string)(&o.Verdict))
		return o, err
	})
}
