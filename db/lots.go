package db

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// LotRow is a lot with what is derived for it and where it came from.
type LotRow struct {
	ID            uuid.UUID
	Code          string
	Kind          string
	Count         int
	Place         string
	Verdict       string
	OwnershipStop bool
	Reasons       []StoredReason
	RuleVersion   string
	Boards        int
	Estimated     bool
	Unknown       bool
	Struck        bool
	PickupID      uuid.UUID
	Day           time.Time
	SourceID      uuid.UUID
	Source        string
	Outcome
}

const lotRowSQL = `SELECT l.id, l.code, l.kind, l.count, l.place, l.verdict, l.ownership_stop, l.reasons, l.rule_version, l.boards, l.estimated, l.unknown,
	l.struck_at IS NOT NULL, p.id, p.day, s.id, s.name,
	l.gross_inside_m3, l.gross_outside_m3, l.gross_hold_m3, l.gross_never_m3, l.gross_stopped_m3, l.gross_lost_m3,
	l.usable_inside_m3, l.usable_outside_m3, l.usable_hold_m3
	FROM lot l JOIN pickup p ON p.id = l.pickup_id JOIN source s ON s.id = p.source_id `

func scanLotRow(row pgx.CollectableRow) (LotRow, error) {
	var l LotRow
	dest := []any{&l.ID, &l.Code, &l.Kind, &l.Count, &l.Place, &l.Verdict, &l.OwnershipStop, &l.Reasons, &l.RuleVersion, &l.Boards, &l.Estimated, &l.Unknown,
		&l.Struck, &l.PickupID, &l.Day, &l.SourceID, &l.Source}
	for _, f := range l.fields() {
		dest = append(dest, f)
	}
	err := row.Scan(dest...)
	return l, err
}

func (s *Store) lotRows(ctx context.Context, conditions string, args ...any) ([]LotRow, error) {
	rows, err := s.pool.Query(ctx, lotRowSQL+conditions, args...)
	if err != nil {
		return nil, fmt.Errorf("read the lots: %w", err)
	}
	return pgx.CollectRows(rows, scanLotRow)
}

// LotsOfPickup returns a pickup's lots, struck ones last.
func (s *Store) LotsOfPickup(ctx context.Context, pickup uuid.UUID) ([]LotRow, error) {
	return s.lotRows(ctx, `WHERE l.pickup_id = $1 ORDER BY l.struck_at IS NOT NULL, l.id`, pickup)
}

// LotFilter narrows a list of lots; the zero value shows every live lot.
type LotFilter struct {
	// Verdicts keeps these; empty keeps all. Stopped adds wood that is not ours.
	Verdicts []string
	Stopped  bool
	Source   uuid.UUID
	// After continues after this code; Limit is how many, 0 meaning 50.
	After string
	Limit int
}

// Lots returns live lots by code, a page at a time.
func (s *Store) Lots(ctx context.Context, f LotFilter) ([]LotRow, error) {
	if f.Limit <= 0 || f.Limit > 500 {
		f.Limit = 50
	}
	return s.lotRows(ctx, `WHERE l.struck_at IS NULL AND p.struck_at IS NULL AND l.code > $1
		AND (cardinality($2::text[]) = 0 OR l.verdict = ANY($2) OR ($3 AND l.ownership_stop))
		AND ($4::uuid = '00000000-0000-0000-0000-000000000000' OR s.id = $4)
		ORDER BY l.code LIMIT $5`, f.After, notNil(f.Verdicts), f.Stopped, f.Source, f.Limit)
}

func notNil(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

// LotByCode returns the id of the lot whose crayon code this is.
func (s *Store) LotByCode(ctx context.Context, code string) (uuid.UUID, error) {
	var id uuid.UUID
	err := s.pool.QueryRow(ctx, `SELECT id FROM lot WHERE code = $1`, code).Scan(&id)
	return id, notFound(err, "lot "+code)
}

// Lot returns one lot's row, struck or not.
func (s *Store) Lot(ctx context.Context, id uuid.UUID) (LotRow, error) {
	rows, err := s.lotRows(ctx, `WHERE l.id = $1`, id)
	if err != nil {
		return LotRow{}, err
	}
	if len(rows) == 0 {
		return LotRow{}, fmt.Errorf("lot: %w", ErrNotFound)
	}
	return rows[0], nil
}

// FindingsOf returns a lot's findings in the order they were seen, struck
// ones too.
func (s *Store) FindingsOf(ctx context.Context, lot uuid.UUID) ([]Finding, error) {
	return Findings.list(ctx, s.pool, "WHERE t.lot_id = $1 ORDER BY t.seen_at, t.id", lot)
}

// BoardsOf returns a lot's boards by code, struck ones too.
func (s *Store) BoardsOf(ctx context.Context, lot uuid.UUID) ([]Board, error) {
	return Boards.list(ctx, s.pool, "WHERE t.lot_id = $1 ORDER BY length(t.code), t.code", lot)
}

// DefectsOf returns a board's defects from its left end, struck ones too.
func (s *Store) DefectsOf(ctx context.Context, board uuid.UUID) ([]Defect, error) {
	return Defects.list(ctx, s.pool, "WHERE t.board_id = $1 ORDER BY t.x_nm, t.y_nm, t.id", board)
}

// ReadingsOf returns a board's readings, newest first, struck ones too.
func (s *Store) ReadingsOf(ctx context.Context, board uuid.UUID) ([]Reading, error) {
	return Readings.list(ctx, s.pool, "WHERE t.board_id = $1 ORDER BY t.taken_at DESC, t.id", board)
}

// ReadingsOfLot returns the newest live readings of a lot's boards.
func (s *Store) ReadingsOfLot(ctx context.Context, lot uuid.UUID, limit int) ([]Reading, error) {
	return Readings.list(ctx, s.pool, `JOIN board b ON b.id = t.board_id WHERE b.lot_id = $1 AND t.struck_at IS NULL AND b.struck_at IS NULL
		ORDER BY t.taken_at DESC, t.id LIMIT $2`, lot, limit)
}
