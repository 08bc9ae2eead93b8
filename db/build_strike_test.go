package db_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// cutPlan plans one board and ticks it.
func (b *bench) cutPlan(t *testing.T) (db.Plan, db.Board, db.PlanLayout) {
	t.Helper()
	board := b.boardOf(t, b.good(t), 22, 192, map[string]string{"metal": "clean"})
	b.dry(t, board, "11")
	p, err := b.plan(t, rules(), b.ownPart(t, "inside", 9, 60, 4))
	require.NoError(t, err)
	l := b.layouts(t, p)[0]
	require.NoError(t, b.store.SawBoard(t.Context(), b.editing(l.ID, l.Version, "at the saw")))
	return p, board, b.layouts(t, p)[0]
}

// TestStrikingACutLayoutTakesItsWood strikes a ticked layout by hand: blanks and
// offcuts fall with it and its board is on the rack; restoring brings back
// exactly those. Each leaves its line of history.
func TestStrikingACutLayoutTakesItsWood(t *testing.T) {
	t.Parallel()
	b := setup(t)
	p, board, l := b.cutPlan(t)
	wood := func() (blanks, offcuts int, state string) {
		t.Helper()
		k, err := b.store.BlanksOf(t.Context(), board.ID)
		require.NoError(t, err)
		o, err := b.store.BoardsCutFrom(t.Context(), board.ID)
		require.NoError(t, err)
		return len(k), len(o), b.loadBoard(t, board.ID).State
	}
	blanks, offcuts, state := wood()
	require.Equal(t, []any{4, len(l.Offcuts), "cut"}, []any{blanks, offcuts, state})
	require.Positive(t, offcuts)
	kept, err := b.store.BoardsCutFrom(t.Context(), board.ID)
	require.NoError(t, err)

	require.NoError(t, db.Layouts.Strike(t.Context(), b.store, b.editing(l.ID, l.Version, "ticked by mistake")))
	none, nothing, state := wood()
	require.Equal(t, []any{0, 0, "rack"}, []any{none, nothing, state})
	for kind, id := range map[string]uuid.UUID{"board": kept[0].ID, "layout": l.ID} {
		history, err := b.store.HistoryOf(t.Context(), kind, id)
		require.NoError(t, err)
		require.Equal(t, db.ActionStruck, history[0].Action, kind)
		require.Contains(t, history[0].Why, "ticked by mistake", kind)
	}
	history, err := b.store.HistoryOf(t.Context(), "board", board.ID)
	require.NoError(t, err)
	require.Equal(t, []db.Change{{Field: "state", Old: "cut", New: "rack"}}, history[0].Changes)

	require.NoError(t, db.Layouts.Restore(t.Context(), b.store, b.editing(l.ID, l.Version+1, "no, it was cut")))
	back, all, state := wood()
	require.Equal(t, []any{blanks, offcuts, "cut"}, []any{back, all, state})
	again, err := b.store.BoardsCutFrom(t.Context(), board.ID)
	require.NoError(t, err)
	require.Equal(t, kept[0].ID, again[0].ID)
	require.Equal(t, "inside", again[0].Verdict)
	_, err = b.store.Recompute(t.Context(), nil)
	require.NoError(t, err)

	// The same by its plan.
	require.NoError(t, db.Plans.Strike(t.Context(), b.store, b.editing(p.ID, 1, "the wrong kit")))
	none, nothing, state = wood()
	require.Equal(t, []any{0, 0, "rack"}, []any{none, nothing, state})
	require.NoError(t, db.Plans.Restore(t.Context(), b.store, b.editing(p.ID, 2, "no, it is right")))
	back, all, state = wood()
	require.Equal(t, []any{blanks, offcuts, "cut"}, []any{back, all, state})
}

// TestStrikingALayoutStopsAtWhatIsUsed refuses while a piece is built in, and to
// restore while the board is meant for something else.
func TestStrikingALayoutStopsAtWhatIsUsed(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, board, l := b.cutPlan(t)
	list, err := b.store.BlanksOf(t.Context(), board.ID)
	require.NoError(t, err)
	built, err := db.Blanks.Correct(t.Context(), b.store, b.editing(list[0].ID, 1, "in the floor"), map[string]string{"state": "used"})
	require.NoError(t, err)
	var faults db.FieldErrors
	require.ErrorAs(t, db.Layouts.Strike(t.Context(), b.store, b.editing(l.ID, l.Version, "by mistake")), &faults)
	require.Contains(t, faults.Error(), "1 piece of board "+board.Code+" is used")
	list, err = b.store.BlanksOf(t.Context(), board.ID)
	require.NoError(t, err)
	require.Len(t, list, 4, "nothing half taken back")
	require.Equal(t, "built in", list[0].StateWords())
	_, err = db.Blanks.Correct(t.Context(), b.store, b.editing(built.ID, built.Version, "out again"), map[string]string{"state": "stock"})
	require.NoError(t, err)
	require.NoError(t, db.Layouts.Strike(t.Context(), b.store, b.editing(l.ID, l.Version, "by mistake")))
	other, err := b.plan(t, rules(), b.ownPart(t, "inside", 8, 50, 4))
	require.NoError(t, err)
	require.ErrorAs(t, db.Layouts.Restore(t.Context(), b.store, b.editing(l.ID, l.Version+1, "it was cut")), &faults)
	require.Contains(t, faults.Error(), "another plan means to cut it")
	_, err = b.store.SetAside(t.Context(), b.editing(other.ID, 1, "not today"))
	require.NoError(t, err)
	require.NoError(t, db.Layouts.Restore(t.Context(), b.store, b.editing(l.ID, l.Version+1, "it was cut")))

	layouts, err := b.store.LayoutsOfBoard(t.Context(), board.ID)
	require.NoError(t, err)
	require.Len(t, layouts, 2)
	require.NotEmpty(t, layouts[0].PlanName)
}

// TestABoardIsOnePlansAtATime: what was set aside or struck comes back only
// while no other plan has its board.
func TestABoardIsOnePlansAtATime(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	board := b.boardOf(t, lot, 10, 100, map[string]string{"metal": "clean"})
	b.dry(t, board, "11")
	want := b.ownPart(t, "inside", 10, 48, 2)
	first, err := b.plan(t, rules(), want)
	require.NoError(t, err)
	_, err = b.store.SetAside(t.Context(), b.editing(first.ID, 1, "not today"))
	require.NoError(t, err)
	second, err := b.plan(t, rules(), want)
	require.NoError(t, err)
	aside := b.layouts(t, first)[0]
	var faults db.FieldErrors
	require.ErrorAs(t, b.store.UndoSaw(t.Context(), b.editing(aside.ID, aside.Version, "today after all")), &faults)
	require.Contains(t, faults.Error(), "another plan means to cut it")

	require.NoError(t, db.Plans.Strike(t.Context(), b.store, b.editing(second.ID, second.Version, "by mistake")))
	require.NoError(t, b.store.UndoSaw(t.Context(), b.editing(aside.ID, aside.Version, "today after all")))
	require.ErrorAs(t, db.Plans.Restore(t.Context(), b.store, b.editing(second.ID, second.Version+1, "no mistake")), &faults)
	require.Contains(t, faults.Error(), "is another plan's by now")
	require.True(t, b.layouts(t, second)[0].Struck(), "nothing half restored")
	_, err = b.store.SetAside(t.Context(), b.editing(first.ID, 1, "not today"))
	require.NoError(t, err)
	require.NoError(t, db.Plans.Restore(t.Context(), b.store, b.editing(second.ID, second.Version+1, "no mistake")))
}

// TestTwoPlansAtOnceShareNoBoard plans for the same boards at the same moment:
// the second to be stored is told.
func TestTwoPlansAtOnceShareNoBoard(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.good(t)
	b.dry(t, b.boardOf(t, lot, 10, 100, map[string]string{"metal": "clean"}), "11")
	want := b.ownPart(t, "inside", 10, 48, 2)
	conn, err := pgx.Connect(t.Context(), b.url)
	require.NoError(t, err)
	defer func() { require.NoError(t, conn.Close(context.Background())) }()
	errs := make([]error, 2)
	var all sync.WaitGroup
	err = b.store.Tx(t.Context(), func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), "SELECT 1 FROM lot FOR NO KEY UPDATE")
		for i := range errs {
			all.Go(func() { _, errs[i] = b.plan(t, rules(), want) })
		}
		require.Eventually(t, func() bool { // both are worked out before either is stored
			waiting := 0
			err := conn.QueryRow(t.Context(), "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'").Scan(&waiting)
			return err == nil && waiting == len(errs)
		}, 20*time.Second, 10*time.Millisecond)
		return err
	})
	require.NoError(t, err)
	all.Wait()
	stored := 0
	for _, err := range errs {
		if err == nil {
			stored++
			continue
		}
		var faults db.FieldErrors
		require.ErrorAs(t, err, &faults)
		require.Contains(t, faults.Error(), "taken by another plan while this one was worked out")
	}
	require.Equal(t, 1, stored)
	plans, err := b.store.PlanList(t.Context(), 10)
	require.NoError(t, err)
	require.Len(t, plans, 1)
}

// TestNoFormTicksALayout: its state is the saw's to say.
func TestNoFormTicksALayout(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, _, l := b.cutPlan(t)
	_, err := db.Layouts.Correct(t.Context(), b.store, b.editing(l.ID, l.Version, "by hand"), map[string]string{"state": "planned"})
	require.NoError(t, err)
	after, err := b.store.Layout(t.Context(), l.ID)
	require.NoError(t, err)
	require.Equal(t, db.LayoutCut, after.State)
}
