package moisture_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
)

// loggerText writes hourly rows of a summer's first days, passed through change.
func loggerText(header string, rows int, change func(i int, at time.Time, c, rh float64) string) string {
	var b strings.Builder
	b.WriteString(header)
	for i := range rows {
		at := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(i) * time.Hour)
		c := 17 + 7*math.Sin(float64(i%24-9)*math.Pi/12) + 0.01*float64(i%7)
		rh := 65 - 15*math.Sin(float64(i%24-9)*math.Pi/12) + 0.1*float64(i%5)
		b.WriteString(change(i, at, c, rh))
	}
	return b.String()
}

func plainRow(_ int, at time.Time, c, rh float64) string {
	return fmt.Sprintf("%s,%.2f,%.1f\n", at.Format("2006-01-02 15:04"), c, rh)
}

func faultKinds(f moisture.LoggerFile) []moisture.LoggerFaultKind {
	out := []moisture.LoggerFaultKind{}
	for _, x := range f.Faults {
		out = append(out, x.Kind)
	}
	return out
}

func TestLoggerFaultsAreFound(t *testing.T) {
	t.Parallel()
	const header = "Time,Temperature (°C),Humidity (%)\n"
	fahrenheit := func(c float64) float64 { return c*1.8 + 32 }
	for name, c := range map[string]struct {
		text string
		want []moisture.LoggerFaultKind
		rows int
	}{
		"clean":         {loggerText(header, 72, plainRow), nil, 72},
		"no header, °C": {loggerText("", 72, plainRow), []moisture.LoggerFaultKind{moisture.FaultUnitUnsure}, 72},
		"°F by header": {loggerText("Date,Time,Temp (°F),RH %\n", 72, func(_ int, at time.Time, c, rh float64) string {
			return fmt.Sprintf("%s,%s,%.2f,%.1f\n", at.Format("2006-01-02"), at.Format("15:04"), fahrenheit(c), rh)
		}), []moisture.LoggerFaultKind{moisture.FaultUnit}, 72},
		"°F by value": {loggerText("", 72, func(_ int, at time.Time, c, rh float64) string {
			return plainRow(0, at, fahrenheit(c), rh)
		}), []moisture.LoggerFaultKind{moisture.FaultUnit}, 72},
		"°F from the 40th row on": {loggerText(header, 72, func(i int, at time.Time, c, rh float64) string {
			if i >= 40 {
				c = fahrenheit(c)
			}
			return plainRow(i, at, c, rh)
		}), []moisture.LoggerFaultKind{moisture.FaultUnitSwitch}, 72},
		"°F for a while": {loggerText(header, 72, func(i int, at time.Time, c, rh float64) string {
			if i >= 40 && i < 50 {
				c = fahrenheit(c)
			}
			return plainRow(i, at, c, rh)
		}), []moisture.LoggerFaultKind{moisture.FaultUnitSwitch, moisture.FaultUnitSwitch}, 72},
		"humidity as a fraction": {loggerText("time,temp_c,rh\n", 72, func(_ int, at time.Time, c, rh float64) string {
			return fmt.Sprintf("%s,%.2f,%.3f\n", at.Format(time.RFC3339), c, rh/100)
		}), []moisture.LoggerFaultKind{moisture.FaultUnit}, 72},
		"semicolons and decimal commas": {loggerText("Datum;Temperatur °C;Feuchte %\n", 72, func(_ int, at time.Time, c, rh float64) string {
			return fmt.Sprintf("%s;%s;%s\n", at.Format("02.01.2006 15:04"), comma(c), comma(rh))
		}), nil, 72},
		"a night is missing": {loggerText(header, 72, func(i int, at time.Time, c, rh float64) string {
			if i >= 20 && i < 32 {
				return ""
			}
			return plainRow(i, at, c, rh)
		}), []moisture.LoggerFaultKind{moisture.FaultGap}, 60},
		"stuck": {loggerText(header, 120, func(i int, at time.Time, c, rh float64) string {
			if i >= 40 && i < 100 {
				c, rh = 15, 60
			}
			return plainRow(i, at, c, rh)
		}), []moisture.LoggerFaultKind{moisture.FaultStuck}, 120},
		"backwards": {header + "2026-06-02 00:00,10,60\n2026-06-01 00:00,11,61\n", []moisture.LoggerFaultKind{moisture.FaultOrder}, 2},
		"twice":     {header + "2026-06-01 00:00,10,60\n2026-06-01 00:00,11,61\n", []moisture.LoggerFaultKind{moisture.FaultDuplicate}, 1},
		"words":     {header + "2026-06-01 00:00,10,60\n2026-06-01 01:00,battery,61\nlater,1,2\n", []moisture.LoggerFaultKind{moisture.FaultUnreadable, moisture.FaultUnreadable}, 1},
		"wet sensor": {header + "2026-06-01 00:00,10,60\n2026-06-01 01:00,10.5,101.5\n",
			[]moisture.LoggerFaultKind{moisture.FaultClipped}, 2},
		"no air": {header + "2026-06-01 00:00,10,60\n2026-06-01 01:00,10.5,140\n", []moisture.LoggerFaultKind{moisture.FaultImpossible}, 1},
		"exchanged": {loggerText("", 72, func(_ int, at time.Time, c, rh float64) string {
			return plainRow(0, at, rh+12, c)
		}), []moisture.LoggerFaultKind{moisture.FaultSwapped, moisture.FaultUnit}, 72},
		"day or month": {"03/04/2026 10:00,10,60\n", []moisture.LoggerFaultKind{moisture.FaultDates}, 1},
		"tomorrow":     {header + "2026-06-01 00:00,10,60\n2031-06-01 01:00,10.5,61\n", []moisture.LoggerFaultKind{moisture.FaultFuture}, 1},
	} {
		got, err := moisture.ParseLogger(c.text, moisture.LoggerOptions{Now: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)})
		require.NoError(t, err, name)
		if c.want == nil {
			c.want = []moisture.LoggerFaultKind{}
		}
		require.ElementsMatch(t, c.want, faultKinds(got), "%s: %v", name, got.Faults)
		require.Len(t, got.Rows, c.rows, name)
		if name != "exchanged" {
			for _, r := range got.Rows {
				require.True(t, r.TempC > 5 && r.TempC < 26 && r.RH > 45, "%s: %+v", name, r)
			}
		}
	}
}

func comma(v float64) string { return strings.Replace(fmt.Sprintf("%.2f", v), ".", ",", 1) }

func TestLoggerReadsAmericanAndEuropeanDates(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]time.Time{
		"6/13/2026 1:30 PM,10,60\n":                                       time.Date(2026, 6, 13, 13, 30, 0, 0, time.UTC),
		"13/6/2026 13:30,10,60\n":                                         time.Date(2026, 6, 13, 13, 30, 0, 0, time.UTC),
		"13.06.2026 13:30,10,60\n":                                        time.Date(2026, 6, 13, 13, 30, 0, 0, time.UTC),
		"2026-06-13T13:30:00+02:00,10,60\n":                               time.Date(2026, 6, 13, 11, 30, 0, 0, time.UTC),
		"1/2/2026 0:00,10,60\n1/3/2026 0:00,10,60\n2/1/2026 0:00,10,60\n": time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC),
	} {
		got, err := moisture.ParseLogger(text, moisture.LoggerOptions{})
		require.NoError(t, err, text)
		require.True(t, want.Equal(got.Rows[0].At), "%s: %s", text, got.Rows[0].At)
	}
}

func TestLoggerRefuses(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "\n\n", "hello", "a,b,c\n", "\"", "2026-01-01 00:00,900,900\n"} {
		_, err := moisture.ParseLogger(text, moisture.LoggerOptions{})
		require.ErrorIs(t, err, moisture.ErrLogger, "%q", text)
	}
}

func TestClimateFromRecords(t *testing.T) {
	t.Parallel()
	file, err := moisture.ParseLogger(loggerText("time,temp °C,rh %\n", 24*45, plainRow), moisture.LoggerOptions{})
	require.NoError(t, err)
	c, err := moisture.ClimateFrom(file.Rows)
	require.NoError(t, err)
	require.Equal(t, 30, c.Days[5])
	require.Equal(t, 15, c.Days[6])
	require.False(t, c.Filled[5] || c.Filled[6])
	require.True(t, c.Filled[0])
	// 17 °C and 65 % are about 12 % (Wood handbook Table 4-2).
	require.InDelta(t, 12.2, c.Climate.EMC[5], 0.6)
	require.InDelta(t, c.Climate.EMC[5], c.Climate.EMC[4], 1e-9, "May takes June's")
	require.Greater(t, c.Climate.SD, 1.0)
	_, err = moisture.ClimateFrom(file.Rows[:48])
	require.ErrorIs(t, err, moisture.ErrLogger)
}

func FuzzParseLogger(f *testing.F) {
	f.Add("Time,Temperature (°C),Humidity (%)\n2026-06-01 00:00,10,60\n", false)
	f.Add("6/13/2026 1:30 PM\t50\t0.6\n", true)
	f.Add("Datum;Temp;Feuchte\n13.06.2026 13:30;10,5;60,1\n", false)
	f.Add("1/2/26 0:00,1e308,NaN\n\"", true)
	f.Fuzz(func(t *testing.T, text string, monthFirst bool) {
		got, err := moisture.ParseLogger(text, moisture.LoggerOptions{MonthFirst: monthFirst})
		if err != nil {
			require.ErrorIs(t, err, moisture.ErrLogger)
			return
		}
		require.NotEmpty(t, got.Rows)
		for i, r := range got.Rows {
			require.True(t, r.RH >= 0 && r.RH <= 100 && r.TempC > -60 && r.TempC < 70, "%+v", r)
			if i > 0 {
				require.True(t, r.At.After(got.Rows[i-1].At))
			}
		}
		if _, err := moisture.ClimateFrom(got.Rows); err != nil {
			require.ErrorIs(t, err, moisture.ErrLogger)
		}
	})
}
