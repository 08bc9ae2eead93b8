package screen

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestVerdictWords(t *testing.T) {
	t.Parallel()
	require.Equal(t, []Verdict{Inside, Outside, Hold, Never}, Verdicts())
	for i, v := range Verdicts() {
		require.Equal(t, i, v.Severity())
		got, err := ParseVerdict(" " + strings.ToUpper(string(v)) + " ")
		require.NoError(t, err)
		require.Equal(t, v, got)
		require.Equal(t, Never, Worse(v, Never))
		require.Equal(t, v, Worse(Inside, v))
	}
	require.Equal(t, Hold.Severity(), Verdict("").Severity(), "no verdict is not a clearance")
	require.Equal(t, Hold.Severity(), Verdict("safe").Severity())
	_, err := ParseVerdict("fine " + strings.Repeat("x", 1000))
	require.ErrorIs(t, err, ErrUnknownVerdict)
	require.Less(t, len(err.Error()), 200)
}

// TestOwnership covers the legal stop, which stands apart from the verdict.
func TestOwnership(t *testing.T) {
	t.Parallel()
	bare := Finding{Kind: "release", Value: "owner_written", On: OnLot}
	for _, c := range []struct {
		name string
		add  []Finding
		stop bool
	}{
		{"nothing said", nil, false},
		{"owner's colour", []Finding{f("ownership", "pool")}, true},
		{"owner's words in the mark", []Finding{f("mark", "PROPERTY OF EXAMPLE YARD")}, true},
		{"the owner released it", []Finding{f("ownership", "pool"), f("release", "owner_written")}, false},
		{"a release without name and date", []Finding{f("ownership", "pool"), bare}, true},
		{"the business says take it", []Finding{f("ownership", "pool"), f("release", "business_says")}, true},
		{"and the business owns it", []Finding{f("ownership", "pool"), f("release", "business_says"), f("ownership", "business_owned")}, false},
		{"a good mark releases nothing", []Finding{f("ownership", "owner_name"), heat}, true},
		{"misread", []Finding{f("ownership", "pool"), misread("ownership=pool")}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			with := Judge(home(c.add...), Options{})
			require.Equal(t, c.stop, with.OwnershipStop)
			require.Equal(t, c.stop, len(with.Stops) == 1 && with.Stops[0].RuleID == "S16" && with.Stops[0].Verdict == "")
		})
	}
}

// TestMisreadings covers the only thing that fells the verdict never.
func TestMisreadings(t *testing.T) {
	t.Parallel()
	stain := f("stain", "oil")
	stain.ID = "s1"
	bare := misread("s1")
	bare.Note = " \t"
	late := misread("s1")
	late.At = today.AddDate(0, 1, 0)
	struck := misread("s1")
	struck.Struck = true
	for _, c := range []struct {
		name string
		by   Finding
		want Verdict
		note string
	}{
		{"by id", misread("s1"), Inside, ""},
		{"by kind and value, as typed", misread("stain = Oil "), Inside, ""},
		{"without a reason", bare, Never, "no effect until it says"},
		{"of an entry that is not there", misread("s2"), Never, "names no entry"},
		{"of nothing", misread(""), Never, "names no entry"},
		{"dated in the future", late, Never, "dated in the future"},
		{"itself struck", struck, Never, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			j := Judge(home(stain, c.by), Options{Today: today})
			require.Equal(t, c.want, j.Verdict)
			require.Contains(t, noteTexts(j), c.note)
			if c.want == Inside {
				at := slices.IndexFunc(j.Lifted, func(r Reason) bool { return r.RuleID == "S35" })
				require.GreaterOrEqual(t, at, 0, "the old finding stays visible")
				require.Equal(t, []int{3}, j.Lifted[at].Findings)
				require.Equal(t, []int{4}, j.Lifted[at].By)
				require.Equal(t, Never, j.Lifted[at].From)
			}
		})
	}
	unmarked := Judge([]Finding{heat, misread("mark=" + heat.Value)}, Options{})
	require.Equal(t, Hold, unmarked.Verdict, "a misread good mark clears nothing")
	require.Equal(t, "S00", unmarked.Reasons[0].RuleID)
	require.Equal(t, []string{"hold S40", "inside S01"}, resultOf(Judge([]Finding{
		heat, f("cargo", "unknown"), f("cargo", "tile"), f("statement", "shipper_and_cargo"), misread("cargo=tile"),
	}, Options{})).Reasons, "a misread cargo answers nothing")
	again := Judge(home(stain, misread("s1"), f("stain", "oil")), Options{})
	require.Equal(t, Never, again.Verdict, "another finding of the same stain still counts")
}

func noteTexts(j Judgement) string {
	var texts []string
	for _, n := range j.Notes {
		texts = append(texts, n.Text)
	}
	return strings.Join(texts, "\n")
}

// TestDeedsAnswerOnlyWhatWasSeenBefore covers the order of days.
func TestDeedsAnswerOnlyWhatWasSeenBefore(t *testing.T) {
	t.Parallel()
	varnish, planed := f("finish", "varnish"), f("done", "planed")
	for _, c := range []struct {
		name        string
		seen, after Finding
		want        Verdict
	}{
		{"planed later", at(3, varnish), at(4, planed), Inside},
		{"planed the same day", at(3, varnish), at(3, planed), Inside},
		{"planed before it was varnished", at(4, varnish), at(3, planed), Outside},
		{"no days known", varnish, planed, Inside},
		{"day of planing unknown", at(3, varnish), planed, Outside},
		{"day of finding unknown", varnish, at(3, planed), Inside},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, c.want, Judge(home(c.seen, c.after), Options{}).Verdict)
		})
	}
}

// TestDatesAtTheEdge covers days before 1970 and in the far future.
func TestDatesAtTheEdge(t *testing.T) {
	t.Parallel()
	require.Equal(t, int32(-1), dayOf(time.Date(1969, 12, 31, 23, 0, 0, 0, time.UTC)))
	require.Equal(t, int32(0), dayOf(time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)))
	require.Equal(t, int32(0), dayOf(time.Date(1970, 1, 1, 23, 59, 59, 0, time.UTC)))
	require.Equal(t, int32(noDay), dayOf(time.Time{}))
	require.Greater(t, dayOf(time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)), int32(2_000_000))
	soon, late := heat, heat
	soon.At, late.At = today.AddDate(0, 0, 1), today.AddDate(0, 0, 2)
	require.Equal(t, Inside, Judge([]Finding{soon}, Options{Today: today}).Verdict, "a phone may be a day ahead")
	j := Judge([]Finding{late}, Options{Today: today})
	require.Equal(t, Hold, j.Verdict)
	require.Contains(t, noteTexts(j), "dated in the future")
	require.Equal(t, Inside, Judge([]Finding{late}, Options{}).Verdict, "without a today nothing is in the future")
}

// TestCountryThatHadWithdrawn covers the cross-check of country and fumigant: a
// remark for the person, not an error.
func TestCountryThatHadWithdrawn(t *testing.T) {
	t.Parallel()
	j := Judge([]Finding{f("mark", "IPPC DE-123 / MB")}, Options{})
	require.Equal(t, Outside, j.Verdict)
	require.Contains(t, describe(j), "older than 2010 or the mark was misread")
	other := Judge([]Finding{gas}, Options{})
	require.NotContains(t, fired(other), "S06")
}

func TestDisagreementShowsAndChangesNothing(t *testing.T) {
	t.Parallel()
	no := Finding{Kind: "disagreement", Value: "inside", Note: "I built with the same pallets for years"}
	j := Judge([]Finding{gas, no}, Options{})
	require.Equal(t, Outside, j.Verdict)
	require.Contains(t, noteTexts(j), "same pallets")
}

func TestStruckFindingsAreIgnored(t *testing.T) {
	t.Parallel()
	stain := f("stain", "oil")
	stain.Struck = true
	require.Equal(t, Inside, Judge(home(stain), Options{}).Verdict)
	mark := heat
	mark.Struck = true
	require.Equal(t, Hold, Judge([]Finding{mark}, Options{}).Verdict)
}

// TestOddInput covers what nobody should type: it holds, with a clear note.
func TestOddInput(t *testing.T) {
	t.Parallel()
	for name, text := range map[string]string{
		"empty": "", "blank": " \t\n", "emoji": "🪵🔥", "right to left": "\u202eTH\u202c عينة", "zero bytes": "\x00\x00", "invalid": "\xff\xfe",
		"one megabyte": strings.Repeat("wood ", 200_000),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, kind := range []Kind{"mark", "tag", "odour", "moisture", "species", "other", Kind(text)} {
				j := Judge(home(Finding{Kind: kind, Value: text}), Options{})
				require.Equal(t, Hold, j.Verdict, "%s", kind)
				require.Greater(t, len(j.Reasons)+len(j.Notes), 1)
				require.Less(t, len(noteTexts(j)), 2000)
			}
		})
	}
}

// TestHoldsOnSilence covers "no findings at all".
func TestHoldsOnSilence(t *testing.T) {
	t.Parallel()
	for _, j := range []Judgement{Judge(nil, Options{}), JudgeBoard(nil, nil, Options{}), JudgeUnit(nil, Options{}).Lot} {
		require.Equal(t, Hold, j.Verdict)
		require.Equal(t, "S00", j.Reasons[0].RuleID)
		require.NotNil(t, j.Reasons[0].Findings)
		require.NotEmpty(t, j.Lifts)
	}
}

// TestWaysOut covers what would change the verdict, nearest first.
func TestWaysOut(t *testing.T) {
	t.Parallel()
	j := Judge(home()[:2], Options{})
	require.Equal(t, 1, j.Lifts[0].Missing)
	for _, l := range Judge(home(f("stain", "oil")), Options{}).Lifts {
		require.True(t, l.Misreading)
	}
	green := Judge([]Finding{f("tint", "green"), misread("tint=green")}, Options{})
	require.Equal(t, Never, green.Verdict)
	require.Equal(t, 1, green.Lifts[0].Missing, "the misreading is there, the measurement is not")
	require.Empty(t, Judge(home(), Options{}).Lifts)
	mild := Judge(home(f("paint", "unknown"), f("test_lead", "negative")), Options{})
	require.Equal(t, Outside, mild.Verdict)
	require.Equal(t, Hold, mild.Reasons[0].From)
	require.Len(t, mild.Lifts, 1, "only the milder lift is left to reach")
}

// TestCautions covers cautions at the place they matter.
func TestCautions(t *testing.T) {
	t.Parallel()
	has := func(findings []Finding, part string) bool {
		for _, c := range Judge(findings, Options{}).Cautions {
			if strings.Contains(c.Text, part) {
				return true
			}
		}
		return false
	}
	require.True(t, has([]Finding{gas}, "No published residue study"))
	require.True(t, has(home(f("fumigation", "container")), "stand upwind"))
	require.True(t, has(home(f("paint", "unknown")), "no dry sanding"))
	require.True(t, has(home(f("stain", "oil")), "Never burn"))
	require.True(t, has(home(), "nobody certifies"))
	require.False(t, has(home(), "No published residue study"))
	require.True(t, has(home(f("species", "redcedar_western")), "Red cedar"))
}
