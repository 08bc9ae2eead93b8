package mark_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/mark"
)

var update = flag.Bool("update", false, "write the vectors anew")

// vectorFile holds texts with their readings, for whoever reads marks elsewhere
// from mark.Document. Empty fields and missing certainties are left out.
var vectorFile = filepath.Join("..", "..", "testdata", "mark", "readings.json")

// vector is one text with its reading, without words for people.
type vector struct {
	Text    string         `json:"text"`
	Reading map[string]any `json:"reading"`
}

// vectorTexts are the examples of marks.csv, every writing of the grammar, codes
// of all standings, strange text, and seeded mixtures.
func vectorTexts(t *testing.T) []string {
	t.Helper()
	texts := []string{
		"", " ", "\x00", "👍", "שלום HT", "\u202eTH", "IPPC US-123 \u041d\u0422", "ＩＰＰＣ ＵＳ－１２３／ＨＴ", "🇺🇸-123 HT",
		"IPPC\nUS\n12345\nHT", "HT / 12345-US / IPPC", "I.P.P.C. U.S.-1234 H.T.", "no HT", "the stamp says IPPC US-123 HT",
		"PROPERTY OF GREY HEATH DAIRY", "LOT 455 05/12/2011 IPPC US-12 HT", strings.Repeat("IPPC US-123 MB\n", 400),
	}
	for _, e := range examples(t) {
		texts = append(texts, e.text)
	}
	for _, f := range mark.Document().Forms {
		texts = append(texts, strings.NewReplacer("#", "7", "@", "G").Replace(f.Forms[0]))
	}
	for _, code := range []string{"AN", "CS", "DD", "EU", "HT", "MC", "MT", "SF", "SU", "TP", "UK", "UN", "XK", "XX", "YU", "ZQ", "ZR"} {
		texts = append(texts, "IPPC "+code+"-123 / HT", code+" 123 MB")
	}
	random := rand.New(rand.NewPCG(15, 3166)) //nolint:gosec // fixed seed, no secret
	for range 260 {
		picked := make([]string, 1+random.IntN(5))
		for i := range picked {
			picked[i] = words[random.IntN(len(words))]
		}
		texts = append(texts, strings.Join(picked, []string{" ", "\n", " / "}[random.IntN(3)]))
	}
	return texts
}

func newVector(t *testing.T, text string) vector {
	t.Helper()
	r := mark.Read(text)
	encoded, err := json.Marshal(r)
	require.NoError(t, err)
	var fields map[string]any
	require.NoError(t, json.Unmarshal(encoded, &fields))
	for _, forPeople := range []string{"text", "advice", "codes", "country_name"} {
		delete(fields, forPeople)
	}
	for field, c := range r.Certainty {
		if c == mark.CertaintyMissing {
			delete(fields["certainty"].(map[string]any), field) //nolint:forcetypeassert // made above
		}
	}
	return vector{Text: text, Reading: bare(fields)}
}

// bare drops empty values, and the words of assumptions.
func bare(fields map[string]any) map[string]any {
	for name, v := range fields {
		switch v := v.(type) {
		case string:
			if v == "" {
				delete(fields, name)
			}
		case bool:
			if !v {
				delete(fields, name)
			}
		case float64:
			if v == 0 {
				delete(fields, name)
			}
		case map[string]any:
			bare(v)
		case []any:
			if len(v) == 0 || name == "assumed" {
				delete(fields, name)
			}
			for _, element := range v {
				if m, ok := element.(map[string]any); ok {
					bare(m)
				}
			}
		}
	}
	return fields
}

func TestVectors(t *testing.T) {
	t.Parallel()
	var got []vector
	seen := map[string]bool{}
	for _, text := range vectorTexts(t) {
		if !seen[text] {
			got = append(got, newVector(t, text))
		}
		seen[text] = true
	}
	require.GreaterOrEqual(t, len(got), 400)
	if *update {
		lines := make([][]byte, len(got))
		for i, v := range got {
			line, err := json.Marshal(v)
			require.NoError(t, err)
			lines[i] = line
		}
		text := "[\n" + string(bytes.Join(lines, []byte(",\n"))) + "\n]\n"
		require.NoError(t, os.MkdirAll(filepath.Dir(vectorFile), 0o755))
		require.NoError(t, os.WriteFile(vectorFile, []byte(text), 0o644))
	}
	text, err := os.ReadFile(vectorFile)
	require.NoError(t, err)
	var want []vector
	require.NoError(t, json.Unmarshal(text, &want))
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i], got[i], "vector %d, %q: review the change, then run with -update", i, want[i].Text)
	}
}
