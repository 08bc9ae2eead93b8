package screen

import (
	"encoding/json"
	"slices"
	"testing"
	"time"
)

// benchSets is how many random finding sets one run of a benchmark judges.
const benchSets = 1_000_000

// BenchmarkJudge judges a million random finding sets a run (0 to 8 findings of
// all kinds, on lots and boards) and reports sets a second: with texts off the
// wood, which package mark must read, and with choices alone. The baseline of
// the ratio is decoding the same sets from JSON, which any request pays anyway.
func BenchmarkJudge(b *testing.B) {
	for name, texts := range map[string]bool{"with-texts": true, "choices-only": false} {
		b.Run(name, func(b *testing.B) {
			benchJudge(b, benchFindings(texts))
		})
	}
}

// benchFindings are distinct random sets that the benchmark goes through.
func benchFindings(texts bool) [][]Finding {
	pick := seededPicker(7)
	sets := make([][]Finding, 20_000)
	for i := range sets {
		sets[i] = pick.findings(8)
		if !texts {
			sets[i] = slices.DeleteFunc(sets[i], func(f Finding) bool { return f.Kind == "mark" || f.Kind == "tag" })
		}
	}
	return sets
}

func benchJudge(b *testing.B, sets [][]Finding) {
	b.ReportAllocs()
	for b.Loop() {
		for i := range benchSets {
			if !Judge(sets[i%len(sets)], Options{Today: today}).Verdict.Known() {
				b.Fatal("no verdict")
			}
		}
	}
	each := b.Elapsed().Seconds() / float64(b.N) / benchSets
	b.ReportMetric(1/each, "sets/s")
	b.ReportMetric(each/decodeSeconds(b, sets), "ratio-to-json-decode")
}

// decodeSeconds is how long it takes to decode one of the sets from JSON.
func decodeSeconds(b *testing.B, sets [][]Finding) float64 {
	b.Helper()
	texts := make([][]byte, len(sets))
	for i := range sets {
		texts[i] = asJSON(sets[i])
	}
	start := time.Now()
	for i := range texts {
		var into []Finding
		if err := json.Unmarshal(texts[i], &into); err != nil {
			b.Fatal(err)
		}
	}
	return time.Since(start).Seconds() / float64(len(texts))
}

// BenchmarkNextLook chooses a check for a held crate with an incomplete mark.
func BenchmarkNextLook(b *testing.B) {
	b.ReportAllocs()
	findings := []Finding{f("mark", "PL-12345 HT"), f("paint", "unknown")}
	for b.Loop() {
		if NextLook(findings, Prior{}, Options{}) == nil {
			b.Fatal("no check")
		}
	}
}

// BenchmarkDocument gives the size of the rule document beside the time to
// encode it once more.
func BenchmarkDocument(b *testing.B) {
	for b.Loop() {
		if len(tableText("rules.json")) == 0 {
			b.Fatal("no rules")
		}
	}
	b.ReportMetric(float64(len(Document())), "document-bytes")
}
