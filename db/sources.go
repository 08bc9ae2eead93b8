package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/screen"
)

// SourceNames returns the names of live sources, in order.
func (s *Store) SourceNames(ctx context.Context) ([]string, error) {
	rows, err := s.pool.Query(ctx, `SELECT name FROM source WHERE struck_at IS NULL ORDER BY lower(name)`)
	if err != nil {
		return nil, fmt.Errorf("read the sources: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// SourceList returns every live source by name.
func (s *Store) SourceList(ctx context.Context) ([]Source, error) {
	return Sources.list(ctx, s.pool, "WHERE t.struck_at IS NULL ORDER BY lower(t.name), t.id")
}

// UsualDistance prints the extra distance of a source as its own entry says,
// else as its last pickup does; empty where neither is known.
func (s *Store) UsualDistance(ctx context.Context, source string, env Env) (string, error) {
	var m *float64
	err := s.pool.QueryRow(ctx, `SELECT coalesce(s.distance_m, (SELECT p.distance_m FROM pickup p
			WHERE p.source_id = s.id AND p.struck_at IS NULL ORDER BY p.day DESC, p.visit DESC LIMIT 1))
		FROM source s WHERE lower(s.name) = lower($1) AND s.struck_at IS NULL`, source).Scan(&m)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("read the usual distance: %w", err)
	}
	return optionalNumberCodec{distanceNumber}.print(&m, env), nil
}

// PickupSum is a pickup with what is derived for it.
type PickupSum struct {
	ID       uuid.UUID
	SourceID uuid.UUID
	Day      time.Time
	Visit    int
	// DistanceM is in metres, Minutes door to door, Cost in minor units.
	DistanceM, Minutes float64
	CostMinor          int64
	Currency           string
	Empty              bool
	Lots, Boards       int
	// ShopMinutes is taking the lots apart.
	ShopMinutes float64
	// Estimated counts lots known by the keeper's eye alone, Unknown lots of
	// which not even that is known.
	Estimated, Unknown int
	Outcome
}

const pickupSumSQL = `SELECT p.id, p.source_id, p.day, p.visit, p.distance_m, p.minutes, p.cost_minor, p.currency, p.empty, p.lots, p.boards, p.shop_minutes, p.estimated, p.unknown,
	p.gross_inside_m3, p.gross_outside_m3, p.gross_hold_m3, p.gross_never_m3, p.gross_stopped_m3, p.gross_lost_m3,
	p.usable_inside_m3, p.usable_outside_m3, p.usable_hold_m3
	FROM pickup p `

// dest are the columns of pickupSumSQL.
func (p *PickupSum) dest() []any {
	dest := []any{&p.ID, &p.SourceID, &p.Day, &p.Visit, &p.DistanceM, &p.Minutes, &p.CostMinor, &p.Currency, &p.Empty, &p.Lots, &p.Boards, &p.ShopMinutes, &p.Estimated, &p.Unknown}
	for _, f := range p.fields() {
		dest = append(dest, f)
	}
	return dest
}

func scanPickupSum(row pgx.CollectableRow) (PickupSum, error) {
	var p PickupSum
	err := row.Scan(p.dest()...)
	return p, err
}

func (s *Store) pickupSums(ctx context.Context, conditions string, args ...any) ([]PickupSum, error) {
	rows, err := s.pool.Query(ctx, pickupSumSQL+conditions, args...)
	if err != nil {
		return nil, fmt.Errorf("read the pickups: %w", err)
	}
	return pgx.CollectRows(rows, scanPickupSum)
}

// PickupSum returns one pickup's sums.
func (s *Store) PickupSum(ctx context.Context, id uuid.UUID) (PickupSum, error) {
	rows, err := s.pickupSums(ctx, "WHERE p.id = $1", id)
	if err != nil {
		return PickupSum{}, err
	}
	if len(rows) == 0 {
		return PickupSum{}, fmt.Errorf("pickup: %w", ErrNotFound)
	}
	return rows[0], nil
}

// liveInOrder are the live pickups of live sources, oldest first.
const liveInOrder = "JOIN source s ON s.id = p.source_id WHERE p.struck_at IS NULL AND s.struck_at IS NULL ORDER BY p.day, p.visit, p.id"

// PickupSums returns every live pickup of live sources, oldest first.
func (s *Store) PickupSums(ctx context.Context) ([]PickupSum, error) {
	return s.pickupSums(ctx, liveInOrder)
}

// eachPickupSum calls take with every live pickup of live sources, oldest first,
// in one record that is read into again and again: a large book has many.
func (s *Store) eachPickupSum(ctx context.Context, take func(*PickupSum)) error {
	rows, err := s.pool.Query(ctx, pickupSumSQL+liveInOrder)
	if err != nil {
		return fmt.Errorf("read the pickups: %w", err)
	}
	var p PickupSum
	_, err = pgx.ForEachRow(rows, p.dest(), func() error { take(&p); return nil })
	return err
}

// PickupsOf returns a source's live pickups, newest first.
func (s *Store) PickupsOf(ctx context.Context, source uuid.UUID) ([]PickupSum, error) {
	return s.pickupSums(ctx, "WHERE p.source_id = $1 AND p.struck_at IS NULL ORDER BY p.day DESC, p.visit DESC, p.id", source)
}

// SourcePrior counts the verdicts of a source's live lots, as evidence on
// what a further look may find.
func (s *Store) SourcePrior(ctx context.Context, source uuid.UUID) (screen.Prior, error) {
	var p screen.Prior
	err := s.pool.QueryRow(ctx, `SELECT count(*) FILTER (WHERE l.verdict = 'inside'), count(*) FILTER (WHERE l.verdict = 'outside'),
			count(*) FILTER (WHERE l.verdict = 'hold'), count(*) FILTER (WHERE l.verdict = 'never')
		FROM lot l JOIN pickup p ON p.id = l.pickup_id
		WHERE p.source_id = $1 AND l.struck_at IS NULL AND p.struck_at IS NULL`, source).Scan(&p.Inside, &p.Outside, &p.Hold, &p.Never)
	if err != nil {
		return p, fmt.Errorf("count a source's verdicts: %w", err)
	}
	return p, nil
}
