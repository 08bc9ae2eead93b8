package charts_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/charts"
)

// even are n values spread evenly from low to high.
func even(low, high float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = low + (high-low)*(float64(i)+0.5)/float64(n)
	}
	return out
}

func TestPITReadsItself(t *testing.T) {
	t.Parallel()
	join := func(parts ...[]float64) (all []float64) {
		for _, p := range parts {
			all = append(all, p...)
		}
		return all
	}
	for name, c := range map[string]struct {
		values []float64
		says   string
	}{
		"none":        {nil, "Too few to tell"},
		"few":         {even(0, 0.1, 19), "19 forecasts"},
		"honest":      {even(0, 1, 60), "Nothing speaks against"},
		"narrow":      {join(even(0, 0.1, 15), even(0.9, 1, 15), even(0.1, 0.9, 30)), "too narrow"},
		"wide":        {join(even(0.4, 0.6, 30), even(0, 1, 30)), "too wide"},
		"hopeful":     {join(even(0.1, 0.4, 40), even(0.6, 0.9, 15)), "hoped for too much"},
		"fearful":     {join(even(0.1, 0.4, 15), even(0.6, 0.9, 40)), "hoped for too little"},
		"not numbers": {join([]float64{-1, 7}, even(0, 1, 30)), "Nothing speaks against"},
	} {
		require.Contains(t, charts.PIT{Values: c.values}.Reading(), c.says, name)
	}
	svg, err := charts.Render(charts.PIT{Title: "Trips", Values: even(0, 1, 30), What: "trip"}, charts.SVG, charts.Style{})
	require.NoError(t, err)
	require.Contains(t, string(svg), "place of the trip in its forecast")
	require.NotContains(t, string(svg), "reading")
}
