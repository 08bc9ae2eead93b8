package dbtest

import (
	"context"
	"testing"
)

// URLVariable is the environment variable that names an existing server for
// the tests.
const URLVariable = "SKEPWOOD_TEST_DATABASE_URL"

// Template is a database to copy for each test.
type Template struct {
	// Name tells templates apart; letters, digits and underscores.
	Name string
	// Hash changes whenever the result of Migrate changes: a digest of the
	// migrations. Any text will do.
	Hash string
	// Migrate fills the empty database at url, as the owner of the database,
	// and closes its connections. It runs once per run for each Name and
	// Hash, even when several packages want it at once.
	Migrate func(ctx context.Context, url string) error
}

// New returns the connection URL, for the owner role, of a fresh copy of the
// template. The copy is dropped when the test ends.
func (t Template) New(tb testing.TB) string {
	tb.Helper()
	return Empty(tb)
}

// Empty returns the connection URL, for the owner role, of a fresh database
// with nothing in it, which is dropped when the test ends.
func Empty(tb testing.TB) string {
	tb.Helper()
	tb.Fatal("not written yet")
	return ""
}
