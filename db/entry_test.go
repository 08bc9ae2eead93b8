package db_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestLotIsHeldUntilShownSafe(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	row, err := b.store.Lot(t.Context(), lot.ID)
	require.NoError(t, err)
	require.Equal(t, "hold", row.Verdict, "nothing found is not clean")
	require.NotEmpty(t, row.Reasons)

	b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT"})
	row, err = b.store.Lot(t.Context(), lot.ID)
	require.NoError(t, err)
	require.Equal(t, "inside", row.Verdict)

	stain := b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "tag", "value": "CCA"})
	row, err = b.store.Lot(t.Context(), lot.ID)
	require.NoError(t, err)
	require.Equal(t, "never", row.Verdict, "a good mark never cancels a bad tag")

	edit := db.Edit{ID: stain.ID, Version: 1, Keeper: b.keeper.ID, Why: "wrong crate", Env: b.env}
	require.NoError(t, db.Findings.Strike(t.Context(), b.store, edit))
	row, err = b.store.Lot(t.Context(), lot.ID)
	require.NoError(t, err)
	require.Equal(t, "inside", row.Verdict)
}

func TestSameEntryTwiceIsOne(t *testing.T) {
	t.Parallel()
	b := setup(t)
	id := uuid.Must(uuid.NewV7())
	for range 3 {
		_, err := db.Sources.Add(t.Context(), b.store, db.Base{ID: id, KeeperID: b.keeper.ID}, map[string]string{"name": "Harbour Tile"}, b.env)
		require.NoError(t, err)
	}
	names, err := b.store.SourceNames(t.Context())
	require.NoError(t, err)
	require.Equal(t, []string{"Harbour Tile"}, names)
}

func TestCorrectionKeepsTheOldValue(t *testing.T) {
	t.Parallel()
	b := setup(t)
	src := b.add(t, db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	edit := db.Edit{ID: src.ID, Version: 1, Keeper: b.keeper.ID, Why: "odometer misread", Env: b.env}
	got, err := db.Sources.Correct(t.Context(), b.store, edit, map[string]string{"name": "Harbour Tile", "distance": "14.5"})
	require.NoError(t, err)
	require.Equal(t, "14.5", got.Values["distance"])
	require.Equal(t, 2, got.Version)

	history, err := b.store.HistoryOf(t.Context(), "source", src.ID)
	require.NoError(t, err)
	require.Len(t, history, 1)
	require.Equal(t, []db.Change{{Field: "distance", Old: "12 mi", New: "14.5 mi"}}, history[0].Changes)
	require.Equal(t, "odometer misread", history[0].Why)
	require.Equal(t, b.keeper.Name, history[0].Keeper)

	// Nothing different: no new version, no history.
	edit.Version = 2
	got, err = db.Sources.Correct(t.Context(), b.store, edit, got.Values)
	require.NoError(t, err)
	require.Equal(t, 2, got.Version)
}

func TestSecondWriterIsTold(t *testing.T) {
	t.Parallel()
	b := setup(t)
	src := b.add(t, db.Sources, map[string]string{"name": "Harbour Tile"})
	edit := db.Edit{ID: src.ID, Version: 1, Keeper: b.keeper.ID, Why: "asked again", Env: b.env}
	_, err := db.Sources.Correct(t.Context(), b.store, edit, map[string]string{"phone": "555 0100"})
	require.NoError(t, err)
	_, err = db.Sources.Correct(t.Context(), b.store, edit, map[string]string{"phone": "555 0199"})
	var conflict *db.ConflictError
	require.ErrorAs(t, err, &conflict)
	require.Equal(t, 2, conflict.Version)
	require.Equal(t, "555 0100", conflict.Now["phone"])
}

func TestCorrectionNeedsAReason(t *testing.T) {
	t.Parallel()
	b := setup(t)
	src := b.add(t, db.Sources, map[string]string{"name": "Harbour Tile"})
	for _, why := range []string{"", "   ", strings.Repeat("x", 2001), "null\x00byte"} {
		edit := db.Edit{ID: src.ID, Version: 1, Keeper: b.keeper.ID, Why: why, Env: b.env}
		_, err := db.Sources.Correct(t.Context(), b.store, edit, map[string]string{"phone": "555 0100"})
		var faults db.FieldErrors
		require.ErrorAs(t, err, &faults, "why %q", why)
		require.NotNil(t, faults.For("why"))
	}
}

func TestStrikingAPickupStrikesWhatHangsOnIt(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	board := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48"})
	sums, err := b.store.PickupSums(t.Context())
	require.NoError(t, err)
	require.Len(t, sums, 1)
	pickup := sums[0].ID

	edit := db.Edit{ID: pickup, Version: 1, Keeper: b.keeper.ID, Why: "entered twice", Env: b.env}
	require.NoError(t, db.Pickups.Strike(t.Context(), b.store, edit))
	stock, err := b.store.Stock(t.Context(), db.StockFilter{})
	require.NoError(t, err)
	require.Empty(t, stock)
	got, err := db.Boards.Load(t.Context(), b.store, board.ID, b.env)
	require.NoError(t, err)
	require.True(t, got.Struck())

	edit.Version = 2
	require.NoError(t, db.Pickups.Restore(t.Context(), b.store, edit))
	stock, err = b.store.Stock(t.Context(), db.StockFilter{})
	require.NoError(t, err)
	require.Len(t, stock, 1, "restoring brings back what fell with it")
}

func TestNoRightToDelete(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, sql := range []string{"DELETE FROM source", "TRUNCATE source", "DELETE FROM history", "UPDATE history SET why = 'x'", "DROP TABLE source"} {
		_, err := b.store.Pool().Exec(t.Context(), sql)
		require.Error(t, err, sql)
		require.Contains(t, err.Error(), "42501", sql) // insufficient_privilege
	}
}

func TestUnknownEntryIsNotFound(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, kind := range db.EntryKinds() {
		_, err := kind.Load(t.Context(), b.store, uuid.Must(uuid.NewV7()), b.env)
		require.True(t, errors.Is(err, db.ErrNotFound), "%s: %v", kind.Name(), err)
	}
	_, err := db.KindOf("hive")
	require.ErrorIs(t, err, db.ErrNotFound)
}
