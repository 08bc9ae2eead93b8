package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Entry is an entry of any kind as a page shows it: its values as text.
type Entry struct {
	Base
	Kind   string
	Values map[string]string
}

// EntryKind is one kind of entry, whatever its Go type: what generic pages
// (correct, strike, history) and sheets work with.
type EntryKind interface {
	// Name is the kind's table and the word for it.
	Name() string
	// Info lists its columns.
	Info() []ColumnInfo
	// Load returns one entry printed for env, or ErrNotFound.
	Load(ctx context.Context, s *Store, id uuid.UUID, env Env) (Entry, error)
	// Add stores a new entry from typed values; the same id twice is one
	// entry. Faults come as FieldErrors.
	Add(ctx context.Context, s *Store, base Base, values map[string]string, env Env) (Entry, error)
	// Correct changes values and keeps the old ones; a change made meanwhile
	// comes as a *ConflictError.
	Correct(ctx context.Context, s *Store, edit Edit, values map[string]string) (Entry, error)
	// Strike crosses an entry out with what hangs on it; Restore takes the
	// line away.
	Strike(ctx context.Context, s *Store, edit Edit) error
	Restore(ctx context.Context, s *Store, edit Edit) error
}

// EntryKinds lists every kind of entry in the order in which a sheet of them
// can be read: each after those it refers to.
func EntryKinds() []EntryKind {
	return []EntryKind{Settings, Policies, Allowances, Sources, Pickups, Lots, Climates, Stacks, Moves, Boards, Findings, Defects, Readings, OwnParts, Plans, Layouts, Blanks}
}

// KindOf returns the kind with the name, or ErrNotFound.
func KindOf(name string) (EntryKind, error) {
	for _, k := range EntryKinds() {
		if k.Name() == name {
			return k, nil
		}
	}
	return nil, fmt.Errorf("kind of entry %q: %w", name, ErrNotFound)
}

// Name returns the kind's table name.
func (e *Entity[T]) Name() string { return e.table }

// Entry prints a record.
func (e *Entity[T]) Entry(rec *T, env Env) Entry {
	return Entry{Base: *e.base(rec), Kind: e.table, Values: e.Values(rec, env)}
}

// Load implements [EntryKind].
func (e *Entity[T]) Load(ctx context.Context, s *Store, id uuid.UUID, env Env) (Entry, error) {
	rec, err := e.one(ctx, s.pool, id)
	if err != nil {
		return Entry{}, err
	}
	return e.Entry(&rec, env), nil
}

// Get returns one record, or ErrNotFound.
func (e *Entity[T]) Get(ctx context.Context, s *Store, id uuid.UUID) (T, error) {
	return e.one(ctx, s.pool, id)
}

// Add implements [EntryKind].
func (e *Entity[T]) Add(ctx context.Context, s *Store, base Base, values map[string]string, env Env) (Entry, error) {
	var rec T
	if faults := e.Parse(&rec, values, env); len(faults) > 0 {
		return Entry{}, faults
	}
	*e.base(&rec) = s.fresh(base)
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		again := rec
		_, err := e.insert(ctx, tx, &again)
		return err
	})
	if err != nil {
		return Entry{}, err
	}
	return e.Load(ctx, s, e.base(&rec).ID, env)
}

// fresh completes the base of a new entry.
func (s *Store) fresh(base Base) Base {
	if base.ID == uuid.Nil {
		base.ID = newID()
	}
	if base.ReceivedAt.IsZero() {
		base.ReceivedAt = s.Now()
	}
	base.Version, base.StruckAt = 1, nil
	return base
}

// Correct implements [EntryKind].
func (e *Entity[T]) Correct(ctx context.Context, s *Store, edit Edit, values map[string]string) (Entry, error) {
	var out Entry
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		rec, err := e.correct(ctx, tx, edit, values, s.Now())
		if err != nil {
			return err
		}
		out = e.Entry(&rec, edit.Env)
		return nil
	})
	return out, err
}

// Strike implements [EntryKind].
func (e *Entity[T]) Strike(ctx context.Context, s *Store, edit Edit) error {
	return s.Tx(ctx, func(tx pgx.Tx) error { return e.strike(ctx, tx, edit, ActionStruck, s.Now()) })
}

// Restore implements [EntryKind].
func (e *Entity[T]) Restore(ctx context.Context, s *Store, edit Edit) error {
	return s.Tx(ctx, func(tx pgx.Tx) error { return e.strike(ctx, tx, edit, ActionRestored, s.Now()) })
}

// namespace is the root of ids that follow from what an entry says; it was
// drawn once at random and never changes.
var namespace = uuid.MustParse("5e1f6c0a-7c1d-4b7e-9a55-2f0f4f6f3b90")

// derivedID makes the id of an entry that came without one from its natural
// key, so that reading the same sheet twice adds nothing.
func derivedID(kind, key string) uuid.UUID {
	return uuid.NewSHA1(namespace, []byte(kind+"\x1f"+key))
}
