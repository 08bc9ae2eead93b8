package moisture_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

var metric = moisture.DryUnits{Temperature: wood.UnitCelsius, Length: wood.UnitMillimetre}

func dryFile(t testing.TB, text string) moisture.DryFile {
	t.Helper()
	f, err := moisture.ParseDryFile(text, metric)
	require.NoError(t, err)
	return f
}

func TestParseDryFile(t *testing.T) {
	t.Parallel()
	f := dryFile(t, "# a stack\nDate; MC (%); Temp; Species; Thickness\n2026-03-01;28,5;7;Norway spruce;22\n2026-03-09 14:00;22;;;\n")
	require.True(t, f.Dated)
	require.Len(t, f.Rows, 2)
	require.InDelta(t, 28.5, f.Rows[0].Percent, 0)
	require.InDelta(t, 7, *f.Rows[0].TempC, 0)
	require.Equal(t, "spruce_norway", f.Rows[0].Species)
	require.InDelta(t, 22, f.Rows[0].ThicknessMM, 0)
	require.Nil(t, f.Rows[1].TempC)
	require.Equal(t, time.Date(2026, 3, 9, 14, 0, 0, 0, time.UTC), f.Rows[1].At)
	days := dryFile(t, "percent,day\n28,0\n24,3.5\n")
	require.False(t, days.Dated)
	require.Equal(t, 84*time.Hour, days.Rows[1].At.Sub(moisture.Epoch()))
}

func TestParseDryFileRefuses(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"":                                  "first line",
		"day\n1\n":                          "no column percent",
		"day,percent\n":                     "no reading",
		"day,percent\n-1,20\n":              "line 2, day",
		"day,percent\nsoon,20\n":            "line 2, day",
		"day,percent\n1,20\n2026-01-01,3\n": "line 3, day: dates and numbers of days are mixed",
		"day,percent\n1,wet\n":              "line 2, percent",
		"day,percent,temp\n1,20,hot\n":      "line 2, temperature",
		"day,percent,species\n1,20,oak\n":   "line 2, species",
		"day,percent,thickness\n1,20,fat\n": "line 2, thickness",
		"day,percent\n1\n":                  "wrong number of fields",
		strings.Repeat("x", 5<<20):          "MiB",
	} {
		_, err := moisture.ParseDryFile(text, metric)
		require.ErrorIs(t, err, moisture.ErrDryFile)
		require.ErrorContains(t, err, want)
	}
}

func TestAskDryIsFitAndReady(t *testing.T) {
	t.Parallel()
	c := dryingCases(t)[0]
	f := dryFile(t, "day,percent\n0,37.5\n7,33.5\n16,27.1\n27,21.4\n41,17.8\n")
	a, err := moisture.AskDry(moisture.DryQuestion{File: f, Air: moisture.Estimate{Mean: 9, SD: 0.001}, Target: 12})
	require.NoError(t, err)
	require.Equal(t, 5, a.Readings)
	require.False(t, a.Corrected)
	require.Equal(t, moisture.StateDates, a.State)
	require.InDelta(t, c.ReadyDay, *a.Likely.Day, 1.5)
	require.InEpsilon(t, c.K, a.Plain.Rate, 1e-5)
	require.InEpsilon(t, c.ReadyDay, *a.Plain.ReadyDay, 1e-5)
	require.Less(t, *a.NotBefore.Day, *a.Likely.Day)
	require.Less(t, *a.Likely.Day, *a.By.Day)
	require.Less(t, a.HalfTime[0], a.HalfTime[1])
	_, err = json.Marshal(a)
	require.NoError(t, err)
}

func TestAskDryCorrectsWhatNamesAWood(t *testing.T) {
	t.Parallel()
	f := dryFile(t, "date,percent,temp,species\n2026-03-01,24,4,Scots pine\n2026-03-15,18,8,Scots pine\n2026-04-02,15,12,Scots pine\n")
	a, err := moisture.AskDry(moisture.DryQuestion{File: f})
	require.NoError(t, err)
	require.True(t, a.Corrected)
	require.Greater(t, a.Rows[0].Corrected.Percent, 24.5, "cold wood reads too dry")
	require.NotEmpty(t, a.Rows[0].Corrected.Steps)
	require.NotEmpty(t, a.Likely.Date)
	asIs, err := moisture.AskDry(moisture.DryQuestion{File: f, AsIs: true})
	require.NoError(t, err)
	require.InDelta(t, 24, asIs.Rows[0].Corrected.Percent, 0)
	for name, q := range map[string]moisture.DryQuestion{
		"no readings": {}, "target": {File: f, Target: 500}, "air": {File: f, Air: moisture.Estimate{Mean: 50, SD: 1}},
		"species": {File: f, Species: "plastic"},
	} {
		_, err := moisture.AskDry(q)
		require.Error(t, err, name)
	}
}

func FuzzParseDryFile(f *testing.F) {
	f.Add("day,percent\n0,28\n7,24\n")
	f.Add("Date;MC %;Temp\n2026-03-01;28,5;7 C\n")
	f.Add("day,percent,species,thickness\n0,28,white oak,1\n")
	f.Add("\ufeffpercent\tday\tspecies\n\"28\"\t0\t\n")
	f.Fuzz(func(t *testing.T, text string) {
		file, err := moisture.ParseDryFile(text, metric)
		if err != nil {
			require.ErrorIs(t, err, moisture.ErrDryFile)
			return
		}
		require.NotEmpty(t, file.Rows)
		// Whatever was read has an answer or an error, never a panic, and the
		// answer can be written down.
		a, err := moisture.AskDry(moisture.DryQuestion{File: file})
		if err != nil {
			return
		}
		_, err = json.Marshal(a)
		require.NoError(t, err)
	})
}

func TestAirOfADryQuestion(t *testing.T) {
	t.Parallel()
	air, err := moisture.AirFrom(20, 65)
	require.NoError(t, err)
	require.InDelta(t, 12.00, air.Mean, 0.01) // Wood handbook eq. 4-5
	require.Positive(t, air.SD)
	_, err = moisture.AirFrom(20, 165)
	require.ErrorIs(t, err, wood.ErrRange)
	a, err := moisture.AskDry(moisture.DryQuestion{File: dryFile(t, "day,percent\n0,28\n9,23\n")})
	require.NoError(t, err)
	require.InDelta(t, moisture.DefaultAir().Mean, a.Air.Mean, 1)
}
