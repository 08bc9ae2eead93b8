package server_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	lumber "skepwood/analytics/wood"
	"skepwood/db"
	"skepwood/server/browsertest"
)

// live returns the defects of a board that stand, from its left end.
func (b *bench) live(board uuid.UUID) (out []db.Defect) {
	b.Helper()
	all, err := b.store.DefectsOf(b.Context(), board)
	require.NoError(b, err)
	for _, d := range all {
		if !d.Struck() {
			out = append(out, d)
		}
	}
	return out
}

// TestJourneyMapABoard taps, drags, turns the board over and takes back, on a
// phone, with a board of 5 1/2 by 48 in that bears one knot through.
func TestJourneyMapABoard(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	phone := b.phone(browsertest.Options{})
	phone.Go("/boards/" + w.board.ID.String())
	phone.Tap("Map its defects")
	phone.Type("spot-dx", "1 in")
	phone.Type("spot-dy", "1/2 in")
	phone.Touch(".map .wood", browsertest.Spot{X: 0.5, Y: 0.5})
	defects := b.live(w.board.ID)
	require.Len(t, defects, 2)
	tapped := defects[1]
	require.Equal(t, "nail_hole", tapped.Kind)
	require.InDelta(t, 23.5, tapped.X.Inches(), 0.26, "the middle of what was tapped, to a finger's pixel")
	require.InDelta(t, 2.5, tapped.Y.Inches(), 0.13)
	require.Equal(t, lumber.Inch, tapped.DX)
	require.Equal(t, "1 in", browsertest.Eval[string](phone, `document.getElementById("spot-dx").value`), "the next one is like it")

	phone.Tap("Bottom face, rolled over")
	phone.Choose("spot-kind", "stain")
	phone.Choose("spot-face", "bottom")
	// On the bottom face the lower edge of the drawing is the far edge of the
	// board: from an eighth to a quarter of its width, 12 to 24 in.
	phone.Touch(".map .wood", browsertest.Spot{X: 0.25, Y: 0.875}, browsertest.Spot{X: 0.4, Y: 0.8}, browsertest.Spot{X: 0.5, Y: 0.75})
	defects = b.live(w.board.ID)
	require.Len(t, defects, 3)
	require.Contains(t, phone.Path(), "face=bottom", "the face stays up")
	stain := defects[1]
	require.Equal(t, []string{"stain", "bottom"}, []string{stain.Kind, stain.Face})
	require.InDelta(t, 12, stain.X.Inches(), 0.3)
	require.InDelta(t, 12, stain.DX.Inches(), 0.4)
	require.InDelta(t, 5.5*0.75, stain.Y.Inches(), 0.15, "turned over, the near edge is the far one")
	require.InDelta(t, 5.5/8, stain.DY.Inches(), 0.2)

	phone.Tap(phone.Texts(`form[action$="/map/undo"] button`)[0])
	require.Contains(t, phone.See("main"), "Taken back.")
	require.Len(t, b.live(w.board.ID), 2)
	history, err := b.store.HistoryOf(t.Context(), "defect", stain.ID)
	require.NoError(t, err)
	require.Equal(t, db.ActionStruck, history[0].Action)
	require.Equal(t, 3, b.count(db.Defects), "nothing is erased")
}

// TestMapByKeyboard marks a board of 48 by 5 1/2 in with the arrow keys: a
// defect of the size in the form, one more from where the cross stood, and a
// rectangle; Escape gives one up.
func TestMapByKeyboard(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	phone := b.phone(browsertest.Options{})
	phone.Go("/boards/" + w.board.ID.String() + "/map")
	require.Equal(t, "application", browsertest.Eval[string](phone, `document.querySelector(".map").getAttribute("role")`))
	require.Contains(t, browsertest.Eval[string](phone, `document.querySelector(".map").getAttribute("aria-label")`), w.board.Values["code"])
	require.Equal(t, "map-keys", browsertest.Eval[string](phone, `document.querySelector(".map").getAttribute("aria-describedby")`))
	keys := func(names ...string) {
		t.Helper()
		for _, name := range names {
			shift := strings.HasPrefix(name, "shift ")
			phone.Run(fmt.Sprintf(`document.querySelector(".map").dispatchEvent(new KeyboardEvent("keydown", {key: %q, shiftKey: %v, bubbles: true, cancelable: true}))`, strings.TrimPrefix(name, "shift "), shift))
		}
	}
	said := func() string {
		return browsertest.Eval[string](phone, `document.getElementById("map-said").textContent`)
	}
	phone.Run(`document.querySelector(".map").focus()`)
	keys("Home", "ArrowRight", "ArrowRight", "shift ArrowRight", "ArrowDown", "ArrowDown")
	require.Equal(t, "1 1/16 in from the left end, 1 3/4 in from the edge near you", said())
	phone.Type("spot-dx", "1/2 in")
	phone.Type("spot-dy", "1/2 in")
	phone.PressOn(".map", "\r")
	defects := b.live(w.board.ID)
	require.Len(t, defects, 2)
	require.Equal(t, []lumber.Length{13 * lumber.Inch / 16, 3 * lumber.Inch / 2}, []lumber.Length{defects[0].X, defects[0].Y}, "its middle")
	again := browsertest.Eval[string](phone, `new Promise((done) => { const look = () => { const said = document.getElementById("map-said").textContent; if (said) done(said); else requestAnimationFrame(look); }; look(); })`)
	require.Equal(t, "1 1/16 in from the left end, 1 3/4 in from the edge near you", again, "the cross stands where it stood")
	keys(" ", "ArrowRight", "Escape", "ArrowRight", " ", "ArrowRight", "ArrowRight", "ArrowUp")
	require.Contains(t, said(), "Rectangle from 2 1/16 in, 1 3/4 in to 3 1/16 in")
	phone.PressOn(".map", " ")
	defects = b.live(w.board.ID)
	require.Len(t, defects, 3)
	require.Equal(t, []lumber.Length{33 * lumber.Inch / 16, 7 * lumber.Inch / 4, lumber.Inch, lumber.Inch / 2}, []lumber.Length{defects[1].X, defects[1].Y, defects[1].DX, defects[1].DY})
	keys("End", "ArrowRight", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown")
	require.Equal(t, "48 in from the left end, 0 in from the edge near you", said(), "it stays on the board")
}

// TestMapWithoutScripts does the same by form: a defect on the bottom, rows of
// nails on the whole lot, and both taken back.
func TestMapWithoutScripts(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	other := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "1", "width": "4", "length": "40"})
	phone := b.phone(browsertest.Options{NoScripts: true})
	phone.Go("/boards/" + w.board.ID.String() + "/map?face=bottom")
	require.NotContains(t, phone.See("main"), "Tap puts a defect")
	phone.Choose("spot-kind", "split")
	phone.Choose("spot-face", "bottom")
	phone.Type("spot-dx", "6")
	phone.Type("spot-dy", "1/4")
	phone.Type("spot-x", "0")
	phone.Type("spot-y", "1")
	phone.Type("spot-depth", "1/8")
	phone.Tap("Put it on the board")
	d := b.live(w.board.ID)[0]
	require.Equal(t, lumber.Inch*17/4, d.Y, "5 1/2 - 1 - 1/4")
	require.Equal(t, lumber.Inch/8, d.Depth)
	phone.Tap("Put them on all 2 boards of the lot")
	require.Len(t, b.live(other.ID), 9)
	require.Len(t, b.live(w.board.ID), 11)
	phone.Tap("Undo: nails: 3 rows, the outer ones 2 in from the ends, 3 across, on 2 boards")
	require.Empty(t, b.live(other.ID))
	require.Len(t, b.live(w.board.ID), 2)
}

// TestMapRefusesWhatCannotBe tries wrong values in each field of the map.
func TestMapRefusesWhatCannotBe(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	address := "/boards/" + w.board.ID.String() + "/map"
	good := with(b.form(b.open(address+"?face=bottom"), address), "spot-kind", "knot", "spot-x", "20", "spot-y", "1", "spot-dx", "1", "spot-dy", "1", "spot-face", "bottom")
	before := b.contents()
	for _, c := range []struct{ field, value, says string }{
		{"spot-kind", "", "missing"}, {"spot-kind", "hole", "not a known choice"}, {"spot-face", "left", "not a known choice"},
		{"spot-x", "", "tap the board"}, {"spot-x", "47.5", "past the end"}, {"spot-x", "start", "5 1/2 in"}, {"spot-y", "", "tap the board"}, {"spot-y", "5", "past the far edge"}, {"spot-y", "-1", "5 1/2 in"},
		{"spot-dx", "0", "zero"}, {"spot-dy", "wide", "5 1/2 in"}, {"spot-dy", "", "missing"}, {"spot-depth", "2", "board is thick"}, {"spot-depth", "0", "is zero; leave it empty where it was not measured"}, {"spot-depth", "0 mm", "is zero"}, {"spot-metal", "rusty", "neither yes nor no"}, {"spot-note", long(10001), "at most"},
	} {
		p := b.post(address, with(good, c.field, c.value))
		require.Contains(t, b.refused(p, c.field), c.says, "%s = %.20q", c.field, c.value)
	}
	require.Equal(t, before, b.contents())
	require.Equal(t, http.StatusSeeOther, b.post(address, good).status)
	again := with(good, "id", uuid.NewString())
	require.Contains(t, b.refused(b.post(address, again), "spot-kind"), "at this very place already")

	// A tap that is no number, or far off, is put where a board can be.
	for _, tap := range []string{"NaN", "1e300", "-5", "twelve"} {
		p := b.post(address, with(good, "id", uuid.NewString(), "spot-x", "", "spot-y", "", "tap-x", tap, "tap-y", tap))
		require.Contains(t, b.refused(p, "spot-x"), "tap the board", tap)
	}
	p := b.post(address, with(good, "id", uuid.NewString(), "tap-x", "99999", "tap-y", "0"))
	require.Equal(t, http.StatusSeeOther, p.status)
	last := b.live(w.board.ID)
	require.Equal(t, 47*lumber.Inch, last[len(last)-1].X, "kept on the board")

	for field, wrong := range map[string][]string{"nails-rows": {"0", "many", "51"}, "nails-across": {"", "0"}, "nails-from_end": {"", "in", "30"}, "nails-from_edge": {"9", "x"}, "nails-size": {"0", "", "6"}, "nails-face": {"left"}, "nails-metal": {"rusty"}} {
		nails := b.form(b.open(address), "/boards/"+w.board.ID.String()+"/nails")
		for _, value := range wrong {
			require.NotEmpty(t, b.refused(b.post("/boards/"+w.board.ID.String()+"/nails", with(nails, field, value)), field), "%s = %q", field, value)
		}
	}
	lot := "/lots/" + w.lot.ID.String() + "/nails"
	require.Contains(t, b.refused(b.post(lot, with(b.form(b.open(lot), lot), "nails-rows", "0")), "nails-rows"), "1 to 50")
	require.Contains(t, b.stored(lot, b.form(b.open(lot), lot)).mainText(), "9 defects in all")
	name := b.open(lot)
	require.Contains(t, b.stored(lot+"/undo", b.form(name, lot+"/undo")).mainText(), "Taken back.")
	require.Equal(t, http.StatusNotFound, b.post(address+"/undo", with(good, "defect", "none")).status)
	require.Equal(t, http.StatusConflict, b.post(address+"/undo", with(good, "defect", last[0].ID.String(), "version", "x")).status)
}

// TestPicturesOfABoard asks for each picture at its own address.
func TestPicturesOfABoard(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	b.add(db.Defects, map[string]string{"board": w.board.Values["code"], "kind": "nail_hole", "face": "bottom", "x": "40", "y": "5", "dx": "1/4", "dy": "1/4", "metal": "yes", "note": "<script>"})
	board := "/boards/" + w.board.ID.String()
	for path, has := range map[string][]string{
		"/map.svg":                        {w.board.Values["code"] + ": top face", "Bottom face, rolled over towards you", `class="clearance"`, "1 nail hole, 1 knot; metal in 1"},
		"/map.svg?face=bottom&theme=dark": {"far edge of the top face", "#171614"},
		"/grade.svg":                      {"Cuttings on board", `class="piece"`},
		"/usable.svg?width=358":           {"Blanks on board", `width="358"`},
		"/cut.svg?how=rip&sizes=2&kerf=1/8&rest=keep": {"cut into 2 pieces"},
	} {
		p := b.open(board + path)
		require.Equal(t, "image/svg+xml", p.header.Get("Content-Type"))
		for _, part := range has {
			require.Contains(t, p.body, part, path)
		}
		require.NotContains(t, p.body, "style=")
		require.NotContains(t, p.body, "<script")
		again := b.request(http.MethodGet, board+path, nil)
		again.Header.Set("If-None-Match", p.header.Get("ETag"))
		require.Equal(t, http.StatusNotModified, b.send(again).status)
	}
	require.Equal(t, http.StatusUnprocessableEntity, b.get(board+"/cut.svg?how=saw").status)
	require.Equal(t, http.StatusNotFound, b.get("/boards/"+uuid.NewString()+"/map.svg").status)
	require.Equal(t, http.StatusBadRequest, b.get(board+"/map.svg?width=9").status)
	p := b.open(board)
	for _, words := range []string{"Not a certified grade.", "Surface measure 2 square feet", "National Hardwood Lumber Association", "Not judged: pith", "metal found", "no ripping plan gives more"} {
		require.Contains(t, p.mainText(), words)
	}
}

// TestRowsOfALotAreForWholeBoards: the lot's page counts whole boards only, and
// the map of a piece that was cut from one offers rows for itself alone.
func TestRowsOfALotAreForWholeBoards(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	lot, whole := w.lot.Values["code"], w.board.Values["code"]
	b.add(db.Boards, map[string]string{"lot": lot, "thickness": "1", "width": "4", "length": "40"})
	piece := b.add(db.Boards, map[string]string{"lot": lot, "thickness": "1", "width": "2", "length": "40", "parent": whole})
	require.Contains(t, b.open("/lots/"+w.lot.ID.String()+"/nails").mainText(), "all 2 boards of it on the rack")
	require.Contains(t, b.open("/boards/"+w.board.ID.String()+"/map").mainText(), "Put them on all 2 boards of the lot")
	page := b.open("/boards/" + piece.ID.String() + "/map").mainText()
	require.Contains(t, page, "Put them on this board")
	require.NotContains(t, page, "boards of the lot")
}
