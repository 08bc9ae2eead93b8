package wood_test

import (
	"strconv"
	"testing"
	"time"

	"skepwood/analytics/wood"
)

// baseline times one call of f over a fixed number of calls in this run.
func baseline(f func()) float64 {
	const calls = 200_000
	start := time.Now()
	for range calls {
		f()
	}
	return float64(time.Since(start).Nanoseconds()) / calls
}

func perCall(b *testing.B) float64 { return float64(b.Elapsed().Nanoseconds()) / float64(b.N) }

// BenchmarkParseLength prints how many decimal parses by strconv one shop
// fraction costs.
func BenchmarkParseLength(b *testing.B) {
	plain := baseline(func() { _, _ = strconv.ParseFloat("5.5", 64) })
	for b.Loop() {
		if _, err := wood.ParseLength("5 1/2", wood.UnitInch); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(perCall(b)/plain, "ratio-to-strconv")
}

// BenchmarkHumidityAt prints what the inverse costs against the equation.
func BenchmarkHumidityAt(b *testing.B) {
	forward := baseline(func() { _, _ = wood.EMC(20, 65) })
	for b.Loop() {
		if _, err := wood.HumidityAt(20, 12); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(perCall(b)/forward, "ratio-to-EMC")
}

// BenchmarkFindSpecies prints what a lookup by name costs against one by id.
func BenchmarkFindSpecies(b *testing.B) {
	byID := baseline(func() { _, _ = wood.SpeciesByID("pine_eastern_white") })
	for b.Loop() {
		if _, err := wood.FindSpecies("pine, eastern white"); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(perCall(b)/byID, "ratio-to-id")
}
