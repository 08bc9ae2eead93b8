package db

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Ref points to another entry: by its id, and by the name or code people
// know it by.
type Ref struct {
	ID  uuid.UUID
	Key string
}

// RefTo returns a reference by id.
func RefTo(id uuid.UUID) Ref { return Ref{ID: id, Key: id.String()} }

// Empty reports whether the reference points nowhere.
func (r Ref) Empty() bool { return r.ID == uuid.Nil && r.Key == "" }

// refCodec is a reference in a *Ref. What was typed is resolved later, in the
// transaction that stores the entry.
type refCodec struct{ entity string }

func (refCodec) parse(dst any, text string, _ Env) *FieldError {
	if len(text) > 300 {
		return fault("is too long for a name or code", "shorten it")
	}
	ref := Ref{Key: tidy(text)}
	if id, err := uuid.Parse(text); err == nil && len(text) == 36 {
		ref.ID = id
	}
	*dst.(*Ref) = ref
	return nil
}

func (refCodec) print(src any, _ Env) string {
	ref := src.(*Ref)
	if ref.Key == "" && ref.ID != uuid.Nil {
		return ref.ID.String()
	}
	return ref.Key
}

// standing refuses a reference to an entry that is struck through: nothing
// new hangs on what no longer counts.
func (e *Entity[T]) standing(ctx context.Context, tx pgx.Tx, rec *T) error {
	var faults FieldErrors
	for i := range e.columns {
		c := &e.columns[i]
		codec, ok := c.Codec.(refCodec)
		if !ok {
			continue
		}
		ref := c.Ptr(rec).(*Ref)
		if ref.ID == uuid.Nil {
			continue
		}
		var struck bool
		err := tx.QueryRow(ctx, "SELECT struck_at IS NOT NULL FROM "+codec.entity+" WHERE id = $1", ref.ID).Scan(&struck)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) { // the foreign key tells of a missing one
			return err
		}
		if struck {
			faults = append(faults, &FieldError{Field: c.Name, Value: clip(ref.Key), Problem: "is struck through",
				Remedy: "restore that " + codec.entity + " first, or name another"})
		}
	}
	if len(faults) > 0 {
		return faults
	}
	return nil
}

// Expressions that print the name or code of the entry a column points to. A
// struck source, pickup or stack may share its name with a live one, so it is
// written by its id.
const (
	sourceKeySQL = `(SELECT CASE WHEN r.struck_at IS NULL THEN r.name ELSE r.id::text END FROM source r WHERE r.id = t.source_id)`
	pickupKeySQL = `(SELECT CASE WHEN r.struck_at IS NULL AND s.struck_at IS NULL
		THEN to_char(r.day, 'YYYY-MM-DD') || CASE WHEN r.visit > 1 THEN '#' || r.visit ELSE '' END || ' ' || s.name
		ELSE r.id::text END FROM pickup r JOIN source s ON s.id = r.source_id WHERE r.id = t.pickup_id)`
	lotKeySQL    = `(SELECT r.code FROM lot r WHERE r.id = t.lot_id)`
	boardKeySQL  = `(SELECT r.code FROM board r WHERE r.id = t.board_id)`
	stackKeySQL  = `(SELECT CASE WHEN r.struck_at IS NULL THEN r.name ELSE r.id::text END FROM stack r WHERE r.id = t.stack_id)`
	parentKeySQL = `(SELECT r.code FROM board r WHERE r.id = t.parent_id)`
)

// Statements that find an entry by what people call it.
var resolveSQL = map[string]string{
	"source": `SELECT id FROM source WHERE lower(name) = lower($1) AND struck_at IS NULL`,
	"stack":  `SELECT id FROM stack WHERE lower(name) = lower($1) AND struck_at IS NULL`,
	"lot":    `SELECT id FROM lot WHERE code = upper($1) OR (label = $1 AND label <> '' AND struck_at IS NULL) LIMIT 1`,
	"plan":   `SELECT id FROM plan WHERE id::text = lower($1)`,
	"layout": `SELECT id FROM layout WHERE id::text = lower($1)`,
	"board":  `SELECT id FROM board WHERE code = upper(split_part($1, '-', 1)) || '-' || lower(split_part($1, '-', 2)) OR (label = $1 AND label <> '' AND struck_at IS NULL) LIMIT 1`,
}

// pickupKey is how a pickup is written in a sheet: its day, the visit of that
// day where there were several, and the source's name.
var pickupKey = regexp.MustCompile(`^(\d{4}-\d{2}-\d{2})(?:#(\d{1,4}))?\s+(.+)$`)

// PickupKey writes the key of a pickup.
func PickupKey(day time.Time, visit int, source string) string {
	if visit > 1 {
		return fmt.Sprintf("%s#%d %s", printDay(day), visit, source)
	}
	return printDay(day) + " " + source
}

// resolve fills in the id that ref's key stands for. The fault it returns has
// no field yet.
func resolve(ctx context.Context, tx pgx.Tx, entity string, ref *Ref) error {
	if ref.ID != uuid.Nil || ref.Key == "" {
		return nil
	}
	var err error
	if entity == "pickup" {
		err = resolvePickup(ctx, tx, ref)
	} else {
		err = tx.QueryRow(ctx, resolveSQL[entity], ref.Key).Scan(&ref.ID)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return fault("no %s is known by this name", "check the spelling, or enter the "+entity+" first", entity)
	}
	return err
}

func resolvePickup(ctx context.Context, tx pgx.Tx, ref *Ref) error {
	m := pickupKey.FindStringSubmatch(strings.TrimSpace(ref.Key))
	if m == nil {
		return fault("does not name a pickup", "write its day and the source's name, like 2026-03-14 Harbour Tile")
	}
	visit := 1
	if m[2] != "" {
		n, err := strconv.Atoi(m[2])
		if err != nil {
			return fault("does not name a pickup", "write the visit of the day as a number")
		}
		visit = n
	}
	return tx.QueryRow(ctx, `SELECT p.id FROM pickup p JOIN source s ON s.id = p.source_id
		WHERE lower(s.name) = lower($1) AND p.day = $2::date AND p.visit = $3 AND p.struck_at IS NULL AND s.struck_at IS NULL`,
		m[3], m[1], visit).Scan(&ref.ID)
}
