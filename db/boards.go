package db

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/screen"
)

const stockBoardSQL = `SELECT b.id, b.code, b.lot_id, l.code, b.thickness_nm, b.width_nm, b.length_nm, b.species, b.place,
	b.state, b.metal, b.verdict, b.ownership_stop, b.gross_m3, b.usable_m3, b.mapped, b.moisture_pct, b.moisture_sd, b.moisture_range, b.moisture_at, s.name
	FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id JOIN source s ON s.id = p.source_id `

func (s *Store) stockBoards(ctx context.Context, conditions string, args ...any) ([]StockBoard, error) {
	rows, err := s.pool.Query(ctx, stockBoardSQL+conditions, args...)
	if err != nil {
		return nil, fmt.Errorf("read the boards: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[StockBoard])
}

// LotBoards returns a lot's live boards in the order of their numbers.
func (s *Store) LotBoards(ctx context.Context, lot uuid.UUID) ([]StockBoard, error) {
	return s.stockBoards(ctx, "WHERE b.lot_id = $1 AND b.struck_at IS NULL ORDER BY length(b.code), b.code", lot)
}

// LotBoardsPage is some of a lot's live boards, in the order of their numbers, and
// how many there are in all.
type LotBoardsPage struct {
	Boards []StockBoard
	// All counts the lot's live boards, Rack those of them on the rack; Before
	// is how many stand before the ones here.
	All, Rack, Before int
}

// LotBoardsFrom returns at most limit of a lot's live boards after the first
// skip of them; where that is beyond the last, the last full step of limit.
func (s *Store) LotBoardsFrom(ctx context.Context, lot uuid.UUID, skip, limit int) (LotBoardsPage, error) {
	p := LotBoardsPage{Before: skip}
	err := s.pool.QueryRow(ctx, `SELECT count(*), count(*) FILTER (WHERE state = 'rack') FROM board WHERE lot_id = $1 AND struck_at IS NULL`, lot).Scan(&p.All, &p.Rack)
	if err != nil {
		return p, fmt.Errorf("count the boards: %w", err)
	}
	p.Before = max(0, min(skip, (p.All-1)/limit*limit))
	// The few are picked first: joining all of them costs more than sorting.
	p.Boards, err = s.stockBoards(ctx, `WHERE b.id IN (SELECT id FROM board WHERE lot_id = $1 AND struck_at IS NULL ORDER BY length(code), code OFFSET $2 LIMIT $3)
		ORDER BY length(b.code), b.code`, lot, p.Before, limit)
	return p, err
}

// BoardByName returns the id of the board whose code this is, in either case, or
// failing that of the live one whose own number it is.
func (s *Store) BoardByName(ctx context.Context, name string) (uuid.UUID, error) {
	id, err := s.BoardByCode(ctx, strings.ToUpper(name))
	if errors.Is(err, ErrNotFound) {
		err = s.pool.QueryRow(ctx, `SELECT id FROM board WHERE label = $1 AND label <> '' AND struck_at IS NULL`, name).Scan(&id)
		err = notFound(err, "board "+name)
	}
	return id, err
}

// BoardsCutFrom returns the live boards cut from a board.
func (s *Store) BoardsCutFrom(ctx context.Context, board uuid.UUID) ([]StockBoard, error) {
	return s.stockBoards(ctx, "WHERE b.parent_id = $1 AND b.struck_at IS NULL ORDER BY length(b.code), b.code", board)
}

// StockBoard returns one board with what is derived for it, struck or not.
func (s *Store) StockBoard(ctx context.Context, id uuid.UUID) (StockBoard, error) {
	rows, err := s.stockBoards(ctx, "WHERE b.id = $1", id)
	if err != nil {
		return StockBoard{}, err
	}
	if len(rows) == 0 {
		return StockBoard{}, fmt.Errorf("board: %w", ErrNotFound)
	}
	return rows[0], nil
}

// BoardByCode returns the id of the board whose code this is.
func (s *Store) BoardByCode(ctx context.Context, code string) (uuid.UUID, error) {
	var id uuid.UUID
	err := s.pool.QueryRow(ctx, `SELECT id FROM board WHERE code = $1`, code).Scan(&id)
	return id, notFound(err, "board "+code)
}

// BoardEvidence returns the live findings that decide a board's verdict: the
// lot's, and its own with those of every board it was cut from.
func (s *Store) BoardEvidence(ctx context.Context, b Board) (lot, own []screen.Finding, err error) {
	findings, err := Findings.list(ctx, s.pool, `WHERE t.struck_at IS NULL AND (t.lot_id = $1 AND t.board_id IS NULL OR t.board_id IN (
		WITH RECURSIVE line AS (SELECT id, parent_id FROM board WHERE id = $2
			UNION SELECT b.id, b.parent_id FROM board b JOIN line ON b.id = line.parent_id) SELECT id FROM line))
		ORDER BY t.seen_at, t.id`, b.Lot.ID, b.ID)
	if err != nil {
		return nil, nil, err
	}
	for _, f := range findings {
		if f.Board.ID == uuid.Nil {
			lot = append(lot, f.Screen())
		} else {
			own = append(own, f.Screen())
		}
	}
	return lot, own, nil
}

// ApartBoard is a board that is worse than the lot it came from.
type ApartBoard struct {
	ID      uuid.UUID
	Code    string
	Lot     string
	Source  string
	Verdict string
	Reasons []StoredReason
}

// BoardsWorseThanLot returns live boards held or never while their lot is
// milder: the treated board among good ones.
func (s *Store) BoardsWorseThanLot(ctx context.Context, limit int) ([]ApartBoard, error) {
	rows, err := s.pool.Query(ctx, `SELECT b.id, b.code, l.code, s.name, b.verdict, b.reasons
		FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id JOIN source s ON s.id = p.source_id
		WHERE b.struck_at IS NULL AND l.struck_at IS NULL AND p.struck_at IS NULL AND b.state = 'rack'
			AND ((b.verdict = 'never' AND l.verdict <> 'never') OR (b.verdict = 'hold' AND l.verdict IN ('inside', 'outside')))
		ORDER BY b.code LIMIT $1`, limit)
	if err != nil {
		return nil, fmt.Errorf("find boards apart: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[ApartBoard])
}
