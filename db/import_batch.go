package db

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// natural is a key under which the book may have an entry already although
// the sheet gives it another id, or none.
type natural[T any] struct {
	field string
	// words name the whole key, where it is more than the field.
	words string
	// always compares struck entries too: a code stays on the wood.
	always bool
	key    func(*T) string
	// sql returns key and id of the entries with the keys $1.
	sql string
}

// matchNatural finds rows whose natural key the book has. A row without id is
// then that entry; a row that names another id is a fault.
func (e *Entity[T]) matchNatural(ctx context.Context, run *importRun, n natural[T], batch []*staged[T]) error {
	var keys []string
	for _, s := range live(batch) {
		if k := n.key(&s.rec); k != "" && (n.always || !e.base(&s.rec).Struck()) {
			keys = append(keys, k)
		}
	}
	if len(keys) == 0 {
		return nil
	}
	known := make(map[string]uuid.UUID, len(keys))
	rows, err := run.tx.Query(ctx, n.sql, keys)
	if err != nil {
		return fmt.Errorf("look for entries already there: %w", err)
	}
	var key string
	var id uuid.UUID
	if _, err := pgx.ForEachRow(rows, []any{&key, &id}, func() error { known[key] = id; return nil }); err != nil {
		return err
	}
	if err := run.recall(ctx, slices.Collect(maps.Values(known))); err != nil {
		return err
	}
	for _, s := range live(batch) {
		base := e.base(&s.rec)
		k := n.key(&s.rec)
		if k == "" || (!n.always && base.Struck()) {
			continue
		}
		other, taken := known[k]
		switch {
		case !taken:
			known[k] = base.ID
		case other == base.ID:
		case s.given:
			s.fail(run, n.takenBy(run, k, run.earlier(other)))
		default:
			s.already, base.ID = true, other
			s.twin, s.shares = run.earlier(other), n.said()
		}
	}
	return nil
}

// takenBy is the fault of a row whose id is new but whose key another entry
// has: one of an earlier row, or one from before.
func (n natural[T]) takenBy(run *importRun, key string, twin *rowPlace) *FieldError {
	if twin == nil {
		return &FieldError{Field: n.field, Value: clip(key), Problem: "belongs to another entry of the book", Remedy: "give it another, or leave out the column id"}
	}
	return &FieldError{Field: n.field, Value: clip(key), Problem: "is in " + run.words(*twin) + " already", Remedy: "give one of the rows another, or leave out the row that is wrong"}
}

// codeLots gives crayon codes to lots that have none, and notes which lots
// must be judged.
func codeLots(ctx context.Context, run *importRun, rows []*staged[Lot]) error {
	open := make(map[string]*Lot)
	for _, s := range rows {
		run.lots.add(s.rec.ID)
		run.pickups.add(s.rec.Pickup.ID)
		if s.rec.Code != "" {
			open[s.rec.Code] = nil // taken by this batch
		}
	}
	var waiting []*Lot
	for _, s := range rows {
		if s.rec.Code == "" {
			waiting = append(waiting, &s.rec)
		}
	}
	for attempt := 0; len(waiting) > 0; attempt++ {
		if attempt > 100 {
			return fmt.Errorf("no free crayon codes were found for %d lots", len(waiting))
		}
		next, err := codeRound(ctx, run, waiting, open, attempt)
		if err != nil {
			return err
		}
		waiting = next
	}
	return nil
}

// codeRound tries one code for each waiting lot and returns those whose code
// was taken.
func codeRound(ctx context.Context, run *importRun, waiting []*Lot, taken map[string]*Lot, attempt int) ([]*Lot, error) {
	codes := make([]string, len(waiting))
	for i, l := range waiting {
		codes[i] = crayonCode(l.ID, attempt)
	}
	rows, err := run.tx.Query(ctx, "SELECT code FROM lot WHERE code = ANY($1)", codes)
	if err != nil {
		return nil, err
	}
	used, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, err
	}
	for _, c := range used {
		taken[c] = nil
	}
	var again []*Lot
	for i, l := range waiting {
		if _, no := taken[codes[i]]; no {
			again = append(again, l)
			continue
		}
		l.Code = codes[i]
		taken[codes[i]] = l
	}
	return again, nil
}

// codeBoards numbers boards without code after the highest of their lot.
func codeBoards(ctx context.Context, run *importRun, rows []*staged[Board]) error {
	var lots []uuid.UUID
	for _, s := range rows {
		run.lots.add(s.rec.Lot.ID)
		run.boards.add(s.rec.ID)
		if parent, ok := s.targets["parent"]; ok && parent.LotID != s.rec.Lot.ID && parent.LotID != uuid.Nil {
			s.fail(run, &FieldError{Field: "parent", Value: s.rec.Parent.Key, Problem: "belongs to another lot", Remedy: "give the board's own lot"})
		}
		if s.rec.Code == "" {
			lots = append(lots, s.rec.Lot.ID)
		}
	}
	if len(lots) == 0 {
		return nil
	}
	if err := holdLots(ctx, run.tx, lots); err != nil {
		return err
	}
	highest := make(map[uuid.UUID]int)
	found, err := run.tx.Query(ctx, `SELECT lot_id, max(substring(code FROM '-([0-9]+)')::int) FROM board WHERE lot_id = ANY($1) GROUP BY lot_id`, lots)
	if err != nil {
		return err
	}
	var lot uuid.UUID
	var n int
	if _, err := pgx.ForEachRow(found, []any{&lot, &n}, func() error { highest[lot] = n; return nil }); err != nil {
		return err
	}
	for _, s := range rows {
		if s.rec.Code == "" && !s.faulty {
			highest[s.rec.Lot.ID]++
			s.rec.Code = boardCode(s.targets["lot"].Code, highest[s.rec.Lot.ID])
		}
	}
	return nil
}

// findingsFit refuses findings on boards of another lot.
func findingsFit(run *importRun, rows []*staged[Finding]) error {
	for _, s := range rows {
		run.lots.add(s.rec.Lot.ID)
		if s.rec.Board.ID == uuid.Nil {
			run.whole[s.rec.Lot.ID] = true
		} else {
			run.marked[s.rec.Board.ID] = true
		}
		if b, ok := s.targets["board"]; ok && b.LotID != s.rec.Lot.ID {
			s.fail(run, &FieldError{Field: "board", Value: s.rec.Board.Key, Problem: "belongs to another lot", Remedy: "give the board's own lot"})
		}
	}
	return nil
}
