package db_test

import (
	"fmt"
	"slices"
	"strings"
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
	require.Equal(t, []string{"sources.csv phone 555 0100: the book has “”", "sources.csv name twin: row 3 of this sheet has the same name and says “Twin”", "sources.csv kind b: row 3 of this sheet has the same name and says “a”", "pickups.csv minutes 77: the book has “75”"}, told)
	require.Equal(t, 4, report.Differing())
	again := b.read(t, false, oldSheets...)
	require.Empty(t, again.Differs, "the same sheets say the same")
}

// TestRowsThatShareACodeAreToldOfEachOther has keys twice in the files that the
// book does not have: within one sheet, in two files, and far apart.
func TestRowsThatShareACodeAreToldOfEachOther(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var far strings.Builder
	far.WriteString("name,kind\nYard,first\n")
	for i := range 5001 { // more than one batch
		fmt.Fprintf(&far, "Source %d,\n", i)
	}
	far.WriteString("yard,last\n")
	told := func(sheets ...db.Sheet) (out []string) {
		t.Helper()
		report := b.read(t, true, sheets...)
		for _, f := range append(report.Faults, report.Differs...) {
			require.NotContains(t, f.String(), "the book has")
			out = append(out, f.String())
		}
		require.Len(t, out, report.FaultCount+report.Differing())
		return out
	}
	root := []db.Sheet{sheet("sources.csv", "name\nYard\n"), sheet("pickups.csv", "source,day,minutes\nYard,2026-03-14,\n"), sheet("lots.csv", "label,pickup,kind\nA1,2026-03-14 Yard,crate\n")}
	with := func(more ...db.Sheet) []db.Sheet { return append(slices.Clone(root), more...) }
	one, two := uuid.NewString(), uuid.NewString()
	remedy := "; if they are two, give one of them another; if they are one, leave out the row that is wrong"
	for name, c := range map[string]struct {
		sheets []db.Sheet
		says   []string
	}{
		"label":         {with(sheet("boards.csv", "lot,number,thick,wide,long\nA1,7,3/4,5,48\nA1,8,3/4,5,48\nA1,7,3/4,4,48\n")), []string{`boards.csv, row 4, column width, value "4 in": row 2 of this sheet has the same label and says “5 in”` + remedy}},
		"two files":     {with(sheet("old/lots.csv", "label,pickup,kind\nB,2026-03-14 Yard,crate\nA1,2026-03-14 Yard,pallet\n")), []string{`old/lots.csv, row 3, column kind, value "pallet": row 2 of lots.csv has the same label and says “crate”` + remedy}},
		"far apart":     {[]db.Sheet{sheet("sources.csv", far.String())}, []string{`sources.csv, row 5004, column name, value "yard": row 2 of this sheet has the same name and says “Yard”` + remedy, `sources.csv, row 5004, column kind, value "last": row 2 of this sheet has the same name and says “first”` + remedy}},
		"other ids":     {with(sheet("boards.csv", "id,lot,number,thick,wide,long\n"+one+",A1,7,3/4,5,48\n"+two+",A1,7,3/4,5,48\n")), []string{`boards.csv, row 3, column label, value "7": is in row 2 of this sheet already; give one of the rows another, or leave out the row that is wrong`}},
		"same id":       {[]db.Sheet{sheet("sources.csv", "id,name\n"+one+",Yard\n"+one+",Dock\n")}, []string{`sources.csv, row 3, column name, value "Dock": row 2 of this sheet has the same id and says “Yard”` + remedy}},
		"several":       {with(sheet("new/pickups.csv", "source,day,minutes\nYard,2026-03-14,50\n")), []string{`new/pickups.csv, row 2, column minutes, value "50": row 2 of pickups.csv has the same source, day and visit and says “0”` + remedy}},
		"no difference": {with(sheet("boards.csv", "lot,number,thick,wide,long\nA1,7,3/4,5,48\nA1,7,3/4,5,48\n")), nil},
	} {
		require.Equal(t, c.says, told(c.sheets...), name)
	}

	// What the book has is still the book's.
	require.Empty(t, b.read(t, false, root...).Faults)
	report := b.read(t, false, sheet("boards.csv", "id,lot,number,thick,wide,long\n"+one+",A1,7,3/4,5,48\n"))
	require.Empty(t, report.Faults)
	report = b.read(t, false, sheet("boards.csv", "id,lot,number,thick,wide,long\n"+two+",A1,7,3/4,5,48\n"))
	require.Equal(t, "belongs to another entry of the book", report.Faults[0].Problem)
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
