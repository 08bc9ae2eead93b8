package db_test

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// TestWidthsMeasureTheBookAnew sets a kerf: usable volumes are those of the
// measurer with that kerf, recomputing changes nothing, and an export brings
// the width into another book.
func TestWidthsMeasureTheBookAnew(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.board(t, 22, 192, nil)
	widths, err := b.store.Widths(t.Context())
	require.NoError(t, err)
	require.Equal(t, db.Widths{Clearance: grade.DefaultClearance, RipKerf: wood.Inch / 8, CrosscutKerf: wood.Inch / 8}, widths)
	for _, info := range db.AllowanceInfos() {
		require.NotEmpty(t, info.Reason)
	}
	width := b.add(t, db.Allowances, map[string]string{"name": db.RipKerf, "size": "1/4 in", "note": "an old blade"})
	_, err = db.Allowances.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"name": db.RipKerf, "size": "1/4 in"}, b.env)
	require.ErrorContains(t, err, "is set already")
	opts := grade.HouseOptions()
	opts.RipKerf = wood.Inch / 4
	want, err := grade.UsableVolume(grade.Board{Thickness: board.Thickness, Width: board.Width, Length: board.Length}, opts)
	require.NoError(t, err)
	require.InDelta(t, float64(want.Clear), b.row(t, board.ID).UsableM3, 1e-15)
	_, err = b.store.Recompute(t.Context(), nil)
	require.NoError(t, err)
	require.InDelta(t, float64(want.Clear), b.row(t, board.ID).UsableM3, 1e-15)

	files := map[string]*bytes.Buffer{}
	require.NoError(t, b.store.Export(t.Context(), func(name string) (io.WriteCloser, error) {
		files[name] = new(bytes.Buffer)
		return closing{files[name]}, nil
	}))
	other := setup(t)
	var sheets []db.Sheet
	for _, name := range db.ExportFiles() {
		sheets = append(sheets, sheet(name, files[name].String()))
	}
	report, err := other.store.Import(t.Context(), sheets, db.ImportOptions{Keeper: other.keeper})
	require.NoError(t, err)
	require.Zero(t, report.FaultCount, "%v", report.Faults)
	require.InDelta(t, float64(want.Clear), other.row(t, board.ID).UsableM3, 1e-15)

	require.NoError(t, db.Allowances.Strike(t.Context(), b.store, db.Edit{ID: width.ID, Version: 1, Keeper: b.keeper.ID, Why: "new blade", Env: b.env}))
	usual, err := grade.UsableVolume(grade.Board{Thickness: board.Thickness, Width: board.Width, Length: board.Length}, grade.HouseOptions())
	require.NoError(t, err)
	require.InDelta(t, float64(usual.Clear), b.row(t, board.ID).UsableM3, 1e-15)
}

type closing struct{ io.Writer }

func (closing) Close() error { return nil }
