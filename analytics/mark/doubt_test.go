package mark_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/mark"
)

// treatmentsOf lists the treatments of every reading, one word for each.
func treatmentsOf(r mark.Reading) []string {
	out := []string{}
	for _, a := range r.Readings {
		out = append(out, strings.Join(append(append([]string{}, a.Treatments...), a.Unknown...), "+"))
	}
	return out
}

// TestDoubtfulTreatments checks that worn and mistaken treatments are listed with
// all that fits, and that the reading itself shows only what is legible.
func TestDoubtfulTreatments(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text   string
		itself string
		fits   []string
		advice string
	}{
		{"IPPC US-123 H?", "", []string{"HT"}, "worn second letter"},
		{"IPPC US-123 ?B", "", []string{"MB", ""}, "worn first letter"}, // DB is no treatment
		{"IPPC US-123 ?T", "", []string{"HT"}, "worn first letter"},
		{"IPPC US-123 ??", "", []string{"HT", "DH", "MB", "SF"}, "two worn letters"},
		{"IPPC US-123 __", "", []string{"HT", "DH", "MB", "SF"}, "two worn letters"},
		{"IPPC US-123 MB?", "", []string{"MB"}, "question mark stands after MB"},
		{"IPPC US-123 M8", "", []string{"", "MB"}, "the second letter 8 is B"},
		{"IPPC US-123 5F", "", []string{"", "SF"}, "the first letter 5 is S"},
		{"IPPC US-123 H7", "", []string{"", "HT"}, "the second letter 7 is T"},
		{"IPPC US-123 MT", "", []string{"MT", "HT", "MB"}, "the second letter T is B"},
		{"IPPC US-123 NB", "", []string{"NB", "MB"}, "the first letter N is M"},
		{"IPPC US-123 0H", "", []string{"", "DH"}, "the first letter 0 is D"},
		{"IPPC GB-FC01-H?", "", []string{"HT"}, "worn second letter"},
		{"IPPC GB-FC01-M8", "", []string{"", "MB"}, "the second letter 8 is B"},
		{"IPPC US M8", "", []string{"", "MB"}, "the second letter 8 is B"},
		{"IPPC US ??", "", []string{"", "HT", "DH", "MB", "SF"}, ""},
		{"IPPC US-123HT", "", []string{"", "HT"}, "last two letters"},
		{"IPPC US-123MB", "", []string{"", "MB"}, "last two letters"},
		{"IPPC CA-MB 0001 HT", "HT", []string{"HT", "HT+MB"}, "part of the producer code"},
		{"no HT", "", []string{"", "HT", "HT"}, "read in two ways"},
		{"HT", "HT", []string{"HT"}, "no country"},
		{"US-123 HT MB", "HT MB", []string{"HT+MB"}, "two treatment codes"},
		{"US-123 HT / MT", "HT", []string{"HT+MT", "HT", "HT+MB"}, "unknown code"},
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			r := mark.Read(c.text)
			require.Equal(t, strings.Fields(c.itself), r.Treatments)
			require.Equal(t, c.fits, treatmentsOf(r))
			require.True(t, advises(r, c.advice), "%q", r.Advice)
		})
	}
}

// TestCountryOrCode checks the places where a code and a country look the same.
func TestCountryOrCode(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text, country, producer string
		readings                int
	}{
		{"IPPC HT-12 / HT", "HT", "12", 1},           // Haiti, treatment known
		{"IPPC HT-12", "HT", "12", 2},                // Haiti, or HT and a number
		{"HT-12", "", "", 2},                         // the same without the symbol
		{"IPPC MT-12 HT", "MT", "12", 1},             // Malta
		{"IPPC US-12 HT 0917", "US", "12", 1},        // a date code is no Haitian producer
		{"IPPC CA-B 0001 HT", "CA", "B0001", 2},      // Canada, or copper azole
		{"CA-B UC4A", "", "", 1},                     // copper azole
		{"MC-15 SPF", "", "", 2},                     // moisture, or Monaco
		{"MC15 SPF", "", "", 1},                      // moisture
		{"NO-123 HT", "NO", "123", 1},                // Norway, not a denial
		{"SPF KD-HT NO. 2", "", "", 1},               // grade No. 2, not Norway
		{"IPPC US-H3 HT", "US", "H3", 2},             // producer H3, or a hazard class
		{"DE BY 12345 HT", "DE", "BY12345", 1},       // Bavaria, not Belarus
		{"IPPC\nUS\n12345\nHT", "US", "12345", 1},    // three lines
		{"HT / 12345-US / IPPC", "US", "12345", 1},   // read upside down
		{"IPPCUS-12 HT", "US", "12", 1},              // symbol glued to the country
		{"US12345 HT", "US", "12345", 2},             // country glued to the producer
		{"I.P.P.C. U.S.-1234 H.T.", "US", "1234", 1}, // dots
		{"US-123 HT DE-45 MB", "", "", 1},            // two marks
		{"U5-123 HT", "", "123", 1},
		{"5K-123 HT", "", "123", 1},
		{"1T-123 HT", "", "123", 2}, // IT and LT
		{"UN 3359", "", "", 1},
		{"ZQ-12 HT", "", "12", 1},
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			r := mark.Read(c.text)
			require.Equal(t, c.country, r.Country, "country")
			require.Equal(t, c.producer, r.Producer, "producer")
			require.Len(t, r.Readings, c.readings)
		})
	}
}

func TestWornCountryListsCountries(t *testing.T) {
	t.Parallel()
	r := mark.Read("IPPC U?-123 HT")
	got := []string{}
	for _, a := range r.Readings {
		got = append(got, a.Country)
	}
	require.Equal(t, []string{"UA", "UG", "UM", "US", "UY", "UZ"}, got) // ISO 3166-1, all codes that begin with U
	require.Empty(t, r.Country)
	require.Equal(t, mark.CertaintyContradictory, r.Certainty[mark.FieldCountry])
	require.False(t, r.Complete)

	r = mark.Read("IPPC ??-123 ??")
	require.Len(t, r.Readings, mark.MaxReadings)
	require.Greater(t, r.More, 500) // 250 countries by 4 treatments, less what is shown
	for _, code := range []string{"HT", "DH", "MB", "SF"} {
		require.Contains(t, treatmentsOf(r), code, "capped readings must still hold every treatment")
	}
	require.True(t, advises(r, "not shown"))
}

// TestProducerLettersAreNotCorrected: rule R4 of marks.csv lets producer codes
// hold letters, so the twin is named and the mark stays complete.
func TestProducerLettersAreNotCorrected(t *testing.T) {
	t.Parallel()
	for text, twin := range map[string]string{
		"1O23": "1023", "2I4": "214", "O12": "012", "12I": "121", "4S6": "456", "1B2": "182",
		"FC0001": "", "B0001": "", "12S": "", "8C": "", "NW-49-1234": "",
	} {
		r := mark.Read("IPPC US-" + text + " / HT")
		require.Equal(t, text, r.Producer)
		require.True(t, r.Complete, text)
		if twin == "" {
			require.Len(t, r.Readings, 1, text)
			continue
		}
		require.Len(t, r.Readings, 2, text)
		require.Equal(t, twin, r.Readings[1].Producer)
		require.Equal(t, mark.CertaintyAssumed, r.Certainty[mark.FieldProducer])
		require.True(t, advises(r, "producer code "+text))
	}
}

func TestCertainty(t *testing.T) {
	t.Parallel()
	const (
		read, assumed  = mark.CertaintyRead, mark.CertaintyAssumed
		clash, missing = mark.CertaintyContradictory, mark.CertaintyMissing
	)
	for _, c := range []struct {
		text                                 string
		symbol, country, producer, treatment mark.Certainty
		complete                             bool
	}{
		{"IPPC US-123 HT", read, read, read, read, true},
		{"IPPC US-123", read, read, read, missing, false},
		{"HT", missing, missing, missing, read, false},
		{"IPPC XX-000 HT", read, clash, read, read, false},
		{"IPPC UK-123 HT", read, clash, read, read, false},
		{"IPPC ZQ-123 HT", read, clash, read, read, false},
		{"IPPC YU-123 HT", read, read, read, read, true},
		{"IPPC US-123 HT MB", read, read, read, clash, false},
		{"IPPC US-123 QQ", read, read, read, clash, false},
		{"IPPC US-123 HT ?", assumed, assumed, assumed, assumed, false},
		{"IPPC US-123 HT ____", assumed, assumed, assumed, assumed, false},
		{"1PPC US-123 HT", assumed, read, read, read, false},
		{"IPPC US-1?3 HT", read, read, assumed, read, false},
		{"IPPC 12345-US HT", read, read, assumed, read, true},
		{"IPPC US-123 H T", read, read, read, assumed, false},
		{"the stamp says IPPC US-123 HT", assumed, assumed, assumed, assumed, false},
		{"IPPC US-123 HT not sure", assumed, assumed, assumed, assumed, false},
		{"CCA", missing, missing, missing, missing, false},
		{"US12345 US HT", missing, assumed, clash, read, false}, // the same country twice is one country
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			r := mark.Read(c.text)
			require.Equal(t, c.symbol, r.Certainty[mark.FieldSymbol], "symbol")
			require.Equal(t, c.country, r.Certainty[mark.FieldCountry], "country")
			require.Equal(t, c.producer, r.Certainty[mark.FieldProducer], "producer")
			require.Equal(t, c.treatment, r.Certainty[mark.FieldTreatment], "treatment")
			require.Equal(t, c.complete, r.Complete, "complete")
		})
	}
}
