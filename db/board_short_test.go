package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// TestShortBoardsAreRefused tries to enter less than an inch of board in each
// way that there is.
func TestShortBoardsAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	refused := func(err error, field string) {
		t.Helper()
		var faults db.FieldErrors
		require.ErrorAs(t, err, &faults)
		require.Equal(t, field, faults[0].Field)
		require.Contains(t, faults.Error(), "1 in")
		require.NotEmpty(t, faults[0].Remedy)
	}
	size := func(length string) map[string]string {
		return map[string]string{"lot": lot.Values["code"], "thickness": "1/2", "width": "4", "length": length}
	}
	for _, length := range []string{"15/16 in", "25 mm", "1/64 in"} {
		_, err := db.Boards.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, size(length), b.env)
		refused(err, "length")
		report := b.read(t, false, sheet("boards.csv", "lot,thickness,width,length\n"+lot.Values["code"]+",1/2,4,40\n"+lot.Values["code"]+",1/2,4,"+length+"\n"))
		require.Len(t, report.Faults, 1)
		require.Equal(t, [3]any{3, "length", length}, [3]any{report.Faults[0].Row, report.Faults[0].Column, report.Faults[0].Value})
	}
	least := b.add(t, db.Boards, size("1 in"))
	_, err := db.Boards.Correct(t.Context(), b.store, db.Edit{ID: least.ID, Version: 1, Keeper: b.keeper.ID, Why: "measured again", Env: b.env}, map[string]string{"length": "1/2 in"})
	refused(err, "length")
	long := b.add(t, db.Boards, size("20 in"))
	cut := db.BoardCut{Board: long.ID, Keeper: b.keeper.ID, RipKerf: quarter, CrosscutKerf: quarter, Pieces: []db.BoardPiece{{Rect: rect(0, 0, 3, 16)}}}
	_, err = b.store.CutBoard(t.Context(), cut)
	refused(err, "pieces")
}

// TestShortBoardsOfOlderBooksStay has a board in the book that could not be
// entered now: it is corrected in all else, ripped, exported and restored.
func TestShortBoardsOfOlderBooksStay(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	board := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "1/2", "width": "4", "length": "20"})
	other := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "1/2", "width": "4", "length": "20"})
	_, err := b.owner(t).Exec(t.Context(), "UPDATE board SET length_nm = $1", wood.Inch*5/8)
	require.NoError(t, err)
	edit := func(version int) db.Edit {
		return db.Edit{ID: board.ID, Version: version, Keeper: b.keeper.ID, Why: "seen again", Env: b.env}
	}
	_, err = db.Boards.Correct(t.Context(), b.store, edit(1), map[string]string{"notes": "a spacer", "length": "5/8"})
	require.NoError(t, err)
	require.NoError(t, db.Boards.Strike(t.Context(), b.store, edit(2)))
	require.NoError(t, db.Boards.Restore(t.Context(), b.store, edit(3)))
	ripped := db.BoardPiece{Rect: grade.Rect{DX: wood.Inch * 5 / 8, DY: wood.Inch}}
	_, err = b.store.CutBoard(t.Context(), db.BoardCut{Board: other.ID, Keeper: b.keeper.ID, RipKerf: quarter, CrosscutKerf: quarter, Pieces: []db.BoardPiece{ripped}})
	require.NoError(t, err)

	dir, first := b.export(t)
	second := setup(t)
	require.Empty(t, second.read(t, false, sheetsIn(t, dir)...).Faults)
	_, again := second.export(t)
	for name, text := range first {
		require.Equal(t, text, again[name], name)
	}
	report := second.read(t, false, sheet("boards.csv", "id,lot,thickness,width,length\n"+uuid.NewString()+","+lot.Values["code"]+",1/2,4,5/8\n"))
	require.Empty(t, report.Faults, "a row with an id comes from a book")
}
