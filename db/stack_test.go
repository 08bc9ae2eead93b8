package db_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestStackHoldsBoardsAndTheirReadings(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	entry := b.add(t, db.Stacks, map[string]string{"name": "Stack A", "place": "lean-to", "stickered": "2026-03-02", "air_temperature": "55 F", "air_humidity": "70"})
	require.Equal(t, "roof", entry.Values["cover"])
	board := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48", "stack": "stack a"})
	require.Equal(t, "Stack A", board.Values["stack"], "named without regard to case")
	for _, taken := range []string{"2026-03-01 10:00", "2026-03-03 10:00", "2026-03-10 10:00"} {
		b.add(t, db.Readings, map[string]string{"board": board.Values["code"], "raw": "15", "taken": taken})
	}
	boards, err := b.store.StackBoards(t.Context(), entry.ID)
	require.NoError(t, err)
	require.Len(t, boards, 1)
	stack, err := db.Stacks.Get(t.Context(), b.store, entry.ID)
	require.NoError(t, err)
	readings, err := b.store.StackReadings(t.Context(), stack)
	require.NoError(t, err)
	require.Len(t, readings, 2, "what was read before it was stickered is not the stack's")

	_, err = db.Stacks.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"name": "STACK A", "stickered": "2026-03-02"}, b.env)
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.NotNil(t, faults.For("name"))

	// Taken down, its name is free only once it is struck; its boards then
	// point to it by id, and a corrected board keeps it.
	edit := db.Edit{ID: entry.ID, Version: 1, Keeper: b.keeper.ID, Why: "never put up", Env: b.env}
	require.NoError(t, db.Stacks.Strike(t.Context(), b.store, edit))
	b.add(t, db.Stacks, map[string]string{"name": "Stack A", "stickered": "2026-03-05"})
	got, err := db.Boards.Load(t.Context(), b.store, board.ID, b.env)
	require.NoError(t, err)
	require.Equal(t, entry.ID.String(), got.Values["stack"])
	got, err = db.Boards.Correct(t.Context(), b.store, db.Edit{ID: board.ID, Version: 1, Keeper: b.keeper.ID, Why: "moved", Env: b.env}, map[string]string{"place": "rack 3"})
	require.NoError(t, err)
	require.Equal(t, entry.ID.String(), got.Values["stack"])

	lines, err := b.store.Book(t.Context(), db.BookFilter{Kind: "stack"})
	require.NoError(t, err)
	require.Len(t, lines, 2)
	require.Contains(t, lines[1].Text, "Stack A, stickered 2026-03-02")
}

func TestStacksComeFromSheets(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.read(t, false, oldSheets...)
	sheets := []db.Sheet{
		sheet("stacks.csv", "stack,stacked,cover,humidity,temp\nBarn pile,2025-12-01,in a shed,62,50 F\n"),
		sheet("boards.csv", "lot,thickness,width,length,number,stack\nA1,3/4,5,48,S/1,barn pile\n"),
	}
	report := b.read(t, false, sheets...)
	require.Empty(t, report.Faults)
	require.True(t, report.Stored)
	for _, s := range b.read(t, false, sheets...).Sheets {
		require.Zero(t, s.Added, "%s: importing twice adds nothing", s.File)
	}
	dir, first := b.export(t)
	require.Contains(t, first["stacks.csv"], "Barn pile,,shed,2025-12-01,,,10 C,62,")
	require.Contains(t, first["boards.csv"], ",Barn pile,")
	second := setup(t)
	require.Empty(t, second.read(t, false, sheetsIn(t, dir)...).Faults)
	_, again := second.export(t)
	require.Equal(t, first, again)
}

func TestStacksMayNotBeDeleted(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := b.store.Pool().Exec(t.Context(), "DELETE FROM stack")
	require.ErrorContains(t, err, "42501") // insufficient_privilege
}
