package db

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/screen"
)

// HeldLot is a lot on hold with the findings its verdict rests on.
type HeldLot struct {
	LotRow
	// Since is the moment from which what the book knew of the lot has judged it
	// hold without a break (screen.HeldSince).
	Since    time.Time
	Findings []screen.Finding
}

// mostJudged bounds the lots whose holds are dated for one list: of more held
// lots, those that came first.
const mostJudged = 1000

// HeldLots returns live lots on hold, the longest held first, at most limit.
func (s *Store) HeldLots(ctx context.Context, limit int) ([]HeldLot, error) {
	rows, err := s.lotRows(ctx, `WHERE l.struck_at IS NULL AND p.struck_at IS NULL AND l.verdict = 'hold' AND NOT l.ownership_stop
		ORDER BY l.received_at, l.id LIMIT $1`, max(limit, mostJudged))
	if err != nil {
		return nil, err
	}
	opts, err := s.ScreenOptions(ctx)
	if err != nil {
		return nil, err
	}
	ids := make([]uuid.UUID, len(rows))
	for i, r := range rows {
		ids[i] = r.ID
	}
	got, err := s.received(ctx, ids)
	if err != nil {
		return nil, err
	}
	out := make([]HeldLot, len(rows))
	for i, r := range rows {
		g := got[r.ID]
		out[i] = HeldLot{LotRow: r, Since: screen.HeldSince(g.lot, g.findings, opts).UTC()}
		for _, f := range g.findings {
			out[i].Findings = append(out[i].Findings, f.Finding)
		}
	}
	slices.SortStableFunc(out, func(a, b HeldLot) int { return a.Since.Compare(b.Since) })
	return out[:min(limit, len(out))], nil
}

// receivedLot is when the book got a lot, and each live finding of the whole
// lot with the moment the book got that.
type receivedLot struct {
	lot      time.Time
	findings []screen.Received
}

// received reads lots in the order in which the book got their findings.
func (s *Store) received(ctx context.Context, lots []uuid.UUID) (map[uuid.UUID]*receivedLot, error) {
	out := make(map[uuid.UUID]*receivedLot, len(lots))
	rows, err := s.pool.Query(ctx, `SELECT l.id, l.received_at, f.id::text, f.kind, f.value, f.note, f.seen_at, f.received_at
		FROM lot l LEFT JOIN finding f ON f.lot_id = l.id AND f.board_id IS NULL AND f.struck_at IS NULL
		WHERE l.id = ANY($1) ORDER BY l.id, f.received_at, f.id`, lots)
	if err != nil {
		return nil, fmt.Errorf("read what holds are about: %w", err)
	}
	var lot uuid.UUID
	var at time.Time
	var id, kind, value, note *string
	var seen, got *time.Time
	_, err = pgx.ForEachRow(rows, []any{&lot, &at, &id, &kind, &value, &note, &seen, &got}, func() error {
		if out[lot] == nil {
			out[lot] = &receivedLot{lot: at}
		}
		if id != nil {
			f := screen.Finding{ID: *id, Kind: screen.Kind(*kind), Value: *value, On: screen.OnLot, Note: *note, At: *seen}
			out[lot].findings = append(out[lot].findings, screen.Received{Finding: f, At: *got})
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read what holds are about: %w", err)
	}
	return out, nil
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

// SourceOutcomes returns the verdicts of a source's live lots, whether each may
// be taken and the day it was fetched, oldest first.
func (s *Store) SourceOutcomes(ctx context.Context, source uuid.UUID) ([]screen.Outcome, error) {
	rows, err := s.pool.Query(ctx, `SELECT p.day, l.verdict, l.ownership_stop FROM lot l JOIN pickup p ON p.id = l.pickup_id
		WHERE p.source_id = $1 AND l.struck_at IS NULL AND p.struck_at IS NULL ORDER BY p.day, p.visit, l.id`, source)
	if err != nil {
		return nil, fmt.Errorf("read a source's verdicts: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (screen.Outcome, error) {
		var o screen.Outcome
		err := row.Scan(&o.At, (*string)(&o.Verdict), &o.Stopped)
		return o, err
	})
}
