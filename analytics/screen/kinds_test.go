package screen

import (
	"encoding/csv"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestKindsAreWellFormed(t *testing.T) {
	t.Parallel()
	senses := []string{"eyes", "nose", "business", "paper", "test"}
	for _, k := range Kinds() {
		require.NotEmpty(t, k.Label, k.Kind)
		require.Contains(t, senses, k.Sense, k.Kind)
		require.Contains(t, []string{"", "piece"}, k.Reach, k.Kind)
		require.True(t, k.FreeText || k.Number || len(k.Values) > 0, k.Kind)
		for _, v := range k.Values {
			require.NotEmpty(t, v.Label, v.Value)
			require.NoError(t, Validate(Finding{Kind: k.Kind, Value: v.Value, Note: "Lab X"}), "%s=%s", k.Kind, v.Value)
			require.Contains(t, Finding{Kind: k.Kind, Value: v.Value}.Label(), v.Label)
		}
	}
	_, ok := KindByName("aura")
	require.False(t, ok)
}

// TestKindsCoverWhatPeopleSee lists what the forms must be able to record.
func TestKindsCoverWhatPeopleSee(t *testing.T) {
	t.Parallel()
	for _, kind := range []Kind{
		"mark", "tag", "tint", "incising", "end_tag_holes", "stain", "odour", "cargo", "paint", "finish", "material", "mould", "insects",
		"moisture", "metal", "fumigation", "origin", "ownership", "release", "statement", "shipper", "test_copper", "test_arsenic",
		"test_metals", "test_lead", "done", "species", "mark_look", "photo_only", "misreading", "disagreement",
	} {
		_, ok := KindByName(kind)
		require.True(t, ok, kind)
	}
}

func TestValidate(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		finding Finding
		field   string
		want    error
	}{
		{Finding{Kind: "aura", Value: "x"}, "kind", ErrUnknownKind},
		{Finding{Kind: "odour", Value: "violets"}, "value", ErrUnknownValue},
		{Finding{Kind: "odour", Value: " "}, "value", ErrMissing},
		{Finding{Kind: "moisture", Value: "wet"}, "value", ErrNoNumber},
		{Finding{Kind: "moisture", Value: "NaN"}, "value", ErrNoNumber},
		{Finding{Kind: "moisture", Value: "14.1234"}, "value", ErrNoNumber},
		{Finding{Kind: "moisture", Value: "999"}, "value", ErrOutOfRange},
		{Finding{Kind: "moisture", Value: "1000"}, "value", ErrOutOfRange},
		{Finding{Kind: "moisture", Value: "-3 %"}, "value", ErrOutOfRange},
		{Finding{Kind: "release", Value: "owner_written", Note: "."}, "note", ErrSaysNothing},
		{Finding{Kind: "release", Value: "owner_written"}, "note", ErrMissing},
		{Finding{Kind: "misreading", Value: "f1"}, "note", ErrMissing},
		{Finding{Kind: "mark", Value: strings.Repeat("x", MaxValueBytes+1)}, "value", ErrTooLong},
		{Finding{Kind: "odour", Value: "fresh", Note: strings.Repeat("x", MaxNoteBytes+1)}, "note", ErrTooLong},
	} {
		err := Validate(c.finding)
		var fault *FindingError
		require.ErrorAs(t, err, &fault)
		require.ErrorIs(t, err, c.want)
		require.Equal(t, c.field, fault.Field)
		require.NotEmpty(t, fault.Help)
		require.Less(t, len(err.Error()), 400)
	}
	for _, good := range []Finding{
		{Kind: "moisture", Value: " 14,5 % "}, {Kind: "odour", Value: "FRESH"}, {Kind: "origin", Value: "play set"}, {Kind: "species", Value: "pine_scots"},
		{Kind: "mark", Value: "IPPC DE-NW-49-1234 / HT"}, {Kind: "end_tag_holes", Value: "none"},
	} {
		require.NoError(t, Validate(good), good.Value)
	}
}

func TestNormalise(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		"": "", " Play-Set\t": "play_set", "a - b": "a_b", "-a-": "_a_", "ÄB": "Äb", "already_plain": "already_plain", "a\n\nB": "a_b",
	} {
		require.Equal(t, want, normalise(in), "%q", in)
	}
}

// TestSpeciesOfTheHouseAreKnown takes the ids that other pages of the book use.
func TestSpeciesOfTheHouseAreKnown(t *testing.T) {
	t.Parallel()
	f, err := os.Open("testdata/species_ids.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 60)
	for _, row := range rows[1:] {
		require.NoError(t, Validate(Finding{Kind: "species", Value: row[0]}), row[0])
		ids := fired(Judge([]Finding{{Kind: "species", Value: row[0]}}, Options{}))
		require.True(t, slices.Contains(ids, "S49") || slices.Contains(ids, "S50"), row[0])
	}
}
