package db_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/cut"
	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// rules are those of the tests' plans: kerfs of an eighth and nothing added,
// so that sizes can be counted in the head.
func rules() map[string]string {
	return map[string]string{
		"objective": "most_value", "pattern": "rip2", "rip_kerf": "1/8 in", "crosscut_kerf": "1/8 in", "clearance": "1/4 in",
		"offcut_length": "6 in", "offcut_width": "1 in", "wettest": "14",
	}
}

// plan makes a plan by rules.
func (b *bench) plan(t require.TestingT, values map[string]string, wants ...db.Want) (db.Plan, error) {
	asked, faults := db.ParsePlan(values, b.env)
	require.Empty(t, faults)
	return b.store.MakePlan(context.Background(), db.Base{KeeperID: b.keeper.ID}, asked, wants, "test")
}

// dry reads a board at a moisture.
func (b *bench) dry(t testing.TB, board db.Board, percent string) {
	t.Helper()
	b.add(t, db.Readings, map[string]string{"board": board.Code, "raw": percent, "temperature": "70 F", "taken": "2026-03-10 10:00"})
}

// good makes a lot that may go inside.
func (b *bench) good(t testing.TB) db.Entry {
	t.Helper()
	lot := b.lot(t)
	b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT"})
	return lot
}

// ownPart enters a part in quarter inches and returns what asks for it.
func (b *bench) ownPart(t testing.TB, zone string, width, length, count int) db.Want {
	t.Helper()
	name := fmt.Sprintf("%s %d by %d", zone, width, length)
	b.add(t, db.OwnParts, map[string]string{"kit": "ours", "part": name, "thickness": "3/4 in", "width": inches(width), "length": inches(length), "zone": zone})
	return db.Want{Kit: "ours", Part: name, Count: count}
}

func (b *bench) layouts(t testing.TB, p db.Plan) []db.PlanLayout {
	t.Helper()
	out, err := b.store.LayoutsOf(t.Context(), p.ID)
	require.NoError(t, err)
	return out
}

func (b *bench) editing(id uuid.UUID, version int, why string) db.Edit {
	return db.Edit{ID: id, Version: version, Keeper: b.keeper.ID, Why: why, Env: b.env}
}

// TestPlanSawUndo plans one board, ticks it, looks where the wood went, and
// takes it back.
func TestPlanSawUndo(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.boardOf(t, b.good(t), 22, 192, map[string]string{"metal": "clean"})
	b.dry(t, board, "11")
	want := b.ownPart(t, "inside", 9, 60, 4)
	p, err := b.plan(t, rules(), want)
	require.NoError(t, err)
	require.Equal(t, "optimal", p.Status)
	layouts := b.layouts(t, p)
	require.Len(t, layouts, 1)
	l := layouts[0]
	require.Len(t, l.Pieces, 4, "two strips of two and a quarter, each with two of fifteen inches and more")
	require.NotEmpty(t, l.Offcuts)
	require.NoError(t, b.store.SawBoard(t.Context(), b.editing(l.ID, l.Version, "at the saw")))

	blanks, err := b.store.BlankList(t.Context(), db.BlankFilter{})
	require.NoError(t, err)
	require.Len(t, blanks, 4)
	for i, k := range blanks {
		require.Equal(t, fmt.Sprintf("%s/%d", board.Code, i+1), k.Code)
		require.Equal(t, "inside", k.Verdict)
		require.True(t, k.Fits())
		require.Equal(t, []any{board.ID, board.Lot.ID, "Harbour Tile"}, []any{k.BoardID, k.LotID, k.Source})
	}
	require.Equal(t, "cut", b.loadBoard(t, board.ID).State)
	offcuts, err := b.store.BoardsCutFrom(t.Context(), board.ID)
	require.NoError(t, err)
	require.Len(t, offcuts, len(l.Offcuts))
	require.Equal(t, "inside", offcuts[0].Verdict)
	got, err := b.store.PlannedGotOfSource(t.Context(), blanks[0].SourceID)
	require.NoError(t, err)
	require.InDelta(t, 1, got.Share, 1e-9)
	require.Equal(t, 1, got.N)
	require.False(t, got.Known, "one board says nothing")

	// The verdict follows: what turns up later reaches the blank.
	stain := b.add(t, db.Findings, map[string]string{"lot": board.Lot.Key, "kind": "stain", "value": "oil"})
	blanks, err = b.store.BlankList(t.Context(), db.BlankFilter{})
	require.NoError(t, err)
	require.Equal(t, "never", blanks[0].Verdict)
	require.False(t, blanks[0].Fits())
	require.NoError(t, db.Findings.Strike(t.Context(), b.store, b.editing(stain.ID, 1, "another crate")))

	l = b.layouts(t, p)[0]
	require.Equal(t, db.LayoutCut, l.State)
	require.InDelta(t, l.PlannedM2, l.GotM2, 1e-12)
	require.NoError(t, b.store.UndoSaw(t.Context(), b.editing(l.ID, l.Version, "ticked the wrong board")))
	require.Equal(t, "rack", b.loadBoard(t, board.ID).State)
	blanks, err = b.store.BlankList(t.Context(), db.BlankFilter{})
	require.NoError(t, err)
	require.Empty(t, blanks)
	l = b.layouts(t, p)[0]
	require.NoError(t, b.store.SawBoard(t.Context(), b.editing(l.ID, l.Version, "now it is")), "the same codes again")
	history, err := b.store.HistoryOf(t.Context(), "layout", l.ID)
	require.NoError(t, err)
	require.Len(t, history, 3)
}

// TestOneOfTwoTicksWins ticks the same board from two phones at once.
func TestOneOfTwoTicksWins(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.boardOf(t, b.good(t), 22, 192, map[string]string{"metal": "clean"})
	b.dry(t, board, "11")
	p, err := b.plan(t, rules(), b.ownPart(t, "outside", 9, 60, 2))
	require.NoError(t, err)
	l := b.layouts(t, p)[0]
	var mu sync.Mutex
	var all sync.WaitGroup
	won, told := 0, 0
	for range 4 {
		all.Go(func() {
			err := b.store.SawBoard(context.Background(), b.editing(l.ID, l.Version, "at the saw"))
			var conflict *db.ConflictError
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				won++
			} else if errors.As(err, &conflict) {
				told++
			}
		})
	}
	all.Wait()
	require.Equal(t, []int{1, 3}, []int{won, told})
	blanks, err := b.store.BlankList(t.Context(), db.BlankFilter{})
	require.NoError(t, err)
	require.Len(t, blanks, 2)
}

// TestStockIsLeftOutWithTheReason asks for a part with one board of each sort.
func TestStockIsLeftOutWithTheReason(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	sort := func(metal, percent string, more ...string) db.Board {
		values := map[string]string{"metal": metal}
		for i := 0; i+1 < len(more); i += 2 {
			values[more[i]] = more[i+1]
		}
		board := b.boardOf(t, lot, 22, 192, values)
		if percent != "" {
			b.dry(t, board, percent)
		}
		return board
	}
	fine := sort("clean", "11")
	unswept, wet, unread := sort("not_swept", "11"), sort("clean", "22"), sort("clean", "")
	metal, mapped := sort("found", "11"), sort("found", "11")
	b.add(t, db.Defects, map[string]string{"board": mapped.Code, "kind": "nail_hole", "x": "1 in", "y": "1 in", "dx": "1/4 in", "dy": "1/4 in", "metal": "yes"})
	thin := sort("clean", "11", "thickness", "1/2 in")
	never := sort("clean", "11")
	b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "board": never.Code, "kind": "stain", "value": "oil"})
	built := sort("clean", "11", "state", "built")
	want := b.ownPart(t, "inside", 9, 60, 99)
	asked, faults := db.ParsePlan(rules(), b.env)
	require.Empty(t, faults)
	part := db.PlanPart{Kit: "ours", Part: "p", Size: grade.Size{Thickness: 3 * wood.Inch / 4}, Zone: "inside"}
	stock := func() (map[string]string, []string) {
		s, err := b.store.BuildStock(t.Context(), &asked, []db.PlanPart{part})
		require.NoError(t, err)
		out := map[string]string{}
		for _, e := range s.Excluded {
			for _, code := range e.Codes {
				out[code] = e.Why
			}
		}
		var usable []string
		for _, u := range s.Usable {
			usable = append(usable, u.Code)
		}
		return out, usable
	}
	why, usable := stock()
	require.ElementsMatch(t, []string{fine.Code, mapped.Code}, usable)
	require.Equal(t, map[string]string{
		unswept.Code: "not yet swept for metal", wet.Code: "wetter than 14 %", unread.Code: "its moisture was never read",
		metal.Code: "metal was found in it and is not marked on its map", thin.Code: "thinner than any part needs: 3/4 in (19.05 mm) with what planing takes", never.Code: "verdict never",
	}, why)
	require.NotContains(t, why, built.Code)
	asked.UnsweptWhy, asked.WetWhy = "screwed together", "stand legs"
	why, usable = stock()
	require.Len(t, usable, 6, "reasons overrule moisture and the sweep")
	require.Equal(t, map[string]string{thin.Code: "thinner than any part needs: 3/4 in (19.05 mm) with what planing takes", never.Code: "verdict never"}, why, "nothing overrules the verdict")
	asked.Only = strings.ToLower(fine.Code)
	_, usable = stock()
	require.Equal(t, []string{fine.Code}, usable)

	// A board that one plan means to cut is not planned twice.
	_, err := b.plan(t, rules(), want)
	require.NoError(t, err)
	asked.Only = ""
	why, _ = stock()
	require.Contains(t, why[fine.Code], "another plan means to cut it")
}

// TestReplanKeepsWhatIsCut cuts one board as planned, breaks one, gets less of
// a third, and plans the rest again.
func TestReplanKeepsWhatIsCut(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	for range 6 {
		b.dry(t, b.boardOf(t, lot, 22, 100, map[string]string{"metal": "clean"}), "11")
	}
	values := rules()
	values["objective"] = "fewest_boards"
	p, err := b.plan(t, values, b.ownPart(t, "inside", 10, 48, 14))
	require.NoError(t, err)
	layouts := b.layouts(t, p)
	require.Len(t, layouts, 4, "four to a board")
	require.NoError(t, b.store.SawBoard(t.Context(), b.editing(layouts[0].ID, 1, "at the saw")))
	otherwise := db.Got{State: db.LayoutOtherwise, Said: "the blade wandered", Pieces: []int{1, 2}, Left: []grade.Size{{Length: 10 * wood.Inch, Width: 2 * wood.Inch}}}
	short := otherwise
	short.Left = []grade.Size{{Length: wood.Inch / 2, Width: 2 * wood.Inch}}
	var faults db.FieldErrors
	require.ErrorAs(t, b.store.SawOtherwise(t.Context(), b.editing(layouts[1].ID, 1, "at the saw"), short), &faults)
	require.Equal(t, "left", faults[0].Field)
	require.NoError(t, b.store.SawOtherwise(t.Context(), b.editing(layouts[1].ID, 1, "at the saw"), otherwise))
	require.NoError(t, b.store.SawOtherwise(t.Context(), b.editing(layouts[2].ID, 1, "at the saw"), db.Got{State: db.LayoutBroken, Said: "split from end to end"}))
	next, err := b.store.Replan(t.Context(), db.Base{KeeperID: b.keeper.ID}, b.editing(p.ID, 1, "again"), db.Again{}, "test")
	require.NoError(t, err)
	require.Equal(t, p.ID, next.Follows.ID)
	require.Contains(t, next.Changed, "the blade wandered")
	require.Contains(t, next.Changed, "split from end to end")
	doc, err := next.Read()
	require.NoError(t, err)
	require.NoError(t, cut.Check(doc.Cut.Instance, doc.Cut.Plan))
	made := 0
	for _, l := range b.layouts(t, next) {
		require.NotContains(t, []string{layouts[0].Code, layouts[1].Code, layouts[2].Code}, l.Code)
		made += len(l.Pieces)
	}
	require.GreaterOrEqual(t, made, 14-4-2, "four are cut as planned and two otherwise")
	require.Zero(t, doc.Missing()[0])
	require.Equal(t, db.LayoutSetAside, b.layouts(t, p)[3].State)
	got, err := b.store.PlannedGotOfPlan(t.Context(), p.ID)
	require.NoError(t, err)
	require.Equal(t, []int{3, 1, 1}, []int{got.N, got.Broken, got.Otherwise})
	require.InDelta(t, 6.0/12, got.Share, 0.1)

	// Planned once more, what the first plan cut stays cut.
	again := b.layouts(t, next)
	require.NoError(t, b.store.SawOtherwise(t.Context(), b.editing(again[0].ID, 1, "at the saw"), db.Got{State: db.LayoutRejected, Said: "full of shakes"}))
	third, err := b.store.Replan(t.Context(), db.Base{KeeperID: b.keeper.ID}, b.editing(next.ID, 1, "again"), db.Again{}, "test")
	require.NoError(t, err)
	for _, l := range b.layouts(t, third) {
		require.NotContains(t, []string{layouts[0].Code, layouts[1].Code, layouts[2].Code, again[0].Code}, l.Code)
	}
}

// TestPlanSaysWhatIsMissing asks for more than the rack gives.
func TestPlanSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.dry(t, b.boardOf(t, b.good(t), 22, 100, map[string]string{"metal": "clean"}), "11")
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 10, 48, 10))
	require.NoError(t, err)
	doc, err := p.Read()
	require.NoError(t, err)
	require.Equal(t, []int{6}, doc.Missing())
	require.NotNil(t, doc.Extra)
	require.True(t, doc.Extra.Proven)
	n := 0
	for _, e := range doc.Extra.Boards {
		n += e.Count
	}
	require.Equal(t, 1, n, "an 8 ft 1 by 8 or 12 gives the six that are missing: %v", doc.Extra.Boards)

	_, err = b.store.SetAside(t.Context(), b.editing(p.ID, 1, "not today"))
	require.NoError(t, err)
	_, err = b.plan(t, rules(), b.ownPart(t, "inside", 100, 100, 1))
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.Error(), "1 board (too thin, narrow or short for every part that its verdict allows)")
	require.Contains(t, faults.Error(), "may be glued up from strips", "no usual board is 25 in wide")
	_, err = b.plan(t, rules(), b.ownPart(t, "inside", 40, 300, 1))
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.Error(), "it would take 1 × 1×12, 8 ft")
}

// TestWoodIsConserved plans and cuts random racks: the wood of a board is its
// blanks, its offcuts, the kerf and the waste, and no inside blank comes from
// an outside board.
func TestWoodIsConserved(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.add(t, db.Sources, map[string]string{"name": "Harbour Tile"})
	b.add(t, db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01"})
	mix := map[string]db.Entry{}
	for verdict, mark := range map[string]string{"inside": "IPPC US-1234 HT", "outside": "IPPC US-1234 MB"} {
		lot := b.add(t, db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "crate"})
		b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": mark})
		row, err := b.store.Lot(t.Context(), lot.ID)
		require.NoError(t, err)
		require.Equal(t, verdict, row.Verdict)
		mix[verdict] = lot
	}
	sizes := []db.Want{b.ownPart(t, "inside", 9, 40, 1), b.ownPart(t, "outside", 14, 60, 1), b.ownPart(t, "inside", 4, 22, 1)}
	run := 0
	rapid.Check(t, func(rt *rapid.T) {
		if run++; run > 10 {
			return // each run cuts real boards of a real book
		}
		values := rules()
		values["pattern"] = rapid.SampledFrom([]string{"rip2", "crosscut2", "rip3", "crosscut3", "rip2trim", "guillotine_free"}).Draw(rt, "pattern")
		values["end_trim"] = rapid.SampledFrom([]string{"0", "1/2 in"}).Draw(rt, "trim")
		values["wet_why"] = "a test"
		var codes []string
		for i := range rapid.IntRange(1, 3).Draw(rt, "boards") {
			verdict := rapid.SampledFrom([]string{"inside", "outside"}).Draw(rt, fmt.Sprint("verdict ", i))
			board := b.boardOf(t, mix[verdict], rapid.IntRange(10, 30).Draw(rt, fmt.Sprint("width ", i)), rapid.IntRange(61, 200).Draw(rt, fmt.Sprint("length ", i)), map[string]string{"metal": "clean"})
			if rapid.Bool().Draw(rt, fmt.Sprint("nail ", i)) {
				b.add(t, db.Defects, map[string]string{"board": board.Code, "kind": "nail_hole", "x": "5 in", "y": "1 in", "dx": "1/4 in", "dy": "1/4 in", "metal": "yes"})
			}
			codes = append(codes, board.Code)
		}
		values["only"] = strings.Join(codes, " ")
		var wants []db.Want
		for i, w := range sizes {
			w.Count = rapid.IntRange(1, 6).Draw(rt, fmt.Sprint("count ", i))
			wants = append(wants, w)
		}
		p, err := b.plan(rt, values, wants...)
		var faults db.FieldErrors
		if errors.As(err, &faults) {
			return // nothing fits these boards
		}
		require.NoError(rt, err)
		doc, err := p.Read()
		require.NoError(rt, err)
		_, err = b.store.SawAll(context.Background(), b.editing(p.ID, 1, "at the saw"))
		require.NoError(rt, err)
		b.conserved(rt, p, doc)
	})
}

// conserved adds up what came of each board.
func (b *bench) conserved(t require.TestingT, p db.Plan, doc *db.PlanDocument) {
	layouts, err := b.store.LayoutsOf(context.Background(), p.ID)
	require.NoError(t, err)
	blanks, offcuts, boards := 0.0, 0.0, 0.0
	for _, l := range layouts {
		boards += l.M2()
		require.InDelta(t, l.PlannedM2, l.GotM2, 1e-12)
		blanks += l.GotM2
		left, err := b.store.BoardsCutFrom(context.Background(), l.Board.ID)
		require.NoError(t, err)
		require.Len(t, left, len(l.Offcuts))
		for _, o := range left {
			offcuts += o.Length.Metres() * o.Width.Metres()
			require.Equal(t, l.BoardVerdict, o.Verdict)
		}
	}
	require.InDelta(t, doc.Cut.PartArea, blanks, 1e-9)
	require.InDelta(t, doc.Cut.OffcutArea, offcuts, 1e-9)
	require.InDelta(t, boards, blanks+offcuts+doc.Cut.KerfArea+doc.Cut.WasteArea, 1e-9)
	require.GreaterOrEqual(t, doc.Cut.WasteArea, -1e-12)
	list, err := b.store.BlankList(context.Background(), db.BlankFilter{Plan: p.ID, Limit: 1000})
	require.NoError(t, err)
	for _, k := range list {
		require.True(t, k.Fits(), "%s is for %s and its board is %s", k.Code, k.Zone, k.Verdict)
	}
}

// TestPlanningGivesUpWhenNobodyWaits ends the request before the plan.
func TestPlanningGivesUpWhenNobodyWaits(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.dry(t, b.boardOf(t, b.good(t), 22, 100, map[string]string{"metal": "clean"}), "11")
	want := b.ownPart(t, "inside", 10, 48, 10)
	asked, faults := db.ParsePlan(rules(), b.env)
	require.Empty(t, faults)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	began := time.Now()
	_, err := b.store.MakePlan(ctx, db.Base{KeeperID: b.keeper.ID}, asked, []db.Want{want}, "test")
	require.ErrorIs(t, err, context.Canceled)
	require.Less(t, time.Since(began), 2*time.Second)
	plans, err := b.store.PlanList(t.Context(), 10)
	require.NoError(t, err)
	require.Empty(t, plans)
}

// FuzzPlanDocument reads plans as a sheet from elsewhere brings them: a fault
// or a plan that can be shown, never a panic.
func FuzzPlanDocument(f *testing.F) {
	shop := cut.Shop{
		Rules:  cut.Rules{Pattern: cut.Rip2, Objective: cut.MostValue, RipKerf: wood.Inch / 8, CrosscutKerf: wood.Inch / 8},
		Boards: []cut.ShopBoard{{Code: "2222A-1", Length: 48 * wood.Inch, Width: 6 * wood.Inch, Cost: 1}},
		Parts:  []cut.ShopPart{{Code: "ours: side", Length: 20 * wood.Inch, Width: 2 * wood.Inch, Value: 7, Max: 3}},
	}
	plan, err := cut.PlanShop(context.Background(), shop, cut.Options{})
	require.NoError(f, err)
	whole, err := json.Marshal(db.PlanDocument{Parts: []db.PlanPart{{Kit: "ours", Part: "side", Count: 3}}, Shop: shop, Cut: plan})
	require.NoError(f, err)
	for _, seed := range []string{"", "{}", "[]", `{"Parts":null}`, string(whole), strings.Replace(string(whole), `"Board":0`, `"Board":7`, 1), strings.Replace(string(whole), `"Length"`, `"Length":-1,"L"`, 1)} {
		f.Add(seed, plan.Plan.Value)
	}
	env := db.SheetEnv(testNow)
	read := func(text string, value int) (db.Plan, db.FieldErrors) {
		var p db.Plan
		return p, db.Plans.Parse(&p, map[string]string{
			"wettest": "14", "rip_kerf": "1/8 in", "crosscut_kerf": "1/8 in", "clearance": "1/8 in", "wants": "3 × ours",
			"status": "optimal", "value": fmt.Sprint(value), "bound": fmt.Sprint(value), "document": text,
		}, env)
	}
	require.Equal(f, cut.Optimal, plan.Plan.Status)
	_, faults := read(string(whole), plan.Plan.Value)
	require.Empty(f, faults, "a whole plan is taken")
	f.Fuzz(func(t *testing.T, text string, value int) {
		_, faults := read(text, value)
		if len(faults) > 0 {
			return
		}
		p := db.Plan{Document: text}
		doc, err := p.Read()
		require.NoError(t, err)
		require.NoError(t, cut.Check(doc.Cut.Instance, doc.Cut.Plan))
		require.Len(t, doc.Missing(), len(doc.Parts))
	})
}
