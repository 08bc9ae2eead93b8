package mark_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/mark"
)

// words is what texts are made of: parts of marks, tags and stamps, the same with
// worn and swapped signs, and words of people.
var words = []string{
	"IPPC", "IPCC", "1PPC", "I.P.P.C.", "US", "DE", "HT", "MB", "DH", "SF", "H?", "?B", "M?", "??", "MT", "M8", "5F", "H T",
	"US-123", "DE-NW-49-1234", "CA-BC 0001", "CA-MB 0001", "HT-12", "MC-15", "NO-12", "UK-7", "XX-000", "ZQ-1", "U5-12",
	"?S-10?3", "??-12", "1O23", "12345", "123HT", "US12345", "KD", "KD-HT", "S-DRY", "S-GRN", "MC15", "KD19", "SPF", "DB",
	"DUN", "D-HT", "CCA", "CA-B", "UC4A", "UC4?", "CC?", "PROPERTY OF", "LOT", "12/05/2011", "UN 3359", "CP3", "no", "not",
	"is", "it", "stamp", "GREY", "HEATH", "?", "____", "/", "-", "НТ", "ＨＴ", "👍", "heat treated", "untreated", "fumigated",
}

// drawText makes a text of several lines out of words and, now and then, anything.
func drawText(t *rapid.T) string {
	line := rapid.Custom(func(t *rapid.T) string {
		if rapid.IntRange(0, 9).Draw(t, "wild") == 0 {
			return strings.ReplaceAll(rapid.StringN(0, 12, -1).Draw(t, "any"), "\r", " ")
		}
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 5).Draw(t, "words"), " ")
	})
	return strings.Join(rapid.SliceOfN(line, 0, 4).Draw(t, "lines"), "\n")
}

// check holds for every text.
func check(t require.TestingT, text string) mark.Reading {
	r := mark.Read(text)
	require.LessOrEqual(t, len(r.Readings), mark.MaxReadings)
	require.Len(t, r.Certainty, 18)
	for field, c := range r.Certainty {
		require.Contains(t, []mark.Certainty{mark.CertaintyRead, mark.CertaintyAssumed, mark.CertaintyContradictory, mark.CertaintyMissing}, c, field)
	}
	require.True(t, utf8.ValidString(r.Text))
	all := treatmentsIn(r)
	for _, code := range r.Treatments {
		require.True(t, mark.IsTreatment(code))
		require.Contains(t, all, code, "the reading shows a treatment that no listed reading has")
	}
	for _, code := range all {
		require.True(t, spells(text, code), "%q: invented %s", text, code)
	}
	if r.Complete {
		require.Len(t, r.Treatments, 1)
		require.NotEmpty(t, r.Symbol+r.Country+r.Producer)
		require.Equal(t, mark.CertaintyRead, r.Certainty[mark.FieldTreatment])
		require.Zero(t, r.UnreadRunes)
		for _, a := range r.Readings {
			require.Equal(t, r.Treatments, a.Treatments)
		}
	}
	encoded, err := json.Marshal(r)
	require.NoError(t, err)
	require.NotContains(t, string(encoded), ":null")
	return r
}

func treatmentsIn(r mark.Reading) []string {
	var out []string
	for _, a := range r.Readings {
		out = append(out, a.Treatments...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// spells is a judge of its own, apart from the grammar: whether two neighbouring
// letters of the text, separators left out, can be the two letters of the code,
// or the code's name is written out.
func spells(text, code string) bool {
	alike := map[byte]string{
		'H': "HMN", 'T': "T7IBF", 'M': "MHN", 'B': "B8TD", 'D': "D0O", 'S': "S5", 'F': "F",
	}
	var signs []byte
	for _, r := range text {
		if strings.ContainsRune(" \t\n\r\u00a0.-/\\|,;\u200b\u202a\u202b\u202c\u202d\u202e", r) {
			continue
		}
		signs = append(signs, latin(r))
	}
	for _, name := range map[string][]string{
		"HT": {"HEATTREAT", "HITZEBEHANDELT"}, "MB": {"METHYLBROMIDE"}, "SF": {"SULPHURYLFLUORIDE", "SULFURYLFLUORIDE"},
	}[code] {
		if strings.Contains(string(signs), name) {
			return true
		}
	}
	for i := 0; i+1 < len(signs); i++ {
		if fitsSign(alike, code[0], signs[i]) && fitsSign(alike, code[1], signs[i+1]) {
			return true
		}
	}
	return false
}

// latin is the capital that a letter is or looks like; ? for anything else,
// since a character that is no letter counts as worn.
func latin(r rune) byte {
	switch {
	case r >= 0xff01 && r <= 0xff5e:
		r -= 0xfee0
	}
	if i := strings.IndexRune("НТМВЅнтмвѕΗΤΜΒητμβıſ", r); i >= 0 {
		return "HTMBSHTMBSHTMBHTMBIS"[utf8.RuneCountInString("НТМВЅнтмвѕΗΤΜΒητμβıſ"[:i])]
	}
	if up := unicode.ToUpper(r); up < 128 && (unicode.IsLetter(up) || unicode.IsDigit(up)) {
		return byte(up)
	}
	return '?'
}

func fitsSign(alike map[byte]string, meant, seen byte) bool {
	return seen == '?' || strings.IndexByte(alike[meant], seen) >= 0
}

func TestReadNeverInvents(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) { check(t, drawText(t)) })
}

// TestLegibleTreatmentIsSpelledOut: what the reading itself shows, and not only
// lists, stands in the text letter by letter.
func TestLegibleTreatmentIsSpelledOut(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 1, 8).Draw(t, "words"), " ")
		squeezed := ""
		for _, r := range text {
			if c := latin(r); c != '?' || r == '?' || r == '_' {
				squeezed += string(c)
			}
		}
		for _, code := range mark.Read(text).Treatments {
			require.True(t, strings.Contains(squeezed, code) || code == "HT" && strings.Contains(squeezed, "HEATTREATED"), "%q: %s", text, code)
		}
	})
}

// TestNoWordHidesACode: whatever is typed before it, a code after a space, a
// slash or a line break is in some reading, and so is what it is taken for.
func TestNoWordHidesACode(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := drawText(t)
		join := rapid.SampledFrom([]string{" ", "/", "\n"}).Draw(t, "join")
		for typed, code := range map[string]string{"MB": "MB", "SF": "SF", "CCA": "CCA", "M8": "MB", "5F": "SF", "C?A": "CCA"} {
			found := slices.ContainsFunc(mark.Read(text+join+typed).Readings, func(a mark.Alternative) bool {
				return slices.Contains(slices.Concat(a.Treatments, a.Preservatives), code)
			})
			require.True(t, found, "%q hides %s", text+join+typed, code)
		}
	})
}

func TestReadIsStableUnderCase(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := drawText(t)
		same(t, text, strings.ToUpper(text))
		same(t, text, strings.ToLower(text))
	})
}

func TestReadIsStableUnderSpacing(t *testing.T) {
	t.Parallel()
	space := rapid.StringOfN(rapid.SampledFrom([]rune{' ', '\t', '\u00a0', '\u3000'}), 1, 3, -1)
	rapid.Check(t, func(t *rapid.T) {
		text := drawText(t)
		var b strings.Builder
		for _, r := range text {
			switch r {
			case ' ':
				b.WriteString(space.Draw(t, "space"))
			case '-', '/', '\n':
				b.WriteString(" " + string(r) + space.Draw(t, "space"))
			default:
				b.WriteRune(r)
			}
		}
		same(t, text, " "+b.String()+"\n \n")
	})
}

func TestReadIsStableUnderLineOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lines := strings.Split(drawText(t), "\n")
		same(t, strings.Join(lines, "\n"), strings.Join(rapid.Permutation(lines).Draw(t, "order"), "\n"))
	})
}

// same compares two readings but for the text they were read from.
func same(t require.TestingT, a, b string) {
	x, y := mark.Read(a), mark.Read(b)
	x.Text, y.Text = "", ""
	require.Equal(t, x, y, "%q and %q", a, b)
}

// TestEveryCharacterFoldsAlike: no character changes its meaning with its case.
func TestEveryCharacterFoldsAlike(t *testing.T) {
	t.Parallel()
	for r := rune(0); r <= unicode.MaxRune; r++ {
		up, low := unicode.ToUpper(r), unicode.ToLower(r)
		if up == r && low == r || !utf8.ValidRune(r) {
			continue
		}
		want := mark.Read("US-12 1" + string(r) + "1 HT")
		want.Text = ""
		for _, other := range []rune{up, low} {
			got := mark.Read("US-12 1" + string(other) + "1 HT")
			got.Text = ""
			require.Equal(t, want, got, "%U and %U", r, other)
		}
	}
}

// TestWornCodesAreFoundAgain: of every treatment, preservative and use category
// with some letters worn off, the code itself is among the readings.
func TestWornCodesAreFoundAgain(t *testing.T) {
	t.Parallel()
	for _, f := range mark.Document().Forms {
		if c := f.Code.Class; c != mark.ClassTreatment && c != mark.ClassPreservative && c != mark.ClassUseCategory {
			continue
		}
		for _, form := range f.Forms {
			for worn := 1; worn < 1<<min(len(form), 6)-1; worn++ {
				masked := []byte(form)
				for i := range masked {
					if worn>>i&1 == 1 {
						masked[i] = '?'
					}
				}
				if strings.Trim(string(masked), "?") == "" {
					continue
				}
				r := mark.Read(string(masked))
				found := slices.ContainsFunc(r.Readings, func(a mark.Alternative) bool {
					return slices.ContainsFunc(f.Sets, func(set string) bool {
						_, value, _ := strings.Cut(strings.ReplaceAll(set, "_", " "), "=")
						return slices.Contains(slices.Concat(a.Treatments, a.Preservatives, a.UseCategories), value) ||
							value == "yes" && a.Treated
					})
				})
				require.True(t, found, "%s worn to %s: %v", form, masked, r.Readings)
				require.Zero(t, r.More)
			}
		}
	}
}

// TestCappedReadingsLoseNoCode: with far more combinations than are listed, every
// code that each doubtful word may be is still in a listed reading.
func TestCappedReadingsLoseNoCode(t *testing.T) {
	t.Parallel()
	doubtful := []string{"M8", "5F", "UC4?", "CC?", "MT", "?CA", "AC?", "UC48", "N8", "0H", "EL?", "PT?", "?BX", "KDI9", "1O23"}
	rapid.Check(t, func(t *rapid.T) {
		picked := rapid.SliceOfNDistinct(rapid.SampledFrom(doubtful), 1, len(doubtful), rapid.ID).Draw(t, "words")
		r := check(t, "IPPC ??-1?3 "+strings.Join(picked, " "))
		for _, word := range picked {
			for _, a := range mark.Read("IPPC US-123 " + word).Readings {
				for _, code := range slices.Concat(a.Treatments, a.Preservatives, a.UseCategories, a.Unknown) {
					require.True(t, slices.ContainsFunc(r.Readings, func(b mark.Alternative) bool {
						return slices.Contains(slices.Concat(b.Treatments, b.Preservatives, b.UseCategories, b.Unknown), code)
					}), "%s of %s is lost in %q", code, word, r.Text)
				}
			}
		}
		require.Positive(t, r.More)
	})
}

func TestLongText(t *testing.T) {
	t.Parallel()
	for _, piece := range []string{"IPPC US-123 HT\n", "MT M8 ?? ", "HT US ", "?S-1?3 H? ", "A", "\x00", "👍", "1/", "no HT ", "- "} {
		text := strings.Repeat(piece, 1<<20/len(piece))
		r := check(t, text)
		require.Equal(t, utf8.RuneCountInString(text)-mark.MaxRunes, r.UnreadRunes)
		require.False(t, r.Complete)
		require.True(t, advises(r, "only the first 4096 characters"))
		encoded, err := json.Marshal(r)
		require.NoError(t, err)
		require.Less(t, len(encoded), 1<<20, "the answer to a megabyte is short")
	}
}

func FuzzRead(f *testing.F) {
	for _, w := range words {
		f.Add(w)
		f.Add("IPPC US-123 / " + w)
	}
	f.Add("IPPC GB-FC0001 / HT")
	f.Add("\u202eTH 321-SU CPPI")
	f.Add("IPPC\r\nDE-BB 490001\r\nHT DB\x00")
	f.Fuzz(func(t *testing.T, text string) {
		check(t, text)
		same(t, text, text+"\n")
	})
}
