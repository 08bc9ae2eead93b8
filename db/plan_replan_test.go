package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/analytics/cut"
	"skepwood/db"
)

// again plans the rest of a plan again.
func (b *bench) again(t *testing.T, p db.Plan, ask db.Again) (db.Plan, error) {
	t.Helper()
	return b.store.Replan(t.Context(), db.Base{KeeperID: b.keeper.ID}, b.editing(p.ID, 1, "again"), ask, "test")
}

// compared are the layouts of a plan beside their boards as they are now.
func (b *bench) compared(t *testing.T, p db.Plan) []db.PlanLayout {
	t.Helper()
	out := b.layouts(t, p)
	require.NoError(t, b.store.CompareLayouts(t.Context(), &p, out))
	return out
}

func (b *bench) otherwise(t *testing.T, l db.PlanLayout, state, said string) {
	t.Helper()
	require.NoError(t, b.store.SawOtherwise(t.Context(), b.editing(l.ID, l.Version, "at the saw"), db.Got{State: state, Said: said}))
}

// TestReplanTakesFurtherBoards breaks the only board of a plan: without further
// boards nothing is left, with them the rest goes on, and it says so.
func TestReplanTakesFurtherBoards(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	board := b.boardOf(t, lot, 22, 100, map[string]string{"metal": "clean"})
	b.dry(t, board, "11")
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 10, 48, 4))
	require.NoError(t, err)
	unswept := b.boardOf(t, lot, 22, 100, nil)
	other := b.boardOf(t, lot, 22, 100, map[string]string{"metal": "clean"})
	spare := b.boardOf(t, lot, 22, 100, map[string]string{"metal": "clean"})
	for _, board := range []db.Board{unswept, other, spare} {
		b.dry(t, board, "11")
	}
	b.otherwise(t, b.layouts(t, p)[0], db.LayoutBroken, "dropped")
	var faults db.FieldErrors
	_, err = b.again(t, p, db.Again{})
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.Error(), "offer further boards too")
	_, err = b.again(t, p, db.Again{Further: true, Only: "ZZZZZ-1"})
	require.ErrorAs(t, err, &faults)
	require.NotNil(t, faults.For("only"))
	_, err = b.again(t, p, db.Again{Further: true, Only: unswept.Code})
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.Error(), "there is no further one that may be used")

	next, err := b.again(t, p, db.Again{Further: true, Only: other.Code + " " + unswept.Code})
	require.NoError(t, err)
	layouts := b.layouts(t, next)
	require.Len(t, layouts, 1)
	require.Equal(t, other.Code, layouts[0].Code)
	require.Len(t, layouts[0].Pieces, 4)
	require.Contains(t, next.Changed, "1 further board was offered, used: "+other.Code)
	require.Contains(t, next.Changed, "dropped")
	doc, err := next.Read()
	require.NoError(t, err)
	require.NoError(t, cut.Check(doc.Cut.Instance, doc.Cut.Plan))
	require.Contains(t, doc.Excluded, db.Excluded{Why: "not yet swept for metal", Count: 1, Codes: []string{unswept.Code}})

	// And once more from the plan that boards have joined.
	b.otherwise(t, layouts[0], db.LayoutRejected, "full of shakes")
	third, err := b.again(t, next, db.Again{Further: true})
	require.NoError(t, err)
	require.Equal(t, spare.Code, b.layouts(t, third)[0].Code, "not the one that was rejected")
	b.otherwise(t, b.layouts(t, third)[0], db.LayoutBroken, "dropped too")
	_, err = b.again(t, third, db.Again{Further: true})
	require.ErrorAs(t, err, &faults, "what was rejected two plans ago stays out")
}

// TestReplanSaysWhichBoardsChanged loses one board of two, then another: the new
// plan names those that left and came, and what to buy for what is missing.
func TestReplanSaysWhichBoardsChanged(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	spare := map[string]bool{}
	for range 3 {
		board := b.boardOf(t, lot, 10, 100, map[string]string{"metal": "clean"})
		b.dry(t, board, "11")
		spare[board.Code] = true
	}
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 10, 48, 4))
	require.NoError(t, err)
	lose := func(l db.PlanLayout) {
		t.Helper()
		_, err := db.Boards.Correct(t.Context(), b.store, b.editing(l.Board.ID, b.loadBoard(t, l.Board.ID).Version, "lent"), map[string]string{"state": "gone"})
		require.NoError(t, err)
	}
	layouts := b.layouts(t, p)
	require.Len(t, layouts, 2)
	for _, l := range layouts {
		delete(spare, l.Code)
	}
	lose(layouts[0])
	next, err := b.again(t, p, db.Again{})
	require.NoError(t, err)
	for code := range spare {
		require.Equal(t, "no longer on the rack: "+layouts[0].Code+"\n1 board stays as before\nnow cut too: "+code, next.Changed)
	}
	doc, err := next.Read()
	require.NoError(t, err)
	require.Nil(t, doc.Extra)

	lose(b.layouts(t, next)[0])
	third, err := b.again(t, next, db.Again{})
	require.NoError(t, err)
	require.Contains(t, third.Changed, "fewer: 2 × ours")
	doc, err = third.Read()
	require.NoError(t, err)
	require.Equal(t, 2, doc.Missing()[0])
	require.NotNil(t, doc.Extra)
	require.True(t, doc.Extra.Proven, "the plan is proven best, so something more is needed, and one is the least")
	require.Equal(t, 1, doc.Extra.Boards[0].Count, "%+v", doc.Extra)
}

// TestReplanOnlyOnce: the rest of a plan that was planned again is the new plan's;
// planned once more from the old one it would be made twice.
func TestReplanOnlyOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	for range 2 {
		b.dry(t, b.boardOf(t, lot, 10, 100, map[string]string{"metal": "clean"}), "11")
	}
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 10, 48, 2))
	require.NoError(t, err)
	next, err := b.again(t, p, db.Again{})
	require.NoError(t, err)
	var faults db.FieldErrors
	_, err = b.again(t, p, db.Again{})
	require.ErrorAs(t, err, &faults)
	require.Contains(t, faults.Error(), "its rest was planned again already")
	require.NoError(t, db.Plans.Strike(t.Context(), b.store, b.editing(next.ID, next.Version, "by mistake")))
	_, err = b.again(t, p, db.Again{})
	require.NoError(t, err)
}

// TestReplanReasonsReachNoFurther uses an unswept board by a reason; the reason
// was not given for others.
func TestReplanReasonsReachNoFurther(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	mine := b.boardOf(t, lot, 22, 100, nil)
	values := rules()
	values["unswept_why"], values["wet_why"], values["only"] = "screwed together", "stand legs", mine.Code
	p, err := b.plan(t, values, b.ownPart(t, "inside", 10, 48, 4))
	require.NoError(t, err)
	b.boardOf(t, lot, 22, 100, nil)
	next, err := b.again(t, p, db.Again{Further: true})
	require.NoError(t, err)
	require.Contains(t, next.Changed, "no further board may be used")
	require.Equal(t, mine.Code, b.layouts(t, next)[0].Code)
}

// TestReplanSeesWhatWasWrittenDownSince maps a knot on a board after the plan:
// the new plan cuts round it.
func TestReplanSeesWhatWasWrittenDownSince(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	for range 2 {
		b.dry(t, b.boardOf(t, lot, 10, 100, map[string]string{"metal": "clean"}), "11")
	}
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 10, 96, 2))
	require.NoError(t, err)
	layouts := b.layouts(t, p)
	require.Len(t, layouts, 2)
	for _, l := range b.compared(t, p) {
		require.False(t, l.Corrected)
	}
	_, err = db.Boards.Correct(t.Context(), b.store, b.editing(layouts[0].Board.ID, 1, "split"), map[string]string{"right_trim": "1/2 in"})
	require.NoError(t, err)
	require.True(t, b.compared(t, p)[0].Corrected, "its end")
	b.add(t, db.Defects, map[string]string{"board": layouts[0].Code, "kind": "knot", "x": "12 in", "y": "1 in", "dx": "1 in", "dy": "1 in"})
	b.add(t, db.Defects, map[string]string{"board": layouts[1].Code, "kind": "knot", "x": "0", "y": "1 in", "dx": "1/2 in", "dy": "1 in"})
	for _, l := range b.compared(t, p) {
		require.True(t, l.Corrected, "whoever opens the plan is told")
	}
	next, err := b.again(t, p, db.Again{})
	require.NoError(t, err)
	after := b.layouts(t, next)
	require.False(t, b.compared(t, next)[0].Corrected)
	require.Len(t, after, 1)
	require.Equal(t, layouts[1].Code, after[0].Code, "the other one is spoiled in the middle")
	require.Contains(t, next.Changed, "taken as they are now")
	again, err := b.again(t, next, db.Again{})
	require.NoError(t, err)
	require.Equal(t, layouts[1].Code, b.layouts(t, again)[0].Code)
	require.NotContains(t, again.Changed, "taken as they are now")

	// One that became wet leaves the plan, with the reason.
	b.dry(t, b.loadBoard(t, after[0].Board.ID), "30")
	_, err = b.again(t, again, db.Again{})
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
}

// TestReplanSentTwiceIsOnePlan sends the same form again.
func TestReplanSentTwiceIsOnePlan(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	for range 2 {
		b.dry(t, b.boardOf(t, lot, 22, 100, map[string]string{"metal": "clean"}), "11")
	}
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 10, 48, 8))
	require.NoError(t, err)
	b.otherwise(t, b.layouts(t, p)[0], db.LayoutBroken, "dropped")
	base := db.Base{ID: uuid.Must(uuid.NewV7()), KeeperID: b.keeper.ID}
	var ids []uuid.UUID
	for range 2 {
		next, err := b.store.Replan(t.Context(), base, b.editing(p.ID, 1, "again"), db.Again{}, "test")
		require.NoError(t, err)
		ids = append(ids, next.ID)
	}
	require.Equal(t, ids[0], ids[1])
	plans, err := b.store.PlanList(t.Context(), 10)
	require.NoError(t, err)
	require.Len(t, plans, 2)
}
