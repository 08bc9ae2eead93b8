package server_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// TestSheetOfThinStrips rips a board into as many slats as it gives: the sheet
// tells the last ones apart, and counts that setting.
func TestSheetOfThinStrips(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	board := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "1", "width": "5 1/2", "length": "24", "metal": "clean", "left_trim": "0", "right_trim": "0"})
	b.add(db.OwnParts, map[string]string{"kit": "our rack", "part": "slat", "count": "5", "thickness": "3/4", "width": "3/4", "length": "23", "zone": "inside"})
	p := b.asPlanned("want-0", "our rack", "count-0", "1", "pattern", "rip2", "wet_why", "a test", "only", board.Values["code"], "offcut_length", "0", "offcut_width", "0", "offcut_share", "0")
	require.Contains(t, p.mainText(), "Waste and trim 0.00 0.0 %", "five strips and four kerfs are 5 1/2 in")
	sheet := b.open(strings.Split(p.path, "?")[0] + "/sheet")
	says := sheet.mainText()
	tables := sheet.all("table", "cuts")
	require.Len(t, tables, 2)
	require.Contains(t, says, "Fence and stop are set 2 times")
	require.Contains(t, text(tables[0]), "1 in from thin-strip stop to blade")
	require.Contains(t, text(tables[0]), "the strip falls off the far side")
	require.Equal(t, 3, strings.Count(text(tables[0]), "top face up"), "5 1/2 in less three strips and kerfs leaves 2 1/8 in")
	require.Contains(t, text(tables[1]), "1 in from fence to blade")
	require.Contains(t, text(tables[1]), "under one push block")
	require.NotContains(t, text(tables[1]), "far side")
	require.Equal(t, 1, strings.Count(text(tables[1]), "top face up"))
}

// TestReasonsThatOverruleSaySomething sends a dot for a reason.
func TestReasonsThatOverruleSaySomething(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	form := with(b.form(b.open("/build"), "/build"), "want-0", "slatted rack 10-frame", "count-0", "1")
	for _, field := range []string{"wet_why", "unswept_why"} {
		for _, why := range []string{".", "- -", "?!", "x"} {
			require.Contains(t, b.refused(b.post("/build", with(form, field, why)), field), "says nothing; write why")
		}
		p := b.stored("/build", with(form, "id", "", field, "no nails: 木ネジ"))
		require.Contains(t, p.mainText(), "overruled: no nails: 木ネジ")
		b.stored(strings.Split(p.path, "?")[0]+"/aside", nil)
	}
}

// TestSheetSaysWhereBoardsLie fetches boards from two places and one that
// nobody wrote down.
func TestSheetSaysWhereBoardsLie(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	lot := b.withWood().lot.Values["code"]
	var codes []string
	for _, place := range []string{"", "rack 2", "Rack 1", "rack 2"} {
		board := b.add(db.Boards, map[string]string{"lot": lot, "thickness": "1", "width": "3", "length": "24", "metal": "clean", "place": place})
		codes = append(codes, board.Values["code"])
	}
	b.add(db.OwnParts, map[string]string{"kit": "our stand", "part": "rail", "count": "4", "thickness": "3/4", "width": "2", "length": "20", "zone": "inside"})
	p := b.asPlanned("want-0", "our stand", "count-0", "1", "wet_why", "a test", "only", strings.Join(codes, " "))
	plan := strings.Split(p.path, "?")[0]
	says := b.open(plan + "/sheet").mainText()
	require.Contains(t, says, "Fetch Rack 1: "+codes[2]+" rack 2: "+codes[1]+", "+codes[3]+" no place written down: "+codes[0])
	b.stored(plan+"/cut", nil)
	require.NotContains(t, b.open(plan+"/sheet").mainText(), "Fetch", "nothing is left to fetch")
}
