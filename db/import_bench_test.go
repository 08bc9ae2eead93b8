package db_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// boardSheet is a sheet of n boards of a lot; round keeps the rows of one sheet
// from being those of another.
func boardSheet(lot string, n, round int) db.Sheet {
	var rows strings.Builder
	rows.WriteString("label,lot,thickness,width,length\n")
	for i := range n {
		fmt.Fprintf(&rows, "%s/%d/%d,%s,1,4,40\n", lot, round, i, lot)
	}
	return sheet("boards.csv", rows.String())
}

// BenchmarkImportBoards imports a sheet of 500 boards into a lot that has
// 10,000; the ratio is to importing as many into a lot that has none.
func BenchmarkImportBoards(tb *testing.B) {
	b := setup(tb)
	b.fill(tb, 1, 10_000)
	owner := b.owner(tb)
	_, err := owner.Exec(context.Background(), "VACUUM ANALYZE")
	require.NoError(tb, err)
	var full string
	require.NoError(tb, owner.QueryRow(tb.Context(), "SELECT code FROM lot").Scan(&full))
	var times [2][]time.Duration
	tb.ResetTimer()
	for round := range tb.N {
		empty := b.add(tb, db.Lots, map[string]string{"pickup": testNow.AddDate(0, 0, -1).Format(time.DateOnly) + " Place 1", "kind": "crate"}).Values["code"]
		for i, lot := range []string{full, empty} {
			began := time.Now()
			report := b.read(tb, false, boardSheet(lot, 500, round))
			times[i] = append(times[i], time.Since(began))
			require.Equal(tb, 500, report.Sheets[0].Added)
		}
	}
	slices.Sort(times[0])
	slices.Sort(times[1])
	fullTime, emptyTime := times[0][tb.N/2], times[1][tb.N/2]
	tb.ReportMetric(fullTime.Seconds()*1000, "ms-median")
	tb.ReportMetric(fullTime.Seconds()/emptyTime.Seconds(), "ratio-to-empty-lot")
}
