package mark_test

import (
	"strings"
	"testing"
	"time"

	"skepwood/analytics/mark"
)

// BenchmarkRead times one reading and reports its ratio to folding the same text
// to capitals and splitting it into words, the least any reader must do.
func BenchmarkRead(b *testing.B) {
	for name, text := range map[string]string{
		"clear": "IPPC DE-NW-49-1234 / HT DB",
		"worn":  "IPPC ?S-10?3 H?",
		"tag":   "CA-B 0.15 PCF UC4A GROUND CONTACT",
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				mark.Read(text)
			}
			perRead := float64(b.Elapsed()) / float64(b.N)
			const rounds = 20_000
			start, count := time.Now(), 0
			for range rounds {
				count += len(strings.Fields(strings.ToUpper(text)))
			}
			if count == 0 {
				b.Fatal("nothing was split")
			}
			b.ReportMetric(perRead/(float64(time.Since(start))/rounds), "ratio-to-splitting")
		})
	}
}

// BenchmarkReadMegabyte times the answer to a megabyte of text, of which all but
// MaxRunes characters are only counted.
func BenchmarkReadMegabyte(b *testing.B) {
	text := strings.Repeat("?S-1?3 H? ", 1<<20/10)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		mark.Read(text)
	}
}
