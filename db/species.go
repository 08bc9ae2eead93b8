package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// SpeciesCounts returns how many live boards of each species the book has.
func (s *Store) SpeciesCounts(ctx context.Context) (map[string]int, error) {
	rows, err := s.pool.Query(ctx, `SELECT species, count(*)::int FROM board WHERE struck_at IS NULL AND species <> '' GROUP BY species`)
	if err != nil {
		return nil, fmt.Errorf("count the species: %w", err)
	}
	out := make(map[string]int)
	var id string
	var n int
	_, err = pgx.ForEachRow(rows, []any{&id, &n}, func() error { out[id] = n; return nil })
	return out, err
}

// SpeciesBoards is what the book's own boards of one species measured.
type SpeciesBoards struct {
	// Boards is how many live boards there are, OutOfRange how many of them
	// were last read outside their method's range.
	Boards, OutOfRange int
	// Percents are the newest corrected readings, one for each board that has
	// one within the method's range.
	Percents []float64
}

// SpeciesBoards returns what the live boards of a species measured.
func (s *Store) SpeciesBoards(ctx context.Context, species string) (SpeciesBoards, error) {
	var out SpeciesBoards
	err := s.pool.QueryRow(ctx, `SELECT count(*)::int, count(*) FILTER (WHERE moisture_range IN ('below', 'above'))::int,
		coalesce(array_agg(moisture_pct ORDER BY id) FILTER (WHERE moisture_pct IS NOT NULL), '{}')
		FROM board WHERE struck_at IS NULL AND species = $1`, species).Scan(&out.Boards, &out.OutOfRange, &out.Percents)
	if err != nil {
		return out, fmt.Errorf("read the boards of a species: %w", err)
	}
	return out, nil
}

// MeasuredBoards returns the live boards of a species that were measured, the
// last measured first, at most limit of them.
func (s *Store) MeasuredBoards(ctx context.Context, species string, limit int) ([]StockBoard, error) {
	return s.stockBoards(ctx, "WHERE b.species = $1 AND b.struck_at IS NULL AND b.moisture_at IS NOT NULL ORDER BY b.moisture_at DESC, b.code LIMIT $2", species, limit)
}
