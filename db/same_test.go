package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestKnownIDWithOtherWordsIsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	base := db.Base{ID: uuid.Must(uuid.NewV7()), KeeperID: b.keeper.ID}
	add := func(values map[string]string) error {
		_, err := db.Sources.Add(t.Context(), b.store, base, values, b.env)
		return err
	}
	require.NoError(t, add(map[string]string{"name": "Harbour Tile"}))
	require.NoError(t, add(map[string]string{"name": " Harbour  Tile "}), "the same words are the same entry")
	err := add(map[string]string{"name": "Quarry Lane"})
	var made *db.MadeError
	require.ErrorAs(t, err, &made)
	require.Equal(t, base.ID, made.ID)
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.Error(), "a source that says something else")

	edit := db.Edit{ID: base.ID, Version: 1, Keeper: b.keeper.ID, Why: "closed", Env: b.env}
	require.NoError(t, db.Sources.Strike(t.Context(), b.store, edit))
	require.ErrorAs(t, add(map[string]string{"name": "Harbour Tile"}), &made)
	require.True(t, made.Struck)
	require.Contains(t, made.Error(), "struck through")
}

func TestMomentsOfNowAreNoDifference(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	base := db.Base{ID: uuid.Must(uuid.NewV7()), KeeperID: b.keeper.ID}
	values := map[string]string{"lot": lot.Values["code"], "kind": "cargo", "value": "tile"}
	for range 2 {
		_, err := db.Findings.Add(t.Context(), b.store, base, values, b.env)
		require.NoError(t, err)
		b.env.Now = b.env.Now.Add(1e9)
	}
}

func TestNothingNewHangsOnAStruckEntry(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	edit := db.Edit{ID: lot.ID, Version: lot.Version, Keeper: b.keeper.ID, Why: "left at the dock", Env: b.env}
	require.NoError(t, db.Lots.Strike(t.Context(), b.store, edit))
	_, err := db.Findings.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"lot": lot.Values["code"], "kind": "cargo", "value": "tile"}, b.env)
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.Equal(t, "lot", faults[0].Field)
	require.Contains(t, faults[0].Problem, "struck through")
}

func TestRowsThatDifferFromTheBookAreTold(t *testing.T) {
	t.Parallel()
	b := setup(t)
	require.Empty(t, b.read(t, false, oldSheets...).Faults)
	report := b.read(t, false,
		sheet("sources.csv", "name,kind,phone\nHarbour Tile,flooring,555 0100\nTwin,a,\ntwin,b,\n"),
		sheet("pickups.csv", "source,day,minutes,distance\nHarbour Tile,2025-11-02,77,\n"))
	require.Empty(t, report.Faults)
	require.True(t, report.Stored)
	var told []string
	for _, d := range report.Differs {
		told = append(told, d.File+" "+d.Column+" "+d.Value+": "+d.Problem)
		require.NotEmpty(t, d.Remedy)
	}
	require.Equal(t, []string{"sources.csv phone 555 0100: the book has “”", "sources.csv name twin: the book has “Twin”", "sources.csv kind b: the book has “a”", "pickups.csv minutes 77: the book has “75”"}, told)
	require.Equal(t, 4, report.Differing())
	again := b.read(t, false, oldSheets...)
	require.Empty(t, again.Differs, "the same sheets say the same")
}

func TestRowAtFaultTellsItsUnknownReferenceToo(t *testing.T) {
	t.Parallel()
	b := setup(t)
	report := b.read(t, true, sheet("sources.csv", "name\nGood\n"),
		sheet("pickups.csv", "source,day,minutes\nNobody,2026-03-14,abc\nGood,nonsense,5\n"))
	var told []string
	for _, f := range report.Faults {
		told = append(told, f.Column+" "+f.Value)
	}
	require.Equal(t, []string{"minutes abc", "source Nobody", "day nonsense"}, told, "by row, every fault")
}

// TestRowsUnderARowAtFaultAreNotBlamed has one fault at the root of four rows.
func TestRowsUnderARowAtFaultAreNotBlamed(t *testing.T) {
	t.Parallel()
	b := setup(t)
	report := b.read(t, true, sheet("sources.csv", "name,distance\nYard,close by\n"),
		sheet("pickups.csv", "source,day,minutes\nyard,2026-03-14,75\nYard,2026-03-15,abc\n"),
		sheet("lots.csv", "label,pickup,kind\nA1,2026-03-14 Yard,crate\nA2,2026-03-16 Yard,crate\n"),
		sheet("findings.csv", "lot,kind,value\nA1,cargo,tile\n"))
	var told []string
	for _, f := range report.Faults {
		told = append(told, f.File+" "+f.Column)
	}
	require.Equal(t, []string{"sources.csv distance", "pickups.csv minutes", "lots.csv pickup"}, told)
	require.Equal(t, 3, report.FaultCount)
}
