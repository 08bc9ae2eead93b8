package db_test

import (
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// twoPlans makes two plans of one board, the first of them set aside, and returns
// the layout of each.
func (b *bench) twoPlans(t *testing.T) (first, second db.PlanLayout) {
	t.Helper()
	b.dry(t, b.boardOf(t, b.good(t), 22, 100, map[string]string{"metal": "clean"}), "11")
	want := b.ownPart(t, "inside", 10, 48, 2)
	p, err := b.plan(t, rules(), want)
	require.NoError(t, err)
	_, err = b.store.SetAside(t.Context(), b.editing(p.ID, 1, "not today"))
	require.NoError(t, err)
	q, err := b.plan(t, rules(), want)
	require.NoError(t, err)
	one, two := b.layouts(t, p), b.layouts(t, q)
	require.Len(t, one, 1)
	require.Len(t, two, 1)
	require.Equal(t, one[0].Board.ID, two[0].Board.ID)
	return one[0], two[0]
}

// TestDatabaseKeepsABoardToOnePlan goes round the code that looks first.
func TestDatabaseKeepsABoardToOnePlan(t *testing.T) {
	t.Parallel()
	b := setup(t)
	first, second := b.twoPlans(t)
	_, err := b.store.Pool().Exec(t.Context(), "UPDATE layout SET state = 'planned' WHERE id = $1", first.ID)
	require.ErrorContains(t, err, "layout_board_planned_once")
	_, err = b.store.Pool().Exec(t.Context(), "UPDATE layout SET state = 'rejected' WHERE id = $1", second.ID)
	require.NoError(t, err)
	_, err = b.store.Pool().Exec(t.Context(), "UPDATE layout SET state = 'planned' WHERE id = $1", first.ID)
	require.NoError(t, err)
}

// TestSheetsKeepABoardToOnePlan brings two plans of one board in sheets: into one
// book at once, and into a book that has one of them.
func TestSheetsKeepABoardToOnePlan(t *testing.T) {
	t.Parallel()
	b := setup(t)
	first, second := b.twoPlans(t)
	dir, files := b.export(t)
	only := func(id uuid.UUID, text string) string {
		lines := strings.SplitAfter(text, "\n")
		kept := lines[0]
		for _, line := range lines[1:] {
			if strings.Contains(line, id.String()) {
				kept += line
			}
		}
		return kept
	}
	layouts := strings.ReplaceAll(files["layouts.csv"], "set_aside", "planned")
	require.NotEqual(t, files["layouts.csv"], layouts)
	with := func(text string) (sheets []db.Sheet) {
		for _, s := range sheetsIn(t, dir) {
			if s.Name == "layouts.csv" {
				s = sheet(s.Name, text)
			}
			if s.Name != "history.csv" {
				sheets = append(sheets, s)
			}
		}
		return sheets
	}
	told := func(report *db.ImportReport) {
		t.Helper()
		require.Len(t, report.Faults, 1)
		f := report.Faults[0]
		require.Equal(t, []any{"layouts.csv", "board", first.Code, "is to be cut by another plan already"}, []any{f.File, f.Column, f.Value, f.Problem})
		require.False(t, report.Stored)
	}
	fresh := setup(t)
	told(fresh.read(t, false, with(layouts)...))
	require.Empty(t, fresh.read(t, false, with(only(second.ID, layouts))...).Faults)
	told(fresh.read(t, false, with(only(first.ID, layouts))...))
	require.Empty(t, fresh.read(t, false, with(files["layouts.csv"])...).Faults, "one that is set aside is no second plan")
}

// TestOlderBooksWithTwoPlansOfABoard migrates a book in which two plans mean to
// cut one board, and one in which a struck plan does.
func TestOlderBooksWithTwoPlansOfABoard(t *testing.T) {
	t.Parallel()
	for _, struck := range []bool{false, true} {
		b := setup(t)
		first, second := b.twoPlans(t)
		told, err := b.store.HistoryOf(t.Context(), "layout", first.ID)
		require.NoError(t, err)
		b.store.Close()
		require.NoError(t, db.MigrateDownTo(t.Context(), b.url, 11))
		owner := b.owner(t)
		_, err = owner.Exec(t.Context(), "UPDATE layout SET state = 'planned', received_at = received_at - interval '1 day' WHERE id = $1", first.ID)
		require.NoError(t, err)
		kept, aside := first.ID, second.ID
		if struck {
			_, err := owner.Exec(t.Context(), "UPDATE plan SET struck_at = now() WHERE id = (SELECT plan_id FROM layout WHERE id = $1)", first.ID)
			require.NoError(t, err)
			kept, aside = second.ID, first.ID
		}
		require.NoError(t, db.Migrate(t.Context(), b.url))
		state := func(id uuid.UUID) (state string) {
			require.NoError(t, owner.QueryRow(t.Context(), "SELECT state FROM layout WHERE id = $1", id).Scan(&state))
			return state
		}
		require.Equal(t, [2]string{db.LayoutPlanned, db.LayoutSetAside}, [2]string{state(kept), state(aside)})
		var store *db.Store
		store, err = db.Open(t.Context(), b.url, db.Options{})
		require.NoError(t, err)
		history, err := store.HistoryOf(t.Context(), "layout", aside)
		store.Close()
		require.NoError(t, err)
		require.Contains(t, history[0].Why, "a board is one plan's at a time")
		require.Equal(t, told[0].Changes, history[0].Changes, "as if the keeper had set it aside")
		require.Equal(t, b.keeper.ID, history[0].KeeperID)
	}
}
