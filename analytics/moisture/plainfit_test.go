package moisture_test

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
)

// dryingCase is one case of drying.json: R nls (Gauss-Newton) with its
// profile-t interval.
type dryingCase struct {
	Days            []float64  `json:"t_days"`
	Percent         []float64  `json:"mc"`
	EMC             float64    `json:"emc"`
	Target          float64    `json:"target"`
	M0              float64    `json:"M0"`
	K               float64    `json:"k"`
	RSS             float64    `json:"rss"`
	Sigma           float64    `json:"sigma"`
	SDM0            float64    `json:"se_M0"`
	SDLogK          float64    `json:"se_logk"`
	ReadyDay        float64    `json:"ready_day"`
	ReadySD         float64    `json:"se_ready_delta"`
	ReadyInterval80 [2]float64 `json:"ready80_profile"`
}

func dryingCases(t testing.TB) []dryingCase {
	t.Helper()
	text, err := os.ReadFile("../../testdata/stats/drying.json")
	require.NoError(t, err)
	var file struct {
		Cases []dryingCase `json:"cases"`
	}
	require.NoError(t, json.Unmarshal(text, &file))
	require.NotEmpty(t, file.Cases)
	return file.Cases
}

func TestFitPlainAgreesWithR(t *testing.T) {
	t.Parallel()
	for _, c := range dryingCases(t) {
		got, err := moisture.FitPlain(c.Days, c.Percent, c.EMC)
		require.NoError(t, err)
		day, sd := got.ReadyDay(c.Target)
		low, high, err := got.ReadyInterval(c.Target, 0.80)
		require.NoError(t, err)
		require.InEpsilonSlice(t,
			[]float64{c.M0, c.K, c.RSS, c.Sigma, c.SDM0, c.SDLogK, c.ReadyDay, c.ReadySD, c.ReadyInterval80[0], c.ReadyInterval80[1]},
			[]float64{got.M0, got.K, got.RSS, got.Sigma, got.SDM0, got.SDLogK, day, sd, low, high}, 1e-5)
	}
}
