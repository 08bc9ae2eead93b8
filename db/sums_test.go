package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// wrongSums counts the live pickups whose kept sums differ from sums over the
// boards and lots below them, made by SQL alone.
func (b *bench) wrongSums(t *testing.T) (wrong, all int) {
	t.Helper()
	require.NoError(t, b.store.Pool().QueryRow(t.Context(), `
		WITH wood AS ( -- of lots with boards the boards count, of others what the eye said
			SELECT l.pickup_id, l.id, l.boards,
				CASE WHEN l.boards > 0 THEN (SELECT coalesce(sum(b.gross_m3), 0) FROM board b WHERE b.lot_id = l.id AND b.struck_at IS NULL AND b.parent_id IS NULL)
					ELSE coalesce(l.volume_m3, 0) END AS at_least,
				CASE WHEN l.boards > 0 THEN (SELECT coalesce(sum(b.usable_m3), 0) FROM board b WHERE b.lot_id = l.id AND b.struck_at IS NULL AND b.verdict = 'inside' AND NOT b.ownership_stop
						AND NOT EXISTS (SELECT 1 FROM board c WHERE c.parent_id = b.id AND c.struck_at IS NULL))
					WHEN l.verdict = 'inside' AND NOT l.ownership_stop THEN coalesce(l.volume_m3 * l.usable_share, 0) ELSE 0 END AS inside,
				l.gross_inside_m3 + l.gross_outside_m3 + l.gross_hold_m3 + l.gross_never_m3 + l.gross_stopped_m3 + l.gross_lost_m3 AS kept
			FROM lot l WHERE l.struck_at IS NULL),
		sums AS (SELECT pickup_id, count(*) lots, sum(boards) boards, sum(at_least) at_least, sum(inside) inside, sum(kept) kept FROM wood GROUP BY pickup_id)
		SELECT count(*) FILTER (WHERE p.lots <> coalesce(s.lots, 0) OR p.boards <> coalesce(s.boards, 0)
				OR abs(p.usable_inside_m3 - coalesce(s.inside, 0)) > 1e-9
				OR abs(p.gross_inside_m3 + p.gross_outside_m3 + p.gross_hold_m3 + p.gross_never_m3 + p.gross_stopped_m3 + p.gross_lost_m3 - coalesce(s.kept, 0)) > 1e-9
				OR coalesce(s.kept, 0) < coalesce(s.at_least, 0) - 1e-9), count(*)
		FROM pickup p LEFT JOIN sums s ON s.pickup_id = p.id WHERE p.struck_at IS NULL`).Scan(&wrong, &all))
	return wrong, all
}

// TestSumsFollowEveryWrite looks at the sums that pages read after each kind of
// write: they are made in the transaction that writes, and are those of the wood below.
func TestSumsFollowEveryWrite(t *testing.T) {
	t.Parallel()
	b := setup(t)
	one := b.add(t, db.Sources, map[string]string{"name": "One", "distance": "10"})
	two := b.add(t, db.Sources, map[string]string{"name": "Two", "distance": "4"})
	check := func(what string) {
		t.Helper()
		wrong, all := b.wrongSums(t)
		require.Zero(t, wrong, what)
		require.Positive(t, all, what)
		lots, err := b.store.Recompute(t.Context(), nil)
		require.NoError(t, err)
		require.GreaterOrEqual(t, lots, 0)
		after, _ := b.wrongSums(t)
		require.Zero(t, after, what+", made anew")
	}
	usable := func(name string) float64 {
		t.Helper()
		ranking, err := b.store.Ranking(t.Context(), "USD")
		require.NoError(t, err)
		for _, s := range ranking.Sources {
			if s.Name == name {
				return s.Outcome.UsableInside
			}
		}
		return 0
	}
	edit := func(e db.Entry, version int) db.Edit {
		return db.Edit{ID: e.ID, Version: version, Keeper: b.keeper.ID, Why: "looked again", Env: b.env}
	}
	require.NoError(t, b.store.EnsureFigures(t.Context()))
	pickup := b.add(t, db.Pickups, map[string]string{"source": "One", "day": "2026-03-01", "distance": "10", "minutes": "60"})
	check("a pickup")
	lot := b.add(t, db.Lots, map[string]string{"pickup": "2026-03-01 One", "kind": "crate", "volume": "20", "usable_percent": "50"})
	check("a lot")
	b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT"})
	check("a finding")
	byEye := usable("One")
	require.Positive(t, byEye)
	board := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48"})
	check("a board")
	require.NotEqual(t, byEye, usable("One"), "what is measured counts")
	whole := usable("One")
	defect := b.add(t, db.Defects, map[string]string{"board": board.Values["code"], "kind": "knot", "face": "both", "x": "20", "y": "0", "dx": "2", "dy": "5 1/2"})
	check("a defect")
	require.Less(t, usable("One"), whole)
	require.NoError(t, db.Defects.Strike(t.Context(), b.store, edit(defect, 1)))
	check("a defect struck")
	require.InDelta(t, whole, usable("One"), 1e-12)
	require.NoError(t, db.Boards.Strike(t.Context(), b.store, edit(board, 1)))
	check("a board struck")
	_, err := db.Lots.Correct(t.Context(), b.store, edit(lot, 1), map[string]string{"usable_percent": "25"})
	require.NoError(t, err)
	check("a lot corrected")
	require.InDelta(t, byEye/2, usable("One"), 1e-9)
	_, err = db.Pickups.Correct(t.Context(), b.store, edit(pickup, 1), map[string]string{"source": "Two"})
	require.NoError(t, err)
	check("a pickup corrected")
	require.InDelta(t, byEye/2, usable("Two"), 1e-9)
	require.Zero(t, usable("One"))
	_, err = b.store.MergeSource(t.Context(), edit(two, 1), one.ID)
	require.NoError(t, err)
	check("sources merged")
	require.InDelta(t, byEye/2, usable("One"), 1e-9)
	require.NoError(t, b.store.SplitSource(t.Context(), edit(one, 1), db.Split{Fresh: uuid.New(), Name: "Three", Pickups: []uuid.UUID{pickup.ID}}))
	check("a source split")
	require.InDelta(t, byEye/2, usable("Three"), 1e-9)
	require.NoError(t, db.Lots.Strike(t.Context(), b.store, edit(lot, 2)))
	check("a lot struck")
	require.Zero(t, usable("Three"))
	require.NoError(t, db.Lots.Restore(t.Context(), b.store, edit(lot, 3)))
	check("a lot restored")
	require.Positive(t, usable("Three"))
}
