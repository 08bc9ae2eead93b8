package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/wood"
)

// target is an entry that a reference found, with what checks need of it.
type target struct {
	ID, LotID     uuid.UUID
	Code          string
	Species       string
	Length, Width wood.Length
}

// Statements that find many entries at once by what people call them. Each
// returns the key asked for and the target.
var batchSQL = map[string]string{
	"plan":   `SELECT k.key, p.id, NULL::uuid, p.name, '', 0, 0 FROM unnest($1::text[]) AS k (key) JOIN plan p ON p.id::text = lower(k.key)`,
	"layout": `SELECT k.key, y.id, NULL::uuid, '', '', 0, 0 FROM unnest($1::text[]) AS k (key) JOIN layout y ON y.id::text = lower(k.key)`,
	"source": `SELECT k.key, s.id, NULL::uuid, s.name, '', 0, 0 FROM unnest($1::text[]) AS k (key)
		JOIN source s ON lower(s.name) = lower(k.key) AND s.struck_at IS NULL`,
	"stack": `SELECT k.key, s.id, NULL::uuid, s.name, '', 0, 0 FROM unnest($1::text[]) AS k (key)
		JOIN stack s ON lower(s.name) = lower(k.key) AND s.struck_at IS NULL`,
	"lot": `SELECT k.key, l.id, l.id, l.code, '', 0, 0 FROM unnest($1::text[]) AS k (key) JOIN lot l ON l.code = upper(k.key)
		UNION ALL SELECT k.key, l.id, l.id, l.code, '', 0, 0 FROM unnest($1::text[]) AS k (key)
		JOIN lot l ON l.label = k.key AND l.label <> '' AND l.struck_at IS NULL`,
	"board": `SELECT k.key, b.id, b.lot_id, b.code, b.species, b.length_nm, b.width_nm FROM unnest($1::text[]) AS k (key)
		JOIN board b ON b.code = upper(split_part(k.key, '-', 1)) || '-' || lower(split_part(k.key, '-', 2))
		UNION ALL SELECT k.key, b.id, b.lot_id, b.code, b.species, b.length_nm, b.width_nm FROM unnest($1::text[]) AS k (key)
		JOIN board b ON b.label = k.key AND b.label <> '' AND b.struck_at IS NULL`,
	"pickup": `SELECT k.key, p.id, NULL::uuid, '', '', 0, 0
		FROM unnest($1::text[]) AS k (key)
		CROSS JOIN LATERAL regexp_match(k.key, '^(\d{4}-\d{2}-\d{2})(?:#(\d{1,4}))?\s+(.+)$') AS m (part)
		JOIN source s ON lower(s.name) = lower(m.part[3]) AND s.struck_at IS NULL
		JOIN pickup p ON p.source_id = s.id AND to_char(p.day, 'YYYY-MM-DD') = m.part[1] AND p.visit = coalesce(m.part[2], '1')::int AND p.struck_at IS NULL`,
}

// Statements that find many entries by their ids.
var batchIDSQL = map[string]string{
	"plan":   `SELECT id::text, id, NULL::uuid, name, '', 0, 0 FROM plan WHERE id = ANY($1)`,
	"layout": `SELECT id::text, id, NULL::uuid, '', '', 0, 0 FROM layout WHERE id = ANY($1)`,
	"source": `SELECT id::text, id, NULL::uuid, name, '', 0, 0 FROM source WHERE id = ANY($1)`,
	"stack":  `SELECT id::text, id, NULL::uuid, name, '', 0, 0 FROM stack WHERE id = ANY($1)`,
	"lot":    `SELECT id::text, id, id, code, '', 0, 0 FROM lot WHERE id = ANY($1)`,
	"board":  `SELECT id::text, id, lot_id, code, species, length_nm, width_nm FROM board WHERE id = ANY($1)`,
	"pickup": `SELECT id::text, id, NULL::uuid, '', '', 0, 0 FROM pickup WHERE id = ANY($1)`,
}

// resolveBatch finds the entries that a batch's references name, in two
// statements for each column; what is not found is a fault of its row.
func (e *Entity[T]) resolveBatch(ctx context.Context, run *importRun, batch []*staged[T]) error {
	for i := range e.columns {
		c := &e.columns[i]
		codec, ok := c.Codec.(refCodec)
		if !ok || c.Hidden {
			continue
		}
		if codec.entity == e.table {
			e.nameBatch(batch)
		}
		found, err := run.find(ctx, codec.entity, e.keysOf(c, batch))
		if err != nil {
			return err
		}
		for _, s := range batch {
			ref := c.Ptr(&s.rec).(*Ref)
			if ref.Empty() {
				continue // a row that has a fault already may have more
			}
			t, ok := found[ref.Key]
			if !ok {
				t, ok = e.inBatch(codec.entity, ref, batch)
			}
			if !ok && run.atFault(codec.entity, ref.Key) {
				s.faulty = true // told where that row stands
				continue
			}
			if !ok {
				s.fail(run, &FieldError{Field: c.Name, Value: clip(ref.Key), Problem: "names no " + codec.entity + " of the book or of these files",
					Remedy: "check the spelling, or add the " + codec.entity})
				continue
			}
			ref.ID = t.ID
			if s.targets == nil {
				s.targets = make(map[string]target, 2)
			}
			s.targets[c.Name] = t
		}
	}
	return nil
}

// noteFaulty remembers what a row at fault is called, so that rows that hang
// on it are not blamed for it.
func (e *Entity[T]) noteFaulty(run *importRun, rec *T) {
	if run.broken == nil {
		run.broken = make(map[string]struct{})
	}
	for _, n := range e.natural {
		if key := n.key(rec); key != "" {
			run.broken[brokenKey(e.table, key)] = struct{}{}
		}
	}
	if p, ok := any(rec).(*Pickup); ok {
		run.broken[brokenKey(e.table, PickupKey(p.Day, p.Visit, p.Source.Key))] = struct{}{}
	}
}

// atFault tells whether the name is that of a row at fault.
func (run *importRun) atFault(entity, key string) bool {
	_, ok := run.broken[brokenKey(entity, key)]
	return ok
}

func brokenKey(entity, key string) string { return entity + "\x1f" + strings.ToLower(key) }

// nameBatch gives ids to rows that others of the batch may refer to.
func (e *Entity[T]) nameBatch(batch []*staged[T]) {
	for _, s := range batch {
		base := e.base(&s.rec)
		if base.ID == uuid.Nil && !s.faulty {
			if key := e.identity(&s.rec); key != "" {
				base.ID = derivedID(e.table, key)
			}
		}
	}
}

// inBatch finds an entry of the same kind among the rows of the batch itself:
// an offcut may follow the board it was cut from.
func (e *Entity[T]) inBatch(entityName string, ref *Ref, batch []*staged[T]) (target, bool) {
	if entityName != e.table {
		return target{}, false
	}
	for _, s := range batch {
		id := e.base(&s.rec).ID
		if s.faulty || id == uuid.Nil {
			continue
		}
		if id == ref.ID || strings.EqualFold(e.identity(&s.rec), ref.Key) {
			t := target{ID: id, Code: e.identity(&s.rec)}
			if lot, ok := s.targets["lot"]; ok {
				t.LotID = lot.ID
			}
			return t, true
		}
	}
	return target{}, false
}

func (e *Entity[T]) keysOf(c *Column[T], batch []*staged[T]) []string {
	seen := make(map[string]bool)
	var keys []string
	for _, s := range batch {
		ref := c.Ptr(&s.rec).(*Ref)
		if ref.Key != "" && !seen[ref.Key] {
			seen[ref.Key] = true
			keys = append(keys, ref.Key)
		}
	}
	return keys
}

// find returns the entries of a kind by key or id.
func (run *importRun) find(ctx context.Context, entityName string, keys []string) (map[string]target, error) {
	out := make(map[string]target, len(keys))
	if len(keys) == 0 {
		return out, nil
	}
	var ids []uuid.UUID
	for _, k := range keys {
		if id, err := uuid.Parse(k); err == nil {
			ids = append(ids, id)
		}
	}
	for _, ask := range []struct {
		sql string
		arg any
		n   int
	}{{batchSQL[entityName], keys, len(keys)}, {batchIDSQL[entityName], ids, len(ids)}} {
		if ask.n == 0 {
			continue
		}
		rows, err := run.tx.Query(ctx, ask.sql, ask.arg)
		if err != nil {
			return nil, fmt.Errorf("find each %s: %w", entityName, err)
		}
		var key string
		var t target
		var lot uuid.NullUUID
		_, err = pgx.ForEachRow(rows, []any{&key, &t.ID, &lot, &t.Code, &t.Species, &t.Length, &t.Width}, func() error {
			t.LotID = lot.UUID
			if _, twice := out[key]; !twice {
				out[key] = t
			}
			return nil
		})
		if err != nil {
			return nil, fmt.Errorf("find each %s: %w", entityName, err)
		}
	}
	return out, nil
}
