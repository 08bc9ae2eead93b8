package db

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// BookLine is one line of the Book: an entry, or what happened to one.
type BookLine struct {
	// Kind is the entry's kind; Action is "entered" or one of history's.
	Kind, Action string
	// ID is the line's own id, EntryID the entry it is about.
	ID, EntryID uuid.UUID
	ReceivedAt  time.Time
	Keeper      string
	Struck      bool
	// Text says in a few words what was entered; Why is the reason of a change.
	Text, Why string
	Changes   []Change
}

// BookFilter narrows the Book; the zero value shows everything.
type BookFilter struct {
	// Kind keeps one kind of entry; "change" keeps corrections and strikes.
	Kind string
	// Before continues after the line with this moment and id.
	Before   time.Time
	BeforeID uuid.UUID
	// Limit is how many lines; 0 means 50.
	Limit int
}

// bookParts says, for each kind, how its line reads.
var bookParts = []struct{ kind, text string }{
	{"source", "t.name"},
	{"pickup", "to_char(t.day, 'YYYY-MM-DD') || ' ' || (SELECT s.name FROM source s WHERE s.id = t.source_id) || CASE WHEN t.empty THEN ', came home empty' ELSE '' END"},
	{"lot", "t.code || ', ' || t.count || ' ' || t.kind"},
	{"stack", "t.name || ', stickered ' || to_char(t.stickered, 'YYYY-MM-DD')"},
	{"climate", "t.place || ', ' || trim(to_char(to_date(t.month::text, 'MM'), 'Month')) || coalesce(' ' || to_char(t.first_day, 'YYYY'), ', usual')"},
	{"move", "(SELECT s.name FROM stack s WHERE s.id = t.stack_id) || ' to ' || t.place || ', ' || to_char(t.day, 'YYYY-MM-DD')"},
	{"board", "t.code"},
	{"finding", "(SELECT l.code FROM lot l WHERE l.id = t.lot_id) || ': ' || t.kind || ' ' || left(t.value, 120)"},
	{"defect", "(SELECT b.code FROM board b WHERE b.id = t.board_id) || ': ' || t.kind"},
	{"reading", "(SELECT b.code FROM board b WHERE b.id = t.board_id) || ': ' || t.raw || CASE t.method WHEN 'ohm' THEN ' megohms' ELSE ' %' END"},
	{"allowance", "replace(t.name, '_', ' ') || ': ' || round(t.size_nm / 25400000.0, 4) || ' in'"},
	{"part", "t.kit || ': ' || t.name"},
	{"plan", "t.name"},
	{"layout", "(SELECT b.code FROM board b WHERE b.id = t.board_id) || ', ' || replace(t.state, '_', ' ')"},
	{"blank", "t.code || ', ' || t.part"},
	{"policy", "t.setting || ': ' || t.verdict"},
	{"setting", "t.name || ' ' || trim_scale(t.amount) || ' ' || t.currency || ' from ' || to_char(t.valid_from, 'YYYY-MM-DD')"},
}

// Book returns entries and changes, newest first. Each kind is read through
// its own index of newest entries, so that a page costs the same whatever the
// size of the book.
func (s *Store) Book(ctx context.Context, f BookFilter) ([]BookLine, error) {
	if f.Limit <= 0 || f.Limit > 500 {
		f.Limit = 50
	}
	if f.Before.IsZero() {
		f.Before = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	var parts []string
	for _, p := range bookParts {
		if f.Kind == "" || f.Kind == p.kind {
			parts = append(parts, fmt.Sprintf(`(SELECT '%[1]s' AS kind, 'entered' AS action, t.id, t.id AS entry_id, t.received_at, t.keeper_id,
				t.struck_at IS NOT NULL AS struck, coalesce(%[2]s, '') AS text, '' AS why, '[]'::jsonb AS changes
				FROM %[1]s t WHERE (t.received_at, t.id) < ($1, $2) ORDER BY t.received_at DESC, t.id DESC LIMIT $3)`, p.kind, p.text))
		}
	}
	if f.Kind == "" || f.Kind == "change" {
		parts = append(parts, `(SELECT t.entity AS kind, t.action, t.id, t.entity_id AS entry_id, t.received_at, t.keeper_id, false AS struck, '' AS text, t.why, t.changes
			FROM history t WHERE (t.received_at, t.id) < ($1, $2) ORDER BY t.received_at DESC, t.id DESC LIMIT $3)`)
	}
	if len(parts) == 0 {
		return nil, nil
	}
	rows, err := s.pool.Query(ctx, `SELECT u.kind, u.action, u.id, u.entry_id, u.received_at, k.name, u.struck, u.text, u.why, u.changes
		FROM (`+strings.Join(parts, " UNION ALL ")+`) u JOIN keeper k ON k.id = u.keeper_id
		ORDER BY u.received_at DESC, u.id DESC LIMIT $3`, f.Before, f.BeforeID, f.Limit)
	if err != nil {
		return nil, fmt.Errorf("read the book: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (BookLine, error) {
		var l BookLine
		err := row.Scan(&l.Kind, &l.Action, &l.ID, &l.EntryID, &l.ReceivedAt, &l.Keeper, &l.Struck, &l.Text, &l.Why, &l.Changes)
		l.ReceivedAt, l.Text = l.ReceivedAt.UTC(), bookWords(l.Kind, l.Text)
		return l, err
	})
}
