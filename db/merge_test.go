package db_test

import (
	"errors"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// twoSources enters one place under two names, with a day on which both have
// a pickup.
func (b *bench) twoSources(t *testing.T) (from, into db.Entry) {
	t.Helper()
	from = b.add(t, db.Sources, map[string]string{"name": "Harbor Tile", "kind": "tiles", "permission": "yes, by the foreman"})
	into = b.add(t, db.Sources, map[string]string{"name": "Harbour Tile", "kind": "flooring"})
	for _, p := range [][2]string{{"Harbor Tile", "2026-02-01"}, {"Harbor Tile", "2026-02-08"}, {"Harbour Tile", "2026-02-08"}, {"Harbour Tile", "2026-02-15"}} {
		b.add(t, db.Pickups, map[string]string{"source": p[0], "day": p[1], "distance": "12", "empty": "yes"})
	}
	return from, into
}

func (b *bench) edit(e db.Entry) db.Edit {
	return db.Edit{ID: e.ID, Version: e.Version, Keeper: b.keeper.ID, Why: "one place, spelt twice", Env: b.env}
}

func TestMergeCountsThePickupsTogether(t *testing.T) {
	t.Parallel()
	b := setup(t)
	from, into := b.twoSources(t)
	moved, err := b.store.MergeSource(t.Context(), b.edit(from), into.ID)
	require.NoError(t, err)
	require.Equal(t, 2, moved)

	r := b.ranked(t)
	require.Len(t, r.Sources, 1)
	require.Equal(t, 4, r.Sources[0].N)
	require.Equal(t, 4, r.Sources[0].Answer.N)
	sums, err := b.store.PickupsOf(t.Context(), into.ID)
	require.NoError(t, err)
	require.Len(t, sums, 4)
	visits := map[string][]int{}
	for _, p := range sums {
		visits[p.Day.Format("2006-01-02")] = append(visits[p.Day.Format("2006-01-02")], p.Visit)
	}
	require.Equal(t, []int{2, 1}, visits["2026-02-08"], "both visits of the day stay")

	// The history says what happened, on the source and on each pickup.
	lines, err := b.store.HistoryOf(t.Context(), "source", from.ID)
	require.NoError(t, err)
	require.Len(t, lines, 1)
	require.Equal(t, db.ActionStruck, lines[0].Action)
	require.Equal(t, "merged into Harbour Tile: one place, spelt twice", lines[0].Why)
	for _, p := range sums {
		lines, err := b.store.HistoryOf(t.Context(), "pickup", p.ID)
		require.NoError(t, err)
		for _, l := range lines {
			require.Equal(t, db.ActionCorrected, l.Action)
			require.Equal(t, "source", l.Changes[0].Field)
			require.Equal(t, "Harbor Tile", l.Changes[0].Old)
			require.Equal(t, "merged into Harbour Tile: one place, spelt twice", l.Why)
		}
	}
}

func TestMergeRefuses(t *testing.T) {
	t.Parallel()
	b := setup(t)
	from, into := b.twoSources(t)
	edit := b.edit(from)
	_, err := b.store.MergeSource(t.Context(), edit, from.ID)
	require.ErrorContains(t, err, "is the source itself")
	_, err = b.store.MergeSource(t.Context(), edit, uuid.Must(uuid.NewV7()))
	require.True(t, db.IsNotFound(err), err)
	silent := edit
	silent.Why = " "
	_, err = b.store.MergeSource(t.Context(), silent, into.ID)
	require.ErrorContains(t, err, "say in a few words")
	old := edit
	old.Version = 7
	var conflict *db.ConflictError
	_, err = b.store.MergeSource(t.Context(), old, into.ID)
	require.ErrorAs(t, err, &conflict)
	require.NoError(t, db.Sources.Strike(t.Context(), b.store, b.edit(into)))
	_, err = b.store.MergeSource(t.Context(), edit, into.ID)
	require.ErrorContains(t, err, "is struck through")
	sums, err := b.store.PickupsOf(t.Context(), from.ID)
	require.NoError(t, err)
	require.Len(t, sums, 2, "nothing moved")
}

func TestSplitPartsThePickups(t *testing.T) {
	t.Parallel()
	b := setup(t)
	from, _ := b.twoSources(t)
	sums, err := b.store.PickupsOf(t.Context(), from.ID)
	require.NoError(t, err)
	split := db.Split{Fresh: uuid.Must(uuid.NewV7()), Name: "Harbor Tile, back gate", Pickups: []uuid.UUID{sums[0].ID}}
	require.NoError(t, b.store.SplitSource(t.Context(), b.edit(from), split))

	fresh, err := db.Sources.Get(t.Context(), b.store, split.Fresh)
	require.NoError(t, err)
	require.Equal(t, "tiles", fresh.Kind)
	require.Empty(t, fresh.Permission, "a permission belongs to a place")
	r := b.ranked(t)
	require.Len(t, r.Sources, 3)
	require.Equal(t, 1, r.Source(split.Fresh.String()).N)
	require.Equal(t, 1, r.Source(from.ID.String()).N)
	lines, err := b.store.HistoryOf(t.Context(), "source", from.ID)
	require.NoError(t, err)
	require.Len(t, lines, 1)
	require.Equal(t, []db.Change{{Field: "pickups", Old: "2", New: "1"}}, lines[0].Changes)

	// And back again.
	entry, err := db.Sources.Load(t.Context(), b.store, split.Fresh, b.env)
	require.NoError(t, err)
	moved, err := b.store.MergeSource(t.Context(), b.edit(entry), from.ID)
	require.NoError(t, err)
	require.Equal(t, 1, moved)
	again, err := b.store.PickupsOf(t.Context(), from.ID)
	require.NoError(t, err)
	require.Equal(t, sums, again, "merging undoes a split")
}

func TestSplitRefuses(t *testing.T) {
	t.Parallel()
	b := setup(t)
	from, into := b.twoSources(t)
	other, err := b.store.PickupsOf(t.Context(), into.ID)
	require.NoError(t, err)
	own, err := b.store.PickupsOf(t.Context(), from.ID)
	require.NoError(t, err)
	for name, c := range map[string]struct {
		name    string
		pickups []uuid.UUID
		field   string
	}{
		"no pickup":              {"Back gate", nil, "pickups"},
		"another source's":       {"Back gate", []uuid.UUID{own[0].ID, other[0].ID}, "pickups"},
		"no name":                {"", []uuid.UUID{own[0].ID}, "name"},
		"a name already in use":  {"harbour tile", []uuid.UUID{own[0].ID}, "name"},
		"its own name once more": {"Harbor Tile", []uuid.UUID{own[0].ID}, "name"},
	} {
		err := b.store.SplitSource(t.Context(), b.edit(from), db.Split{Fresh: uuid.Must(uuid.NewV7()), Name: c.name, Pickups: c.pickups})
		var faults db.FieldErrors
		require.True(t, errors.As(err, &faults), "%s: %v", name, err)
		require.NotNil(t, faults.For(c.field), "%s: %v", name, err)
	}
	names, err := b.store.SourceNames(t.Context())
	require.NoError(t, err)
	require.Len(t, names, 2, "nothing was stored")
}
