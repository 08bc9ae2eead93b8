package charts_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/charts"
)

var (
	nan      = math.NaN()
	infinite = math.Inf(1)
)

func TestWords(t *testing.T) {
	t.Parallel()
	all := samples()
	for name, want := range map[string]string{
		"yields": "5 rows. Highest mean: Tile works with 21.4 board feet a drive, 90 % interval 14.2 to 30.1. Not enough evidence for 2 rows.",
		"fates":  "3 rows, 444 board feet in all: inside 45 %, outside 20 %, hold 16 %, never 13 %, not ours 1 %, lost 5 %.",
		"value":  "From 3 January 2025 to 11 November 2025: value won 1,035 USD, cost 396 USD. Value is ahead by 639 USD.",
		"trips":  "18 drives from 5 January 2025 to 24 November 2025, 3 of them empty-handed; the best 41 board feet on 18 May 2025. 4 of 6 drives fell inside the 90 % interval planned the day before. Mean 17, 90 % interval 11 to 24.",
		"drying": "5 readings; the last 22 % on 30 March 2025. Target 14 %. Ready between 20 June 2025 and 2 August 2025 with 90 %.",
		"pit":    "174 forecasts in 10 bars; 1 outside the 90 % range of 11 to 24 that honest forecasts give each bar.",
		"empty":  "No yields yet. Log a pickup with its boards, and its source appears here.",
	} {
		require.Equal(t, want, all[name].Words(), name)
	}
	eighty := charts.DryingCurve{Curve: []charts.Forecast{{When: at(1, 1), Median: 20, Lo: 18, Hi: 22}}, ReadyFrom: at(2, 1), ReadyTo: at(3, 1), Within: 80}
	require.Contains(t, eighty.Words(), "with 80 %")
}

// TestNothingToDraw wants words, not empty axes, from every picture that has no
// usable data.
func TestNothingToDraw(t *testing.T) {
	t.Parallel()
	when := at(1, 1)
	for name, pic := range map[string]charts.Picture{
		"yields": charts.Yields{}, "fates": charts.Fates{}, "value": charts.CumulativeValue{}, "trips": charts.Trips{},
		"drying": charts.DryingCurve{}, "pit": charts.PIT{},
		"value of nothing": charts.CumulativeValue{Points: []charts.Worth{{When: when, Value: nan}, {When: when, Cost: infinite}, {Value: 1}}},
		"trips of nothing": charts.Trips{Trips: []charts.Trip{{When: when, Value: 1e300}, {When: time.Time{}.AddDate(-5, 0, 0)}}},
		"pit out of range": charts.PIT{Values: []float64{-1, 2, nan}},
	} {
		svg, err := charts.Render(pic, charts.SVG, charts.Style{Width: 358})
		require.NoError(t, err, name)
		d := parse(t, svg)
		requireTidy(t, d)
		if name == "value of nothing" {
			// The third point is usable: year 1 is a date.
			continue
		}
		require.Contains(t, d.desc, "yet", name)
	}
}

// TestOneOfEach draws the smallest pictures: one row, one point, equal values.
func TestOneOfEach(t *testing.T) {
	t.Parallel()
	when := at(6, 1)
	for name, pic := range map[string]charts.Picture{
		"yield":      charts.Yields{Rows: []charts.Interval{{Label: "a", Mean: 5, Lo50: 5, Hi50: 5, Lo90: 5, Hi90: 5}}},
		"zero yield": charts.Yields{Rows: []charts.Interval{{}}},
		"fate":       charts.Fates{Rows: []charts.Fate{{Hold: 1e-9}}},
		"value":      charts.CumulativeValue{Points: []charts.Worth{{When: when, Value: 3, Cost: 3}}},
		"same day":   charts.CumulativeValue{Points: []charts.Worth{{When: when}, {When: when, Value: 3}}},
		"trip":       charts.Trips{Trips: []charts.Trip{{When: when, Empty: true}}},
		"reading":    charts.DryingCurve{Readings: []charts.Moisture{{When: when, Percent: 18, Below: true}}},
		"forecast":   charts.DryingCurve{Curve: []charts.Forecast{{When: when, Median: 18, Lo: 18, Hi: 18, EMC: nan}}},
		"pit":        charts.PIT{Values: []float64{1}, Bins: 2},
		"centuries":  charts.Trips{Trips: []charts.Trip{{When: time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC)}, {When: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}}},
		"years":      charts.Trips{Trips: []charts.Trip{{When: time.Date(1998, 1, 1, 0, 0, 0, 0, time.UTC)}, {When: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}}},
		"a week":     charts.Trips{Trips: []charts.Trip{{When: at(5, 1)}, {When: at(5, 8)}}},
		"two months": charts.Trips{Trips: []charts.Trip{{When: at(11, 20), Value: 1e-6}, {When: at(12, 40), Value: 2e-6}}},
		"millions":   charts.CumulativeValue{Points: []charts.Worth{{When: at(1, 1)}, {When: at(12, 1), Value: 9.9e11, Cost: -4e8}}},
	} {
		for _, width := range []int{charts.MinWidth, 358, 960} {
			svg, err := charts.Render(pic, charts.SVG, charts.Style{Width: width})
			require.NoError(t, err, name)
			requireTidy(t, parse(t, svg))
		}
	}
}

// TestMany draws more than a picture can hold: it says so and stays small.
func TestMany(t *testing.T) {
	t.Parallel()
	rows, fates := make([]charts.Interval, 5000), make([]charts.Fate, 5000)
	value, drives, drying := charts.CumulativeValue{}, charts.Trips{}, charts.DryingCurve{}
	for i := range 20_000 {
		when := at(1, 1).Add(time.Duration(i) * time.Hour)
		value.Points = append(value.Points, charts.Worth{When: when, Value: float64(i), Cost: 1})
		drives.Trips = append(drives.Trips, charts.Trip{When: when, Value: float64(i % 50)})
		drying.Curve = append(drying.Curve, charts.Forecast{When: when, Median: 20, Lo: 19, Hi: 21, EMC: 12})
		drying.Readings = append(drying.Readings, charts.Moisture{When: when, Percent: 20})
	}
	for _, pic := range []charts.Picture{charts.Yields{Rows: rows}, charts.Fates{Rows: fates}, value, drives, drying} {
		svg, err := charts.Render(pic, charts.SVG, charts.Style{Width: 358})
		require.NoError(t, err)
		require.Less(t, len(svg), 1_000_000)
	}
	svg, err := charts.Render(charts.Yields{Rows: rows}, charts.SVG, charts.Style{})
	require.NoError(t, err)
	require.Contains(t, string(svg), "The first 60 of 5,000 rows")
}

// TestOrder wants yields by mean and those without figures last, unless the
// caller ordered them.
func TestOrder(t *testing.T) {
	t.Parallel()
	y := charts.Yields{Rows: []charts.Interval{{Label: "low", Mean: 1}, {Label: "none", Mean: nan}, {Label: "high", Mean: 9}}}
	order := func() []string {
		svg, err := charts.Render(y, charts.SVG, charts.Style{})
		require.NoError(t, err)
		var out []string
		for _, w := range parse(t, svg).words {
			if w.text == "low" || w.text == "none" || w.text == "high" {
				out = append(out, w.text)
			}
		}
		return out
	}
	require.Equal(t, []string{"high", "low", "none"}, order())
	y.InOrder = true
	require.Equal(t, []string{"low", "none", "high"}, order())
}

// TestNumbersInWords reads amounts off the pictures' own words.
func TestNumbersInWords(t *testing.T) {
	t.Parallel()
	for mean, want := range map[float64]string{
		0: "0", 0.12345: "0.123", 1.006: "1.01", 12.34: "12.3", 1234.6: "1,235", 1e9: "1,000,000,000", -3.25: "−3.25", -1e-9: "0",
		99.96: "100", 0.00000123: "0.000001",
	} {
		y := charts.Yields{Rows: []charts.Interval{{Label: "x", Mean: mean, Lo90: mean, Hi90: mean, Lo50: mean, Hi50: mean}}}
		require.Contains(t, y.Words(), "with "+want+" ", "%v", mean)
	}
}
