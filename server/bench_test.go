package server_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	lumber "skepwood/analytics/wood"
	"skepwood/db"
	"skepwood/server/browsertest"
)

// TestJourneyCutABoard sweeps a board, looks at a rip and cuts it, on a phone.
func TestJourneyCutABoard(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	board := "/boards/" + w.board.ID.String()
	phone := b.phone(browsertest.Options{})
	phone.Go(board)
	phone.Tap("Rip or crosscut it")
	phone.Type("sizes", "2 1/4, 2 1/4, 3/4")
	phone.Tap("Cut it")
	require.Contains(t, phone.See(".faults"), "not yet swept for metal", "a hidden nail is asked about first")
	phone.Go(board)
	phone.Tap("Swept clean")
	phone.Tap("Rip or crosscut it")
	phone.Type("sizes", "2 1/4, 2 1/4, 3/4")
	phone.Tap("Show me first")
	require.Equal(t, []string{"1", "2", "3"}, phone.Texts("main tbody th"), "nothing is left of 5 1/2 in")
	require.Contains(t, phone.See("figcaption"), "1/4 in goes into the saw")
	phone.Tap("Cut it")
	require.Contains(t, phone.See("main"), "Cut. The board is no longer on the rack")
	code := w.lot.Values["code"]
	require.Equal(t, []string{code + "-2", code + "-3", code + "-4"}, phone.Texts("#children + table tbody th a"))
	phone.Tap(code + "-3")
	require.Contains(t, phone.See("main"), "It was cut from "+w.board.Values["code"]+", which came out of lot "+code)
	phone.Tap(w.board.Values["code"])
	phone.Tap("Take this cut back")
	got, err := db.Boards.Get(t.Context(), b.store, w.board.ID)
	require.NoError(t, err)
	require.Equal(t, "rack", got.State)
}

// TestCutsThatCannotBe tries wrong values in each field of the cut.
func TestCutsThatCannotBe(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	address := "/boards/" + w.board.ID.String() + "/cut"
	good := with(b.form(b.open(address), address), "sizes", "20, 20", "how", "crosscut", "why", "only a test piece")
	before := b.contents()
	for _, c := range []struct{ field, value, says string }{
		{"how", "saw", "not a known choice"}, {"sizes", "", "missing"}, {"sizes", "wide", `cannot be: size 1 is "wide": `}, {"sizes", "20, 0", "cannot be: size 2 is 0"}, {"sizes", "20, 28", "size 2 is 28 in where"}, {"sizes", "20, 1/32", "size 2 is less than 1 in, too short for a board"}, {"sizes", "20, 15/16", "size 2 is less than 1 in"},
		{"sizes", "48", "size 1 is the whole 48 in, so nothing would be cut"},
		{"kerf", "", "1/8 in"}, {"kerf", "60", "less than the board"}, {"rest", "burn", "not a known choice"}, {"why", "", "not yet swept for metal"},
	} {
		p := b.post(address, with(good, c.field, c.value))
		require.Contains(t, b.refused(p, c.field), c.says, "%s = %q", c.field, c.value)
	}
	require.Equal(t, before, b.contents())
	require.Contains(t, b.refused(b.post(address, with(good, "how", "rip", "sizes", "5, 1/32")), "sizes"), "size 2 is less than 1/16 in, which no saw leaves whole")
	require.Contains(t, b.get(address+"?how=crosscut&rest=keep&kerf=1/8&sizes=24,+23").mainText(), "1 in goes into the saw and waste", "3/4 in of it is no board")
	whole := with(good, "how", "rip", "sizes", "5 1/2")
	require.Contains(t, b.refused(b.post(address, whole), "sizes"), "size 1 is the whole 5 1/2 in, so nothing would be cut")
	require.Equal(t, before, b.contents())
	require.Equal(t, http.StatusUnprocessableEntity, b.get(address+"?sizes=900").status)
	require.Equal(t, http.StatusUnprocessableEntity, b.get(address+"?how=rip&rest=waste&sizes=5+1/2").status, "shown first")
	// 2 and 3 11/32 of 5 1/2 leave 1/32 after two kerfs: nothing to keep.
	require.Contains(t, b.get(address+"?how=rip&rest=keep&kerf=1/16&sizes=2,+3+11/32").mainText(), "5/32 in goes into the saw")
	for range 2 { // sent twice it is one cut
		require.Equal(t, http.StatusSeeOther, b.post(address, with(good, "rest", "waste")).status)
	}
	require.Equal(t, 3, b.count(db.Boards))
	history, err := b.store.HistoryOf(t.Context(), "board", w.board.ID)
	require.NoError(t, err)
	require.Equal(t, "crosscut into 2 boards. only a test piece", history[0].Why)
	require.Contains(t, b.open(address).mainText(), "no longer on the rack")
	require.Equal(t, http.StatusUnprocessableEntity, b.post("/boards/"+w.board.ID.String()+"/marks", with(good, "mark", "metal=rusty")).status)
}

// TestBoardsAreEnteredAsTheyAre enters nominal, tapering and waney boards.
func TestBoardsAreEnteredAsTheyAre(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	lot := "/lots/" + w.lot.ID.String()
	form := func(pairs ...string) []string {
		return append([]string{"thickness", "1", "width", "6", "length", "4 ft", "boards", "2"}, pairs...)
	}
	add := func(pairs ...string) db.Board {
		p := b.stored(lot+"/boards", with(b.form(b.open(lot), lot+"/boards"), form(pairs...)...))
		require.NotContains(t, p.mainText(), "Nothing was stored")
		boards, err := b.store.BoardsOf(t.Context(), w.lot.ID)
		require.NoError(t, err)
		return boards[len(boards)-1]
	}
	nominal := add("measure", "dry")
	require.Equal(t, [2]lumber.Length{lumber.Inch * 3 / 4, lumber.Inch * 11 / 2}, [2]lumber.Length{nominal.Thickness, nominal.Width})
	require.Contains(t, nominal.Notes, "nominal 1 in × 6 in, dressed dry; taken as 3/4 in × 5 1/2 in (PS 20-20)")
	tapered := add("end_width", "6 1/2 in")
	require.Equal(t, lumber.Inch*13/2, tapered.Width, "the wider end is the board's width")
	require.Len(t, b.live(tapered.ID), 8)
	waney := add("wane", "1/2", "wane_run", "30 cm")
	require.Len(t, b.live(waney.ID), 1)
	require.Equal(t, 30*lumber.Centimetre, b.live(waney.ID)[0].DX)
	clear := add("looked_over", "yes")
	row, err := b.store.StockBoard(t.Context(), clear.ID)
	require.NoError(t, err)
	require.True(t, row.Mapped)

	before := b.contents()
	for _, c := range []struct{ field, value, says string }{
		{"measure", "guessed", "not a known choice"}, {"end_width", "0", "zero"}, {"end_width", "narrow", "5 1/2 in"}, {"wane", "6", "measure from the edge"}, {"wane", "bark", "5 1/2 in"},
		{"wane_run", "5", "is missing"}, {"looked_over", "perhaps", "neither yes nor no"},
	} {
		p := b.post(lot+"/boards", with(b.form(b.open(lot), lot+"/boards"), form(c.field, c.value)...))
		field := c.field
		if c.says == "is missing" {
			field = "wane"
		}
		require.Contains(t, b.refused(p, field), c.says, "%s = %q", c.field, c.value)
	}
	p := b.post(lot+"/boards", with(b.form(b.open(lot), lot+"/boards"), form("wane", "1/2", "wane_run", "9 ft")...))
	require.Contains(t, b.refused(p, "wane_run"), "on a board of 48 in")
	p = b.post(lot+"/boards", with(b.form(b.open(lot), lot+"/boards"), form("width", "5 1/4", "measure", "dry")...))
	require.Contains(t, b.refused(p, "measure"), "width 5 1/4 in is not a softwood size of PS 20")
	require.Equal(t, before, b.contents())
}

// TestWholeLotAtOnce sweeps and looks over a lot's boards with one tap each.
func TestWholeLotAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	for range 2 {
		b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "1", "width": "4", "length": "40"})
	}
	b.add(db.Defects, map[string]string{"board": w.board.Values["code"], "kind": "nail_hole", "x": "40", "y": "1", "dx": "1/4", "dy": "1/4", "metal": "yes"})
	phone := b.phone(browsertest.Options{})
	phone.Go("/lots/" + w.lot.ID.String())
	phone.Tap("All swept clean")
	require.Contains(t, phone.See("main"), "2 boards changed. Left as they are, because metal is written down on them: "+w.board.Values["code"])
	phone.Tap("All looked over")
	require.Contains(t, phone.See("main"), "3 boards changed.")
	phone.Go("/stock")
	require.NotContains(t, phone.See("table"), "*")
}

// TestWidthsAreSettings sets the clearance round metal and follows it.
func TestWidthsAreSettings(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	b.add(db.Defects, map[string]string{"board": w.board.Values["code"], "kind": "nail_hole", "x": "24", "y": "2 3/4", "dx": "1/4", "dy": "1/4", "metal": "yes"})
	usable := func() float64 {
		row, err := b.store.StockBoard(t.Context(), w.board.ID)
		require.NoError(t, err)
		return row.UsableM3
	}
	before := usable()
	address := "/settings/allowances"
	set := func(pairs ...string) *page {
		return b.post(address, with(b.form(b.open("/settings"), address), pairs...))
	}
	require.Contains(t, b.refused(set("allowance-name", "", "allowance-size", "1"), "allowance-name"), "missing")
	require.Contains(t, b.refused(set("allowance-name", "metal_clearance", "allowance-size", "wide"), "allowance-size"), "5 1/2 in")
	require.Contains(t, b.refused(set("allowance-name", "metal_clearance", "allowance-size", "3"), "allowance-size"), "more than 2 in")
	require.Equal(t, http.StatusSeeOther, set("allowance-name", "metal_clearance", "allowance-size", "1 1/2 in", "allowance-note", "our nails are long").status)
	require.Less(t, usable(), before)
	require.Contains(t, b.open("/boards/"+w.board.ID.String()+"/map").mainText(), "Round metal 1 1/2 in is kept clear")
	require.Equal(t, http.StatusSeeOther, set("allowance-name", "metal_clearance", "allowance-size", "1/4 in").status)
	require.InDelta(t, before, usable(), 1e-15)
	require.Equal(t, 1, b.count(db.Allowances), "a change is a correction")
	_, err := b.store.Recompute(t.Context(), nil)
	require.NoError(t, err)
	require.InDelta(t, before, usable(), 1e-15)
}
