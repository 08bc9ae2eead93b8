package db_test

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/db/dbtest"
)

// template is a migrated, empty book that each test gets a copy of.
var template = dbtest.Template{Name: "book", Hash: db.SchemaHash(), Migrate: db.Migrate}

// testNow is the moment at which every test's clock stands.
var testNow = time.Date(2026, 3, 14, 16, 30, 0, 0, time.UTC)

// bench is what most tests need: an open book and its keeper.
type bench struct {
	store  *db.Store
	keeper db.Keeper
	env    db.Env
	url    string
}

func setup(t testing.TB) *bench {
	t.Helper()
	url := template.New(t)
	store, err := db.Open(context.Background(), url, db.Options{Now: func() time.Time { return testNow }})
	require.NoError(t, err)
	t.Cleanup(store.Close)
	keeper, err := store.Keeper(t.Context())
	require.NoError(t, err)
	return &bench{store: store, keeper: keeper, env: keeper.Env(testNow), url: url}
}

// add enters values and fails the test on a fault.
func (b *bench) add(t testing.TB, kind db.EntryKind, values map[string]string) db.Entry {
	t.Helper()
	entry, err := kind.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, values, b.env)
	require.NoError(t, err)
	return entry
}

// lot enters a source, a pickup and one lot and returns the lot.
func (b *bench) lot(t testing.TB) db.Entry {
	t.Helper()
	b.add(t, db.Sources, map[string]string{"name": "Harbour Tile", "kind": "flooring"})
	b.add(t, db.Pickups, map[string]string{"source": "harbour tile", "day": "2026-03-01", "distance": "12", "minutes": "75", "cost": "5"})
	return b.add(t, db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "crate", "count": "3"})
}

// owner connects as the owner of the database, past the rights of the store.
func (b *bench) owner(t testing.TB) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), b.url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}
