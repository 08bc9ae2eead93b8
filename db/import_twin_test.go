package db_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// TestRowsFarApartAreToldOfEachOther has entries twice in sheets far longer than
// a batch, with neither code nor name, by id and by label, in one file and in
// two: each is told of the row that brought it, none of the book, which has none.
func TestRowsFarApartAreToldOfEachOther(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.boardOf(t, b.lot(t), 12, 100, nil)
	const n = 31_000
	reading := func(i int, degrees string) string {
		return fmt.Sprintf("%s,%s,12,%s\n", board.Code, testNow.Add(-time.Duration(i)*time.Second).Format(time.RFC3339), degrees)
	}
	var long, labels strings.Builder
	long.WriteString("board,taken,raw,temperature\n")
	labels.WriteString("name,kind\n")
	for i := range n {
		long.WriteString(reading(i, "18 C"))
		fmt.Fprintf(&labels, "Yard %d,first\n", i)
	}
	long.WriteString(reading(0, "19 C") + reading(n-1, "18 C") + reading(6000, "20 C"))
	labels.WriteString("yard 7,last\n")
	short := "board,taken,raw,temperature\n" + reading(25_000, "21 C") + reading(n, "18 C")
	id := uuid.NewString()
	named := "id,name\n" + id + ",Dock\n" + strings.Repeat(",\n", 3) + uuid.NewString() + ",Pier\n"

	sheets := []db.Sheet{sheet("sources.csv", labels.String()), sheet("more/sources.csv", named+id+",Quay\n"), sheet("readings.csv", long.String()), sheet("late/readings.csv", short)}
	report := b.read(t, true, sheets...)
	require.Empty(t, report.Faults)
	var told []string
	for _, d := range report.Differs {
		told = append(told, fmt.Sprintf("%s %d %s %s: %s", d.File, d.Row, d.Column, d.Value, d.Problem))
	}
	require.Equal(t, []string{
		"sources.csv 31002 name yard 7: row 9 of this sheet has the same name and says “Yard 7”",
		"sources.csv 31002 kind last: row 9 of this sheet has the same name and says “first”",
		"more/sources.csv 7 name Quay: row 2 of this sheet has the same id and says “Dock”",
		"readings.csv 31002 temperature 66.2 F: row 2 of this sheet is the same entry and says “64.4 F”",
		"readings.csv 31004 temperature 68 F: row 6002 of this sheet is the same entry and says “64.4 F”",
		"late/readings.csv 2 temperature 69.8 F: row 25002 of readings.csv is the same entry and says “64.4 F”",
	}, told)
	counts := func(report *db.ImportReport) (out [][3]int) {
		for _, s := range report.Sheets {
			out = append(out, [3]int{s.Added, s.Already, s.Twice})
		}
		return out
	}
	require.Equal(t, [][3]int{{n, 0, 1}, {2, 0, 1}, {n, 0, 3}, {1, 0, 1}}, counts(report))

	// Once stored, they are the book's, and the rows that differ are told of it.
	require.Empty(t, b.read(t, false, sheets...).Faults)
	again := b.read(t, false, sheets...)
	require.Equal(t, [][3]int{{0, n + 1, 0}, {0, 3, 0}, {0, n + 3, 0}, {0, 2, 0}}, counts(again))
	for _, d := range again.Differs {
		require.Contains(t, d.Problem, "the book has")
	}
}

// TestRowsCountAsSpreadsheetsDo has empty lines before and between rows, rows of
// nothing but separators, and breaks within cells.
func TestRowsCountAsSpreadsheetsDo(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for text, row := range map[string]int{
		"name,distance\nGood,1\nBad,far\n":                               3,
		"name,distance\n\n\nGood,1\n\nBad,far\n":                         6,
		"\n\nname,distance\nBad,far\n":                                   4,
		"name,distance\n,\n \nBad,far\n":                                 4,
		"name,distance,notes\nGood,1,\"two\nlines\"\nBad,far,\n":         3,
		"name,distance,notes\n\"Good\",1,\"two\n\nlines\"\n\nBad,far,\n": 4,
		"name,notes,distance\r\nGood,\"a\r\nb\",1\r\n\r\nBad,,far\r\n":   4,
		"name,distance\n\"two\nlines\",1\n":                              2,
	} {
		report := b.read(t, true, sheet("sources.csv", text))
		require.Len(t, report.Faults, 1, "%.60q", text)
		require.Equal(t, row, report.Faults[0].Row, "%.60q: %v", text, report.Faults)
	}
}
