package yield_test

import (
	"encoding/csv"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

var update = flag.Bool("update", false, "write the golden figures anew")

// goldenRows are the figures of one small book that must not change unnoticed.
func goldenRows(t *testing.T) [][]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "yield", "trips.csv"))
	require.NoError(t, err)
	sheet, err := yield.ReadTrips(strings.NewReader(string(text)), yield.SheetOptions{})
	require.NoError(t, err)
	require.Empty(t, sheet.Faults)
	m := fit(t, sheet.Pickups, yield.Options{
		Today: day("2025-04-05"), Prices: plainPrices, Sources: []yield.Source{{ID: "Brewery", Kind: "drinks", Miles: 11}}, Seed: 1,
	})
	rows := [][]string{{"source", "mean", "low90", "high90", "expected_sd", "pays", "empty", "share", "usable_m3", "minutes", "premium"}}
	answers := m.Answers()
	premium := map[string]float64{}
	for _, c := range answers.Next.Choices {
		premium[c.SourceID] = c.Premium
	}
	for _, a := range answers.Sources {
		row := []string{a.SourceID}
		for _, x := range []float64{
			a.Next.Mean, a.Next.Most.Low, a.Next.Most.High, a.Expected.SD, a.Pays, a.EmptyChance.Value, a.UsableShare.Value, a.Usable.Mean, a.Minutes,
			premium[a.SourceID],
		} {
			row = append(row, strconv.FormatFloat(x, 'g', 10, 64))
		}
		rows = append(rows, row)
	}
	return rows
}

// TestGolden compares one small book with the figures kept; -update writes them.
func TestGolden(t *testing.T) {
	t.Parallel()
	path := filepath.Join("..", "..", "testdata", "yield", "answers.csv")
	got := goldenRows(t)
	if *update {
		f, err := os.Create(path)
		require.NoError(t, err)
		require.NoError(t, csv.NewWriter(f).WriteAll(got))
		require.NoError(t, f.Close())
	}
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	want, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, got, len(want))
	require.Equal(t, want[0], got[0])
	for i := 1; i < len(want); i++ {
		require.Equal(t, want[i][0], got[i][0])
		for k := 1; k < len(want[i]); k++ {
			x, err := strconv.ParseFloat(want[i][k], 64)
			require.NoError(t, err)
			y, err := strconv.ParseFloat(got[i][k], 64)
			require.NoError(t, err)
			require.InDelta(t, x, y, 1e-6*(1+abs(x)), "%s of %s", want[0][k], want[i][0])
		}
	}
}

func abs(x float64) float64 { return max(x, -x) }
