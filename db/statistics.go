package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// refreshStatistics tells PostgreSQL's planner what the tables hold now.
// Autovacuum does so within a minute or two; until then, after many rows came
// at once, it joins as if every table had one row and a page takes seconds.
// It needs the rights the pool has given up, so it uses a connection of its
// own; a role that does not own the tables changes nothing.
func (s *Store) refreshStatistics(ctx context.Context) error {
	conn, err := pgx.ConnectConfig(ctx, s.pool.Config().ConnConfig)
	if err != nil {
		return fmt.Errorf("refresh the statistics: %w", err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	tables := []string{"keeper", "history"}
	for _, kind := range EntryKinds() {
		tables = append(tables, kind.Name())
	}
	if _, err := conn.Exec(ctx, "ANALYZE "+strings.Join(tables, ", ")); err != nil {
		return fmt.Errorf("refresh the statistics: %w", err)
	}
	return nil
}
