package screen

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestExampleMarks takes the examples of the mark reference, each alone on a
// lot; what each must lead to was written from the reference's own words.
func TestExampleMarks(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text  string
		want  Verdict
		rules []string
	}{
		{"IPPC GB-FC0001 / HT", Inside, []string{"S01"}},
		{"IPPC GB-FC01-HT", Inside, []string{"S01"}},
		{"ippc us - 1023 - ht", Inside, []string{"S01"}},
		{"IPPC US-1O23 HT", Inside, []string{"S01"}}, // producer codes may hold letters
		{"IPPC DE-BB 490001 / HT", Inside, []string{"S01"}},
		{"IPPC CA-0001 / D-HT", Inside, []string{"S01", "S73"}},
		{"IPPC US-12345 / MB", Outside, []string{"S04"}},
		{"IPPC BR-123 / SF", Outside, []string{"S05"}},
		{"IPPC PL-123 / MB", Outside, []string{"S04", "S06"}},
		{"XX-000 / YY", Hold, []string{"S10", "S72"}}, // the placeholder of the standard
		{"PL-12345 HT", Hold, []string{"S08"}},        // no symbol
		{"IPPC PL-12345", Hold, []string{"S08"}},      // no treatment
		{"IPPC HT", Hold, []string{"S08"}},            // no country, no producer
		{"IPPC UK-123 HT", Hold, []string{"S72"}},
		{"IPPC EU-123 HT", Hold, []string{"S72"}},
		{"MT", Hold, []string{"S10"}},
		{"DK 8C S5 HT", Hold, []string{"S08"}},
		{"US 1234 KD HT", Hold, []string{"S08", "S75"}}, // KD is neutral, the symbol is missing
		{"HT MB", Hold, []string{"S04", "S08", "S11"}},
		{"IPPC ?S-10?3 H?", Hold, []string{"S07"}},
		{"FUMIGATED", Hold, []string{"S10"}},
		{"CCA", Never, []string{"S18"}},
		{"PROPERTY OF EXAMPLE YARD", Hold, []string{"S16"}},
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			j := Judge([]Finding{f("mark", c.text)}, Options{})
			require.Equal(t, c.want, j.Verdict, describe(j))
			require.Subset(t, fired(j), c.rules)
		})
	}
}

// TestDoubtfulReadingsTakeTheWorst covers texts of which several readings fit:
// what speaks against the wood counts from any, what speaks for it from all.
func TestDoubtfulReadingsTakeTheWorst(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"IPPC CN-001 / M?", "IPPC CN-001 / ?B", "IPPC CN-001 / MT"} {
		j := Judge([]Finding{f("mark", text), heat}, Options{})
		require.Equal(t, Outside, j.Verdict, "%s may be MB, and a good mark beside it does not undo that", text)
	}
	j := Judge([]Finding{f("mark", "IPPC CN-001 / ??"), f("statement", "heat_treated")}, Options{})
	require.Equal(t, Hold, j.Verdict, "a statement does not complete a mark that may say anything")
}
