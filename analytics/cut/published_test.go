package cut

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// cutting reads a file of testdata/cutting, and what it says of each case's
// best value under the given names.
func cutting(t testing.TB, name string) ([]Case, []int) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "cutting", name))
	require.NoError(t, err)
	cases, many, err := ParseCases(data)
	require.NoError(t, err)
	require.True(t, many)
	var file struct {
		Cases     []struct{ Solution struct{ Value int } }
		Instances []struct {
			Optimum   int
			BestKnown int `json:"best_known"`
		}
	}
	require.NoError(t, json.Unmarshal(data, &file))
	var best []int
	for _, c := range file.Cases {
		best = append(best, c.Solution.Value)
	}
	for _, c := range file.Instances {
		best = append(best, max(c.Optimum, c.BestKnown))
	}
	require.Len(t, best, len(cases))
	return cases, best
}

// solved solves in within a second limit and checks the plan.
func solved(t testing.TB, in Instance, limit time.Duration) Plan {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	plan, err := Solve(ctx, in, Options{})
	require.NoError(t, err)
	require.NoError(t, Check(in, plan))
	return plan
}

// TestPublished proves the known optimum of every reference case whose optimum
// is known. The sources are in testdata/cutting: own cases proven twice, the
// defect plates of Afsharian, Niknejad and Waescher (2014), gcut1-4 of Beasley
// (1985), constrained two-stage cases collected from the literature, and
// bin-packing cases of Falkenauer (1996).
func TestPublished(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"solved", "defect_plates", "gcut", "twostage_public", "one_dimensional"} {
		cases, best := cutting(t, name+".json")
		for i, c := range cases {
			t.Run(c.Instance.ID, func(t *testing.T) {
				plan := solved(t, c.Instance, 20*time.Second)
				require.Equal(t, best[i], plan.Value)
				require.Equal(t, Optimal, plan.Status)
			})
		}
	}
}

// TestLargeBatch plans the reference batch of 120 boards for a second and a
// half and asks for the gap that is promised for five.
func TestLargeBatch(t *testing.T) {
	t.Parallel()
	cases, best := cutting(t, "large.json")
	plan := solved(t, cases[0].Instance, 3*time.Second)
	require.Less(t, plan.Gap, 0.0005)
	require.GreaterOrEqual(t, plan.Bound, best[0], "no bound lies below a plan that is known")
}
