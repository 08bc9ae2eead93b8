package db_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// TestHeldSinceSurvivesLaterEntries holds one lot for more than a year, adds to
// it what does not touch the hold, and lets a second one be held by its last
// entry alone.
func TestHeldSinceSurvivesLaterEntries(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.add(t, db.Sources, map[string]string{"name": "Harbour Tile", "kind": "flooring"})
	b.add(t, db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2025-01-25", "distance": "12", "minutes": "75", "cost": "5"})
	long := testNow.AddDate(0, 0, -409)
	ago := func(days int) time.Time { return testNow.AddDate(0, 0, -days) }
	at := func(when time.Time, kind db.EntryKind, values map[string]string) db.Entry {
		entry, err := kind.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID, ReceivedAt: when}, values, b.env)
		require.NoError(t, err)
		return entry
	}
	lot := func(when time.Time) db.Entry {
		return at(when, db.Lots, map[string]string{"pickup": "2025-01-25 Harbour Tile", "kind": "crate", "count": "1"})
	}
	find := func(when time.Time, lot db.Entry, more map[string]string) db.Entry {
		values := map[string]string{"lot": lot.Values["code"], "note": "T. Example", "seen": "2025-02-01"}
		for name, value := range more {
			values[name] = value
		}
		return at(when, db.Findings, values)
	}
	old, late, freed := lot(long), lot(long.AddDate(0, 0, -5)), lot(long)
	find(ago(3), old, map[string]string{"kind": "species", "value": "pine"})
	struck := find(ago(2), old, map[string]string{"kind": "stain", "value": "oil"})
	require.NoError(t, db.Findings.Strike(t.Context(), b.store, db.Edit{ID: struck.ID, Version: struck.Version, Keeper: b.keeper.ID, Why: "another lot's", Env: b.env}))
	board := b.add(t, db.Boards, map[string]string{"lot": old.Values["code"], "thickness": "3/4", "width": "5", "length": "40"})
	find(ago(1), old, map[string]string{"kind": "tint", "value": "green", "board": board.Values["code"]})
	find(ago(400), late, map[string]string{"kind": "mark", "value": "IPPC US-1234 HT"})
	find(ago(20), late, map[string]string{"kind": "paint", "value": "unknown"})
	find(ago(10), late, map[string]string{"kind": "species", "value": "pine"})
	find(ago(10), freed, map[string]string{"kind": "mark", "value": "IPPC US-1234 HT"})

	held, err := b.store.HeldLots(t.Context(), 10)
	require.NoError(t, err)
	require.Len(t, held, 2)
	require.Equal(t, old.ID, held[0].ID, "the longest held first, not the first that came")
	require.True(t, held[0].Since.Equal(long), "%v", held[0].Since)
	require.Equal(t, late.ID, held[1].ID)
	require.True(t, held[1].Since.Equal(ago(20)), "%v", held[1].Since)
	require.Len(t, held[1].Findings, 3)
	one, err := b.store.HeldLots(t.Context(), 1)
	require.NoError(t, err)
	require.Len(t, one, 1)
	require.Equal(t, old.ID, one[0].ID)
}
