package dbtest

import (
	"context"
	"errors"
	"os"
	"testing"
	"time"

	"skepwood/db/cluster"
)

// URLVariable is the environment variable that names an existing server for
// the tests.
const URLVariable = "SKEPWOOD_TEST_DATABASE_URL"

// Template is a database to copy for each test.
type Template struct {
	// Name tells templates apart: letters, digits and underscores, of which
	// the first 20 count.
	Name string
	// Hash changes whenever the result of Migrate changes: a digest of the
	// migrations. Any text will do.
	Hash string
	// Migrate fills the empty database at url, as the owner of the database,
	// and closes its connections. It runs once per run for each Name and
	// Hash, even when several packages want it at once, and never beside
	// another Migrate, since roles belong to the whole server.
	Migrate func(ctx context.Context, url string) error
}

// patience bounds what one test waits for its database.
const patience = 2 * time.Minute

// New returns the connection URL, for the owner role, of a fresh copy of the
// template. The copy is dropped when the test ends, connections and all.
func (t Template) New(tb testing.TB) string {
	tb.Helper()
	s := need(tb)
	ctx, cancel := context.WithTimeout(tb.Context(), patience)
	defer cancel()
	name, err := s.copyTemplate(ctx, t)
	if err != nil {
		tb.Fatalf("make a test database: %v", err)
	}
	return s.lend(tb, name)
}

// Empty returns the connection URL, for the owner role, of a fresh database
// with nothing in it, which is dropped when the test ends.
func Empty(tb testing.TB) string {
	tb.Helper()
	s := need(tb)
	ctx, cancel := context.WithTimeout(tb.Context(), patience)
	defer cancel()
	name := testName()
	if err := s.create(ctx, name, "template0"); err != nil {
		tb.Fatalf("make a test database: %v", err)
	}
	return s.lend(tb, name)
}

// lend returns the URL of the database and drops it when the test ends.
func (s *server) lend(tb testing.TB, name string) string {
	tb.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), patience) // the test's own is done
		defer cancel()
		if err := s.drop(ctx, name); err != nil {
			tb.Errorf("drop the test database: %v", err)
		}
	})
	return s.urlOf(name)
}

// need returns the server of this run. Without one the test cannot go on.
func need(tb testing.TB) *server {
	tb.Helper()
	s, err := shared()
	if err != nil {
		giveUp(tb, err)
	}
	return s
}

// giveUp ends the test: as skipped where only PostgreSQL is not installed,
// and as failed otherwise and always in CI, where a skipped test would go
// unnoticed.
func giveUp(tb testing.TB, err error) {
	tb.Helper()
	var missing *cluster.MissingBinariesError
	if errors.As(err, &missing) && os.Getenv("CI") != "true" {
		tb.Skipf("this test needs a database: %v\nor name a server for tests: %s", err, URLVariable)
	}
	tb.Fatalf("this test needs a database: %v", err)
}
