package db

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// The things that can happen to an entry after it was made.
const (
	ActionCorrected = "corrected"
	ActionStruck    = "struck"
	ActionRestored  = "restored"
)

// Change is one corrected value, as the person would have typed it.
type Change struct {
	Field string `json:"field"`
	Old   string `json:"old"`
	New   string `json:"new"`
}

// History is one correction, strike or restoration: who, when, what, why.
type History struct {
	ID         uuid.UUID
	Entity     string
	EntityID   uuid.UUID
	Action     string
	Why        string
	Changes    []Change
	KeeperID   uuid.UUID
	Keeper     string
	ReceivedAt time.Time
}

// Edit names the entry to change, the version that was read, who changes it
// and why. A reason is always asked for.
type Edit struct {
	ID      uuid.UUID
	Version int
	Keeper  uuid.UUID
	Why     string
	Env     Env
}

func (e Edit) check() FieldErrors {
	why := strings.TrimSpace(e.Why)
	if why == "" {
		return FieldErrors{{Field: "why", Problem: "is missing", Remedy: "say in a few words why the entry is changed"}}
	}
	if len([]rune(why)) > 2000 {
		return FieldErrors{{Field: "why", Value: clip(why), Problem: "is longer than 2000 characters", Remedy: "shorten it"}}
	}
	if f := checkText(why); f != nil {
		f.Field, f.Value = "why", clip(strings.ToValidUTF8(why, "�"))
		return FieldErrors{f}
	}
	return nil
}

// correct applies values to the entry and keeps the old ones in the history.
// It returns a ConflictError when somebody corrected the entry meanwhile, and
// changes nothing when no value differs.
func (e *Entity[T]) correct(ctx context.Context, tx pgx.Tx, edit Edit, values map[string]string, now time.Time) (T, error) {
	rec, err := e.locked(ctx, tx, edit)
	if err != nil {
		return rec, err
	}
	before, was := e.Values(&rec, SheetEnv(now)), rec
	faults := append(edit.check(), e.parse(&rec, e.keepUntyped(&was, values, edit.Env), edit.Env)...)
	if len(faults) == 0 && e.newly != nil {
		after := e.Values(&rec, SheetEnv(now))
		faults = slices.DeleteFunc(e.newly(&rec, edit.Env), func(f *FieldError) bool { return before[f.Field] == after[f.Field] })
	}
	if len(faults) > 0 {
		return rec, faults
	}
	if err := e.resolveRefs(ctx, tx, &rec); err != nil {
		return rec, err
	}
	changes := e.diff(before, &rec, now)
	if len(changes) == 0 {
		return rec, nil
	}
	if e.prepare != nil {
		if err := e.prepare(ctx, tx, &rec); err != nil {
			return rec, err
		}
	}
	if err := e.update(ctx, tx, &rec); err != nil {
		return rec, err
	}
	if err := e.remember(ctx, tx, edit, ActionCorrected, changes, now); err != nil {
		return rec, err
	}
	return rec, e.deriveAll(ctx, tx, &rec, &was)
}

// keepUntyped completes a partial set of values with the entry's own, and
// leaves values that the person did not touch exactly as they are: what a form
// shows may be rounded.
func (e *Entity[T]) keepUntyped(rec *T, values map[string]string, env Env) map[string]string {
	shown, exact := e.Values(rec, env), e.Values(rec, SheetEnv(env.Now))
	out := make(map[string]string, len(e.columns))
	for i := range e.columns {
		if e.columns[i].Hidden {
			continue
		}
		name := e.columns[i].Name
		typed, ok := values[name]
		if !ok || e.columns[i].Sealed || strings.TrimSpace(typed) == shown[name] {
			out[name] = exact[name]
			continue
		}
		out[name] = typed
	}
	return out
}

// diff lists the columns whose printed values differ.
func (e *Entity[T]) diff(before map[string]string, rec *T, now time.Time) []Change {
	after := e.Values(rec, SheetEnv(now))
	var changes []Change
	for i := range e.columns {
		name := e.columns[i].Name
		if before[name] != after[name] {
			changes = append(changes, Change{Field: name, Old: before[name], New: after[name]})
		}
	}
	return changes
}

// locked reads the entry for update and compares its version.
func (e *Entity[T]) locked(ctx context.Context, tx pgx.Tx, edit Edit) (T, error) {
	if e.hold != nil {
		if err := e.hold(ctx, tx, edit.ID); err != nil {
			var none T
			return none, err
		}
	}
	if _, err := tx.Exec(ctx, "SELECT 1 FROM "+e.table+" WHERE id = $1 FOR UPDATE", edit.ID); err != nil {
		var none T
		return none, err
	}
	rec, err := e.one(ctx, tx, edit.ID)
	if err != nil {
		return rec, err
	}
	if base := e.base(&rec); base.Version != edit.Version {
		return rec, &ConflictError{Entity: e.table, ID: edit.ID, Version: base.Version, Now: e.Values(&rec, edit.Env)}
	}
	return rec, nil
}

// update writes every column and counts the version up.
func (e *Entity[T]) update(ctx context.Context, tx pgx.Tx, rec *T) error {
	base := e.base(rec)
	base.Version++
	sets := []string{"version = $2", "struck_at = $3"}
	args := []any{base.ID, base.Version, base.StruckAt}
	for i := range e.columns {
		args = append(args, e.columns[i].arg(rec))
		sets = append(sets, fmt.Sprintf("%s = $%d", e.columns[i].SQL, len(args)))
	}
	_, err := tx.Exec(ctx, fmt.Sprintf("UPDATE %s SET %s WHERE id = $1", e.table, strings.Join(sets, ", ")), args...)
	if err != nil {
		return e.explain(err)
	}
	return nil
}

// strike crosses the entry out, or takes the line away again.
func (e *Entity[T]) strike(ctx context.Context, tx pgx.Tx, edit Edit, action string, now time.Time) error {
	rec, err := e.locked(ctx, tx, edit)
	if err != nil {
		return err
	}
	if faults := edit.check(); len(faults) > 0 {
		return faults
	}
	base := e.base(&rec)
	if (action == ActionStruck) == base.Struck() {
		return nil
	}
	if err := strikeBefore(ctx, tx, e.table, edit, action, now); err != nil {
		return err
	}
	was, struckBefore := rec, base.StruckAt
	base.StruckAt = nil
	if action == ActionStruck {
		base.StruckAt = &now
	}
	if err := e.update(ctx, tx, &rec); err != nil {
		return err
	}
	if err := e.remember(ctx, tx, edit, action, nil, now); err != nil {
		return err
	}
	if !e.childless {
		if err := strikeChildren(ctx, tx, e.table, edit, action, struckBefore, now); err != nil {
			return err
		}
	}
	return e.deriveAll(ctx, tx, &rec, &was)
}

// deriveAll brings up to date what hangs on the entry as it is and as it was:
// a lot moved to another pickup changes both.
func (e *Entity[T]) deriveAll(ctx context.Context, tx pgx.Tx, now, was *T) error {
	if e.derive == nil {
		return nil
	}
	if err := e.derive(ctx, tx, now); err != nil {
		return err
	}
	return e.derive(ctx, tx, was)
}

func (e *Entity[T]) remember(ctx context.Context, tx pgx.Tx, edit Edit, action string, changes []Change, now time.Time) error {
	if changes == nil {
		changes = []Change{}
	}
	text, err := json.Marshal(changes)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `INSERT INTO history (id, entity, entity_id, action, why, changes, keeper_id, received_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		newID(), e.table, edit.ID, action, strings.TrimSpace(edit.Why), text, edit.Keeper, now)
	if err != nil {
		return fmt.Errorf("keep the history: %w", err)
	}
	return nil
}

// HistoryOf returns what happened to an entry, newest first.
func (s *Store) HistoryOf(ctx context.Context, entityName string, id uuid.UUID) ([]History, error) {
	rows, err := s.pool.Query(ctx, `SELECT h.id, h.entity, h.entity_id, h.action, h.why, h.changes, h.keeper_id, k.name, h.received_at
		FROM history h JOIN keeper k ON k.id = h.keeper_id
		WHERE h.entity = $1 AND h.entity_id = $2
		ORDER BY h.received_at DESC, h.id DESC`, entityName, id)
	if err != nil {
		return nil, fmt.Errorf("read the history: %w", err)
	}
	return pgx.CollectRows(rows, scanHistory)
}

func scanHistory(row pgx.CollectableRow) (History, error) {
	var h History
	err := row.Scan(&h.ID, &h.Entity, &h.EntityID, &h.Action, &h.Why, &h.Changes, &h.KeeperID, &h.Keeper, &h.ReceivedAt)
	h.ReceivedAt = h.ReceivedAt.UTC()
	return h, err
}
