package db_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
	"skepwood/db"
)

func TestComingSaturday(t *testing.T) {
	t.Parallel()
	chicago, err := time.LoadLocation("America/Chicago")
	require.NoError(t, err)
	for name, c := range map[string]struct {
		now  time.Time
		zone *time.Location
		want string
	}{
		"a Saturday is today":           {testNow, nil, "2026-03-14"},
		"Sunday is six days early":      {testNow.AddDate(0, 0, 1), nil, "2026-03-21"},
		"Friday":                        {testNow.AddDate(0, 0, -1), nil, "2026-03-14"},
		"Sunday in UTC, not in Chicago": {time.Date(2026, 3, 15, 3, 0, 0, 0, time.UTC), chicago, "2026-03-14"},
	} {
		require.Equal(t, c.want, db.ComingSaturday(db.Env{Now: c.now, Zone: c.zone}).Format(time.DateOnly), name)
	}
}

// ranked adds the built-in figures and returns the ranking.
func (b *bench) ranked(t *testing.T) *db.Ranking {
	t.Helper()
	require.NoError(t, b.store.EnsureFigures(t.Context()))
	r, err := b.store.Ranking(t.Context(), "USD")
	require.NoError(t, err)
	return r
}

func TestRankingOfAnEmptyBookSaysWhy(t *testing.T) {
	t.Parallel()
	r := setup(t).ranked(t)
	require.Nil(t, r.Next)
	require.Equal(t, "The book has no source yet.", r.Why)
	require.Empty(t, r.Expected())
}

func TestSourceWithoutTripsHasAnAnswer(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.add(t, db.Sources, map[string]string{"name": "Harbour Tile", "kind": "flooring", "distance": "12"})
	r := b.ranked(t)
	require.NotNil(t, r.Next, r.Why)
	s := r.Sources[0]
	require.Nil(t, s.Plain, "nothing was")
	require.Equal(t, yield.NoTrips, s.Answer.Evidence)
	require.InDelta(t, 12, s.Answer.Miles, 1e-6, "its own distance")
	require.Less(t, s.Answer.Next.Most.Low, s.Answer.Next.Most.High)
	require.Contains(t, s.Answer.Sentence, "Harbour Tile: no trip yet")
	require.NotContains(t, s.Answer.Sentence, s.ID.String())
}

func TestEmptyTripsOnlyLowerTheHope(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.add(t, db.Sources, map[string]string{"name": "Harbour Tile", "kind": "flooring"})
	before := 1.0
	for i := range 4 {
		b.add(t, db.Pickups, map[string]string{"source": "Harbour Tile", "day": fmt.Sprintf("2026-02-%02d", 1+7*i), "distance": "12", "minutes": "60", "empty": "yes"})
		r := b.ranked(t)
		require.NotNil(t, r.Next, r.Why)
		a := r.Sources[0].Answer
		require.Equal(t, i+1, a.Empty)
		require.Less(t, a.Pays, before, "another empty drive")
		before = a.Pays
	}
}

func TestExpectedOrderFollowsTheAnswers(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for i, name := range []string{"Far Mill", "Harbour Tile", "Near Yard"} {
		b.add(t, db.Sources, map[string]string{"name": name, "distance": fmt.Sprint(60 - 20*i)})
	}
	r := b.ranked(t)
	require.NotNil(t, r.Next, r.Why)
	var names []string
	for i, s := range r.Expected() {
		names = append(names, s.Name)
		require.Equal(t, r.Next.Answers.Sources[i].SourceID, s.ID.String())
		require.Same(t, r.Source(s.ID.String()).Answer, s.Answer)
	}
	require.Equal(t, []string{"Near Yard", "Harbour Tile", "Far Mill"}, names, "with nothing known, the nearest is best")
	require.Nil(t, r.Source("none"))
}

func TestModelThatCannotAnswerLeavesThePlainFigures(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.add(t, db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	b.add(t, db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-02-01", "distance": "12", "empty": "yes"})
	far := b.add(t, db.Sources, map[string]string{"name": "Other End", "distance": "2000"})
	_, err := b.store.Pool().Exec(t.Context(), "UPDATE source SET distance_m = 3000 * 1609.344 WHERE id = $1", far.ID) // from before that was refused
	require.NoError(t, err)
	r := b.ranked(t)
	require.Nil(t, r.Next)
	require.Contains(t, r.Why, `source "Other End" is 3000`)
	require.NotNil(t, r.Source(r.Sources[0].ID.String()).Plain)
}

// TestPickupThatCannotBeIsLeftOut has a slip from before such entries were refused: the
// other answers stand, and what was left out is named with what to do.
func TestPickupThatCannotBeIsLeftOut(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := db.Sources.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"name": "Too Far", "distance": "2001"}, b.env)
	require.ErrorContains(t, err, "is outside 0 to 2000; check the number and its unit")
	b.add(t, db.Sources, map[string]string{"name": "Harbour Tile"})
	slip := b.add(t, db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-02-01", "distance": "2000", "empty": "yes"})
	b.add(t, db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-02-08", "distance": "12", "empty": "yes"})
	require.Empty(t, b.ranked(t).LeftOut, "2000 miles are not too far")
	_, err = b.store.Pool().Exec(t.Context(), "UPDATE pickup SET distance_m = 4e6 WHERE id = $1", slip.ID)
	require.NoError(t, err)
	r := b.ranked(t)
	require.NotNil(t, r.Next, r.Why)
	require.Equal(t, 1, r.Sources[0].N)
	require.Len(t, r.LeftOut, 1)
	left := r.LeftOut[0]
	require.Equal(t, slip.ID, left.ID)
	require.Equal(t, "Harbour Tile", left.Source)
	require.Contains(t, left.Why, "look for a slipped digit or a wrong unit")
}
