package server_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"skepwood/db"
	"skepwood/server/browsertest"
)

// visit is a page to look at: where it begins, and what to tap there first.
type visit struct {
	name, path string
	taps       []string
	// status is what the page answers with, where that is no success.
	status int
}

// visits are one of each page of a full book, and the faces it shows when a
// form is refused.
func (b *bench) visits() []visit {
	b.Helper()
	lot, board := b.lotLike("never").path(), b.first(db.Boards).path()
	out := []visit{
		{name: "sources", path: "/sources"}, {name: "new source", path: "/sources/new"}, {name: "source", path: b.first(db.Sources).path()},
		{name: "new pickup", path: "/pickups/new"}, {name: "pickup", path: b.first(db.Pickups).path()},
		{name: "lot", path: lot}, {name: "lot not ours", path: b.stoppedLot().path()}, {name: "board", path: board},
		{name: "map", path: board + "/map"}, {name: "bottom of the map", path: board + "/map?face=bottom"}, {name: "refused defect", path: board + "/map", taps: []string{"Put it on the board"}}, {name: "cut", path: board + "/cut"}, {name: "cut shown", path: board + "/cut?sizes=1,1/2"}, {name: "nail rows", path: lot + "/nails"}, {name: "board not found", path: lot + "?find=nowhere", status: 422},
		{name: "stock", path: "/stock"}, {name: "book", path: "/book"}, {name: "changes", path: "/book?kind=change"},
		{name: "drying", path: "/drying"}, {name: "calendar", path: "/calendar"}, {name: "new stack", path: "/stacks/new"}, {name: "stack", path: b.first(db.Stacks).path()}, {name: "merge", path: b.first(db.Sources).path() + "/merge"},
		{name: "drive", path: "/drive"}, {name: "round", path: "/round"}, {name: "lookback", path: "/lookback"},
		{name: "holds", path: "/holds"}, {name: "mark", path: "/marks?text=IPPC+%3FS-10%3F3+H%3F"}, {name: "card", path: "/marks/card"},
		{name: "rules", path: "/rules"}, {name: "policy", path: "/rules/policy?setting=S04&verdict=never"}, {name: "desk", path: "/desk"},
		{name: "places", path: "/drying/places"}, {name: "place", path: "/drying/place?name=lean-to"}, {name: "new place", path: "/drying/place?name=attic"}, {name: "refused months", path: "/drying/place?name=attic", taps: []string{"Save the months"}},
		{name: "guess", path: "/guess"}, {name: "guess of a board", path: "/guess?board=" + b.first(db.Boards).ID.String()}, {name: "refused guess", path: "/guess?mass=heavy", status: 422},
		{name: "species list", path: "/species"}, {name: "species", path: "/species/pine_eastern_white"},
		{name: "settings", path: "/settings"}, {name: "import", path: "/import"}, {name: "not found", path: "/nowhere", status: 404},
		{name: "refused pickup", path: "/pickups/new", taps: []string{"Add another lot", "Log this pickup"}},
		{name: "refused boards", path: lot, taps: []string{"Add these boards"}},

		{name: "refused figure", path: "/settings", taps: []string{"Add the figure"}}, {name: "refused filter", path: "/stock?min_width=wide&dry=damp&verdict=foo", status: 422},
	}
	out = append(out, b.buildVisits()...)
	// All entries share their pages; these have every kind of field.
	for _, kind := range []db.EntryKind{db.Pickups, db.Readings} {
		e := b.first(kind)
		address := "/book/" + e.Kind + "/" + e.ID.String()
		out = append(out, visit{name: "entry " + e.Kind, path: address}, visit{name: "correct " + e.Kind, path: address + "/correct"})
	}
	board = "/book/board/" + b.first(db.Boards).ID.String() + "/correct"
	return append(out, visit{name: "refused strike", path: board, taps: []string{"Strike the entry through"}})
}

func (b *bench) lotLike(verdict string) named {
	b.Helper()
	rows, err := b.store.Lots(b.Context(), db.LotFilter{Verdicts: []string{verdict}, Limit: 1})
	require.NoError(b, err)
	require.NotEmpty(b, rows)
	return named{rows[0].ID, "lot"}
}

func (b *bench) stoppedLot() named {
	b.Helper()
	rows, err := b.store.Lots(b.Context(), db.LotFilter{Verdicts: []string{"none"}, Stopped: true, Limit: 1})
	require.NoError(b, err)
	require.NotEmpty(b, rows)
	return named{rows[0].ID, "lot"}
}

// TestPagesCanBeUsedByEverybody looks at every page on a phone: axe-core finds
// nothing in light or dark, nothing scrolls sideways at 390 and 320 pixels,
// and what is to be tapped is high enough for a glove.
func TestPagesCanBeUsedByEverybody(t *testing.T) {
	t.Parallel()
	axe, err := browsertest.LoadAxe("testdata/axe/axe.min.js")
	require.NoError(t, err)
	b := setup(t, options{Demo: true})
	before := b.contents()
	t.Run("two tabs", func(t *testing.T) { // ends when both have
		for half := range 2 {
			t.Run([]string{"first", "second"}[half], func(t *testing.T) {
				t.Parallel()
				tab := b.on(t).phone(browsertest.Options{})
				for i, v := range b.visits() {
					if i%2 == half {
						t.Run(v.name, func(t *testing.T) { lookAt(t, tab.On(t), v, axe) })
					}
				}
			})
		}
	})
	require.Equal(t, before, b.contents(), "looking changed something")
}

// lookAt opens a page and reports everything that is wrong with it.
func lookAt(t *testing.T, tab *browsertest.Tab, v visit, axe *browsertest.Axe) {
	tab.Go(v.path)
	tab.UnfoldAll()
	for _, what := range v.taps {
		tab.Tap(what)
	}
	tab.UnfoldAll()
	assert.Empty(t, tab.SmallTargets(), "too small to tap")
	assert.Empty(t, tab.Sideways(browsertest.Width), "at 390 px")
	tab.Resize(320, 640)
	assert.Empty(t, tab.Sideways(320), "at 320 px")
	tab.Resize(browsertest.Width, browsertest.Height)
	tab.Shorten()
	for _, found := range axe.Violations(tab) {
		assert.Fail(t, found)
	}
}

// brokenCells lists the named cells of stacked tables that hold more than one
// piece of text or element.
func (p *page) brokenCells() (out []string) {
	for _, table := range p.all("table", "stack") {
		for cell := range table.Descendants() {
			if cell.Data != "td" || attr(cell, "data-name") == "" {
				continue
			}
			parts := 0
			for c := range cell.ChildNodes() {
				if c.Type == html.ElementNode || c.Type == html.TextNode && strings.TrimSpace(c.Data) != "" {
					parts++
				}
			}
			if parts > 1 {
				out = append(out, attr(cell, "data-name")+": "+text(cell))
			}
		}
	}
	return out
}

// TestEveryPageIsLookedAt walks the routes, so that no page is left out of the
// list above.
func TestEveryPageIsLookedAt(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	var seen []string
	for _, v := range b.visits() {
		p := b.get(v.path)
		require.Equal(t, max(v.status, http.StatusOK), p.status, v.path)
		assert.Empty(t, p.brokenCells(), "%s: on a phone each part of a named cell is a line of its own; put them in one span", v.path)
		seen = append(seen, shapeOf(v.path))
	}
	routes, ok := b.server.Config.Handler.(chi.Routes)
	require.True(t, ok)
	require.NoError(t, chi.Walk(routes, func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if method != http.MethodGet || slices.Contains([]string{"/", "/livez", "/readyz", "/static/*", "/export.zip"}, route) || strings.Contains(route, ".") || strings.HasPrefix(route, "/charts/") {
			return nil
		}
		shape := strings.NewReplacer("/species/{id}", "/species/pine_eastern_white", "{id}", "-", "{kind}", "pickup").Replace(route)
		assert.True(t, slices.Contains(seen, shape), "no test looks at the page %s: add it to visits", route)
		return nil
	}))
}
