package screen

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestParseFindings(t *testing.T) {
	t.Parallel()
	list, err := ParseFindings([]byte("\ufeff" + `[
		{"Kind": "mark", "value": "IPPC US-1 HT", "on": " LOT ", "at": "2026-03-14"},
		{"kind": "tint", "value": "green", "on": "K7-2", "note": null, "at": "2026-03-14T16:30:00+02:00", "id": "f2", "struck": true}, {}]`))
	require.NoError(t, err)
	require.Equal(t, []Finding{
		{Kind: "mark", Value: "IPPC US-1 HT", On: OnLot, At: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)},
		{Kind: "tint", Value: "green", On: "K7-2", ID: "f2", Struck: true, At: list[1].At},
		{},
	}, list)
	require.Equal(t, int64(1773498600), list[1].At.Unix())
	none, err := ParseFindings([]byte(" [ ] "))
	require.NoError(t, err)
	require.Empty(t, none)
}

// TestParseFindingsTellsFaults checks every fault: where, what, what to do.
func TestParseFindingsTellsFaults(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		``:                      "line 1, column 1: there is nothing to read: write a list of findings in [ ]",
		`{"kind": "odour"}`:     `line 1, column 1: the text is no list: write the findings in [ ], a list of findings such as [{"kind": "odour", "value": "fresh"}]`,
		"[{\"kind\": \"odour\"": `line 1, column 18: the text ends too early: close every ", } and ]`,
		"[\n {\"kind\": \"odour\" \"value\": \"x\"}]": "line 2, column 19: “\"” does not belong here: look for a missing comma, colon, quote or bracket just before it",
		"[{\"kind\": \"od\nour\"}]":                   "line 1, column 14: a line break or another control character does not belong here: look for a missing comma, colon, quote or bracket just before it",
		`[] []`:                                       "line 1, column 3: something follows the list: put everything into one list, or take the rest away",
		`[{"vaule": "x"}]`:                            `finding 1: line 1, column 3: there is no field "vaule": the fields are kind, value, on, note, at, id, struck`,
		"[{},\n{\"value\": 14.5}]":                    `finding 2: line 2, column 11: "value" is a number: write text in quotes, such as "14.5"`,
		`[{"value": [1]}]`:                            `finding 1: line 1, column 12: "value" is a list in [ ]: write text in quotes, such as "fresh"`,
		`[{"struck": "yes"}]`:                         `finding 1: line 1, column 13: "struck" is text: write true or false, without quotes`,
		`[{"kind": "a", "kind": "b"}]`:                `finding 1: line 1, column 16: "kind" is there twice: keep one of them`,
		`[{"at": "soon"}]`:                            `finding 1: line 1, column 9: "at" "soon" is no day or moment: write a day such as 2026-03-14, or a moment with its zone such as 2026-03-14T16:30:00Z`,
		`[{"at": 2026}]`:                              `finding 1: line 1, column 9: "at" is a number: write text in quotes, such as "2026-03-14"`,
		`[{"on": "2026-01-02"}]`:                      `finding 1: line 1, column 9: "on" "2026-01-02" is a day, not a piece of wood: write the day as "at", and "lot" or a board's code as "on"`,
		`[{"on": "--"}]`:                              `finding 1: line 1, column 9: "on" "--" is no code of a board: write "lot", or a board's code of at most 60 bytes such as K7-2`,
		`["odour"]`:                                   `finding 1: line 1, column 2: a finding cannot be text: write it as {"kind": "odour", "value": "fresh"}`,
	} {
		_, err := ParseFindings([]byte(text))
		require.EqualError(t, err, want, text)
		require.ErrorIs(t, err, ErrBadList)
	}
	_, err := ParseFindings([]byte(`[{"on": "today"}]`))
	require.ErrorIs(t, err, ErrDayAsPlace)
}

func TestCheckPlace(t *testing.T) {
	t.Parallel()
	for _, on := range []string{"", "lot", "board", "K7MWX-3", "1-2-3", "12", "board 4", "left slat", "May-slat", "marked 2", "20261301", "B-2026"} {
		require.NoError(t, CheckPlace(on), on)
	}
	for _, on := range []string{
		"2026-01-02", "2026-1-2", "2026-01-02T10:00:00Z", "2026/01/02", "02.01.2026", "1/2/26", "20260102", "3 May 2026", "May 3, 2026", "14. Mar", "today", " Yesterday ",
	} {
		require.ErrorIs(t, CheckPlace(on), ErrDayAsPlace, on)
		require.ErrorIs(t, Validate(Finding{Kind: "odour", Value: "fresh", On: on}), ErrDayAsPlace, on)
	}
	for _, on := range []string{" ", "…", "a\nb", "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx"} {
		require.ErrorIs(t, CheckPlace(on), ErrBadPlace, on)
	}
}

// FuzzParseFindings checks that any text is read or refused with its place, and
// that what was read is what encoding/json reads from the same text.
func FuzzParseFindings(f *testing.F) {
	for _, text := range []string{
		`[]`, `[{"kind":"odour","value":"fresh","on":"lot","note":"","at":"2026-03-14","struck":false}]`, `[{"kind":"mark","on":"2026-01-02"}]`,
		`[{"kind":1}]`, `{}`, "[{\"kind\"\n:\"x\",}]", "[\x00", `[[]]`, `[{"kind":"\ud800"}]`, `[{},{}] x`, "\ufeff[]", `"`, `[{"Kind":"a","KIND":"b"}]`,
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		list, err := ParseFindings(text)
		var fault *ListError
		if errors.As(err, &fault) {
			require.Positive(t, fault.Line)
			require.Positive(t, fault.Column)
			require.NotEmpty(t, fault.Help)
			require.NotContains(t, err.Error(), "json:")
			return
		}
		require.NoError(t, err)
		for _, one := range list {
			require.NoError(t, CheckPlace(one.On))
		}
		encoded, err := json.Marshal(list)
		if err != nil {
			return // a year beyond what JSON's moments hold
		}
		again, err := ParseFindings(encoded)
		require.NoError(t, err)
		require.Len(t, again, len(list))
	})
}
