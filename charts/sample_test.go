package charts_test

import (
	"math"
	"time"

	"skepwood/charts"
)

// at returns a day of a made-up year.
func at(month time.Month, day int) time.Time {
	return time.Date(2025, month, day, 12, 0, 0, 0, time.UTC)
}

// samples are pictures of invented figures, one for each kind and one empty.
func samples() map[string]charts.Picture {
	stay := charts.Mark{Value: 8, Label: "stay home"}
	yields := charts.Yields{Unit: "board feet a drive", Reference: &stay, Rows: []charts.Interval{
		{Label: "Tile works", Note: "14 drives", Mean: 21.4, Lo50: 18.9, Hi50: 24, Lo90: 14.2, Hi90: 30.1},
		{Label: "Print shop by the canal, back yard", Note: "9 drives", Mean: 12.3, Lo50: 9.1, Hi50: 15.2, Lo90: 4.1, Hi90: 22.8},
		{Label: "Seed merchant", Note: "2 drives", Mean: 17, Lo50: 8, Hi50: 29, Lo90: 1, Hi90: 58, Thin: true},
		{Label: "Pump dealer", Note: "11 drives", Mean: 3.2, Lo50: 1.9, Hi50: 4.4, Lo90: -1.8, Hi90: 8.8},
		{Label: "Motor pool", Note: "no drive yet", Mean: math.NaN()},
	}}
	fates := charts.Fates{Unit: "board feet", Rows: []charts.Fate{
		{Label: "Tile works", Note: "299 board feet", Inside: 180, Outside: 60, Hold: 30, Never: 9, Lost: 20},
		{Label: "Print shop by the canal, back yard", Note: "111 board feet", Inside: 20, Outside: 31, Hold: 40, Never: 14, NotOurs: 6},
		{Label: "Seed merchant", Note: "34 board feet", Never: 34},
		{Label: "Motor pool"},
	}}
	value := charts.CumulativeValue{Unit: "USD"}
	v, c := 0.0, 0.0
	for i := range 40 {
		v, c = v+float64(i*37%53), c+float64(i*13%21)
		value.Points = append(value.Points, charts.Worth{When: at(1, 3+8*i), Value: v, Cost: c})
	}
	return map[string]charts.Picture{
		"yields": yields, "fates": fates, "value": value, "trips": trips(), "drying": drying(), "pit": pit(),
		"empty": charts.Yields{},
	}
}

func trips() charts.Trips {
	mean := charts.Interval{Mean: 17, Lo90: 11, Hi90: 24, Lo50: 14, Hi50: 20}
	t := charts.Trips{Unit: "board feet", Mean: &mean}
	for i := range 18 {
		trip := charts.Trip{When: at(1, 5+19*i), Value: float64(i*29%41) + 2, Empty: i%7 == 3, Estimated: i%4 == 1}
		if i >= 12 {
			trip.Planned = &charts.Interval{Mean: 19, Lo50: 12, Hi50: 26, Lo90: 4 + float64(i%3), Hi90: 38 - float64(i%4)}
		}
		t.Trips = append(t.Trips, trip)
	}
	return t
}

func drying() charts.DryingCurve {
	d := charts.DryingCurve{Target: &charts.Mark{Value: 14, Label: "target"}, ReadyFrom: at(6, 20), ReadyTo: at(8, 2)}
	for i := range 30 {
		day := float64(i * 7)
		median := 13 + 27*math.Exp(-day/60)
		d.Curve = append(d.Curve, charts.Forecast{When: at(2, 1+i*7), Median: median, Lo: median - 1 - day/80, Hi: median + 1 + day/50, EMC: 12.5 + math.Sin(day/30)})
	}
	for i, m := range []float64{40, 33, 29.5, 24, 22} {
		d.Readings = append(d.Readings, charts.Moisture{When: at(2, 2+i*14), Percent: m, Above: i == 0})
	}
	return d
}

func pit() charts.PIT {
	var p charts.PIT
	for i := range 160 {
		p.Values = append(p.Values, math.Mod(float64(i)*0.61803, 1))
	}
	for range 14 {
		p.Values = append(p.Values, 0.98)
	}
	return p
}
