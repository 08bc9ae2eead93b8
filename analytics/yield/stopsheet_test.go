package yield_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

func TestReadStops(t *testing.T) {
	t.Parallel()
	s, err := yield.ReadStops(strings.NewReader("Source,Value,sd,cash,volume,minutes,shop_minutes,lat,lon,note\n"+
		"a,55.50,20,1,0.4,30,60,40.1,-75.2,x\nb,-3,,,,25,,,,\n"), yield.SheetOptions{})
	require.NoError(t, err)
	require.Empty(t, s.Faults)
	require.Equal(t, []string{"note"}, s.Unknown)
	require.Equal(t, yield.Stop{
		ID: "a", Value: 5550, SD: 2000, Cash: 100, Volume: 0.4, Minutes: 30, ShopMinutes: 60, Place: yield.Place{Lat: 40.1, Lon: -75.2},
	}, s.Stops[0])
	require.Equal(t, []bool{true, false}, s.Places)
	require.Equal(t, []string{`row 3, "b": no volume`}, s.Fill(nil))
	require.Empty(t, s.Fill([]yield.Stop{{ID: "b", Value: 9, SD: 7, Skew: 2, Cash: 5, Volume: 0.3, Minutes: 99, ShopMinutes: 40}}))
	require.Equal(t, yield.Stop{ID: "b", Value: -300, SD: 7, Cash: 5, Volume: 0.3, Minutes: 25, ShopMinutes: 40}, s.Stops[1])
	_, err = yield.ReadStops(strings.NewReader(""), yield.SheetOptions{Volume: "cord"})
	require.ErrorIs(t, err, yield.ErrOption)
}

func TestReadStopsFaults(t *testing.T) {
	t.Parallel()
	for row, want := range map[string]string{
		",1,1,1,1,1,1,1,1":      "no source",
		"a,x,1,1,1,1,1,1,1":     "not a number",
		"a,1e3,1,1,1,1,1,1,1":   "not a number",
		"a,1,-1,1,1,1,1,1,1":    "negative",
		"a,1,1,-1,1,1,1,1,1":    "negative",
		"a,1,1,1,500,1,1,1,1":   "more than 120",
		"a,1,1,1,1,99999,1,1,1": "more than 10080",
		"a,1,1,1,1,1,-1,1,1":    "negative",
		"a,1,1,1,1,1,1,91,1":    "beyond 90 degrees",
		"a,1,1,1,1,1,1,1,-181":  "beyond 180 degrees",
		"a,1,1,1,1,1,1,1,":      "half a place",
		"ok,1,1,1,1,1,1,1,1":    "the stop is there twice",
		"a,99999999999,,,,,,,":  "more than any load is worth",
	} {
		s, err := yield.ReadStops(strings.NewReader("source,value,sd,cash,volume,minutes,shop_minutes,lat,lon\nok,1,1,1,1,1,1,1,1\n"+row+"\n"), yield.SheetOptions{})
		require.NoError(t, err)
		require.Len(t, s.Faults, 1, row)
		require.Equal(t, want, s.Faults[0].What, row)
		require.Equal(t, 3, s.Faults[0].Row)
	}
}

func TestReadDistances(t *testing.T) {
	t.Parallel()
	stops := []yield.Stop{{ID: "a"}, {ID: "b"}}
	d, err := yield.ReadDistances(strings.NewReader("from,to,miles\nHome,a,16.09344\na,home,8.04672\nb,a,1.609344\nb,elsewhere,3\n"),
		"home", stops, yield.SheetOptions{Distance: "km"})
	require.NoError(t, err)
	require.Empty(t, d.Faults)
	require.Equal(t, []string{`"home" to "b"`}, d.Missing)
	require.InDelta(t, 10, d.Miles[0][1], 1e-9)
	require.InDelta(t, 5, d.Miles[1][0], 1e-9, "a one-way street")
	require.InDelta(t, 1, d.Miles[1][2], 1e-9, "the way back")
	require.Zero(t, d.Miles[2][2])
	bad, err := yield.ReadDistances(strings.NewReader("from,to,miles\na,b,\na,,3\n"), "home", stops, yield.SheetOptions{})
	require.NoError(t, err)
	require.Len(t, bad.Faults, 2)
	require.Equal(t, "no distance", bad.Faults[0].What)
	require.Equal(t, "no to", bad.Faults[1].What)
}

// FuzzReadStops never panics, and plans whatever it lets through.
func FuzzReadStops(f *testing.F) {
	f.Add("source,value,volume,lat,lon\na,3,0.1,40,-75\nb,4,0.2,40.1,-75\n")
	f.Add("source;value\na;1,5\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := yield.ReadStops(strings.NewReader(text), yield.SheetOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Faults) > 0 || len(s.Stops) > 6 {
			return
		}
		if _, err := yield.PlanRound(yield.Round{Stops: s.Stops, Hours: 8}); err != nil {
			t.Fatal(err)
		}
	})
}
