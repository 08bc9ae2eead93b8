package yield_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/yield"
)

// readReference reads one file of published values.
func readReference(t *testing.T, name string, into any) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "stats", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, into))
}

// TestBinomialIntervals compares with Newcombe 1998, table I, and R.
func TestBinomialIntervals(t *testing.T) {
	t.Parallel()
	var reference struct {
		Cases []struct {
			X, N     int
			Wilson   [2]float64
			Exact    [2]float64 `json:"clopper_pearson"`
			Jeffreys [2]float64
		}
	}
	readReference(t, "binomial_intervals.json", &reference)
	require.NotEmpty(t, reference.Cases)
	for _, c := range reference.Cases {
		for _, method := range []struct {
			name string
			of   func(x, n int, confidence float64) (yield.Bounds, error)
			want [2]float64
		}{{"wilson", yield.Wilson, c.Wilson}, {"exact", yield.ClopperPearson, c.Exact}, {"jeffreys", yield.Jeffreys, c.Jeffreys}} {
			got, err := method.of(c.X, c.N, 0.95)
			require.NoError(t, err)
			require.InDelta(t, method.want[0], got.Low, 1e-8, "%s %d/%d", method.name, c.X, c.N)
			require.InDelta(t, method.want[1], got.High, 1e-8, "%s %d/%d", method.name, c.X, c.N)
		}
	}
}

func TestBinomialIntervalsRefuse(t *testing.T) {
	t.Parallel()
	for _, bad := range []struct {
		x, n       int
		confidence float64
	}{{-1, 3, 0.9}, {4, 3, 0.9}, {0, -1, 0.9}, {1, 2, 0}, {1, 2, 1}, {1, 2, -0.5}} {
		for _, of := range []func(int, int, float64) (yield.Bounds, error){yield.Wilson, yield.ClopperPearson, yield.Jeffreys} {
			_, err := of(bad.x, bad.n, bad.confidence)
			require.ErrorIs(t, err, yield.ErrOption, "%+v", bad)
		}
	}
}

// TestBinomialIntervalsHold checks what every such interval owes: it lies in
// 0..1, holds the observed share, mirrors x and n−x, widens with confidence.
func TestBinomialIntervalsHold(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 400).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		confidence := rapid.Float64Range(0.5, 0.99).Draw(t, "confidence")
		for name, of := range map[string]func(int, int, float64) (yield.Bounds, error){
			"wilson": yield.Wilson, "exact": yield.ClopperPearson, "jeffreys": yield.Jeffreys,
		} {
			b, err := of(x, n, confidence)
			if err != nil || b.Low < 0 || b.High > 1 || !(b.Low < b.High) {
				t.Fatalf("%s %d/%d: %v %v", name, x, n, b, err)
			}
			if n > 0 && !b.Holds(float64(x)/float64(n)) {
				t.Fatalf("%s %d/%d: %v leaves out the observed share", name, x, n, b)
			}
			mirror, _ := of(n-x, n, confidence)
			if diff := mirror.High - (1 - b.Low); diff > 1e-9 || diff < -1e-9 {
				t.Fatalf("%s %d/%d: not symmetric by %g", name, x, n, diff)
			}
			wider, _ := of(x, n, (1+confidence)/2)
			if wider.Low > b.Low+1e-12 || wider.High < b.High-1e-12 {
				t.Fatalf("%s %d/%d: narrower at more confidence", name, x, n)
			}
		}
	})
}
