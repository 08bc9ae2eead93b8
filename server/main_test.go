package server_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"log/slog"
	"net/http/httptest"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/db/dbtest"
	"skepwood/db/demo"
	"skepwood/server"
	"skepwood/server/browsertest"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browsertest.Stop()
	os.Exit(code)
}

// testNow is the moment at which every test's clock stands, a Saturday.
var testNow = time.Date(2026, 3, 14, 16, 30, 0, 0, time.UTC)

// emptyBook is a migrated book with nothing in it.
var emptyBook = dbtest.Template{Name: "book", Hash: db.SchemaHash(), Migrate: db.Migrate}

// demoBook holds the log of the invented club, written once for all tests.
var demoBook = sync.OnceValue(func() dbtest.Template {
	sum := sha256.New()
	for _, sheet := range demo.Sheets(testNow, demo.Seed) {
		in, err := sheet.Open()
		if err != nil {
			panic(err) // the sheets lie in memory: cannot happen
		}
		_, _ = io.Copy(sum, in)
	}
	return dbtest.Template{Name: "demo", Hash: db.SchemaHash() + hex.EncodeToString(sum.Sum(nil)), Migrate: writeDemo}
})

func writeDemo(ctx context.Context, url string) error {
	if err := db.Migrate(ctx, url); err != nil {
		return err
	}
	store, err := db.Open(ctx, url, db.Options{Now: func() time.Time { return testNow }})
	if err != nil {
		return err
	}
	defer store.Close()
	if err := store.EnsureFigures(ctx); err != nil {
		return err
	}
	return demo.Write(ctx, store)
}

// options say what a test's book is like; the zero value is an empty one.
type options struct {
	// Demo fills it with the log of the invented club.
	Demo bool
	// Now replaces the clock that stands still.
	Now func() time.Time
	// Log receives what the server logs.
	Log io.Writer
	// Origins are trusted beside the server's own.
	Origins []string
}

// bench is an open book behind a server on the loopback.
type bench struct {
	testing.TB
	store  *db.Store
	keeper db.Keeper
	env    db.Env
	server *httptest.Server
}

func setup(t testing.TB, o options) *bench {
	t.Helper()
	template := emptyBook
	if o.Demo {
		template = demoBook()
	}
	if o.Now == nil {
		o.Now = func() time.Time { return testNow }
	}
	if o.Log == nil {
		o.Log = t.Output()
	}
	store, err := db.Open(context.Background(), template.New(t), db.Options{Now: o.Now})
	require.NoError(t, err)
	t.Cleanup(store.Close)
	log := slog.New(slog.NewTextHandler(o.Log, &slog.HandlerOptions{Level: slog.LevelWarn}))
	handler, err := server.New(t.Context(), server.Options{Store: store, Log: log, Version: "test", Demo: o.Demo, TrustedOrigins: o.Origins})
	require.NoError(t, err)
	b := &bench{TB: t, store: store, server: httptest.NewServer(handler)}
	t.Cleanup(b.server.Close)
	b.keeper, err = store.Keeper(t.Context())
	require.NoError(t, err)
	b.env = b.keeper.Env(testNow)
	return b
}

// on returns the bench of a subtest.
func (b *bench) on(t testing.TB) *bench {
	c := *b
	c.TB = t
	return &c
}

// add enters values straight into the book.
func (b *bench) add(kind db.EntryKind, values map[string]string) db.Entry {
	b.Helper()
	entry, err := kind.Add(b.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, values, b.env)
	require.NoError(b, err)
	return entry
}

// wood is a source with one pickup, one lot of it and one board.
type wood struct {
	source, pickup, lot, finding, board, defect, reading, setting db.Entry
	// stack, policy, climate, move and allowance are there after withEverything only.
	stack, policy, climate, move, allowance db.Entry
	// built are a part, a plan, its layout and a blank of it, after
	// withEverything only.
	built []db.Entry
}

// withEverything enters one entry of each kind, the board in a stack.
func (b *bench) withEverything() wood {
	b.Helper()
	w := b.withWood()
	w.stack = b.add(db.Stacks, map[string]string{"name": "Stack A", "place": "lean-to", "stickered": "2026-03-02"})
	w.climate = b.add(db.Climates, map[string]string{"place": "lean-to", "month": "3", "temperature": "45 F", "humidity": "70", "source": "station table"})
	w.move = b.add(db.Moves, map[string]string{"stack": "Stack A", "day": "2026-03-05", "place": "barn loft", "cover": "shed"})
	w.allowance = b.add(db.Allowances, map[string]string{"name": db.RipKerf, "size": "3/32 in", "note": "our thin blade"})
	w.policy = b.add(db.Policies, map[string]string{"setting": "S04", "verdict": "never", "note": "our club's habit"})
	b.withPlan(&w)
	return w
}

// withWood enters what most tests need.
func (b *bench) withWood() wood {
	b.Helper()
	var w wood
	w.source = b.add(db.Sources, map[string]string{"name": "Harbour Tile", "kind": "flooring", "distance": "12"})
	w.pickup = b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01", "distance": "12", "minutes": "75", "cost": "5"})
	w.lot = b.add(db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "crate", "count": "3", "place": "lean-to"})
	w.finding = b.add(db.Findings, map[string]string{"lot": w.lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT", "seen": "2026-03-01"})
	w.board = b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48", "place": "rack 2"})
	w.defect = b.add(db.Defects, map[string]string{"board": w.board.Values["code"], "kind": "knot", "x": "4", "y": "1", "dx": "1", "dy": "1"})
	w.reading = b.add(db.Readings, map[string]string{"board": w.board.Values["code"], "raw": "14.5", "temperature": "60 F", "taken": "2026-03-02 10:00"})
	w.setting = b.add(db.Settings, map[string]string{"name": db.MileCost, "valid_from": "2026-02-01", "amount": "0.5", "currency": "USD"})
	return w
}

// entries lists them by kind.
func (w wood) entries() []db.Entry {
	out := []db.Entry{w.source, w.pickup, w.lot, w.finding, w.board, w.defect, w.reading, w.setting}
	if w.stack.Kind != "" {
		out = append(out, w.stack, w.climate, w.move, w.policy, w.allowance)
	}
	return append(out, w.built...)
}

// contents counts every entry, correction and strike, so that two moments of
// a book can be compared.
func (b *bench) contents() string {
	b.Helper()
	parts := []string{"(SELECT 'history ' || count(*) FROM history)", "(SELECT 'links ' || count(*) FROM calendar_link)"}
	kinds := []string{"keeper"}
	for _, kind := range db.EntryKinds() {
		kinds = append(kinds, kind.Name())
	}
	for _, name := range kinds {
		parts = append(parts, fmt.Sprintf("(SELECT '%s ' || count(*) || '/' || coalesce(sum(version), 0) FROM %[1]s)", name))
	}
	var all string
	err := b.store.Pool().QueryRow(b.Context(), "SELECT concat_ws(', ', "+strings.Join(parts, ", ")+")").Scan(&all)
	require.NoError(b, err)
	return all
}

// count returns how many entries a table holds.
func (b *bench) count(kind db.EntryKind) (n int) {
	b.Helper()
	require.NoError(b, b.store.Pool().QueryRow(b.Context(), "SELECT count(*) FROM "+kind.Name()).Scan(&n))
	return n
}

// syncBuffer is a log that the server writes while the test reads.
type syncBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.Write(p)
}

func (s *syncBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.buf.String()
}

// oncePanicking is a clock that panics on its next use after it was armed.
type oncePanicking struct{ armed atomic.Bool }

func (c *oncePanicking) now() time.Time {
	if c.armed.CompareAndSwap(true, false) {
		panic("secret of the clock")
	}
	return testNow
}

// named is an entry found in the book.
type named struct {
	ID   uuid.UUID
	Kind string
}

func (e named) path() string { return "/" + e.Kind + "s/" + e.ID.String() }

// everyEntry lists the entries of the book, all kinds.
func (b *bench) everyEntry() (out []named) {
	b.Helper()
	for _, kind := range db.EntryKinds() {
		rows, err := b.store.Pool().Query(b.Context(), "SELECT id FROM "+kind.Name()+" ORDER BY received_at DESC, id LIMIT 20")
		require.NoError(b, err)
		ids, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
		require.NoError(b, err)
		for _, id := range ids {
			out = append(out, named{id, kind.Name()})
		}
	}
	return out
}

// everyPath lists the pages of the book: each room, and each page of each
// entry.
func (b *bench) everyPath() []string {
	b.Helper()
	out := []string{"/sources", "/sources/new", "/drive", "/round", "/lookback", "/pickups/new", "/stock", "/book", "/settings", "/import"}
	for _, e := range b.everyEntry() {
		out = append(out, "/book/"+e.Kind+"/"+e.ID.String(), "/book/"+e.Kind+"/"+e.ID.String()+"/correct")
	}
	return out
}

func (b *bench) first(kind db.EntryKind) named {
	b.Helper()
	for _, e := range b.everyEntry() {
		if e.Kind == kind.Name() {
			return e
		}
	}
	require.Fail(b, "the book has no "+kind.Name())
	return named{}
}
