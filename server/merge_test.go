package server_test

import (
	"net/http"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestSourcesAreMergedAndSplit(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stays := b.add(db.Sources, map[string]string{"name": "Harbour Tile", "kind": "flooring"})
	goes := b.add(db.Sources, map[string]string{"name": "Harbor Tile", "kind": "flooring"})
	for _, day := range []string{"2026-02-01", "2026-02-08"} {
		b.add(db.Pickups, map[string]string{"source": "Harbor Tile", "day": day, "distance": "12", "empty": "yes"})
	}
	path := "/sources/" + goes.ID.String() + "/merge"
	require.Equal(t, path, linkSaying(b.open("/sources/"+goes.ID.String()), "Merge or split this source"))
	form := b.form(b.open(path), path)

	before := b.contents()
	b.refused(b.post(path, with(form, "into", stays.ID.String())), "merge-why")
	for _, into := range []string{"", "harbour", goes.ID.String(), uuid.Must(uuid.NewV7()).String()} {
		p := b.post(path, with(form, "into", into, "merge-why", "spelt twice"))
		require.NotEmpty(t, b.refused(p, "into"), into)
		require.Equal(t, "#into", attr(allIn(p.all("div", "faults")[0], "a", "")[0], "href"))
		require.Equal(t, "spelt twice", valueOf(p, "merge-why"))
	}
	require.Equal(t, http.StatusConflict, b.post(path, with(form, "into", stays.ID.String(), "merge-why", "spelt twice", "version", "9")).status)
	require.Equal(t, before, b.contents(), "nothing was stored")

	p := b.stored(path, with(form, "into", stays.ID.String(), "merge-why", "spelt twice"))
	require.Equal(t, "Harbour Tile", p.title())
	require.Contains(t, p.mainText(), "from 2 pickups, 2 of them empty")
	struck := b.open("/sources/" + goes.ID.String())
	require.Contains(t, struck.mainText(), "merged into Harbour Tile: spelt twice")
	require.Empty(t, linkSaying(struck, "Merge or split this source"))
	require.Contains(t, b.open(path).mainText(), "This source is struck through")

	// One of the two pickups was another gate after all.
	path = "/sources/" + stays.ID.String() + "/merge"
	page := b.open(path)
	require.Contains(t, page.mainText(), "There is no other source in the book.")
	split := "/sources/" + stays.ID.String() + "/split"
	form = b.form(page, split)
	ticks := page.all("input", "")
	pickup := ""
	for _, n := range ticks {
		if attr(n, "name") == "pickup" {
			pickup = attr(n, "value")
		}
	}
	b.refused(b.post(split, with(form, "pickup", pickup, "split-why", "two gates")), "split-name")
	none := b.post(split, with(form, "split-name", "Back gate", "split-why", "two gates"))
	require.Equal(t, http.StatusUnprocessableEntity, none.status)
	require.Contains(t, none.mainText(), "none is chosen")
	fresh := b.stored(split, with(form, "pickup", pickup, "split-name", "Back gate", "split-why", "two gates"))
	require.Equal(t, "Back gate", fresh.title())
	require.Contains(t, fresh.mainText(), "from 1 pickup, 1 of them empty")
	require.Contains(t, b.open("/sources/"+stays.ID.String()).mainText(), "split, new source Back gate: two gates")
	require.Equal(t, http.StatusNotFound, b.get("/sources/"+uuid.Must(uuid.NewV7()).String()+"/merge").status)
}
