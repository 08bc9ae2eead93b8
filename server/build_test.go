package server_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/server/browsertest"
)

// withPlan enters a part, a plan of it from the board, and a blank.
func (b *bench) withPlan(w *wood) {
	b.Helper()
	part := b.add(db.OwnParts, map[string]string{"kit": "our nuc", "part": "slat", "count": "2", "thickness": "3/4", "width": "2", "length": "20", "zone": "outside"})
	plan := b.planned(map[string]string{"unswept_why": "a test"}, db.Want{Kit: "our nuc", Count: 1})
	layouts, err := b.store.LayoutsOf(b.Context(), plan.ID)
	require.NoError(b, err)
	blank := b.add(db.Blanks, map[string]string{"board": w.board.Values["code"], "part": "slat", "zone": "outside", "thickness": "3/4", "width": "2", "length": "20"})
	w.built = []db.Entry{part, b.load(db.Plans, plan.ID), b.load(db.Layouts, layouts[0].ID), blank}
}

func (b *bench) load(kind db.EntryKind, id [16]byte) db.Entry {
	b.Helper()
	e, err := kind.Load(b.Context(), b.store, id, b.env)
	require.NoError(b, err)
	return e
}

// planned makes a plan by rules that can be counted in the head.
func (b *bench) planned(more map[string]string, wants ...db.Want) db.Plan {
	b.Helper()
	values := map[string]string{"rip_kerf": "1/8", "crosscut_kerf": "1/8", "clearance": "1/4", "end_trim": "1/2", "offcut_length": "6", "offcut_width": "1", "wettest": "14", "wet_why": "a test"}
	for k, v := range more {
		values[k] = v
	}
	asked, faults := db.ParsePlan(values, b.env)
	require.Empty(b, faults)
	p, err := b.store.MakePlan(b.Context(), db.Base{KeeperID: b.keeper.ID}, asked, wants, "test")
	require.NoError(b, err)
	return p
}

// wrongBuild are values that plans, parts, layouts and blanks refuse.
var wrongBuild = map[string][]wrong{
	"part": join(
		[]wrong{
			{"kit", "", "missing"}, {"part", "", "missing"}, {"count", "0", "outside"}, {"count", "two", "whole number"}, {"count", "501", "outside"},
			{"thickness", "", "missing"}, {"thickness", "thick", "5 1/2 in"}, {"thickness", "0", "zero"}, {"thickness", "2 m", "more than"},
			{"width", "", "missing"}, {"width", "5 apples", "5 1/2 in"}, {"width", "4 m", "more than"},
			{"length", "", "missing"}, {"length", "0", "zero"}, {"length", "31 m", "more than"},
			{"zone", "", "missing"}, {"zone", "beside", "not a known choice"}, {"faces", "3", "outside"}, {"faces", "both", "whole number"}, {"glue", "perhaps", "neither yes nor no"},
		}, wrongText("kit", 100), wrongText("part", 100), wrongText("note", 10000)),
	"plan": join(
		[]wrong{
			{"objective", "glory", "not a known choice"}, {"pattern", "zigzag", "not a known choice"},
			{"rip_kerf", "", "missing"}, {"crosscut_kerf", " ", "missing"}, {"clearance", "", "missing"}, {"rip_kerf", "3 in", "more than"}, {"rip_kerf", "-1", "5 1/2 in"}, {"crosscut_kerf", "thin", "5 1/2 in"}, {"end_trim", "2 m", "more than"},
			{"length_allowance", "1 m", "more than"}, {"joint_allowance", "some", "5 1/2 in"}, {"plane_allowance", "-1/8", "5 1/2 in"}, {"clearance", "1 m", "more than"},
			{"glue_strip", "2 m", "more than"}, {"offcut_length", "11 m", "more than"}, {"offcut_width", "2 m", "more than"}, {"offcut_share", "101", "outside"}, {"offcut_share", "-1", "negative"}, {"offcut_share", "some", "not a number"},
			{"wettest", "3", "outside"}, {"wettest", "dry", "not a number"}, {"wettest", "61", "outside"},
			{"wants", "", "missing"}, {"status", "", "missing"}, {"status", "splendid", "not a known choice"}, {"value", "", "missing"}, {"value", "-1", "outside"}, {"bound", "much", "whole number"},
			{"follows", "the last one", "no plan"}, {"document", "", "missing"}, {"document", "{}", "not what the book writes"}, {"document", "plan", "not what the book writes"},
		}, wrongText("name", 200), wrongText("wet_why", 500), wrongText("unswept_why", 500), wrongText("only", 2000), wrongText("notes", 10000),
		wrongText("program", 100), wrongText("changed", 10000)),
	"layout": join(
		[]wrong{
			{"plan", "", "missing"}, {"plan", "no such plan", "no plan"}, {"board", "", "missing"}, {"board", "ZZZZZ-1", "no board"},
			{"number", "0", "outside"}, {"number", "first", "whole number"}, {"state", "eaten", "not a known choice"},
			{"drawing", "", "missing"}, {"drawing", "{}", "not what the book writes"}, {"drawing", `{"Width":1}x`, "not what the book writes"},
		}, wrongText("said", 500)),
	"blank": join(
		[]wrong{
			{"board", "", "missing"}, {"board", "ZZZZZ-1", "no board"}, {"code", "2222A-1/1", "check letter"}, {"code", "the third", "code of the book"},
			{"part", "", "missing"}, {"zone", "", "missing"}, {"zone", "beside", "not a known choice"},
			{"thickness", "", "missing"}, {"thickness", "2 m", "more than"}, {"width", "0", "zero"}, {"width", "wide", "5 1/2 in"}, {"length", "31 m", "more than"},
			{"state", "eaten", "not a known choice"}, {"layout", "no such layout", "no layout"},
		}, wrongText("kit", 100), wrongText("part", 200), wrongText("place", 200), wrongText("notes", 10000)),
}

// buildForms are the forms of the Build page.
func buildForms() []sheet {
	return []sheet{
		{name: "plan", page: "/build", action: "/build", kind: "plan", good: []string{"want-0", "stand two-hive low", "count-0", "1"}, fields: infoNames(db.PlanFields())},
		{name: "own part", page: "/build", action: "/build/parts", kind: "part", prefix: "part-",
			good: []string{"part-kit", "ours", "part-part", "rail", "part-thickness", "1", "part-width", "2", "part-length", "20", "part-zone", "outside"}, fields: columns(db.OwnParts)},
	}
}

// buildVisits are the pages about building, with a plan half cut.
func (b *bench) buildVisits() []visit {
	b.Helper()
	plans, err := b.store.PlanList(b.Context(), 1)
	require.NoError(b, err)
	require.NotEmpty(b, plans, "the demonstration shows a plan")
	layouts, err := b.store.LayoutsOf(b.Context(), plans[0].ID)
	require.NoError(b, err)
	plan := "/build/plans/" + plans[0].ID.String()
	out := []visit{
		{name: "build", path: "/build"}, {name: "plan", path: plan}, {name: "sheet", path: plan + "/sheet"}, {name: "blanks", path: "/build/blanks"},
		{name: "refused plan", path: "/build", taps: []string{"Plan it"}}, {name: "refused part", path: "/build", taps: []string{"Add the part"}},
	}
	open, done := false, false
	for _, l := range layouts {
		path := "/build/layouts/" + l.ID.String()
		if l.Open() && !open {
			open = true
			out = append(out, visit{name: "layout", path: path}, visit{name: "refused outcome", path: path, taps: []string{"Write down what was got"}})
		}
		if l.Done() && !done {
			done = true
			out = append(out, visit{name: "layout cut", path: path}, visit{name: "refused undo", path: path, taps: []string{"Take it back"}})
		}
	}
	require.True(b, open && done, "the demonstration's plan is half cut")
	return out
}

// toBuild is a book with two dry swept boards that may go inside, a nail in
// one of them.
func (b *bench) toBuild() (boards []db.Entry) {
	b.Helper()
	w := b.withWood()
	for i := range 2 {
		board := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "1", "width": "5 1/2", "length": "96", "metal": "clean"})
		b.add(db.Readings, map[string]string{"board": board.Values["code"], "raw": "11", "temperature": "70 F", "taken": "2026-03-10 10:00"})
		if i == 0 {
			b.add(db.Defects, map[string]string{"board": board.Values["code"], "kind": "nail_hole", "x": "30", "y": "2", "dx": "1/4", "dy": "1/4", "metal": "yes"})
			b.add(db.Defects, map[string]string{"board": board.Values["code"], "kind": "knot", "face": "top", "x": "60", "y": "1", "dx": "1", "dy": "1"})
		}
		boards = append(boards, board)
	}
	return boards
}

// asPlanned posts the Build page's form.
func (b *bench) asPlanned(pairs ...string) *page {
	b.Helper()
	form := b.form(b.open("/build"), "/build")
	return b.stored("/build", with(form, append([]string{"want-0", "slatted rack 10-frame", "count-0", "2"}, pairs...)...))
}

func TestBuildFromKitToBlanks(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	boards := b.toBuild()
	p := b.asPlanned()
	says := p.mainText()
	require.Contains(t, says, "Planned.")
	require.Contains(t, says, "slatted rack 10-frame: side")
	require.Contains(t, says, "thinner than any part needs", "the third board is left out, with why")
	require.Contains(t, says, "Missing:")
	require.Regexp(t, `It takes \d+ × `, says)
	for _, code := range []string{boards[0].Values["code"], boards[1].Values["code"]} {
		require.Contains(t, says, code+"/1")
	}
	for _, img := range p.all("img", "") {
		require.NotEmpty(t, attr(img, "alt"))
		b.drawing(attr(img, "src"))
		b.drawing(attr(img, "src") + "&theme=dark")
	}
	plan := strings.Split(p.path, "?")[0]
	rows := b.sheet(plan + "/pieces.csv")
	require.NotEmpty(t, rows)
	for _, row := range rows {
		if row["blank"] != "" {
			require.Contains(t, says, row["blank"]+" "+row["part"]+" ("+row["zone"]+") "+row["from_left_end"])
		}
	}

	// Tick one board; its wood is in blanks and offcuts, the plan knows.
	layouts := b.layoutsOf(p)
	action := "/build/layouts/" + layouts[0].ID.String() + "/cut"
	p = b.stored(action, b.form(p, action))
	require.Contains(t, p.mainText(), "cut as planned")
	cut, err := b.store.BoardsCutFrom(t.Context(), layouts[0].Board.ID)
	require.NoError(t, err)
	require.Len(t, cut, len(layouts[0].Offcuts))
	require.NotEmpty(t, cut)
	for _, o := range cut {
		require.Contains(t, b.open("/build/layouts/"+layouts[0].ID.String()).mainText(), o.Code+" on ", "its code is to be written on it")
	}
	list := b.open("/build/blanks").mainText()
	for _, piece := range layouts[0].LayoutDrawing.Pieces {
		require.Contains(t, list, layouts[0].BlankCode(piece.N))
	}
	require.Regexp(t, `1 Mar 2026 ?, Harbour Tile`, list, "traced to its pickup and source")
	require.Len(t, b.sheet("/build/blanks.csv"), len(layouts[0].LayoutDrawing.Pieces))
	require.Len(t, b.sheet("/build/blanks.csv?part=nothing+of+the+kind"), 0)
	require.Contains(t, b.open("/sources/"+b.first(db.Sources).ID.String()).mainText(), "100 % of the planned blanks were got (too few boards to say how sure), from 1 board cut")

	// The rest broke: it is written down and the rest is planned again.
	rest := "/build/layouts/" + layouts[1].ID.String()
	form := b.form(b.open(rest), rest+"/otherwise")
	for _, piece := range layouts[1].LayoutDrawing.Pieces {
		form.Set(fmt.Sprintf("got-%d", piece.N), "yes")
	}
	for i := range layouts[1].Offcuts {
		form.Set(fmt.Sprintf("offcut-%d", i), "yes")
	}
	all := b.post(rest+"/otherwise", with(form, "state", "broken", "said", "split end to end"))
	require.Equal(t, http.StatusUnprocessableEntity, all.status)
	require.Contains(t, all.mainText(), "are all that was planned")
	for name := range form {
		if strings.HasPrefix(name, "got-") || strings.HasPrefix(name, "offcut-") {
			form.Del(name)
		}
	}
	p = b.stored(rest+"/otherwise", with(form, "state", "broken", "said", "split end to end"))
	require.Contains(t, p.mainText(), "split end to end")
	again := b.post(plan+"/again", b.form(p, plan+"/again"))
	require.Equal(t, http.StatusUnprocessableEntity, again.status)
	require.Contains(t, again.mainText(), "nothing is left to plan")
	require.Contains(t, again.mainText(), "offer further boards too")
	more := with(b.form(p, plan+"/again"), "further", "yes", "only", "ZZZZZ-1")
	refused := b.post(plan+"/again", more)
	b.refused(refused, "only")
	require.Equal(t, "ZZZZZ-1", valueOf(refused, "only"))
	b.refused(b.post(plan+"/again", with(b.form(p, plan+"/again"), "only", boards[0].Values["code"])), "only")
	spare := b.add(db.Boards, map[string]string{"lot": boards[0].Values["lot"], "thickness": "1", "width": "5 1/2", "length": "96", "metal": "clean"})
	b.add(db.Readings, map[string]string{"board": spare.Values["code"], "raw": "11", "temperature": "70 F", "taken": "2026-03-10 10:00"})
	rested := b.stored(plan+"/again", with(more, "only", spare.Values["code"]))
	require.Contains(t, rested.mainText(), "1 further board was offered, used: "+spare.Values["code"])
	require.Contains(t, b.open(plan+"/sheet").mainText(), "nothing is left to cut")
	require.NotContains(t, b.open(plan).mainText(), "All cut.", "one broke, and the rest was planned again")

	// And the tick is taken back.
	p = b.open("/build/layouts/" + layouts[0].ID.String())
	undo := "/build/layouts/" + layouts[0].ID.String() + "/undo"
	b.refused(b.post(undo, b.form(p, undo)), "undo-why")
	p = b.stored(undo, with(b.form(p, undo), "why", "ticked the wrong board"))
	require.Contains(t, p.mainText(), "Taken back")
	require.Contains(t, b.open("/build/blanks").mainText(), "No blank in stock")
}

func (b *bench) layoutsOf(p *page) []db.PlanLayout {
	b.Helper()
	var id [16]byte
	plans, err := b.store.PlanList(b.Context(), 10)
	require.NoError(b, err)
	for _, plan := range plans {
		if strings.Contains(p.path, plan.ID.String()) {
			id = plan.ID
		}
	}
	out, err := b.store.LayoutsOf(b.Context(), id)
	require.NoError(b, err)
	require.NotEmpty(b, out)
	return out
}

// drawing checks that a picture is whole and brings nothing that runs.
func (b *bench) drawing(path string) {
	b.Helper()
	p := b.open(path)
	require.Equal(b, "image/svg+xml", p.header.Get("Content-Type"))
	d := xml.NewDecoder(strings.NewReader(p.body))
	boxes := 0
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(b, err, path)
		if e, ok := token.(xml.StartElement); ok {
			require.NotEqual(b, "script", e.Name.Local)
			for _, a := range e.Attr {
				require.NotEqual(b, "style", a.Name.Local, "style attributes fall to the Content-Security-Policy")
			}
			if e.Name.Local == "rect" {
				boxes++
			}
		}
	}
	require.Greater(b, boxes, 3)
}

// TestSheetSaysEveryCut holds the printed sheet against the drawings: every
// blank is freed once, every distance has its place, metal in a cut is said.
func TestSheetSaysEveryCut(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	p := b.asPlanned("pattern", "rip2")
	plan := strings.Split(p.path, "?")[0]
	layouts := b.layoutsOf(p)
	sheet := b.open(plan + "/sheet")
	says := sheet.mainText()
	require.Contains(t, says, "Fence and stop are set")
	require.Contains(t, says, "Made for a kerf of 1/8 in ripping and 1/8 in crosscutting")
	for _, table := range sheet.all("table", "cuts") {
		require.Regexp(t, `^Setting \d+ ?[0-9 /]+ in from (fence|stop|thin-strip stop) to blade`, text(table), "on paper each page of a setting says what it is")
		if thin := strings.Contains(text(table), "thin-strip stop to blade"); thin {
			require.Contains(t, text(table), "the strip falls off the far side")
		}
	}
	for _, words := range []string{"push sticks", "Riving knife", "No short pieces against the fence", "Thin rips off the far side", "Hidden metal", "Dust", "square the ends", "top face up"} {
		require.Contains(t, says, words)
	}
	frees := ""
	for _, table := range sheet.all("table", "cuts") {
		frees += text(table) + "\n"
	}
	for _, l := range layouts {
		for _, piece := range l.LayoutDrawing.Pieces {
			code := l.BlankCode(piece.N)
			require.Equal(t, 1, strings.Count(frees, code+" "), "%s comes free once:\n%s", code, frees)
		}
	}
	require.Regexp(t, `near edge, top face up`, frees)
	require.Regexp(t, `left end, top face up`, frees)
	boxes := len(sheet.all("span", "box"))
	cuts := strings.Count(frees, "top face up")
	pieces := 0
	for _, l := range layouts {
		pieces += len(l.LayoutDrawing.Pieces)
	}
	require.Equal(t, cuts+pieces+len(layouts), boxes, "a box to tick for each cut, blank and end")
	for _, fence := range sheet.all("p", "fence") {
		require.Regexp(t, `^(Take off )?[0-9 /]+ in`, text(fence), "to the nearest 1/64 in")
	}

	require.Regexp(t, `Value [0-9.]+ board feet of finished parts Bound`, b.open(plan).mainText())
	require.Contains(t, b.open(plan).mainText(), "Made for most blanks by volume from these boards How the saws go rip strips, then crosscut")
	require.Contains(t, b.open("/build").mainText(), "Saws and allowances: rip strips, then crosscut, 1/2 in off each end", "folded rules say what they are")
	b.stored("/settings/units", with(b.form(b.open("/settings"), "/settings/units"), "length_unit", "mm"))
	require.Regexp(t, `Value [0-9.]+ litres of finished parts Bound`, b.open(plan).mainText())
	for _, fence := range b.open(plan+"/sheet").all("p", "fence") {
		require.Regexp(t, `^(Take off )?[0-9]+(\.5)? mm`, text(fence), "to the nearest half millimetre")
	}
}

// TestSheetLeavesOffWhatChanged marks metal and a verdict after the plan was
// made: the sheet has no cut of such a board any more and says why, and the
// plan's page too.
func TestSheetLeavesOffWhatChanged(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	boards := b.toBuild()
	plan := strings.Split(b.asPlanned().path, "?")[0]
	layouts := b.layoutsOf(b.open(plan))
	cuts := func() string {
		says := ""
		for _, table := range b.open(plan+"/sheet").all("table", "cuts") {
			says += text(table) + "\n"
		}
		return says
	}
	for _, l := range layouts {
		require.Contains(t, cuts(), l.Code)
	}
	at := slices.IndexFunc(layouts, func(l db.PlanLayout) bool { return l.LayoutDrawing.Metal == "clean" })
	first := layouts[at]
	b.stored("/boards/"+first.Board.ID.String()+"/marks", url.Values{"mark": {"metal=found"}})
	require.NotContains(t, cuts(), first.Code, "no cut through metal that was found")
	const why = "metal was found in it since this was planned"
	require.Contains(t, b.open(plan+"/sheet").mainText(), "Left off this sheet, do not cut: "+first.Code+" : "+why)
	require.Contains(t, b.open(plan).mainText(), "Do not cut it by this plan: "+why)
	for i, l := range layouts {
		require.Equal(t, i != at, strings.Contains(cuts(), l.Code), l.Code)
	}

	b.stored("/boards/"+first.Board.ID.String()+"/marks", url.Values{"mark": {"metal=clean"}})
	require.Contains(t, cuts(), first.Code, "swept clean again")
	unswept := layouts[slices.IndexFunc(layouts, func(l db.PlanLayout) bool { return l.LayoutDrawing.Metal == "found" })]
	require.Contains(t, b.open(plan+"/sheet").mainText(), "Not swept clean: "+unswept.Code)

	b.add(db.Findings, map[string]string{"lot": boards[0].Values["lot"], "kind": "stain", "value": "oil"})
	sheet := b.open(plan + "/sheet")
	require.Empty(t, sheet.all("table", "cuts"), "of a never nothing is cut")
	require.Empty(t, sheet.all("figure", ""))
	require.Contains(t, sheet.mainText(), "its verdict has changed since the plan: now never")
	require.NotContains(t, sheet.mainText(), "Fence and stop are set")

	require.NotContains(t, sheet.mainText(), "Do not cut by this")
	b.stored(plan+"/aside", nil)
	require.Contains(t, b.open(plan+"/sheet").mainText(), "Do not cut by this: nothing is left to cut, this is what the plan was.")
	entry := "/book/plan/" + strings.TrimPrefix(plan, "/build/plans/")
	b.stored(entry+"/strike", with(b.form(b.open(entry+"/correct"), entry+"/strike"), "why", "by mistake"))
	require.Contains(t, b.open(plan+"/sheet").mainText(), "Do not cut by this: the plan is struck through.")
}

// TestSheetKnowsWhatWasSweptSince sweeps a board that a reason let into a plan
// unswept: sheet and plan stop warning of it.
func TestSheetKnowsWhatWasSweptSince(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	board := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "40"})
	b.add(db.OwnParts, map[string]string{"kit": "ours", "part": "block", "count": "4", "thickness": "3/4", "width": "2", "length": "8", "zone": "outside"})
	plan := b.planned(map[string]string{"only": board.Values["code"], "pattern": "rip2", "plane_allowance": "0", "unswept_why": "screwed together"}, db.Want{Kit: "ours", Count: 1})
	page := "/build/plans/" + plan.ID.String()
	warns := func() []bool {
		return []bool{strings.Contains(b.open(page+"/sheet").mainText(), "Not swept clean: "+board.Values["code"]), strings.Contains(b.open(page).mainText(), "NOT SWEPT")}
	}
	require.Equal(t, []bool{true, true}, warns())
	b.stored("/boards/"+board.ID.String()+"/marks", url.Values{"mark": {"metal=clean"}})
	require.Equal(t, []bool{false, false}, warns())
}

// TestSheetNamesPlacesOnThePieceInHand puts a knot where a strip is crosscut: at
// the saw its place counts from the strip's own edge, not from the board's, and
// along a rip from the squared end.
func TestSheetNamesPlacesOnThePieceInHand(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	board := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/8", "length": "41 1/8", "metal": "clean", "left_trim": "1", "right_trim": "0"})
	code := board.Values["code"]
	b.add(db.Readings, map[string]string{"board": code, "raw": "11", "temperature": "70 F", "taken": "2026-03-10 10:00"})
	// Across the only place of the first crosscut, and twice along the rip.
	b.add(db.Defects, map[string]string{"board": code, "kind": "check", "x": "21", "y": "4", "dx": "1/8", "dy": "1/2"})
	for _, x := range []string{"4", "30"} {
		b.add(db.Defects, map[string]string{"board": code, "kind": "nail_hole", "x": x, "y": "2 1/2", "dx": "1/8", "dy": "1/8"})
	}
	b.add(db.OwnParts, map[string]string{"kit": "ours", "part": "slat", "count": "4", "thickness": "3/4", "width": "2 1/2", "length": "20", "zone": "outside"})
	plan := b.planned(map[string]string{"only": code, "pattern": "rip2", "length_allowance": "0", "joint_allowance": "0", "plane_allowance": "0"}, db.Want{Kit: "ours", Count: 1})
	require.Equal(t, "optimal", plan.Status)
	sheet := b.open("/build/plans/" + plan.ID.String() + "/sheet").mainText()
	require.Contains(t, sheet, "the blade meets a nail hole, 3 in and 29 in from its left end")
	require.Contains(t, sheet, "the blade meets a check, 1 3/8 in from its near edge")
}

// TestSheetWarnsOfShortRips cuts short pieces crosscut first, so that they are
// ripped short, and ripped first, so that they are not.
func TestSheetWarnsOfShortRips(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	code := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "40", "metal": "clean"}).Values["code"]
	b.add(db.Readings, map[string]string{"board": code, "raw": "11", "temperature": "70 F", "taken": "2026-03-10 10:00"})
	b.add(db.OwnParts, map[string]string{"kit": "ours", "part": "block", "count": "4", "thickness": "3/4", "width": "2", "length": "8", "zone": "outside"})
	for pattern, short := range map[string]bool{"crosscut2": true, "rip2": false} {
		plan := b.planned(map[string]string{"only": code, "pattern": pattern, "plane_allowance": "0", "objective": "short_first"}, db.Want{Kit: "ours", Count: 1})
		page := "/build/plans/" + plan.ID.String()
		require.Equal(t, short, strings.Contains(b.open(page+"/sheet").mainText(), "Clamp it in a sled"), pattern)
		require.Contains(t, b.open(page).mainText(), "1000 points of long wood; a board counts its width times the square of its length")
		b.stored(page+"/aside", nil)
	}
}

// TestSheetTellsBoardsAlikeOnce plans six boards that are cut alike, one of them
// with a nail hole in the first cut: five share their rows and their picture,
// each with a box of its own, and the sixth's first cut stands by itself.
func TestSheetTellsBoardsAlikeOnce(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	var codes []string
	for range 6 {
		code := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "4 1/8", "length": "21", "metal": "clean"}).Values["code"]
		b.add(db.Readings, map[string]string{"board": code, "raw": "11", "temperature": "70 F", "taken": "2026-03-10 10:00"})
		codes = append(codes, code)
	}
	b.add(db.Defects, map[string]string{"board": codes[2], "kind": "nail_hole", "x": "5", "y": "2", "dx": "1/8", "dy": "1/8"})
	b.add(db.OwnParts, map[string]string{"kit": "ours", "part": "slat", "count": "12", "thickness": "3/4", "width": "2", "length": "20", "zone": "outside"})
	plan := b.planned(map[string]string{"only": strings.Join(codes, " "), "pattern": "rip2", "length_allowance": "0", "joint_allowance": "0", "plane_allowance": "0"}, db.Want{Kit: "ours", Count: 1})
	require.Equal(t, "optimal", plan.Status)
	sheet := b.open("/build/plans/" + plan.ID.String() + "/sheet")
	says := sheet.mainText()
	five := strings.Join(append(slices.Clone(codes[:2]), codes[3:]...), " ")
	require.Contains(t, says, "each board near edge, top face up /1 ours: slat; left: /2 ours: slat "+five)
	require.Contains(t, says, codes[2]+" near edge, top face up "+codes[2]+"/1 ours: slat; left: "+codes[2]+"/2 ours: slat the blade meets a nail hole, 4 1/2 in from its left end")
	require.Contains(t, says, "1 setting, 6 cuts.")
	require.Contains(t, says, "5 boards alike "+five)
	require.Len(t, sheet.all("figure", ""), 2, "one picture for the five, one for the other")
	for _, code := range codes {
		boxes := 0
		for _, item := range sheet.all("li", "") {
			if text(item) == code {
				boxes++
			}
		}
		require.Equal(t, map[bool]int{true: 1, false: 3}[code == codes[2]], boxes, "%s: squared, cut, and its codes written", code)
	}
}

// TestTickingTwiceIsTold ticks the same board from two phones.
func TestTickingTwiceIsTold(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	p := b.asPlanned()
	l := b.layoutsOf(p)[0]
	action := "/build/layouts/" + l.ID.String() + "/cut"
	form := b.form(p, action)
	count := b.atOnce(action, repeat(5, form, func(int) []string { return nil }))
	require.Equal(t, map[int]int{http.StatusSeeOther: 1, http.StatusConflict: 4}, count)
	require.Equal(t, len(l.LayoutDrawing.Pieces), b.count(db.Blanks))
	late := b.post(action, form)
	require.Equal(t, http.StatusConflict, late.status)
	require.Contains(t, late.mainText(), "Somebody was quicker")
	require.Contains(t, late.mainText(), "What came of it", "on the plan as it is by now")
	board := "/build/layouts/" + l.ID.String()
	other := b.post(board+"/otherwise", with(form, "state", "broken", "said", "dropped"))
	require.Equal(t, http.StatusConflict, other.status)
	require.Contains(t, other.mainText(), "Somebody was quicker")
	require.Contains(t, other.mainText(), "Write on the offcuts")
	undo := b.post(board+"/undo", with(form, "why", "by mistake"))
	require.Equal(t, http.StatusConflict, undo.status, "made from the page before the tick")
	require.Equal(t, len(l.LayoutDrawing.Pieces), b.count(db.Blanks))
}

// TestVerdictIsAskedAgainAtTheSaw finds a stain after the plan was made.
func TestVerdictIsAskedAgainAtTheSaw(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	boards := b.toBuild()
	p := b.asPlanned()
	b.add(db.Findings, map[string]string{"lot": boards[0].Values["lot"], "kind": "stain", "value": "oil"})
	before := b.contents()
	for _, l := range b.layoutsOf(p) {
		action := "/build/layouts/" + l.ID.String() + "/cut"
		refused := b.post(action, b.form(p, action))
		require.Equal(t, http.StatusUnprocessableEntity, refused.status)
		require.Contains(t, refused.mainText(), "must not be cut: its verdict is now never")
	}
	plan := strings.Split(p.path, "?")[0]
	require.Equal(t, http.StatusUnprocessableEntity, b.post(plan+"/cut", nil).status, "all or none")
	require.Equal(t, before, b.contents())
	require.Contains(t, b.stored(plan+"/aside", nil).mainText(), "free for other plans")
}

// TestWrongAnswersAtTheSawAreRefused tries each field of the form.
func TestWrongAnswersAtTheSawAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	p := b.asPlanned()
	l := b.layoutsOf(p)[0]
	page := "/build/layouts/" + l.ID.String()
	good := with(b.form(b.open(page), page+"/otherwise"), "said", "the blade wandered")
	before := b.contents()
	for _, try := range []struct{ field, value string }{
		{"state", "eaten"}, {"state", ""}, {"said", ""}, {"said", long(501)}, {"said", "null\x00byte"}, {"said", "bell\aring"},
		{"left-length-0", "long"}, {"left-length-0", "200"}, {"left-width-1", "wide"}, {"extra-0", "99"}, {"extra-0", "slat"}, {"extra-count-0", "many"}, {"extra-count-0", "0"}, {"extra-count-0", "101"},
	} {
		form := with(good, try.field, try.value)
		switch {
		case strings.HasPrefix(try.field, "left"):
			for _, other := range []string{"left-length-0", "left-width-0", "left-length-1", "left-width-1"} {
				if other != try.field && other[len(other)-1] == try.field[len(try.field)-1] {
					form.Set(other, "2")
				}
			}
		case strings.HasPrefix(try.field, "extra-count"):
			form.Set("extra-0", "0")
		}
		refused := b.post(page+"/otherwise", form)
		b.refused(refused, try.field)
		require.Equal(t, before, b.contents(), "%s = %.20q", try.field, try.value)
	}
	b.refused(b.post(page+"/otherwise", with(good, "extra-count-1", "3")), "extra-1")
	require.Equal(t, before, b.contents(), "three blanks of no part")
	// More wood than the board had.
	form := with(good, "extra-0", "0", "extra-count-0", "50")
	for _, piece := range l.LayoutDrawing.Pieces {
		form.Set(fmt.Sprintf("got-%d", piece.N), "yes")
	}
	much := b.post(page+"/otherwise", form)
	require.Equal(t, http.StatusUnprocessableEntity, much.status)
	require.Contains(t, much.mainText(), "more wood than the board had")
	require.Equal(t, before, b.contents())
	stored := b.stored(page+"/otherwise", with(good, "left-length-0", "12", "left-width-0", "2"))
	require.Contains(t, stored.mainText(), "the blade wandered")
	require.Contains(t, stored.mainText(), "Written down: what was got of the board")
	require.Equal(t, 0, b.count(db.Blanks), "nothing was ticked as got")
}

// TestWrongWantsAreRefused tries the lines that are no columns.
func TestWrongWantsAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	good := b.form(b.open("/build"), "/build")
	before := b.contents()
	for _, try := range []struct{ want, count, field string }{
		{"", "1", "want-0"}, {"a castle", "1", "want-0"}, {"slatted rack 10-frame ▸ roof", "1", "want-0"},
		{"slatted rack 10-frame", "", "count-0"}, {"slatted rack 10-frame", "0", "count-0"}, {"slatted rack 10-frame", "501", "count-0"}, {"slatted rack 10-frame", "two", "count-0"}, {"slatted rack 10-frame", "1e9", "count-0"},
	} {
		p := b.post("/build", with(good, "want-0", try.want, "count-0", try.count))
		b.refused(p, try.field)
		require.Equal(t, try.count, valueOf(p, "count-0"))
	}
	b.refused(b.post("/build", with(good, "want-0", "slatted rack 10-frame", "count-2", "7")), "want-2")
	b.refused(b.post("/build", with(good, "want-0", "slatted rack 10-frame", "only", "ZZZZZ-1")), "only")
	b.refused(b.post("/build", with(good, "want-0", "slatted rack 10-frame", "offcut_width", "0")), "offcut_width")
	none := b.post("/build", with(good, "want-0", "stand two-hive low"))
	require.Equal(t, http.StatusUnprocessableEntity, none.status)
	require.Contains(t, none.mainText(), "no board on the rack may be used")
	require.Contains(t, none.mainText(), "thinner than any part needs")
	require.Contains(t, none.mainText(), "add less for planing, enter parts of your own at the thickness you have, or use thicker boards")
	require.Equal(t, before, b.contents())
	require.Equal(t, http.StatusNotFound, b.get("/build/plans/"+b.first(db.Lots).ID.String()).status)
	require.Equal(t, http.StatusNotFound, b.post("/build/layouts/"+b.first(db.Lots).ID.String()+"/cut", nil).status)
}

// TestFormOfAPlanSentTwiceIsOnePlan sends it from two phones, and the rules
// are remembered.
func TestFormOfAPlanSentTwiceIsOnePlan(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	form := with(b.form(b.open("/build"), "/build"), "want-0", "slatted rack 10-frame", "count-0", "1", "rip_kerf", "3/32 in", "end_trim", "3/4 in", "only", "")
	same := func(int) []string { return nil }
	count := b.atOnce("/build", repeat(3, form, same))
	require.Equal(t, 3, count[http.StatusSeeOther]+count[http.StatusUnprocessableEntity], "later ones may find the boards taken: %v", count)
	require.Equal(t, 1, b.count(db.Plans))
	require.Equal(t, "3/4 in", valueOf(b.open("/build"), "end_trim"), "remembered")
	require.Equal(t, "1/8 in", valueOf(b.open("/build"), "rip_kerf"), "the house's own")
	require.Empty(t, valueOf(b.open("/build"), "wet_why"), "a reason is given each time")
}

// TestBoundOfWhatCannotBeMade asks for the fewest boards of what they cannot
// give: there is no bound, and none is shown.
func TestBoundOfWhatCannotBeMade(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	says := b.asPlanned("objective", "fewest_boards", "count-0", "9").mainText()
	require.Contains(t, says, "Proven: these boards cannot give everything")
	require.Contains(t, says, "none: no plan gives everything from these boards")
	require.NotContains(t, says, "can do with less")
}

// TestThickPartOfALargeRack plans a thick part from a rack with more thin
// boards than a plan takes, and is told how those it takes were picked.
func TestThickPartOfALargeRack(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	lot := b.withWood().lot.Values["code"]
	const thin = db.MaxPlanBoards + 10
	text := "lot,thickness,width,length,metal\n" + strings.Repeat(lot+",7/8 in,6 in,40 in,clean\n", thin) + lot + ",2 in,6 in,40 in,clean\n"
	report, err := b.store.Import(t.Context(), []db.Sheet{{Name: "boards.csv", Size: int64(len(text)), Open: func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }}}, db.ImportOptions{Keeper: b.keeper})
	require.NoError(t, err)
	require.Zero(t, report.FaultCount)
	for part, thickness := range map[string]string{"rail": "3/4", "post": "1 1/2"} {
		b.add(db.OwnParts, map[string]string{"kit": "our stand", "part": part, "count": "1", "thickness": thickness, "width": "2", "length": "16", "zone": "inside"})
	}
	require.Contains(t, b.open("/build").mainText(), "at most 300 boards")
	says := b.asPlanned("want-0", "our stand", "count-0", "9", "wet_why", "a test").mainText()
	require.Contains(t, says, "Missing: 5 of 9 × our stand: post.")
	require.Contains(t, says, "11 boards on the rack were left out only because a plan takes no more at once")
	require.Contains(t, says, "11 boards: more than the 300 boards that one plan takes: picked by turns for each thickness asked for")
}

// TestOwnPartIsBuilt enters a part and plans it.
func TestOwnPartIsBuilt(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	form := with(b.form(b.open("/build"), "/build/parts"), "part-kit", "our feeder", "part-part", "side", "part-count", "4", "part-thickness", "3/4", "part-width", "3", "part-length", "11", "part-zone", "outside")
	b.stored("/build/parts", form)
	p := b.asPlanned("want-0", "our feeder", "count-0", "2")
	require.Contains(t, p.mainText(), "our feeder: side")
	b.stored(strings.Split(p.path, "?")[0]+"/aside", nil)
	b.refused(b.post("/build/parts", with(form, "id", "", "part-part", "SIDE")), "part-part")
	// A name of the house's would stand for its whole kit; a sign that parts a
	// kit from its part may stand in a name.
	require.Contains(t, b.refused(b.post("/build/parts", with(form, "id", "", "part-kit", "Slatted rack 10-frame")), "part-kit"), "a kit of the house's list")
	b.stored("/build/parts", with(form, "id", "", "part-kit", "ours ▸ small", "part-part", "a ▸ b"))
	for _, want := range []string{"ours ▸ small", "ours ▸ small ▸ a ▸ b"} {
		p := b.asPlanned("want-0", want, "count-0", "1")
		require.Contains(t, p.mainText(), "ours ▸ small: a ▸ b")
		b.stored(strings.Split(p.path, "?")[0]+"/aside", nil)
	}
	require.Contains(t, b.open("/book?kind=part").mainText(), "our feeder: side")
}

// TestJourneyBuild chooses a kit on a phone, looks at the plan, ticks a board
// and finds the blanks, with scripts and without.
func TestJourneyBuild(t *testing.T) {
	t.Parallel()
	for name, o := range map[string]browsertest.Options{"with scripts": {}, "without scripts": {NoScripts: true}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := setup(t, options{})
			boards := b.toBuild()
			phone := b.phone(o)
			phone.Go("/stock")
			phone.Tap("Build")
			phone.Choose("want-0", "slatted rack 10-frame")
			phone.Type("count-0", "1")
			phone.Tap("Plan it")
			require.Contains(t, phone.See("main"), "Planned.")
			require.Contains(t, phone.See("h1"), "1 × slatted rack 10-frame")
			require.Contains(t, phone.See("main"), "slatted rack 10-frame: slat")
			plan, _, _ := strings.Cut(phone.Path(), "?")
			phone.Tap("Cutting sheet to print")
			require.Contains(t, phone.See("main"), "Fence and stop are set")
			phone.Tap("Back to the plan")
			require.Equal(t, plan, phone.Path())
			phone.Tap("Cut as planned")
			require.Contains(t, phone.See("main"), "Written down")
			phone.Tap("Stock")
			phone.Tap("Blanks cut from boards")
			codes := phone.Texts("tbody th a")
			require.NotEmpty(t, codes)
			cut := ""
			for _, board := range boards {
				if strings.HasPrefix(codes[0], board.Values["code"]+"/") {
					cut = board.Values["code"]
				}
			}
			require.NotEmpty(t, cut)
			phone.Tap(cut)
			require.Contains(t, phone.See("h1"), cut, "from the blank to its board")
		})
	}
}

// TestJourneyReplan breaks the one board of a plan on a phone, offers further
// boards, and finds the plan on the page of the board that joined.
func TestJourneyReplan(t *testing.T) {
	t.Parallel()
	for name, o := range map[string]browsertest.Options{"with scripts": {}, "without scripts": {NoScripts: true}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := setup(t, options{})
			boards := b.toBuild()
			first, other := boards[0].Values["code"], boards[1].Values["code"]
			phone := b.phone(o)
			phone.Go("/build")
			phone.Choose("want-0", "slatted rack 10-frame")
			phone.Type("count-0", "1")
			phone.Type("only", first)
			phone.Tap("Plan it")
			require.Contains(t, phone.See("main"), "1 board to cut")
			phone.Tap("Something else happened")
			phone.Choose("state", "broken")
			phone.Type("said", "dropped from the bench")
			for _, box := range []string{"got-1", "got-2"} {
				phone.Run(fmt.Sprintf(`document.getElementById(%q).click()`, box))
			}
			phone.Tap("Write down what was got")
			require.Contains(t, phone.See("main"), "dropped from the bench")
			phone.Tap("Plan the rest again")
			require.Contains(t, phone.See(".faults"), "offer further boards too")
			phone.Run(`document.getElementById("further").click()`)
			phone.Type("only", other)
			phone.Tap("Plan the rest again")
			require.Contains(t, phone.See("main"), "1 further board was offered, used: "+other)
			require.Contains(t, phone.See("main"), "What was got counts the plans before it too.")
			phone.Tap(other)
			require.Contains(t, phone.See("#plans + table"), "still to cut")
		})
	}
}

// TestPicturesOfLayoutsRefuseOddWidths asks for pictures that are none.
func TestPicturesOfLayoutsRefuseOddWidths(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.toBuild()
	l := b.layoutsOf(b.asPlanned())[0]
	for query, status := range map[string]int{"width=928": 200, "width=1": 400, "width=x": 400, "theme=pink": 200} {
		require.Equal(t, status, b.get("/charts/layout/"+l.ID.String()+".svg?"+query).status, query)
	}
	require.Equal(t, http.StatusNotFound, b.get("/charts/layout/"+b.first(db.Lots).ID.String()+".svg").status)
	require.Equal(t, http.StatusOK, b.get("/build/blanks?"+url.Values{"part": {nasty}}.Encode()).status)
}
