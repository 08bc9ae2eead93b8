package db

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// appRole is the role every statement of the store runs as.
const appRole = "skepwood_app"

// Store is the open book. It is safe for concurrent use.
type Store struct {
	pool *pgxpool.Pool
	log  *slog.Logger
	now  func() time.Time
}

// Options says how to open the book; the zero value works.
type Options struct {
	// Log receives what an operator should know; nil discards it.
	Log *slog.Logger
	// Now is the clock; nil means the machine's.
	Now func() time.Time
	// MaxConns bounds the pool; 0 means 8.
	MaxConns int32
}

// Open connects to the database at url and checks that its schema is the one
// this program knows. It does not migrate; see [Migrate].
func Open(ctx context.Context, url string, opts Options) (*Store, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("read the database address: %w", err)
	}
	cfg.MaxConns = opts.MaxConns
	if cfg.MaxConns == 0 {
		cfg.MaxConns = 8
	}
	cfg.ConnConfig.RuntimeParams["application_name"] = "skepwood"
	cfg.ConnConfig.RuntimeParams["timezone"] = "UTC"
	// The connection gives up the owner's rights before its first statement.
	cfg.AfterConnect = func(ctx context.Context, c *pgx.Conn) error {
		_, err := c.Exec(ctx, "SET ROLE "+appRole)
		return err
	}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	s := &Store{pool: pool, log: opts.Log, now: opts.Now}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.now == nil {
		s.now = time.Now
	}
	if err := s.Ready(ctx); err != nil {
		pool.Close()
		return nil, err
	}
	return s, nil
}

// Close returns every connection.
func (s *Store) Close() { s.pool.Close() }

// Now returns the store's time in UTC, to the microsecond PostgreSQL keeps.
func (s *Store) Now() time.Time { return s.now().UTC().Truncate(time.Microsecond) }

// Pool lends the connections to a benchmark or test of this module.
func (s *Store) Pool() *pgxpool.Pool { return s.pool }

// Ready reports whether the database answers and has this program's schema.
func (s *Store) Ready(ctx context.Context) error {
	var have int64
	err := s.pool.QueryRow(ctx,
		"SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied").Scan(&have)
	if unreached := reach(err); unreached != nil {
		return unreached
	}
	if err != nil {
		return fmt.Errorf("the database is not ready (has `skepwood migrate` run?): %w", err)
	}
	return checkVersion(have)
}

// maxTries bounds how often a transaction is tried again after a
// serialization failure or deadlock.
const maxTries = 5

// Tx runs fn in one transaction and commits it. After a serialization failure
// or a deadlock it runs fn again, so fn must only touch the database.
func (s *Store) Tx(ctx context.Context, fn func(pgx.Tx) error) error {
	var err error
	for range maxTries {
		err = pgx.BeginFunc(ctx, s.pool, fn)
		if !hasCode(err, codeSerializationFailure, codeDeadlockDetected) {
			return err
		}
	}
	return fmt.Errorf("gave up after %d tries: %w", maxTries, err)
}
