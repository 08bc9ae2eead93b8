package server_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// place is a page of the book and what it must show.
type place struct {
	path  string
	title string
	says  []string
}

// places are the pages of a book that holds wood, one of each template.
func (w wood) places() []place {
	lot, board := w.lot.Values["code"], w.board.Values["code"]
	out := []place{
		{"/sources", "Sources", []string{"Harbour Tile", "90 %", "too few to say"}},
		{"/sources/new", "New source", []string{"Who may say yes"}},
		{"/sources/" + w.source.ID.String(), "Harbour Tile", []string{"flooring", "1 Mar 2026", lot, "Log a pickup here"}},
		{"/pickups/new", "Log a pickup", []string{"Came home empty", "Lot 1", "Log this pickup"}},
		{"/pickups/" + w.pickup.ID.String(), "Harbour Tile , 1 Mar 2026", []string{"75 minutes", "5.00 USD", lot}},
		{"/lots/" + w.lot.ID.String(), "Lot " + lot, []string{"inside", "Rule", "Source:", board, "IPPC US-1234 HT"}},
		{"/boards/" + w.board.ID.String(), "Board " + board, []string{"14.5", "knot", lot, "Harbour Tile"}},
		{"/stock", "Stock", []string{board, "1 board on the rack", "inside"}},
		{"/book", "Book", []string{"Harbour Tile", board, lot}},
		{"/settings", "Settings", []string{"cost of a mile driven", "IRS standard mileage rate"}},
		{"/import", "Import", []string{"sources.csv", "readings.csv", "One of:"}},
	}
	for _, e := range w.entries() {
		address := "/book/" + e.Kind + "/" + e.ID.String()
		out = append(out, place{address, "Entry: " + e.Kind, []string{"Written by The keeper"}},
			place{address + "/correct", "Correct: " + e.Kind, []string{"Why it is changed", "Strike through"}})
	}
	return out
}

func TestPagesShowTheirEntries(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, want := range b.withEverything().places() {
		p := b.open(want.path)
		require.Equal(t, want.title, p.title(), want.path)
		for _, says := range want.says {
			require.Contains(t, p.mainText(), says, want.path)
		}
	}
}

func TestEmptyPagesSayWhatToDoFirst(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, want := range []place{
		{"/sources", "Sources", []string{"no source yet", "Enter the first source"}},
		{"/pickups/new", "Log a pickup", []string{"no source yet", "Enter the first one"}},
		{"/stock", "Stock", []string{"No board on the rack", "open a lot"}},
		{"/book?kind=pickup", "Book", []string{"Nothing is written here yet", "Log a pickup"}},
	} {
		p := b.open(want.path)
		require.Equal(t, want.title, p.title(), want.path)
		for _, says := range want.says {
			require.Contains(t, p.mainText(), says, want.path)
		}
	}
}

func TestEveryPageHasItsFrame(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	for _, path := range []string{"/sources", "/drive", "/stock", "/book", "/settings", "/import", "/pickups/new", "/nowhere"} {
		p := b.get(path)
		require.Len(t, p.all("h1", ""), 1, path)
		require.Len(t, p.all("main", ""), 1, path)
		require.Equal(t, "en", attr(p.all("html", "")[0], "lang"), path)
		require.Contains(t, text(p.all("title", "")[0]), "Skepwood", path)
		require.Contains(t, text(p.all("footer", "")[0]), "every figure here are invented", path)
		require.Contains(t, text(p.all("footer", "")[0]), "Skepwood test", path)
		here := 0
		for _, a := range allIn(p.all("nav", "")[0], "a", "") {
			if attr(a, "aria-current") == "page" {
				here++
				require.True(t, strings.HasPrefix(path, attr(a, "href")), path)
			}
		}
		require.Equal(t, path != "/nowhere", here == 1, path)
	}
}

func TestHomeLeadsToTheSources(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	p := b.get("/")
	require.Equal(t, http.StatusFound, p.status)
	require.Equal(t, "/sources", p.header.Get("Location"))
}

func TestWhatIsNotThereIsNotFound(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	id := uuid.Must(uuid.NewV7()).String()
	paths := []string{"/nowhere", "/sources/", "/sources/12", "/sources/" + id, "/pickups/" + id, "/lots/" + id, "/boards/" + id,
		"/book/hive/" + id, "/book/source/12", "/charts/yield.gif", "/charts/hives.svg", "/static/none.css", "/static/../server.go"}
	for _, kind := range db.EntryKinds() {
		paths = append(paths, "/book/"+kind.Name()+"/"+id, "/book/"+kind.Name()+"/"+id+"/correct")
	}
	for _, path := range paths {
		p := b.get(path)
		require.Equal(t, http.StatusNotFound, p.status, path)
		if !strings.HasPrefix(path, "/static/") {
			require.Equal(t, "Not Found", p.title(), path)
			require.NotContains(t, p.body, "Request", "a wrong address is not our failure: %s", path)
		}
	}
	for _, path := range []string{"/lots/" + id + "/findings", "/lots/" + id + "/boards", "/boards/" + id + "/defects", "/boards/" + id + "/readings",
		"/book/source/" + id + "/correct", "/book/source/" + id + "/strike", "/book/source/" + id + "/restore", "/nowhere"} {
		require.Equal(t, http.StatusNotFound, b.post(path, nil).status, path)
	}
}

func TestWrongMethodIsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for path, methods := range map[string][]string{
		"/sources":         {http.MethodPut, http.MethodDelete, http.MethodPatch},
		"/pickups":         {http.MethodGet, http.MethodDelete},
		"/settings":        {http.MethodPost, http.MethodPut},
		"/export.zip":      {http.MethodPost},
		"/livez":           {http.MethodDelete},
		"/book":            {http.MethodDelete},
		"/static/icon.svg": {http.MethodPost, http.MethodDelete},
	} {
		for _, method := range methods {
			r := b.request(method, path, nil)
			r.Header.Set("Sec-Fetch-Site", "same-origin")
			p := b.send(r)
			require.Equal(t, http.StatusMethodNotAllowed, p.status, "%s %s", method, path)
			require.NotEmpty(t, p.header.Get("Allow"), "%s %s", method, path)
		}
	}
}

func TestHeadAnswersLikeGetWithoutBody(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	for _, path := range []string{"/sources", "/stock", "/lots/" + w.lot.ID.String(), "/static/style.css", "/livez", "/charts/yield.svg"} {
		got, head := b.get(path), b.send(b.request(http.MethodHead, path, nil))
		require.Equal(t, http.StatusOK, head.status, path)
		require.Equal(t, got.header.Get("Content-Type"), head.header.Get("Content-Type"), path)
		require.Empty(t, head.body, path)
	}
}
