package screen

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestJudgeUnitSinglesOutTheOddBoard(t *testing.T) {
	t.Parallel()
	findings := []Finding{
		on("K7-3", "species", "pine"), on("K7-2", "tint", "green"), f("shipper", "known_domestic"),
		f("cargo", "tile"), f("look", "clean"), on("K7-2", "odour", "fresh"),
	}
	u := JudgeUnit(findings, Options{})
	require.Equal(t, Inside, u.Lot.Verdict)
	require.Len(t, u.Boards, 2)
	require.Equal(t, "K7-2", u.Boards[0].On)
	require.True(t, u.Boards[0].Apart)
	require.Equal(t, Never, u.Boards[0].Judgement.Verdict)
	require.Equal(t, []int{1}, u.Boards[0].Judgement.Reasons[0].Findings, "indexes are those of the whole list")
	require.False(t, u.Boards[1].Apart)
	mild := JudgeUnit(home(on("K7-4", "finish", "varnish")), Options{})
	require.True(t, mild.Boards[0].Apart, "outside differs from inside too")
}

// TestEvidenceReachesOnlyWhereItWasTaken covers which piece of wood a finding
// may speak for.
func TestEvidenceReachesOnlyWhereItWasTaken(t *testing.T) {
	t.Parallel()
	paint := func(where string) Finding { return on(where, "paint", "unknown") }
	lead := func(where string) Finding { return on(where, "test_lead", "negative") }
	for _, c := range []struct {
		name  string
		lot   []Finding
		board []Finding
		want  Verdict
	}{
		{"a board's own test answers its own paint", home(), []Finding{paint("B"), lead("B")}, Outside},
		{"a board's test answers the lot's paint, for that board", home(paint(OnLot)), []Finding{lead("B")}, Outside},
		{"a test on one piece of the lot answers no board's paint", home(lead(OnLot)), []Finding{paint("B")}, Hold},
		{"planing of the whole lot covers its boards", home(f("done", "planed")), []Finding{on("B", "finish", "varnish")}, Inside},
		{"the lot's mark does not speak for a mixed unit's board", []Finding{heat, f("mark_look", "mixed_boards")}, nil, Hold},
		{"the board's own mark does", []Finding{heat, f("mark_look", "mixed_boards")}, []Finding{on("B", "mark", "IPPC DE-NW-49-1234 / HT")}, Inside},
		{"the board's own gas mark does, to outside", []Finding{heat, f("mark_look", "mixed_boards")}, []Finding{on("B", "mark", "IPPC CN-001 / MB")}, Outside},
		{"a lot finding passes to every board", home(f("cargo", "pesticide")), []Finding{on("B", "odour", "fresh")}, Never},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			j := JudgeBoard(c.lot, c.board, Options{})
			require.Equal(t, c.want, j.Verdict, describe(j))
		})
	}
	mixed := home(paint(OnLot), lead("B-1"), paint("B-2"))
	require.Equal(t, Hold, Judge(mixed, Options{}).Verdict, "one board's test answers neither the lot nor another board")
	marked := []Finding{heat, f("mark_look", "mixed_boards"), on("B-1", "mark", "IPPC DE-NW-49-1234 / HT")}
	require.Equal(t, Hold, Judge(marked, Options{}).Verdict, "one board's own mark does not speak for the unit")
	require.Equal(t, Inside, JudgeUnit(marked, Options{}).Boards[0].Judgement.Verdict)
}

func TestMisreadingReachesOnlyItsOwnWood(t *testing.T) {
	t.Parallel()
	stain := f("stain", "oil")
	stain.ID = "s1"
	by := func(where string) Finding {
		return Finding{Kind: "misreading", Value: "s1", On: where, Note: "iron, black round the nail only"}
	}
	require.Equal(t, Inside, Judge(home(stain, by(OnLot)), Options{}).Verdict)
	require.Equal(t, Never, Judge(home(stain, by("B-1")), Options{}).Verdict, "a board's misreading does not clear its lot")
	require.Equal(t, Inside, JudgeBoard(home(stain), []Finding{by("B-1")}, Options{}).Verdict, "it clears that board")
	unit := JudgeUnit(home(stain, by("B-1")), Options{})
	require.Equal(t, Never, unit.Lot.Verdict)
	require.Equal(t, Inside, unit.Boards[0].Judgement.Verdict)
}

func TestWorstOf(t *testing.T) {
	t.Parallel()
	good, bad, stop := Judge(home(), Options{}), Judge(home(f("stain", "oil")), Options{}), Judge(home(f("ownership", "pool")), Options{})
	panel := WorstOf(good, bad, stop)
	require.Equal(t, Never, panel.Verdict)
	require.True(t, panel.OwnershipStop)
	require.Equal(t, "S35", panel.Reasons[0].RuleID)
	require.Empty(t, panel.Reasons[0].Findings)
	require.Equal(t, Version(), panel.RuleVersion)
	require.Equal(t, Hold, WorstOf().Verdict, "no piece, nothing known")
	old := good
	old.RuleVersion = "0"
	require.Empty(t, WorstOf(good, old).RuleVersion, "pieces judged by different rules have no common version")
}
