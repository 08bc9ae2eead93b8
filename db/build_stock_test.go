package db_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/cut"
	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// TestOffcutsCountAsStock plans the same wood at several shares: what is kept
// counts by its volume, and not at all at 0.
func TestOffcutsCountAsStock(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.boardOf(t, b.good(t), 22, 192, map[string]string{"metal": "clean"})
	b.dry(t, board, "11")
	want := b.ownPart(t, "inside", 22, 100, 1)
	for typed, share := range map[string]float64{"": db.UsualOffcutShare, "0": 0, "40 %": 40, "100": 100} {
		values := rules()
		values["offcut_share"] = typed
		p, err := b.plan(t, values, want)
		require.NoError(t, err)
		require.InDelta(t, share, p.OffcutShare, 0)
		doc, err := p.Read()
		require.NoError(t, err)
		// 48 in of 5 1/2 in, 3/4 in thick, less 25 in and a kerf of 1/8 in.
		feet := 22.875 * 5.5 * 0.75 / 144
		require.InDelta(t, 1000*feet*share/100, float64(doc.Cut.OffcutValue), 1, typed)
		require.Equal(t, p.Value, doc.Cut.Plan.Value, "the parts' value is the parts' alone")
		stored, err := db.Plans.Get(t.Context(), b.store, p.ID)
		require.NoError(t, err)
		require.InDelta(t, share, stored.OffcutShare, 0)
		_, err = b.store.SetAside(t.Context(), b.editing(p.ID, 1, "another share"))
		require.NoError(t, err)
	}
	for _, wrong := range []string{"101", "-1", "much"} {
		values := rules()
		values["offcut_share"] = wrong
		_, faults := db.ParsePlan(values, b.env)
		require.NotNil(t, faults.For("offcut_share"), wrong)
	}
	defaults, err := b.store.PlanDefaults(t.Context())
	require.NoError(t, err)
	require.Contains(t, []float64{0, 25, 40, 100}, defaults.OffcutShare, "remembered from the last plan")
	for _, info := range db.PlanFields() {
		if info.Name == "offcut_share" {
			require.Contains(t, info.Help, "common practice, no source")
		}
	}
}

// TestAnEmptyRackSaysWhatToBuy plans where there is no board at all.
func TestAnEmptyRackSaysWhatToBuy(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := b.plan(t, rules(), b.ownPart(t, "inside", 10, 48, 2))
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.Error(), "the rack is empty")
	require.Contains(t, faults.Error(), "in boards that are bought it would take 1 × 1×")

	wide := b.ownPart(t, "inside", 50, 60, 2)
	_, err = b.plan(t, rules(), b.ownPart(t, "inside", 9, 48, 2), wide)
	require.ErrorContains(t, err, "in boards that are bought it would take 1 × 1×")
	require.ErrorContains(t, err, " for all but 2 × ours: "+wide.Part+", which no usual size makes")
	_, err = b.plan(t, rules(), wide)
	require.ErrorContains(t, err, "no board of a usual size makes 2 × ours: "+wide.Part)
}

// TestNoBoardIsCutForNothing wants what two of six boards give.
func TestNoBoardIsCutForNothing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	for range 6 {
		b.dry(t, b.boardOf(t, lot, 22, 200, map[string]string{"metal": "clean"}), "11")
	}
	// Four of 2 1/4 by 24 in to a board, and one of the whole width.
	wants := []db.Want{b.ownPart(t, "inside", 9, 96, 4), b.ownPart(t, "inside", 22, 190, 1)}
	for _, share := range []string{"0", "25"} {
		values := rules()
		values["offcut_share"] = share
		p, err := b.plan(t, values, wants...)
		require.NoError(t, err)
		require.Equal(t, "optimal", p.Status)
		require.Len(t, b.layouts(t, p), 2, "share %s", share)
		for _, l := range b.layouts(t, p) {
			require.NotEmpty(t, l.Pieces)
		}
		_, err = b.store.SetAside(t.Context(), b.editing(p.ID, 1, "another share"))
		require.NoError(t, err)
	}
}

// TestPlansStartWithTheHousesSaws sets kerfs and a clearance in the settings:
// every new plan starts with them, whatever the last one used.
func TestPlansStartWithTheHousesSaws(t *testing.T) {
	t.Parallel()
	b := setup(t)
	check := func(rip, crosscut, clearance wood.Length) db.Plan {
		t.Helper()
		p, err := b.store.PlanDefaults(t.Context())
		require.NoError(t, err)
		require.Equal(t, []wood.Length{rip, crosscut, clearance}, []wood.Length{p.RipKerf, p.CrosscutKerf, p.Clearance})
		return p
	}
	check(wood.Inch/8, wood.Inch/8, wood.Inch/4)
	board := b.boardOf(t, b.good(t), 22, 192, map[string]string{"metal": "clean"})
	b.dry(t, board, "11")
	values := rules()
	values["rip_kerf"], values["end_trim"] = "3/32 in", "1 in"
	_, err := b.plan(t, values, b.ownPart(t, "inside", 9, 60, 1))
	require.NoError(t, err)
	b.add(t, db.Allowances, map[string]string{"name": db.RipKerf, "size": "3/16 in"})
	b.add(t, db.Allowances, map[string]string{"name": db.MetalClearance, "size": "1/2 in"})
	require.Equal(t, wood.Inch, check(3*wood.Inch/16, wood.Inch/8, wood.Inch/2).EndTrim, "the rest is remembered")
}

// TestBoardsHaveEndsOfTheirOwn trims each end as the board says, else as the
// plan does, and more where the cut would meet a nail.
func TestBoardsHaveEndsOfTheirOwn(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	usual := b.boardOf(t, lot, 10, 100, map[string]string{"metal": "clean"})
	own := b.boardOf(t, lot, 10, 100, map[string]string{"metal": "clean", "left_trim": "3 in", "right_trim": "0"})
	nailed := b.boardOf(t, lot, 10, 100, map[string]string{"metal": "found"})
	b.add(t, db.Defects, map[string]string{"board": nailed.Code, "kind": "nail_hole", "x": inches(98), "y": "1 in", "dx": "1/4 in", "dy": "1/4 in", "metal": "yes"})
	for _, board := range []db.Board{usual, own, nailed} {
		b.dry(t, board, "11")
	}
	values := rules()
	values["end_trim"] = "1/2 in"
	p, err := b.plan(t, values, b.ownPart(t, "inside", 10, 40, 6))
	require.NoError(t, err)
	layouts := b.layouts(t, p)
	require.Len(t, layouts, 3)
	trims := map[string][2]wood.Length{}
	for _, l := range layouts {
		trims[l.Code] = [2]wood.Length{l.TrimStart, l.TrimEnd}
		for _, piece := range l.Pieces {
			require.GreaterOrEqual(t, piece.X, l.TrimStart)
			require.LessOrEqual(t, piece.X+piece.DX, l.Length-l.TrimEnd)
		}
	}
	in := wood.Inch
	require.Equal(t, map[string][2]wood.Length{usual.Code: {in / 2, in / 2}, own.Code: {3 * in, 0}, nailed.Code: {in / 2, 3 * in / 4}}, trims,
		"a nail from 1/4 to 1/2 in off the end lies in the usual cut")

	_, err = db.Boards.Correct(t.Context(), b.store, b.editing(own.ID, own.Version, "measured"), map[string]string{"left_trim": "20 in", "right_trim": "5 in"})
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.For("right_trim").Problem, "leaves nothing")
	_, err = db.Boards.Correct(t.Context(), b.store, b.editing(own.ID, own.Version, "measured"), map[string]string{"left_trim": "", "right_trim": "1 in"})
	require.NoError(t, err)
	history, err := b.store.HistoryOf(t.Context(), "board", own.ID)
	require.NoError(t, err)
	require.Equal(t, []db.Change{{Field: "left_trim", Old: "3 in", New: ""}, {Field: "right_trim", Old: "0 in", New: "1 in"}}, history[0].Changes)

	_, err = b.store.SetAside(t.Context(), b.editing(p.ID, 1, "not today"))
	require.NoError(t, err)
	left := cutInTwo(t, b, own)
	require.Nil(t, left[0].LeftTrim)
	require.Zero(t, *left[0].RightTrim, "a sawn end is clean: nothing comes off it again")
	require.Zero(t, *left[1].LeftTrim)
	require.Equal(t, in, *left[1].RightTrim, "or still its board's")
}

// cutInTwo crosscuts a board in the middle.
func cutInTwo(t *testing.T, b *bench, board db.Board) []db.Board {
	t.Helper()
	half := board.Length/2 - wood.Inch
	pieces := []db.BoardPiece{{}, {}}
	pieces[0].DX, pieces[0].DY = half, board.Width
	pieces[1].X, pieces[1].DX, pieces[1].DY = board.Length-half, half, board.Width
	done, err := b.store.CutBoard(t.Context(), db.BoardCut{Board: board.ID, Keeper: b.keeper.ID, Why: "in two", Pieces: pieces})
	require.NoError(t, err)
	return done.Pieces
}

// TestReadinessIsOneAnswer asks page and plan about one stack: what a board
// read that was taken out counts for neither.
func TestReadinessIsOneAnswer(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	stack := b.add(t, db.Stacks, map[string]string{"name": "A", "stickered": "2026-01-02", "zone": "outside"})
	var boards []db.Board
	for range 19 {
		boards = append(boards, b.boardOf(t, lot, 22, 100, map[string]string{"metal": "clean", "stack": "A"}))
	}
	unread := b.boardOf(t, lot, 22, 100, map[string]string{"metal": "clean", "stack": "A"})
	asked, faults := db.ParsePlan(rules(), b.env)
	require.Empty(t, faults)
	part := db.PlanPart{Kit: "ours", Part: "p", Size: grade.Size{Thickness: 3 * wood.Inch / 4}, Zone: "inside"}
	both := func() (page, plan bool) {
		t.Helper()
		d, err := b.store.DryingStack(t.Context(), stack.ID)
		require.NoError(t, err)
		here, err := b.store.StackBoards(t.Context(), stack.ID)
		require.NoError(t, err)
		ready, known, err := d.ReadyNow(here, testNow)
		require.NoError(t, err)
		require.True(t, known)
		stock, err := b.store.BuildStock(t.Context(), &asked, []db.PlanPart{part})
		require.NoError(t, err)
		for _, u := range stock.Usable {
			plan = plan || u.Code == unread.Code
		}
		return ready.Ready, plan
	}
	page, plan := both()
	require.False(t, page || plan, "nothing is read")
	read := func(board db.Board, day, percent string) {
		b.add(t, db.Readings, map[string]string{"board": board.Code, "raw": percent, "temperature": "70 F", "taken": day + " 10:00"})
	}
	for _, board := range boards {
		read(board, testNow.AddDate(0, 0, -9).Format("2006-01-02"), "11")
		read(board, testNow.AddDate(0, 0, -2).Format("2006-01-02"), "11")
	}
	page, plan = both()
	require.True(t, page && plan, "page %v, plan %v", page, plan)
	// Taken out, the boards that were read speak for the stack no more.
	for _, board := range boards {
		_, err := db.Boards.Correct(t.Context(), b.store, b.editing(board.ID, b.loadBoard(t, board.ID).Version, "taken out"), map[string]string{"left_stack": testNow.Format("2006-01-02")})
		require.NoError(t, err)
	}
	page, plan = both()
	require.False(t, page || plan, "the one board left was never read")
	d, err := b.store.DryingStack(t.Context(), stack.ID)
	require.NoError(t, err)
	_, known, err := d.ReadyNow(nil, testNow)
	require.NoError(t, err)
	require.False(t, known, "an empty stack is not asked")
}

// TestPlannedCutsMissMetal holds every cut of a plan against the metal of its
// board as it was written down.
func TestPlannedCutsMissMetal(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.boardOf(t, b.good(t), 22, 192, map[string]string{"metal": "found"})
	b.add(t, db.Defects, map[string]string{"board": board.Code, "kind": "nail_hole", "x": "44 in", "y": "2 1/4 in", "dx": "1/4 in", "dy": "1/4 in", "metal": "yes"})
	b.dry(t, board, "11")
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 9, 160, 2))
	require.NoError(t, err)
	doc, err := p.Read()
	require.NoError(t, err)
	steps, err := cut.Steps(doc.Cut.Instance, doc.Cut.Plan)
	require.NoError(t, err)
	nail := db.LayoutRect{X: 44 * wood.Inch, Y: 9 * wood.Inch / 4, DX: wood.Inch / 4, DY: wood.Inch / 4}
	rips := 0
	for _, s := range steps {
		if s.Kind != cut.RipCut || s.DX != doc.Cut.Instance.Boards[0].Length {
			continue
		}
		rips++
		g := doc.Cut.Grid
		require.False(t, db.LayoutRect{X: 0, Y: g.Across(s.At), DX: board.Length, DY: g.Across(s.Kerf)}.Meets(nail), "the first rip would run from 2 1/4 to 2 3/8 in")
	}
	require.Positive(t, rips)
	require.Equal(t, 2, strings.Count(p.Document, `"Part":0`), "both are made")
}

// TestPlanTakesManyUsualBoards lacks seventy parts of which a usual board
// gives one, and one part that is wider than any: seventy boards are named for
// those, and the other as what no board makes.
func TestPlanTakesManyUsualBoards(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.dry(t, b.boardOf(t, b.good(t), 22, 100, map[string]string{"metal": "clean"}), "11")
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 9, 90, 1), b.ownPart(t, "inside", 40, 300, 70), b.ownPart(t, "inside", 50, 60, 2))
	require.NoError(t, err)
	doc, err := p.Read()
	require.NoError(t, err)
	require.Equal(t, []int{0, 70, 2}, doc.Missing())
	require.Equal(t, []string{"2 × " + doc.Parts[2].Name()}, doc.Extra.Lacks)
	require.False(t, doc.Extra.Unknown)
	n := 0
	for _, e := range doc.Extra.Boards {
		n += e.Count
	}
	require.Equal(t, 70, n, "10 in by 75 in takes a board of 12 in by 8 ft each: %v", doc.Extra.Boards)
	require.Zero(t, doc.Beyond)
}

// TestPlanCountsWhatIsBeyondIt has more boards than a plan looks at: all of
// them are counted, and those that only its bounds left out are told.
func TestPlanCountsWhatIsBeyondIt(t *testing.T) {
	t.Parallel()
	b := setup(t)
	const boards = 3004
	row := b.good(t).Values["code"] + ",7/8 in,6 in,40 in,clean\n"
	report, err := b.store.Import(t.Context(), []db.Sheet{sheet("boards.csv", "lot,thickness,width,length,metal\n"+strings.Repeat(row, boards))}, db.ImportOptions{Keeper: b.keeper})
	require.NoError(t, err)
	require.Zero(t, report.FaultCount)
	values := rules()
	values["wet_why"] = "a test"
	p, err := b.plan(t, values, b.ownPart(t, "inside", 9, 90, 1))
	require.NoError(t, err)
	doc, err := p.Read()
	require.NoError(t, err)
	require.Equal(t, boards, doc.Rack)
	require.Equal(t, db.MaxPlanBoards, doc.Usable)
	require.Equal(t, boards-db.MaxPlanBoards, doc.Beyond)
	count := 0
	for _, e := range doc.Excluded {
		count += e.Count
	}
	require.Equal(t, doc.Beyond, count)
}

// TestThickBoardsHaveTheirTurn wants a thick part from a rack of more thin
// boards than a plan looks at: the thick ones are among those it takes, and
// boards that are too narrow for any part take nobody's place.
func TestThickBoardsHaveTheirTurn(t *testing.T) {
	t.Parallel()
	b := setup(t)
	const thin, narrow = 3004, 5
	lot := b.good(t).Values["code"]
	text := "lot,thickness,width,length,metal\n" + strings.Repeat(lot+",7/8 in,1 in,40 in,clean\n", narrow) +
		strings.Repeat(lot+",7/8 in,6 in,40 in,clean\n", thin) + strings.Repeat(lot+",2 in,6 in,40 in,clean\n", 2)
	report, err := b.store.Import(t.Context(), []db.Sheet{sheet("boards.csv", text)}, db.ImportOptions{Keeper: b.keeper})
	require.NoError(t, err)
	require.Zero(t, report.FaultCount)
	b.add(t, db.OwnParts, map[string]string{"kit": "ours", "part": "post", "thickness": "1 1/2 in", "width": "2 1/4 in", "length": "22 in", "zone": "inside"})
	values := rules()
	values["wet_why"] = "a test"
	p, err := b.plan(t, values, b.ownPart(t, "inside", 9, 90, 1), db.Want{Kit: "ours", Part: "post", Count: 4})
	require.NoError(t, err)
	doc, err := p.Read()
	require.NoError(t, err)
	require.Equal(t, []int{0, 0}, doc.Missing(), "two posts from each of the two thick boards")
	require.Equal(t, []int{thin + narrow + 2, db.MaxPlanBoards, thin + 2 - db.MaxPlanBoards}, []int{doc.Rack, doc.Usable, doc.Beyond})
	require.Equal(t, []db.Excluded{
		{Why: "too thin, narrow or short for every part that its verdict allows", Count: narrow, Codes: doc.Excluded[0].Codes},
		{Why: "more than the 3000 boards that one plan looks at: taken by turns for each thickness asked for, least waste of thickness first; name lots under “Only these”", Count: thin + 2 - 3000, Codes: []string{}},
		{Why: "more than the 300 boards that one plan takes: picked by turns for each thickness asked for, and in it for each part size, least waste of thickness first; name lots under “Only these”", Count: 2700, Codes: doc.Excluded[2].Codes},
	}, doc.Excluded)
	require.Len(t, doc.Excluded[0].Codes, narrow)
	thick := 0
	for _, board := range doc.Shop.Boards {
		require.Greater(t, board.Width, wood.Inch, "none is too narrow")
		if board.Thickness == 2*wood.Inch {
			thick++
		}
	}
	require.Equal(t, 2, thick)
}

// TestMetricPlanHasSizesOfARule plans parts in inches with rules in
// millimetres: every blank is a size that a fence is set to, none is smaller
// than asked for, and the kerf is the saw's.
func TestMetricPlanHasSizesOfARule(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.dry(t, b.boardOf(t, b.good(t), 22, 192, map[string]string{"metal": "clean", "width": "140 mm", "length": "2400 mm", "thickness": "20 mm"}), "11")
	values := rules()
	for name, value := range map[string]string{"pattern": "rip3", "rip_kerf": "3 mm", "crosscut_kerf": "3 mm", "end_trim": "12 mm", "length_allowance": "25 mm", "joint_allowance": "6 mm", "clearance": "6 mm", "offcut_length": "300 mm", "offcut_width": "40 mm"} {
		values[name] = value
	}
	p, err := b.plan(t, values, b.ownPart(t, "inside", 9, 79, 5), b.ownPart(t, "outside", 3, 40, 4))
	require.NoError(t, err)
	doc, err := p.Read()
	require.NoError(t, err)
	require.True(t, doc.Cut.Grid.Exact)
	require.Equal(t, 3*wood.Millimetre, doc.Cut.Grid.Along(doc.Cut.Instance.Kerf.Crosscut))
	require.Equal(t, 3*wood.Millimetre, doc.Cut.Grid.Across(doc.Cut.Instance.Kerf.Rip))
	made := 0
	for _, l := range b.layouts(t, p) {
		for _, piece := range l.LayoutDrawing.Pieces {
			made++
			require.Zero(t, piece.DX%(wood.Millimetre/2))
			require.Zero(t, piece.DY%(wood.Millimetre/2))
			size := doc.Parts[piece.Part].Size
			require.GreaterOrEqual(t, piece.DX, size.Length+25*wood.Millimetre)
			require.Less(t, piece.DX, size.Length+26*wood.Millimetre)
			require.GreaterOrEqual(t, piece.DY, size.Width+6*wood.Millimetre)
			require.Less(t, piece.DY, size.Width+6*wood.Millimetre+wood.Millimetre/2)
		}
	}
	require.Equal(t, 9, made)
}

// TestOneMoreBoardIsTheFewest lacks parts that one usual board makes: where the
// plan is proven best, nothing less would do, before and after a replan.
func TestOneMoreBoardIsTheFewest(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.dry(t, b.boardOf(t, b.good(t), 22, 100, map[string]string{"metal": "clean"}), "11")
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 9, 90, 5))
	require.NoError(t, err)
	doc, err := p.Read()
	require.NoError(t, err)
	require.Equal(t, cut.Optimal, doc.Cut.Plan.Status)
	require.Equal(t, []int{3}, doc.Missing())
	require.Len(t, doc.Extra.Boards, 1)
	require.Equal(t, 1, doc.Extra.Boards[0].Count)
	require.True(t, doc.Extra.Proven)
	next, err := b.store.Replan(t.Context(), db.Base{KeeperID: b.keeper.ID}, b.editing(p.ID, 0, ""), db.Again{}, "test")
	require.NoError(t, err)
	doc, err = next.Read()
	require.NoError(t, err)
	require.Equal(t, []int{3}, doc.Missing())
	require.True(t, doc.Extra.Proven)
}
