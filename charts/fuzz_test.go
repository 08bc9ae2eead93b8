package charts_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/charts"
)

// FuzzRender draws every kind of picture from any words and numbers: no panic,
// no error, strict XML, no text cut off or on another.
func FuzzRender(f *testing.F) {
	f.Add("Tile works", "9 drives", 1.0, 2.0, -3.0, int64(1_700_000_000), uint16(358))
	f.Add("", "", math.NaN(), math.Inf(1), math.Inf(-1), int64(0), uint16(240))
	f.Add("<script>alert(1)</script>&\x00\xff\n\u202e", "wide wide wide wide wide wide wide wide wide wide", 1e300, -1e300, 5e-324, int64(-1<<62), uint16(960))
	f.Add("MMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMM", "😀", 1e12, -1e12, 0.1, int64(1<<40), uint16(2400))
	f.Fuzz(func(t *testing.T, label, note string, a, b, c float64, when int64, width uint16) {
		style := charts.Style{Width: charts.MinWidth + int(width)%(charts.MaxWidth-charts.MinWidth)}
		moment, later := time.Unix(when, 0).UTC(), time.Unix(when, 0).UTC().Add(time.Duration(width)*time.Hour)
		mark := &charts.Mark{Value: b, Label: label}
		interval := charts.Interval{Label: label, Note: note, Mean: a, Lo50: b, Hi50: c, Lo90: c, Hi90: b, Thin: width%2 == 0}
		for _, pic := range []charts.Picture{
			charts.Yields{Title: note, Unit: note, Rows: []charts.Interval{interval, {Label: note, Mean: c}}, Reference: mark},
			charts.Fates{Title: label, Unit: label, Rows: []charts.Fate{{Label: label, Note: note, Inside: a, Outside: b, Hold: c, Never: 1, NotOurs: a, Lost: b}}},
			charts.CumulativeValue{Unit: label, Points: []charts.Worth{{When: moment, Value: a, Cost: b}, {When: later, Value: c, Cost: a}}},
			charts.Trips{Unit: label, Trips: []charts.Trip{{When: moment, Value: a}, {When: later, Value: b, Estimated: true}}, Mean: &interval},
			charts.DryingCurve{Title: label, Target: mark, ReadyFrom: moment, ReadyTo: later,
				Readings: []charts.Moisture{{When: moment, Percent: a, Below: true}, {When: later, Percent: b}},
				Curve:    []charts.Forecast{{When: moment, Median: a, Lo: b, Hi: c, EMC: b}, {When: later, Median: c, Lo: c, Hi: a, EMC: a}}},
			charts.PIT{Title: label, Values: []float64{a, b, c, 0.5}, Bins: int(width)},
		} {
			svg, err := charts.Render(pic, charts.SVG, style)
			require.NoError(t, err)
			requireTidy(t, parse(t, svg))
		}
	})
}
