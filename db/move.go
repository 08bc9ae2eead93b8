package db

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Move is the moving of a whole stack to another place. The stack's own place
// is where it was stickered; its last move says where it stands.
type Move struct {
	Base
	Stack Ref
	Day   time.Time
	Place string
	Cover string
	Note  string
}

// Moves is the kind of entry that holds moves of stacks.
var Moves = &Entity[Move]{
	table: "move",
	base:  func(m *Move) *Base { return &m.Base },
	columns: []Column[Move]{
		{Name: "stack", Required: true, Example: "stack A", SQL: "stack_id", Key: stackKeySQL, Ptr: func(m *Move) any { return &m.Stack }, Codec: refCodec{"stack"}},
		{Name: "day", Aliases: []string{"date", "moved", "moved_on"}, Label: "Moved on", Required: true, Example: "2026-04-18", SQL: "day", Ptr: func(m *Move) any { return &m.Day }, Codec: dayCodec{}},
		{Name: "place", Aliases: []string{"to", "where"}, Label: "To which place", Required: true, Example: "barn loft", SQL: "place", Ptr: func(m *Move) any { return &m.Place }, Codec: textCodec{max: 200}},
		{Name: "cover", Aliases: []string{"roof"}, Label: "Cover there", Help: "Empty means under a roof.", SQL: "cover", Ptr: func(m *Move) any { return &m.Cover }, Codec: choiceCodec{stackCovers, "roof"}},
		{Name: "note", Aliases: []string{"notes", "comments", "why"}, SQL: "note", Ptr: func(m *Move) any { return &m.Note }, Codec: textCodec{max: 10000, long: true}},
	},
	unique: map[string]*FieldError{
		"move_once_a_day": {Field: "day", Problem: "has a move of this stack already", Remedy: "correct that move instead"},
	},
	prepare: func(ctx context.Context, tx pgx.Tx, m *Move) error {
		var stickered time.Time
		var down *time.Time
		err := tx.QueryRow(ctx, "SELECT stickered, taken_down FROM stack WHERE id = $1", m.Stack.ID).Scan(&stickered, &down)
		if err != nil {
			return notFound(err, "stack")
		}
		if f := moveFits(m, stickered, down); f != nil {
			return FieldErrors{f}
		}
		return nil
	},
	batch: movesFit,
	identity: func(m *Move) string {
		return m.Stack.ID.String() + "\x1f" + printDay(m.Day)
	},
}

// moveFits refuses a move before the stack was put up or after it was taken
// down.
func moveFits(m *Move, stickered time.Time, down *time.Time) *FieldError {
	switch {
	case m.Day.Before(stickered):
		return &FieldError{Field: "day", Value: printDay(m.Day), Problem: "lies before the stack was stickered (" + printDay(stickered) + ")", Remedy: "check both days"}
	case down != nil && m.Day.After(*down):
		return &FieldError{Field: "day", Value: printDay(m.Day), Problem: "lies after the stack was taken down (" + printDay(*down) + ")", Remedy: "check both days"}
	}
	return nil
}

// movesFit does for a sheet what prepare does for one move.
func movesFit(ctx context.Context, run *importRun, rows []*staged[Move]) error {
	ids := make([]uuid.UUID, len(rows))
	for i, s := range rows {
		ids[i] = s.rec.Stack.ID
	}
	found, err := run.tx.Query(ctx, "SELECT id, stickered, taken_down FROM stack WHERE id = ANY($1)", ids)
	if err != nil {
		return fmt.Errorf("look for the stacks that were moved: %w", err)
	}
	type span struct {
		stickered time.Time
		down      *time.Time
	}
	spans := make(map[uuid.UUID]span)
	var id uuid.UUID
	var from time.Time
	var down *time.Time
	_, err = pgx.ForEachRow(found, []any{&id, &from, &down}, func() error {
		spans[id] = span{from, down}
		down = nil
		return nil
	})
	if err != nil {
		return fmt.Errorf("look for the stacks that were moved: %w", err)
	}
	for _, s := range rows {
		at := spans[s.rec.Stack.ID]
		s.fail(run, moveFits(&s.rec, at.stickered, at.down))
	}
	return nil
}

// movesOf returns the live moves of stacks, oldest first.
func (s *Store) movesOf(ctx context.Context, stacks []uuid.UUID) (map[uuid.UUID][]Move, error) {
	moves, err := Moves.list(ctx, s.pool, "WHERE t.stack_id = ANY($1) AND t.struck_at IS NULL ORDER BY t.day, t.id", stacks)
	if err != nil {
		return nil, err
	}
	out := make(map[uuid.UUID][]Move)
	for _, m := range moves {
		out[m.Stack.ID] = append(out[m.Stack.ID], m)
	}
	return out, nil
}
