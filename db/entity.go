package db

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Base is what every entry has: who made it, when the book got it, how often
// it was corrected and whether it is struck through.
type Base struct {
	ID         uuid.UUID
	KeeperID   uuid.UUID
	Keeper     string
	ReceivedAt time.Time
	Version    int
	StruckAt   *time.Time
}

// Struck reports whether the entry is struck through.
func (b Base) Struck() bool { return b.StruckAt != nil }

// Entity is one kind of entry: its table, its columns, and what hangs on it.
type Entity[T any] struct {
	table   string
	columns []Column[T]
	base    func(*T) *Base
	// check finds faults that concern several columns at once.
	check func(*T, Env) FieldErrors
	// newly finds faults of entries made now that older ones may have: those are
	// corrected, exported and restored all the same.
	newly func(*T, Env) FieldErrors
	// prepare fills in what the entry leaves open (a code, a number), before
	// it is stored.
	prepare func(context.Context, pgx.Tx, *T) error
	// hold takes, before the entry itself is locked, what is derived from it and
	// written last, so that everybody locks in the same order.
	hold func(context.Context, pgx.Tx, uuid.UUID) error
	// derive brings up to date what follows from the entry, after it is stored.
	derive func(context.Context, pgx.Tx, *T) error
	// unique maps a violated constraint to the column at fault.
	unique map[string]*FieldError
	// identity is the natural key of an entry that came without an id.
	identity func(*T) string
	// natural finds entries that are in the book under another id.
	natural []natural[T]
	// childless keeps a strike from falling on what hangs on the entry.
	childless bool
	// batch checks and completes many records of a sheet at once, before they
	// are stored: what prepare does for one.
	batch func(context.Context, *importRun, []*staged[T]) error
}

// newID makes an id for an entry born here.
func newID() uuid.UUID {
	return uuid.Must(uuid.NewV7()) // fails only where the system has no randomness
}

// Parse reads values (column name to text) into a new record.
func (e *Entity[T]) Parse(rec *T, values map[string]string, env Env) FieldErrors {
	faults := e.parse(rec, values, env)
	if len(faults) == 0 && e.newly != nil {
		faults = e.newly(rec, env)
	}
	return faults
}

// parse is Parse for a record that the book may have had before.
func (e *Entity[T]) parse(rec *T, values map[string]string, env Env) FieldErrors {
	var faults FieldErrors
	for i := range e.columns {
		c := &e.columns[i]
		if c.Hidden {
			continue
		}
		if f := c.set(rec, values[c.Name], env); f != nil {
			faults = append(faults, f)
		}
	}
	if len(faults) == 0 && e.check != nil {
		faults = e.check(rec, env)
	}
	return faults
}

// Values prints every column of a record.
func (e *Entity[T]) Values(rec *T, env Env) map[string]string {
	out := make(map[string]string, len(e.columns))
	for i := range e.columns {
		if c := &e.columns[i]; !c.Hidden {
			out[c.Name] = c.get(rec, env)
		}
	}
	return out
}

// Info lists the columns for documentation and forms.
func (e *Entity[T]) Info() []ColumnInfo {
	out := make([]ColumnInfo, 0, len(e.columns))
	for i := range e.columns {
		if !e.columns[i].Hidden {
			out = append(out, e.columns[i].info())
		}
	}
	return out
}

// selectSQL reads whole records of the table t; the caller adds conditions.
func (e *Entity[T]) selectSQL() string {
	var b strings.Builder
	b.WriteString("SELECT t.id, t.keeper_id, (SELECT k.name FROM keeper k WHERE k.id = t.keeper_id), t.received_at, t.version, t.struck_at")
	for i := range e.columns {
		c := &e.columns[i]
		b.WriteString(", t." + c.SQL)
		if c.Key != "" {
			b.WriteString(", coalesce(" + c.Key + ", '')")
		}
	}
	b.WriteString(" FROM " + e.table + " t ")
	return b.String()
}

// scan reads one row of selectSQL.
func (e *Entity[T]) scan(row pgx.CollectableRow) (T, error) {
	var rec T
	base := e.base(&rec)
	dest := []any{&base.ID, &base.KeeperID, &base.Keeper, &base.ReceivedAt, &base.Version, &base.StruckAt}
	refs := make(map[*Ref]*uuid.NullUUID)
	for i := range e.columns {
		p := e.columns[i].Ptr(&rec)
		if ref, ok := p.(*Ref); ok {
			refs[ref] = new(uuid.NullUUID)
			dest = append(dest, refs[ref], &ref.Key)
			continue
		}
		dest = append(dest, p)
	}
	if err := row.Scan(dest...); err != nil {
		return rec, err
	}
	for ref, id := range refs {
		ref.ID = id.UUID
	}
	base.ReceivedAt = base.ReceivedAt.UTC()
	return rec, nil
}

// arg is a column's value as PostgreSQL takes it.
func (c *Column[T]) arg(rec *T) any {
	switch p := c.Ptr(rec).(type) {
	case *Ref:
		return uuid.NullUUID{UUID: p.ID, Valid: p.ID != uuid.Nil}
	default:
		return p
	}
}

// list returns the records that match the conditions, in their order.
func (e *Entity[T]) list(ctx context.Context, q querier, conditions string, args ...any) ([]T, error) {
	rows, err := q.Query(ctx, e.selectSQL()+conditions, args...)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", e.table, err)
	}
	out, err := pgx.CollectRows(rows, e.scan)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", e.table, err)
	}
	return out, nil
}

// one returns the record with the id, or ErrNotFound.
func (e *Entity[T]) one(ctx context.Context, q querier, id uuid.UUID) (T, error) {
	rows, err := q.Query(ctx, e.selectSQL()+"WHERE t.id = $1", id)
	if err != nil {
		var none T
		return none, fmt.Errorf("read %s: %w", e.table, err)
	}
	rec, err := pgx.CollectExactlyOneRow(rows, e.scan)
	return rec, notFound(err, e.table)
}

// querier is what both a transaction and the pool can do.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

// resolveRefs finds the entries that the record's references name.
func (e *Entity[T]) resolveRefs(ctx context.Context, tx pgx.Tx, rec *T) error {
	var faults FieldErrors
	for i := range e.columns {
		c := &e.columns[i]
		codec, ok := c.Codec.(refCodec)
		if !ok {
			continue
		}
		ref := c.Ptr(rec).(*Ref)
		err := resolve(ctx, tx, codec.entity, ref)
		var f *FieldError
		if errors.As(err, &f) {
			f.Field, f.Value = c.Name, clip(ref.Key)
			faults = append(faults, f)
		} else if err != nil {
			return err
		}
	}
	if len(faults) > 0 {
		return faults
	}
	return nil
}

// insert stores a new record; the same entry a second time changes nothing and
// reports false, another entry under a known id is a *[MadeError].
func (e *Entity[T]) insert(ctx context.Context, tx pgx.Tx, rec *T) (bool, error) {
	base := e.base(rec)
	if base.ID == uuid.Nil {
		base.ID = newID()
	}
	if base.Version == 0 {
		base.Version = 1
	}
	if err := e.resolveRefs(ctx, tx, rec); err != nil {
		return false, err
	}
	if err := e.standing(ctx, tx, rec); err != nil {
		return false, err
	}
	asked := e.values(rec)
	if e.prepare != nil {
		if err := e.prepare(ctx, tx, rec); err != nil {
			return false, err
		}
	}
	names, args := e.stored(), e.args(rec)
	marks := make([]string, len(names))
	for i := range marks {
		marks[i] = fmt.Sprintf("$%d", i+1)
	}
	tag, err := tx.Exec(ctx, fmt.Sprintf("INSERT INTO %s (%s) VALUES (%s) ON CONFLICT (id) DO NOTHING",
		e.table, strings.Join(names, ", "), strings.Join(marks, ", ")), args...)
	if err != nil {
		return false, e.explain(err)
	}
	if tag.RowsAffected() == 0 {
		return false, e.sameAgain(ctx, tx, rec, asked)
	}
	if e.derive != nil {
		return true, e.derive(ctx, tx, rec)
	}
	return true, nil
}

// stored lists the columns of a whole record, and args their values in that
// order.
func (e *Entity[T]) stored() []string {
	names := []string{"id", "keeper_id", "received_at", "version", "struck_at"}
	for i := range e.columns {
		names = append(names, e.columns[i].SQL)
	}
	return names
}

func (e *Entity[T]) args(rec *T) []any {
	base := e.base(rec)
	args := []any{base.ID, base.KeeperID, base.ReceivedAt, base.Version, base.StruckAt}
	for i := range e.columns {
		args = append(args, e.columns[i].arg(rec))
	}
	return args
}

// explain turns a violated constraint into a fault beside its field.
func (e *Entity[T]) explain(err error) error {
	name := constraintOf(err)
	if f, ok := e.unique[name]; ok {
		return FieldErrors{f}
	}
	switch {
	case hasCode(err, codeCheckViolation):
		return FieldErrors{fault("breaks the rule %s", "correct the entry", strings.ReplaceAll(name, "_", " "))}
	case hasCode(err, codeForeignKeyViolation):
		return FieldErrors{fault("refers to an entry that is not in the book", "enter that one first")}
	default:
		return fmt.Errorf("store %s: %w", e.table, err)
	}
}
