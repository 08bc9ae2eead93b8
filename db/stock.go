package db

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/wood"
)

// StockFilter narrows the stock; the zero value shows every board on the rack.
type StockFilter struct {
	// Verdict keeps one verdict.
	Verdict string
	// MinThickness to MaxThickness, and the smallest width and length.
	MinThickness, MaxThickness, MinWidth, MinLength wood.Length
	// MaxPercent keeps boards whose last corrected reading is at most this;
	// boards never measured are then left out. 0 means any.
	MaxPercent float64
	// Place keeps one place, compared without regard to case.
	Place string
	// Lot keeps one lot's boards.
	Lot uuid.UUID
	// After continues after this code.
	After string
	// Limit is how many boards; 0 means 50.
	Limit int
}

// StockBoard is a board with what is derived for it.
type StockBoard struct {
	ID                       uuid.UUID
	Code                     string
	LotID                    uuid.UUID
	Lot                      string
	Thickness, Width, Length wood.Length
	Species, Place, State    string
	Metal                    string
	Verdict                  string
	OwnershipStop            bool
	GrossM3, UsableM3        float64
	Mapped                   bool
	Percent, PercentSD       *float64
	Range                    string
	MeasuredAt               *time.Time
	Source                   string
}

// where turns the filter into conditions; args are appended to.
func (f StockFilter) where(args *[]any) string {
	conditions := []string{"b.struck_at IS NULL", "b.state = 'rack'", "l.struck_at IS NULL", "p.struck_at IS NULL"}
	add := func(sql string, arg any) {
		*args = append(*args, arg)
		conditions = append(conditions, fmt.Sprintf(sql, len(*args)))
	}
	if f.Verdict != "" {
		add("b.verdict = $%d", f.Verdict)
	}
	for _, m := range []struct {
		sql string
		l   wood.Length
	}{{"b.thickness_nm >= $%d", f.MinThickness}, {"b.thickness_nm <= $%d", f.MaxThickness}, {"b.width_nm >= $%d", f.MinWidth}, {"b.length_nm >= $%d", f.MinLength}} {
		if m.l > 0 {
			add(m.sql, m.l)
		}
	}
	if f.MaxPercent > 0 {
		add("b.moisture_pct <= $%d", f.MaxPercent)
	}
	if f.Place != "" {
		add("lower(b.place) = lower($%d)", f.Place)
	}
	if f.Lot != uuid.Nil {
		add("b.lot_id = $%d", f.Lot)
	}
	if f.After != "" {
		add("b.code > $%d", f.After)
	}
	return strings.Join(conditions, " AND ")
}

// StockSum is how much wood a filter finds.
type StockSum struct {
	Boards            int
	GrossM3, UsableM3 float64
}

const stockFrom = ` FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id JOIN source s ON s.id = p.source_id WHERE `

// Stock returns boards on the rack by code, a page at a time.
func (s *Store) Stock(ctx context.Context, f StockFilter) ([]StockBoard, error) {
	if f.Limit <= 0 || f.Limit > 500 {
		f.Limit = 50
	}
	var args []any
	where := f.where(&args)
	args = append(args, f.Limit)
	return s.stockBoards(ctx, "WHERE "+where+fmt.Sprintf(" ORDER BY b.code LIMIT $%d", len(args)), args...)
}

// StockTotals adds up what a filter finds, all pages together.
func (s *Store) StockTotals(ctx context.Context, f StockFilter) (StockSum, error) {
	f.After = ""
	var args []any
	var sum StockSum
	err := s.pool.QueryRow(ctx, `SELECT count(*), coalesce(sum(b.gross_m3), 0), coalesce(sum(b.usable_m3), 0)`+stockFrom+f.where(&args), args...).
		Scan(&sum.Boards, &sum.GrossM3, &sum.UsableM3)
	if err != nil {
		return sum, fmt.Errorf("add up the stock: %w", err)
	}
	return sum, nil
}

// StockPlaces lists the places that boards on the rack lie at.
func (s *Store) StockPlaces(ctx context.Context) ([]string, error) {
	rows, err := s.pool.Query(ctx, `SELECT DISTINCT place FROM board WHERE struck_at IS NULL AND state = 'rack' AND place <> '' ORDER BY place LIMIT 200`)
	if err != nil {
		return nil, fmt.Errorf("read the places: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}
