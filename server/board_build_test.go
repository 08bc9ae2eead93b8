package server_test

import (
	"bytes"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// TestBoardNamesItsPlansAndBlanks opens the board of a plan before and after it
// is cut, and after its layout is struck in the Book and restored.
func TestBoardNamesItsPlansAndBlanks(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	boards := b.toBuild()
	p := b.asPlanned()
	l := b.layoutsOf(p)[0]
	board := "/boards/" + l.Board.ID.String()
	says := func() string { return b.open(board).mainText() }
	require.Contains(t, says(), "2 × slatted rack 10-frame")
	require.Contains(t, says(), "still to cut")
	require.NotContains(t, says(), "Blanks cut from it.")
	saw := board + "/cut"
	require.Contains(t, b.open(saw).mainText(), "The plan “2 × slatted rack 10-frame” means to cut it")
	byHand := with(b.form(b.open(saw), saw), "sizes", "1")
	require.Contains(t, b.refused(b.post(saw, byHand), "why"), "means to cut it")
	action := "/build/layouts/" + l.ID.String() + "/cut"
	b.stored(action, b.form(p, action))
	blank := l.BlankCode(l.LayoutDrawing.Pieces[0].N)
	require.Contains(t, says(), "cut as planned")
	require.Contains(t, says(), blank+" slatted rack 10-frame:")
	require.NotContains(t, says(), "Write its ends down", "its ends are cut")

	address := "/book/layout/" + l.ID.String()
	b.stored(address+"/strike", with(b.form(b.open(address+"/correct"), address+"/strike"), "why", "ticked by mistake"))
	require.NotContains(t, says(), blank)
	require.Contains(t, says(), "No plan uses it.")
	require.Contains(t, b.open("/build/blanks").mainText(), "No blank in stock")
	b.stored(address+"/restore", with(b.form(b.open(address+"/correct"), address+"/restore"), "why", "it was cut"))
	require.Contains(t, says(), blank)

	other := "/boards/" + b.add(db.Boards, map[string]string{"lot": boards[0].Values["lot"], "thickness": "1", "width": "5", "length": "40"}).ID.String()
	form := with(b.form(b.open(other), other+"/ends"), "ends-left_trim", "2 in", "ends-right_trim", "0")
	require.Contains(t, b.stored(other+"/ends", form).mainText(), "Ends: 2 in off the left, 0 in off the right")
	require.Contains(t, b.stored(other+"/ends", with(form, "ends-right_trim", "")).mainText(), "the plan’s trim off the right")
}

// TestSheetTellsMetalInTheCut has a nail where no cut can miss it, and one in
// the end that is squared: plan and sheet say so at the top and at the cut.
func TestSheetTellsMetalInTheCut(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	board := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "1", "width": "5", "length": "60", "metal": "found", "left_trim": "1 in"})
	b.add(db.Readings, map[string]string{"board": board.Values["code"], "raw": "11", "temperature": "70 F", "taken": "2026-03-10 10:00"})
	// A wire across the whole board and a rod along its right end.
	b.add(db.Defects, map[string]string{"board": board.Values["code"], "kind": "nail_hole", "x": "40", "y": "0", "dx": "1/8", "dy": "5", "metal": "yes"})
	b.add(db.Defects, map[string]string{"board": board.Values["code"], "kind": "nail_hole", "x": "56", "y": "2", "dx": "4", "dy": "1/8", "metal": "yes"})
	b.add(db.OwnParts, map[string]string{"kit": "ours", "part": "slat", "count": "2", "thickness": "3/4", "width": "2", "length": "20", "zone": "outside"})
	plan := b.planned(map[string]string{"only": board.Values["code"], "pattern": "rip2"}, db.Want{Kit: "ours", Count: 1})
	page := b.open("/build/plans/" + plan.ID.String())
	require.Contains(t, page.mainText(), "Metal in the cut. This plan could not keep the saw off metal on "+board.Values["code"])
	require.Contains(t, page.mainText(), "the cut that squares its right end")
	require.Contains(t, page.mainText(), "at the metal 40 in from the left end")
	require.Contains(t, page.mainText(), "Pull it, sweep again")
	sheet := b.open("/build/plans/" + plan.ID.String() + "/sheet").mainText()
	require.Contains(t, sheet, "METAL IN THE CUT of "+board.Values["code"])
	require.Contains(t, sheet, "Take off 1 in from the left end of this board: "+board.Values["code"]+" Take off 1/2 in")
	require.Contains(t, sheet, board.Values["code"]+" METAL in the cut: pull it first")
	require.Regexp(t, `METAL in the cut, \d+`, sheet)
	require.Contains(t, page.mainText(), "what is clear of them counts, at 25 %, as")
	require.Contains(t, page.mainText(), "by the price of a board bought instead")

	// A nail that is found afterwards is in no cut of the plan: both say so.
	require.NotContains(t, page.mainText(), "written down anew")
	b.add(db.Defects, map[string]string{"board": board.Values["code"], "kind": "nail_hole", "x": "20", "y": "1", "dx": "1/4", "dy": "1/4", "metal": "yes"})
	for _, path := range []string{"/build/plans/" + plan.ID.String(), "/build/plans/" + plan.ID.String() + "/sheet", "/build/layouts/" + b.layoutsOf(page)[0].ID.String()} {
		require.Contains(t, b.open(path).mainText(), "were written down anew after this was planned", path)
	}
}

// TestStockFilterSaysWhatItCannotRead: a filter stores nothing and says so, and
// nothing of it is left aside in silence.
func TestStockFilterSaysWhatItCannotRead(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.withWood()
	for query, try := range map[string]struct{ field, says string }{
		"verdict=foo":                         {"verdict", "none of the four: foo"},
		"min_thickness=2&max_thickness=1":     {"max_thickness", "less than the thickness from"},
		"min_width=wide":                      {"min_width", "is no length"},
		"dry=damp":                            {"dry", "percentage"},
		"verdict=" + strings.Repeat("x", 900): {"verdict", "xxx…"},
	} {
		p := b.get("/stock?" + query)
		require.Equal(t, http.StatusUnprocessableEntity, p.status, query)
		require.Contains(t, text(p.byID(try.field+"-error")), try.says)
		require.Contains(t, p.mainText(), "Please look at 1 place of the filter", query)
		require.NotContains(t, p.mainText(), "stored")
		require.NotContains(t, p.mainText(), "No board on the rack fits")
		require.Equal(t, 1, strings.Count(text(p.byID(try.field+"-error")), "; "), "one remedy: %s", text(p.byID(try.field+"-error")))
	}
	p := b.open("/stock?place=nowhere")
	require.Equal(t, "nowhere", valueOf(p, "place"))
	require.Contains(t, p.mainText(), "No board on the rack fits")
}

// TestTooLargeABodyIsAnswered posts 5 MB, with its size announced and without:
// the answer is read, and the connection is not torn down meanwhile.
func TestTooLargeABodyIsAnswered(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	five := bytes.Repeat([]byte("notes=wood&"), 5<<20/11)
	for name, body := range map[string]io.Reader{"announced": bytes.NewReader(five), "not announced": io.MultiReader(bytes.NewReader(five))} {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, b.server.URL+"/build", body)
		require.NoError(t, err)
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		answer, err := http.DefaultClient.Do(r)
		require.NoError(t, err, name)
		said, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		require.Equal(t, http.StatusRequestEntityTooLarge, answer.StatusCode, name)
		require.Contains(t, string(said), "larger than this page takes", name)
	}
}
