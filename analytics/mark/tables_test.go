package mark_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/mark"
)

func TestCountries(t *testing.T) {
	t.Parallel()
	count := map[mark.CountryStatus]int{}
	eu := 0
	for _, c := range mark.Countries() {
		count[c.Status]++
		require.Len(t, c.Code, 2)
		require.NotEmpty(t, c.Name, c.Code)
		require.NotEmpty(t, c.Source, c.Code)
		require.NotEmpty(t, c.Standing, c.Code)
		if c.EU {
			eu++
		}
		if c.Status == mark.Retired {
			require.Len(t, c.Until, 4, c.Code)
			require.NotEmpty(t, c.Note, c.Code)
		}
		r := mark.Read("IPPC " + c.Code + "-123 / HT")
		if c.Code == "SF" { // the fumigant, before a road-traffic code of Finland
			require.Equal(t, []string{"HT", "SF"}, r.Treatments)
			continue
		}
		require.Equal(t, c.Status, r.CountryStatus, c.Code)
		if c.Status == mark.Reserved {
			require.Empty(t, r.Country)
			require.Contains(t, r.Extra, c.Code)
		} else {
			require.Equal(t, c.Code, r.Country)
		}
		require.Equal(t, c.Status == mark.Official || c.Status == mark.Retired, r.Complete, c.Code)
		require.Equal(t, c.Name, r.CountryName)
	}
	require.Equal(t, 249, count[mark.Official])    // ISO 3166-1, edition in force
	require.Equal(t, 42, count[mark.UserAssigned]) // AA, QM-QZ, XA-XZ, ZZ
	require.Equal(t, 27, eu)

	for code, status := range map[string]mark.CountryStatus{
		"yu": mark.Retired, "CS": mark.Retired, "SU": mark.Retired, "DD": mark.Retired, "AN": mark.Retired,
		"TP": mark.Retired, "ZR": mark.Retired, "UK": mark.Reserved, "EU": mark.Reserved,
		"XX": mark.UserAssigned, "XK": mark.UserAssigned, "GB": mark.Official, "MT": mark.Official,
	} {
		c, ok := mark.CountryByCode(code)
		require.True(t, ok, code)
		require.Equal(t, status, c.Status, code)
	}
	_, ok := mark.CountryByCode("ZQ")
	require.False(t, ok)
}

// TestWithdrawals: Commission Decision 2008/753/EC; the day is from memory.
func TestWithdrawals(t *testing.T) {
	t.Parallel()
	date, source, ok := mark.Withdrawal("DE")
	require.True(t, ok)
	require.Equal(t, time.Date(2010, 3, 18, 0, 0, 0, 0, time.UTC), date)
	require.Contains(t, source, "2008/753/EC")
	require.Contains(t, source, "from memory")
	for _, c := range mark.Countries() {
		_, _, ok := mark.Withdrawal(c.Code)
		require.Equal(t, c.EU || c.Code == "GB", ok, c.Code)
	}
	date, _, ok = mark.Withdrawal("hr")
	require.True(t, ok)
	require.Equal(t, 2013, date.Year(), "Croatia joined later")
	_, _, ok = mark.Withdrawal("US")
	require.False(t, ok)
	require.True(t, advises(mark.Read("IPPC DE-BW-12345 / MB"), "older than March 2010, or misread"))
	require.False(t, advises(mark.Read("IPPC US-12345 / MB"), "older than"))
}

func TestPreservativeLookup(t *testing.T) {
	t.Parallel()
	for alias, code := range map[string]string{
		"CA-B": "CA-B", "ca b": "CA-B", "MCA": "MCA", "penta": "PCP", "PCP": "PCP", "Pentachlorophenol": "PCP",
		"DOT": "SBX", "cu8": "Cu8", "copper naphthenate": "CuN", "UC4A": "UC4A", "creosote": "creosote", "h3": "H3",
	} {
		p, ok := mark.PreservativeByCode(alias)
		require.True(t, ok, alias)
		require.Equal(t, code, p.Code, alias)
	}
	_, ok := mark.PreservativeByCode("HT")
	require.False(t, ok)
	for _, p := range mark.Preservatives() {
		require.NotEmpty(t, p.Source, p.Code)
		require.NotEmpty(t, p.Status, p.Code)
		require.NotEmpty(t, p.Hazard, p.Code)
		require.Contains(t, []string{"outside", "never", "hold"}, p.Verdict, "no preservative is for the inside")
		require.NotEmpty(t, p.Aliases, p.Code)
		got, ok := mark.PreservativeByCode(p.Code)
		require.True(t, ok)
		require.Equal(t, p, got)
		r := mark.Read(p.Code)
		require.True(t, r.Treated, p.Code)
		require.Contains(t, append(r.Preservatives, r.UseCategories...), p.Code)
	}
}

// TestCodesAreSourced: every code says what it means, on whose word, and whether
// that was checked.
func TestCodesAreSourced(t *testing.T) {
	t.Parallel()
	for _, c := range mark.Codes() {
		require.NotEmpty(t, c.Meaning, c.Text)
		require.NotEmpty(t, c.Source, c.Text)
		labelled := false
		for _, word := range []string{"checked", "from memory", "no source", "computed"} {
			labelled = labelled || strings.Contains(c.Status, word)
		}
		require.True(t, labelled, "%s: status %q", c.Text, c.Status)
	}
	for _, code := range []string{"HT", "DH", "MB", "SF"} {
		require.True(t, mark.IsTreatment(code))
		require.Equal(t, code == "MB" || code == "SF", mark.IsFumigant(code))
	}
	require.False(t, mark.IsTreatment("DB"))
}

// TestEveryWritingIsRead: every writing of the table, typed by itself, is found
// again as that code, with the assignments the table names.
func TestEveryWritingIsRead(t *testing.T) {
	t.Parallel()
	digits, letters := strings.NewReplacer("#", "7"), strings.NewReplacer("@", "G")
	for _, f := range mark.Document().Forms {
		for _, form := range f.Forms {
			if f.Code.Class == mark.ClassPlain || f.Code.Class == mark.ClassNegation {
				continue
			}
			r := mark.Read(letters.Replace(digits.Replace(form)))
			require.Contains(t, r.Codes, f.Code, form)
			for _, set := range f.Sets {
				require.True(t, assigned(r, set), "%s: %s", form, set)
			}
		}
	}
}

// assigned reports whether the reading's JSON shows the assignment.
func assigned(r mark.Reading, set string) bool {
	text, err := json.Marshal(r)
	if err != nil {
		return false
	}
	var fields map[string]any
	if json.Unmarshal(text, &fields) != nil {
		return false
	}
	field, value, _ := strings.Cut(set, "=")
	value = strings.ReplaceAll(value, "_", " ")
	switch got := fields[field].(type) {
	case bool:
		return got && value == "yes"
	case string:
		return got != "" && (got == value || value == "yes")
	case []any:
		for _, g := range got {
			if g == value || value == "*" {
				return true
			}
		}
	}
	return false
}

func TestDocument(t *testing.T) {
	t.Parallel()
	d := mark.Document()
	require.Len(t, d.Version, 12)
	require.NotEmpty(t, d.Algorithm)
	require.Equal(t, mark.MaxRunes, d.MaxRunes)
	require.Equal(t, mark.MaxReadings, d.MaxReadings)
	text, err := json.Marshal(d)
	require.NoError(t, err)
	var again mark.Grammar
	require.NoError(t, json.Unmarshal(text, &again))
	require.Equal(t, d, again)
	d.Forms[0].Forms[0] = "CHANGED"
	d.Countries[0].Name = "changed"
	require.Equal(t, again, mark.Document(), "the document is the caller's own")
}
