package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// TestFormSentAgainWithOtherWordsIsTold goes back in the browser, changes the
// form and sends it: nothing is lost and nothing is overwritten.
func TestFormSentAgainWithOtherWordsIsTold(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.withWood()
	b.add(db.Sources, map[string]string{"name": "Quarry Lane"})
	first := with(b.form(b.open("/pickups/new"), "/pickups"), "source", "Harbour Tile", "day", "2026-03-02", "lot-0-kind", "crate", "action", "log")
	require.Equal(t, http.StatusSeeOther, b.post("/pickups", first).status)
	p := b.post("/pickups", with(first, "source", "Quarry Lane", "day", "2026-03-03"))
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "made a pickup that says something else")
	again := with(b.form(p, "/pickups"), "action", "log")
	require.Equal(t, "Quarry Lane", again.Get("source"), "what was typed is kept")
	require.NotEqual(t, first.Get("id"), again.Get("id"))
	require.NotEqual(t, first.Get("lot-0-id"), again.Get("lot-0-id"))
	require.Equal(t, http.StatusSeeOther, b.post("/pickups", again).status)
	require.Equal(t, 3, b.count(db.Pickups))
	require.Equal(t, 3, b.count(db.Lots))

	changed := with(again, "lot-0-finding-mark", "IPPC US-1 MB")
	p = b.post("/pickups", changed)
	require.Equal(t, http.StatusSeeOther, p.status, "the same visit: its lot gains a finding")
	p = b.post("/pickups", with(changed, "lot-0-finding-mark", "IPPC US-1 HT"))
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "Lot 1: this form was sent before and made a finding that says something else")

	source := with(b.form(b.open("/sources/new"), "/sources"), "name", "Mill Dock")
	require.Equal(t, http.StatusSeeOther, b.post("/sources", source).status)
	p = b.post("/sources", with(source, "name", "Mill Gate"))
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Equal(t, http.StatusSeeOther, b.post("/sources", b.form(p, "/sources")).status)
	names, err := b.store.SourceNames(t.Context())
	require.NoError(t, err)
	require.Equal(t, []string{"Harbour Tile", "Mill Dock", "Mill Gate", "Quarry Lane"}, names)
}

// TestFindingOfABoardSentTwiceIsOne sends a tap of the board's page again.
func TestFindingOfABoardSentTwiceIsOne(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	form := with(b.form(b.open("/boards/"+w.board.ID.String()), "/lots/"+w.lot.ID.String()+"/findings"), "tap", "cargo=tile")
	require.NotEmpty(t, form.Get("id"))
	before := b.count(db.Findings)
	for range 2 {
		require.Equal(t, http.StatusSeeOther, b.post("/lots/"+w.lot.ID.String()+"/findings", form).status)
	}
	require.Equal(t, before+1, b.count(db.Findings))
}

// TestStruckLotTakesNothingNew taps on the page of a struck lot.
func TestStruckLotTakesNothingNew(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	lot := "/lots/" + w.lot.ID.String()
	form := with(b.form(b.open(lot), lot+"/findings"), "tap", "cargo=tile")
	b.stored("/book/lot/"+w.lot.ID.String()+"/strike", url.Values{"version": {"1"}, "why": {"left at the dock"}})
	require.Contains(t, b.open(lot).mainText(), "Struck through: it counts no more")
	p := b.post(lot+"/findings", form)
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "is struck through")
}

// TestOnlyOurOwnNamesAreAnswered asks for the book under another name, as a
// page elsewhere could after pointing its name here.
func TestOnlyOurOwnNamesAreAnswered(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Origins: []string{"https://Wood.example:8443"}})
	port := b.server.URL[strings.LastIndexByte(b.server.URL, ':'):]
	for host, status := range map[string]int{
		"localhost" + port: 200, "LOCALHOST": 200, "127.0.0.1" + port: 200, "127.8.8.8": 200, "[::1]" + port: 200, "wood.example": 200,
		"evil.example": 421, "localhost.evil.example": 421, "10.0.0.1": 421, "0.0.0.0": 421,
	} {
		r := b.request(http.MethodGet, "/sources", nil)
		r.Host = host
		require.Equal(t, status, b.send(r).status, host)
	}
}

// TestFaultsAreWords looks for traces of formatting in what people read.
func TestFaultsAreWords(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.withWood()
	for _, wrong := range []string{"0", "100000", "-1", "1e9", "x", "%d", strings.Repeat("9", 40)} {
		form := with(b.form(b.open("/pickups/new?source=Harbour+Tile"), "/pickups"), "action", "log", "minutes", wrong, "distance", wrong, "cost", wrong, "day", wrong, "lot-0-kind", "crate", "lot-0-count", wrong, "lot-0-volume", wrong)
		p := b.post("/pickups", form)
		require.NotContains(t, p.mainText(), "%!", wrong)
		require.NotContains(t, p.mainText(), "EXTRA", wrong)
	}
}
