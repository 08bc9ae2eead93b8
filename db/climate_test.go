package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

var airSheets = []db.Sheet{
	sheet("climates.csv", "place,month,temp,rh,first_day,last_day,days,source\nLean-to,Mar,45 F,70,,,,station table\nlean-to,4,9 C,66,,,,station table\nlean-to,3,7 C,64,2026-03-01,2026-03-13,13,logger file a.csv\n"),
	sheet("stacks.csv", "stack,where,stacked,cover,zone,season\nBarn pile,lean-to,2025-12-01,in a shed,inside,winter\n"),
	sheet("moves.csv", "stack,date,to,cover\nbarn pile,2026-01-10,loft,heated\n"),
	sheet("boards.csv", "lot,thickness,width,length,number,stack,layer,guess\nA1,3/4,5,48,S/1,barn pile,3,spruce_norway 60; pine_scots 25\nA1,3/4,5,48,S/2,barn pile,,\n"),
	sheet("readings.csv", "board,taken,raw,method,wet,dry\nS/1,2026-03-02 10:00,14.5,pin,,\nS/1,2026-03-03 10:00,,ovendry,414 g,360 g\nS/2,2026-03-03 10:00,14.5,pin,,\n"),
}

// TestAirAndMovesComeFromSheets reads every new kind and column from a sheet
// and gets the same bytes out again.
func TestAirAndMovesComeFromSheets(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.read(t, false, oldSheets...)
	report := b.read(t, false, airSheets...)
	require.Empty(t, report.Faults)
	for _, s := range b.read(t, false, airSheets...).Sheets {
		require.Zero(t, s.Added, "%s: importing twice adds nothing", s.File)
	}
	dir, first := b.export(t)
	require.Contains(t, first["climates.csv"], "lean-to,3,7 C,64,2026-03-01,2026-03-13,13,,logger file a.csv")
	require.Contains(t, first["moves.csv"], ",Barn pile,2026-01-10,loft,heated,")
	require.Contains(t, first["boards.csv"], ",Barn pile,3,,spruce_norway 60; pine_scots 25; else 15")
	require.Contains(t, first["readings.csv"], ",15,ovendry,,,,414 g,360 g,")
	second := setup(t)
	require.Empty(t, second.read(t, false, sheetsIn(t, dir)...).Faults)
	_, again := second.export(t)
	require.Equal(t, first, again)
	_, err := second.store.Recompute(t.Context(), nil)
	require.NoError(t, err)
	_, recomputed := second.export(t)
	require.Equal(t, first, recomputed)
}

// TestGuessWidensWhatAReadingMeans stores the mean over the woods a board may
// be, with their disagreement, and follows when the wood is named.
func TestGuessWidensWhatAReadingMeans(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.read(t, false, oldSheets...)
	b.read(t, false, airSheets...)
	readings := func(label string) []db.Reading {
		var id [16]byte
		require.NoError(t, b.store.Pool().QueryRow(t.Context(), "SELECT id FROM board WHERE label = $1", label).Scan(&id))
		out, err := b.store.ReadingsOf(t.Context(), id)
		require.NoError(t, err)
		return out
	}
	guessed, blank := readings("S/1")[1], readings("S/2")[0]
	require.Equal(t, moisture.MethodPin, guessed.Method)
	want, err := moisture.CorrectWith(guessed.Reading, moisture.Options{Guess: []moisture.SpeciesShare{{ID: "spruce_norway", P: 0.6}, {ID: "pine_scots", P: 0.25}, {ID: "", P: 0.15}}})
	require.NoError(t, err)
	require.InDelta(t, want.Percent, *guessed.Percent, 1e-9)
	require.InDelta(t, want.SD, *guessed.PercentSD, 1e-9)
	require.NotEqual(t, *blank.Percent, *guessed.Percent)
	require.InDelta(t, 15, *readings("S/1")[0].Percent, 1e-9, "two masses need no wood")

	board, err := db.Boards.Get(t.Context(), b.store, guessed.Board.ID)
	require.NoError(t, err)
	_, err = db.Boards.Correct(t.Context(), b.store, db.Edit{ID: board.ID, Version: board.Version, Keeper: b.keeper.ID, Why: "looked through the lens", Env: b.env}, map[string]string{"species": "spruce_norway"})
	require.NoError(t, err)
	named := guessed.Reading
	named.Species = "spruce_norway"
	want, err = moisture.Correct(named)
	require.NoError(t, err)
	after := readings("S/1")[1]
	require.InDelta(t, want.Percent, *after.Percent, 1e-9)
	require.Less(t, *after.PercentSD, *guessed.PercentSD)
}

// TestStackTakesTheAirOfItsPlaces follows a stack from a known place to one the
// book knows nothing of.
func TestStackTakesTheAirOfItsPlaces(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.read(t, false, oldSheets...)
	b.read(t, false, airSheets...)
	stacks, err := b.store.Drying(t.Context())
	require.NoError(t, err)
	require.Len(t, stacks, 1)
	d := stacks[0]
	require.Equal(t, "loft", d.Stands)
	require.Equal(t, "heated", d.Under)
	require.Len(t, d.Airs, 2)
	require.True(t, d.Airs[0].Known)
	require.False(t, d.Airs[1].Known)
	require.InDelta(t, moisture.DefaultAir().Mean, d.Climate.EMC[0], 1e-12)
	march, err := moisture.MonthlyClimate([12]float64{7, 7, 7, 7, 7, 7, 7, 7, 7, 7, 7, 7}, [12]float64{64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 64})
	require.NoError(t, err)
	require.InDelta(t, march.EMC[2], d.Climate.Earlier[0].Climate.EMC[2], 1e-9, "thirteen recorded days come before the usual mean")
	require.Equal(t, time.Date(2026, 1, 10, 0, 0, 0, 0, time.UTC), d.Climate.Earlier[0].Until)
	require.InDelta(t, 14, d.Target.Average, 0, "inside, in winter")
	require.Equal(t, d.Target.Mean(), d.Dates.Target, "ready is judged and foreseen by one figure")
}

// TestStruckFileIsReadAgain strikes a month of a logger and reads its file once
// more.
func TestStruckFileIsReadAgain(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var rows []moisture.LoggerRow
	for i := range 24 * 10 {
		rows = append(rows, moisture.LoggerRow{Line: i + 2, At: time.Date(2026, 2, 1, i, 0, 0, 0, time.UTC), TempC: 5 + float64(i%5), RH: 60})
	}
	in := db.LoggerImport{Place: "loft", File: "a.csv", Parsed: moisture.LoggerFile{Rows: rows}}
	got, err := b.store.ImportLogger(t.Context(), db.Base{KeeperID: b.keeper.ID}, in)
	require.NoError(t, err)
	require.Len(t, got.Added, 1)
	require.Equal(t, 10, got.Added[0].Days)
	got, err = b.store.ImportLogger(t.Context(), db.Base{KeeperID: b.keeper.ID}, in)
	require.NoError(t, err)
	require.Empty(t, got.Added)
	require.Len(t, got.Left, 1)
	var id [16]byte
	require.NoError(t, b.store.Pool().QueryRow(t.Context(), "SELECT id FROM climate").Scan(&id))
	require.NoError(t, db.Climates.Strike(t.Context(), b.store, db.Edit{ID: id, Version: 1, Keeper: b.keeper.ID, Why: "hung in the sun", Env: b.env}))
	got, err = b.store.ImportLogger(t.Context(), db.Base{KeeperID: b.keeper.ID}, in)
	require.NoError(t, err)
	require.Len(t, got.Added, 1)
	airs, err := b.store.Airs(t.Context())
	require.NoError(t, err)
	require.Len(t, airs["loft"].Months, 1)
	require.True(t, airs["loft"].Known)
}

// TestClimateOfRecordsIsWhole tries days that do not fit together.
func TestClimateOfRecordsIsWhole(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, c := range []struct{ field, first, last, days, month string }{
		{"first_day", "", "2026-02-10", "3", "2"}, {"last_day", "2026-02-10", "", "3", "2"}, {"first_day", "", "", "3", "2"},
		{"last_day", "2026-02-10", "2026-02-09", "1", "2"}, {"month", "2026-02-10", "2026-02-12", "3", "3"}, {"month", "2026-01-30", "2026-02-02", "4", "1"},
		{"days", "2026-02-10", "2026-02-12", "4", "2"}, {"days", "2026-02-10", "2026-02-12", "", "2"},
	} {
		_, err := db.Climates.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"place": "loft", "month": c.month, "temperature": "50 F", "humidity": "60", "first_day": c.first, "last_day": c.last, "days": c.days}, b.env)
		var faults db.FieldErrors
		require.ErrorAs(t, err, &faults, "%v", c)
		require.NotNil(t, faults.For(c.field), "%v: %v", c, faults)
	}
}
