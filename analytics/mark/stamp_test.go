package mark_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/mark"
)

// TestGradeStamps checks moisture and kiln words against Interpreting grade
// stamps (Western Wood Products Association) and the KD-HT class of the American
// Lumber Standard Committee.
func TestGradeStamps(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text, kiln, moisture string
		treatments           []string
	}{
		{"S-GRN", "", "S-GRN", []string{}},
		{"s grn", "", "S-GRN", []string{}},
		{"S-DRY", "", "S-DRY", []string{}},
		{"MC15", "", "MC15", []string{}},
		{"MC-15", "", "MC15", []string{}},
		{"KD", "KD", "KD", []string{}},
		{"KD15", "KD15", "KD15", []string{}},
		{"KD-19", "KD19", "KD19", []string{}},
		{"KD-HT", "KD-HT", "KD", []string{"HT"}},
		{"HT KD", "KD-HT", "KD", []string{"HT"}},
		{"KD19-HT", "KD19-HT", "KD19", []string{"HT"}},
		{"KD 15 HT", "KD15-HT", "KD15", []string{"HT"}},
		{"K.D.H.T.", "KD-HT", "KD", []string{"HT"}},
		{"S-DRY KD19", "KD19", "KD19", []string{}},
		{"AD", "", "AD", []string{}},
		{"S-GRN KD19", "KD19", "", []string{}}, // green and dry deny each other
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			r := mark.Read(c.text)
			require.Equal(t, c.kiln, r.Kiln)
			require.Equal(t, c.moisture, r.Moisture)
			require.Equal(t, c.treatments, r.Treatments)
			require.True(t, r.GradeStamp)
			require.False(t, r.Complete, "a lumber stamp is no packaging mark")
		})
	}
	require.Equal(t, mark.CertaintyContradictory, mark.Read("S-GRN KD19").Certainty[mark.FieldMoisture])

	r := mark.Read("S-P-F  KD-HT  NO. 2  MILL 12  GREYSTAMP")
	require.Equal(t, []string{"SPF"}, r.Species)
	require.Equal(t, []string{"NO 2"}, r.Grade)
	require.Equal(t, "12", r.Lot)
	require.Equal(t, "GREYSTAMP", r.Agency)
}

func TestPreservativeTags(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][2]string{
		"CA-B 0.15 PCF UC4A GROUND CONTACT": {"CA-B", "UC4A"},
		"mca uc3b":                          {"MCA", "UC3B"},
		"µCA-C UC 4 A":                      {"MCA", "UC4A"},
		"AWPA U1 CCA UC4B":                  {"CCA", "UC4B"},
		"penta":                             {"PCP", ""},
		"Cu-Nap":                            {"CuN", ""},
		"H3 LOSP":                           {"LOSP", "H3"},
		"ACQ-D":                             {"ACQ", ""},
		"sapstain":                          {"sapstain dip", ""},
	} {
		r := mark.Read(text)
		require.Equal(t, []string{want[0]}, r.Preservatives, text)
		require.True(t, r.Treated, text)
		if want[1] != "" {
			require.Equal(t, []string{want[1]}, r.UseCategories, text)
		}
	}
	for _, text := range []string{"UC3A", "PRESSURE TREATED", "AWPA", "CPI", "ground contact"} {
		require.True(t, mark.Read(text).Treated, text)
	}
	for _, text := range []string{"IPPC US-1 HT", "heat treated", "not treated", "untreated"} {
		require.False(t, mark.Read(text).Treated, text)
	}
	worn := mark.Read("CC? UC4?")
	require.Empty(t, worn.Preservatives)
	require.NotEmpty(t, worn.Readings)
	for _, a := range worn.Readings {
		require.NotEmpty(t, a.Preservatives)
		require.NotEmpty(t, a.UseCategories)
		require.True(t, a.Treated)
	}
}

func TestOtherLetters(t *testing.T) {
	t.Parallel()
	r := mark.Read("PROPERTY OF GREY HEATH DAIRY / do not sell")
	require.Equal(t, "NOT FOR SALE PROPERTY OF GREY HEATH DAIRY", mark.Read("not for sale, property of grey heath dairy").Ownership)
	require.Contains(t, r.Ownership, "GREY HEATH DAIRY")
	require.Equal(t, []string{"MB"}, mark.Read("property of grey heath MB").Treatments, "an owner's name hides no code")

	require.Equal(t, []string{"UN3359"}, mark.Read("UN 3359").DangerousGoods)
	require.Equal(t, []string{"UN1263", "UN4G"}, mark.Read("UN1263 / UN 4G").DangerousGoods)
	require.Equal(t, []string{"CP3"}, mark.Read("CP 3").Cargo)
	require.True(t, mark.Read("IPPC US-1 HT repaired").Repair)
	require.Equal(t, "05/12/2011 455", mark.Read("LOT 455 05/12/2011 IPPC US-12 HT").Lot)
	require.Equal(t, "2011-12-05", mark.Read("2011 - 12 - 05 IPPC US-12 HT").Lot)
	require.Empty(t, mark.Read("NC-US").Country, "an early US mark, not New Caledonia")
	require.Equal(t, []string{"FUMIGATED"}, mark.Read("fumigated").Unknown)
}

// TestStrangeText checks text that is no mark, or hides one.
func TestStrangeText(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "   ", "\x00\x00", "\n\n", "---", "/", "👍", "שלום", "你好", "\xff\xfe", "?", "..."} {
		r := mark.Read(text)
		require.Empty(t, r.Treatments, "%q", text)
		require.False(t, r.Complete)
		require.NotEmpty(t, r.Advice, "%q", text)
	}
	for text, want := range map[string]mark.Certainty{
		"ＩＰＰＣ　ＵＳ－１２３／ＨＴ":           mark.CertaintyRead,    // full width
		"IPPC US–123 ⁄ HT":         mark.CertaintyRead,    // dash and slash of a word processor
		"IPPC U\u200bS-123 HT":     mark.CertaintyRead,    // zero-width space
		"IPPC US-123 \u041d\u0422": mark.CertaintyAssumed, // Cyrillic letters
		"IPPC US-123 \u0397\u03a4": mark.CertaintyAssumed, // Greek letters
		"IPPC US-123 \u202eHT":     mark.CertaintyAssumed, // direction turned
		"🇺🇸-123 HT":                mark.CertaintyRead,    // letters of a flag
		"IPPC US-123 HT 👍":         mark.CertaintyRead,    // beside the mark
		"سلام IPPC US-123 HT":      mark.CertaintyRead,    // right to left, beside the mark
	} {
		r := mark.Read(text)
		require.Equal(t, []string{"HT"}, r.Treatments, "%q", text)
		require.Equal(t, want, r.Certainty[mark.FieldTreatment], "%q", text)
		require.Equal(t, "US", r.Country, "%q", text)
	}
	for _, text := range []string{"IPPC US-123 HT👍", "IPPC US-123 H👍", "IPPC US-123 H\u05d7"} {
		r := mark.Read(text)
		require.Empty(t, r.Treatments, "a sign in a code's place leaves it unread: %q", text)
		require.Equal(t, []string{"HT"}, treatmentsOf(r))
	}
}
