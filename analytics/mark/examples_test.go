package mark_test

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/mark"
)

// example is one row of kind example of testdata/marks.csv, whose source column
// names where each comes from.
type example struct {
	id, text, country, producer, treatment, extra string
}

func examples(t *testing.T) []example {
	t.Helper()
	f, err := os.Open("testdata/marks.csv")
	require.NoError(t, err)
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var out []example
	for _, l := range lines {
		if l[0] == "example" {
			out = append(out, example{l[1], l[2], l[4], l[5], l[6], l[7]})
		}
	}
	return out
}

// extras says what the extra column of an example means for a reading.
var extras = map[string]func(r mark.Reading) bool{
	"":           func(r mark.Reading) bool { return !r.Debarked && !r.Dunnage },
	"agency":     func(r mark.Reading) bool { return r.Agency == "LOGO" },
	"DB":         func(r mark.Reading) bool { return r.Debarked },
	"DUN":        func(r mark.Reading) bool { return r.Dunnage },
	"no symbol":  func(r mark.Reading) bool { return r.Symbol == "" && r.Certainty["symbol"] == mark.CertaintyMissing },
	"UK":         func(r mark.Reading) bool { return r.CountryStatus == mark.Reserved && has(r.Extra, "UK") },
	"EU":         func(r mark.Reading) bool { return r.CountryStatus == mark.Reserved && has(r.Extra, "EU") },
	"IPCC":       func(r mark.Reading) bool { return r.Symbol == "IPCC" && advises(r, "misspelling") },
	"MT":         func(r mark.Reading) bool { return has(r.Unknown, "MT") },
	"S5":         func(r mark.Reading) bool { return r.Lot == "S5" },
	"KD":         func(r mark.Reading) bool { return strings.HasPrefix(r.Kiln, "KD") },
	"unreadable": func(r mark.Reading) bool { return len(r.Readings) > 1 && advises(r, "worn") },
}

func has(list []string, value string) bool {
	for _, v := range list {
		if v == value {
			return true
		}
	}
	return false
}

func advises(r mark.Reading, part string) bool {
	return strings.Contains(strings.Join(r.Advice, "\n"), part)
}

func TestExamples(t *testing.T) {
	t.Parallel()
	rows := examples(t)
	require.Len(t, rows, 28)
	for _, e := range rows {
		t.Run(e.id, func(t *testing.T) {
			t.Parallel()
			r := mark.Read(e.text)
			require.Equal(t, e.country, r.Country)
			require.Equal(t, e.producer, r.Producer)
			known, unknown := []string{}, []string{}
			for _, code := range strings.Fields(e.treatment) {
				if mark.IsTreatment(code) {
					known = append(known, code)
				} else {
					unknown = append(unknown, code)
				}
			}
			require.Equal(t, known, r.Treatments)
			if len(unknown) > 0 {
				require.Equal(t, unknown, r.Unknown)
			}
			check, ok := extras[e.extra]
			require.True(t, ok, "no check for extra %q", e.extra)
			require.True(t, check(r), "extra %q: %+v", e.extra, r)
		})
	}
}
