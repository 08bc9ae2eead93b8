package demo_test

import (
	"context"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/db/dbtest"
	"skepwood/db/demo"
)

var template = dbtest.Template{Name: "book", Hash: db.SchemaHash(), Migrate: db.Migrate}

var today = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

func TestDemoIsABelievableYear(t *testing.T) {
	t.Parallel()
	store, err := db.Open(context.Background(), template.New(t), db.Options{Now: func() time.Time { return today }})
	require.NoError(t, err)
	t.Cleanup(store.Close)
	require.NoError(t, store.EnsureFigures(t.Context()))
	require.NoError(t, demo.Write(t.Context(), store))

	count := func(sql string) (n int) {
		require.NoError(t, store.Pool().QueryRow(t.Context(), sql).Scan(&n))
		return n
	}
	require.Equal(t, 9, count("SELECT count(*) FROM source"))
	require.InDelta(t, 80, count("SELECT count(*) FROM pickup"), 8)
	require.InDelta(t, 220, count("SELECT count(*) FROM lot"), 15)
	require.InDelta(t, 1000, count("SELECT count(*) FROM board WHERE parent_id IS NULL"), 60)
	require.Equal(t, 2500, count("SELECT count(*) FROM reading"))
	require.Greater(t, count("SELECT count(*) FROM pickup WHERE empty"), 5)
	require.Greater(t, count("SELECT count(*) FROM lot WHERE ownership_stop"), 0, "wood of a rental pool")
	require.Greater(t, count("SELECT count(*) FROM finding WHERE kind = 'mark' AND value LIKE '%MB%'"), 0, "fumigated lots")
	require.Equal(t, 1, count("SELECT count(*) FROM board b JOIN lot l ON l.id = b.lot_id WHERE b.verdict = 'never' AND l.verdict <> 'never'"), "one treated deck board among good ones")
	require.Greater(t, count("SELECT count(*) FROM board WHERE place = 'winter stack'"), 0)
	require.InDelta(t, 22, count("SELECT count(*) FROM stack"), 2)
	require.Greater(t, count("SELECT count(*) FROM stack WHERE taken_down IS NULL"), 3)
	require.Zero(t, count("SELECT count(*) FROM board WHERE (place LIKE '%stack%') <> (stack_id IS NOT NULL)"), "what lies in a stack is in one")
	for _, name := range []string{"stack A", "stack B", "winter stack"} {
		require.Greater(t, count("SELECT count(*) FROM board b JOIN stack s ON s.id = b.stack_id WHERE s.name = '"+name+"'"), 2, name)
	}
	for _, verdict := range []string{"inside", "outside", "hold", "never"} {
		require.Greater(t, count("SELECT count(*) FROM lot WHERE verdict = '"+verdict+"'"), 0, verdict)
	}
	require.Greater(t, count("SELECT count(*) FROM board WHERE looked_over"), 2, "boards looked over")
	require.GreaterOrEqual(t, count("SELECT count(*) FROM board WHERE parent_id IS NOT NULL"), 2, "a board cut in two")
	require.Equal(t, 2, count("SELECT count(*) FROM defect WHERE metal"), "nails still in")
	require.Greater(t, count("SELECT max(day) - min(day) FROM pickup"), 390, "fourteen months between the first and the last possible drive")
}

func TestSameSeedSameLog(t *testing.T) {
	t.Parallel()
	read := func(seed uint64) string {
		var all string
		for _, s := range demo.Sheets(today, seed) {
			in, err := s.Open()
			require.NoError(t, err)
			text, err := io.ReadAll(in)
			require.NoError(t, err)
			all += s.Name + string(text)
		}
		return all
	}
	require.Equal(t, read(1), read(1))
	require.NotEqual(t, read(1), read(2))
}
