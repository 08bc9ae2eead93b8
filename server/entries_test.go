package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestPickupIsLoggedWithItsLotsAndJudged(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.add(db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	first := b.open("/pickups/new?source=Harbour+Tile")
	require.Equal(t, "12", valueOf(first, "distance"), "the usual distance is filled in")
	require.Equal(t, "2026-03-14", valueOf(first, "day"), "today is filled in")
	sent := with(b.form(first, "/pickups"), "lot-0-kind", "crate", "lot-0-finding-mark", "IPPC US-1234 HT", "minutes", "75", "cost", "5", "action", "add-lot")
	second := b.post("/pickups", sent)
	require.Equal(t, http.StatusOK, second.status)
	require.Equal(t, "IPPC US-1234 HT", valueOf(second, "lot-0-finding-mark"), "adding a lot keeps what was typed")
	require.NotNil(t, second.byID("lot-1-kind"))
	sent = with(b.form(second, "/pickups"), "lot-1-kind", "pallet", "lot-1-count", "3", "lot-1-finding-mark", "IPPC US-1234 MB",
		"lot-1-finding-shipper", "known_foreign", "lot-1-finding-shipper-note", "the tile maker, by the foreman", "action", "log")
	p := b.stored("/pickups", sent)
	require.Contains(t, p.mainText(), "Logged.")
	verdicts := map[string]string{}
	for _, row := range p.all("tr", "") {
		if words := allIn(row, "span", "word"); len(words) == 1 {
			verdicts[text(allIn(row, "td", "")[1])] = text(words[0])
		}
	}
	require.Equal(t, map[string]string{"1 × crate": "inside", "3 × pallet": "outside"}, verdicts)

	// The same form once more is the same pickup.
	before := b.contents()
	again := b.stored("/pickups", sent)
	require.Equal(t, p.title(), again.title())
	require.Equal(t, before, b.contents())
}

func TestEmptyHandedDriveIsOneTap(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.add(db.Sources, map[string]string{"name": "Harbour Tile"})
	form := b.form(b.open("/pickups/new?source=Harbour+Tile"), "/pickups")
	p := b.stored("/pickups", with(form, "action", "empty"))
	require.Contains(t, p.mainText(), "Came home empty")
	require.Zero(t, b.count(db.Lots))

	// With lots described it would throw them away.
	form = with(b.form(b.open("/pickups/new?source=Harbour+Tile"), "/pickups"), "day", "2026-03-10", "lot-0-kind", "crate", "lot-0-place", "shed")
	before := b.contents()
	p = b.post("/pickups", with(form, "action", "empty"))
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "did not come home empty")
	require.Equal(t, "shed", valueOf(p, "lot-0-place"))
	require.Equal(t, before, b.contents())

	// Neither lots nor the word that there were none.
	p = b.post("/pickups", with(b.form(b.open("/pickups/new?source=Harbour+Tile"), "/pickups"), "action", "log"))
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "no lot was described")
	require.NotNil(t, p.byID("lot-0-kind"), "there is a lot to fill in")
	require.Equal(t, before, b.contents())
}

// TestSameFormTwiceIsOneEntry sends each form that adds something twice.
func TestSameFormTwiceIsOneEntry(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	thick := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "1 3/4", "width": "5 1/2", "length": "96", "metal": "clean"})
	b.add(db.Readings, map[string]string{"board": thick.Values["code"], "raw": "11", "temperature": "70 F", "taken": "2026-03-10 10:00"})
	for _, form := range w.forms() {
		if strings.HasPrefix(form.name, "correct") || form.name == "units" {
			continue
		}
		sent := with(b.form(b.open(form.page), form.action), form.good...)
		before := b.contents()
		b.stored(form.action, sent)
		once := b.contents()
		require.NotEqual(t, before, once, form.name)
		b.stored(form.action, sent)
		require.Equal(t, once, b.contents(), form.name)
		if strings.HasPrefix(form.name, "pickup") { // its day is taken now
			b.stored("/book/pickup/"+sent.Get("id")+"/strike", url.Values{"version": {"1"}, "why": {"for the next"}})
		}
	}
	lot := "/lots/" + w.lot.ID.String()
	sent := b.form(b.open(lot), lot+"/findings")
	for _, tap := range []string{"stain=oil", "stain=spill"} {
		had := b.count(db.Findings)
		b.stored(lot+"/findings", url.Values{"id": sent["id"], "tap": {tap}})
		b.stored(lot+"/findings", url.Values{"id": sent["id"], "tap": {tap}})
		require.Equal(t, had+1, b.count(db.Findings), "%s, tapped twice", tap)
	}
}

func TestCorrectionStrikesThroughAndTellsWhy(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	address := "/book/pickup/" + w.pickup.ID.String()
	form := b.form(b.open(address+"/correct"), address+"/correct")
	p := b.stored(address+"/correct", with(form, "minutes", "95", "why", "clock misread"))
	require.Equal(t, "/pickups/"+w.pickup.ID.String()+"?done=corrected", p.path)
	for _, path := range []string{"/pickups/" + w.pickup.ID.String(), address, "/book", "/book?kind=change"} {
		shown := b.open(path)
		require.Contains(t, shown.mainText(), "clock misread", path)
		var old, now []string
		for _, n := range shown.all("del", "") {
			old = append(old, text(n))
		}
		for _, n := range shown.all("ins", "") {
			now = append(now, text(n))
		}
		require.Equal(t, []string{"75"}, old, path)
		require.Equal(t, []string{"95"}, now, path)
	}
	// Nothing different is no correction.
	before := b.contents()
	form = b.form(b.open(address+"/correct"), address+"/correct")
	require.Contains(t, b.stored(address+"/correct", with(form, "why", "no reason")).mainText(), "Nothing was different")
	require.Equal(t, before, b.contents())
}

// TestSecondWriterIsToldAndShownBoth corrects each kind of entry from two
// pages that were opened at the same time.
func TestSecondWriterIsToldAndShownBoth(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	for _, try := range []struct {
		entry                       db.Entry
		field, first, second, shown string
	}{
		{w.source, "phone", "555 0100", "555 0199", "555 0100"},
		{w.pickup, "minutes", "80", "85", "80"},
		{w.lot, "place", "shed", "loft", "shed"},
		{w.finding, "value", "IPPC US-1234 MB", "IPPC US-1235 HT", "IPPC US-1234 MB"},
		{w.board, "width", "5", "6", "5 in"},
		{w.defect, "kind", "split", "check", "split"},
		{w.reading, "raw", "15", "16", "15"},
		{w.setting, "note", "", "guessed", ""},
	} {
		address := "/book/" + try.entry.Kind + "/" + try.entry.ID.String() + "/correct"
		mine, theirs := b.form(b.open(address), address), b.form(b.open(address), address)
		if try.field == "note" { // what was written is taken back meanwhile
			b.stored(address, with(theirs, "note", "read in a paper", "why", "found it"))
			theirs = b.form(b.open(address), address)
			mine, try.shown = theirs, "(empty)"
		}
		b.stored(address, with(theirs, try.field, try.first, "why", "the first"))
		before := b.contents()
		p := b.post(address, with(mine, try.field, try.second, "why", "the second"))
		require.Equal(t, http.StatusConflict, p.status, try.entry.Kind)
		require.Contains(t, p.mainText(), "Somebody corrected this entry", try.entry.Kind)
		require.Equal(t, try.second, valueOf(p, try.field), "what the second writer typed")
		require.Contains(t, text(p.byID(try.field+"-now")), "In the book now: "+try.shown)
		require.Contains(t, attr(p.byID(try.field), "aria-describedby"), try.field+"-now")
		require.Equal(t, "the second", valueOf(p, "why"))
		require.Equal(t, before, b.contents(), "nothing of the second writer's was stored")
		// Having seen both, the second writer may insist.
		b.stored(address, b.form(p, address))
		require.Contains(t, valueOf(b.open(address), try.field), try.second)
	}
}

func TestStrikeOfAChangedEntryIsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	address := "/book/source/" + w.source.ID.String()
	old := b.form(b.open(address+"/correct"), address+"/strike")
	b.stored(address+"/correct", with(b.form(b.open(address+"/correct"), address+"/correct"), "phone", "555 0100", "why", "asked"))
	before := b.contents()
	for _, version := range []string{old.Get("version"), "", "nine", "-1"} {
		p := b.post(address+"/strike", with(old, "version", version, "why", "closed"))
		require.Equal(t, http.StatusConflict, p.status)
		require.Contains(t, p.mainText(), "Somebody corrected this entry")
	}
	require.Equal(t, before, b.contents())
}

func TestSettingsChangedMeanwhileAreShown(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	mine, theirs := b.form(b.open("/settings"), "/settings/units"), b.form(b.open("/settings"), "/settings/units")
	b.stored("/settings/units", with(theirs, "zone", "America/Chicago"))
	before := b.contents()
	p := b.post("/settings/units", with(mine, "zone", "Europe/Berlin"))
	require.Equal(t, http.StatusConflict, p.status)
	require.Equal(t, "Europe/Berlin", valueOf(p, "zone"))
	require.Contains(t, text(p.byID("zone-now")), "America/Chicago")
	require.Equal(t, before, b.contents())
	b.stored("/settings/units", b.form(p, "/settings/units"))
	require.Equal(t, "Europe/Berlin", valueOf(b.open("/settings"), "zone"))
	before = b.contents()
	b.stored("/settings/units", b.form(b.open("/settings"), "/settings/units"))
	require.Equal(t, before, b.contents(), "saving the same settings changes nothing")
}

func TestStruckEntryStaysReadable(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	address := "/book/pickup/" + w.pickup.ID.String()
	b.stored(address+"/strike", with(b.form(b.open(address+"/correct"), address+"/strike"), "why", "entered twice"))
	for _, path := range []string{address, "/pickups/" + w.pickup.ID.String(), "/lots/" + w.lot.ID.String(), "/boards/" + w.board.ID.String()} {
		p := b.open(path)
		require.Contains(t, attr(p.all("h1", "")[0], "class"), "struck", path)
		require.Contains(t, p.mainText(), "entered twice", path)
	}
	struck := 0
	for _, line := range b.open("/book").all("li", "struck") {
		struck++
		require.NotEmpty(t, text(line))
	}
	require.Equal(t, 3, struck, "the pickup, its lot and its board")
	require.NotContains(t, b.open("/stock").mainText(), w.board.Values["code"])
	b.stored(address+"/restore", with(b.form(b.open(address+"/correct"), address+"/restore"), "why", "it was not"))
	require.Contains(t, b.open("/stock").mainText(), w.board.Values["code"])
}

func TestFiguresAreShownInTheKeepersUnits(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	board := "/boards/" + w.board.ID.String()
	require.Contains(t, b.open(board).mainText(), "3/4 in × 5 1/2 in × 48 in")
	b.stored("/settings/units", with(b.form(b.open("/settings"), "/settings/units"), "length_unit", "mm", "distance_unit", "km", "temperature_unit", "C", "zone", "Europe/Berlin"))
	require.Contains(t, b.open(board).mainText(), "139.7 mm")
	require.Contains(t, b.open(board).mainText(), "litres")
	require.Contains(t, b.open("/pickups/"+w.pickup.ID.String()).mainText(), "19.3 km")
	require.Contains(t, b.open(board).mainText(), "2 Mar 2026 11:00", "in the keeper's zone")
	// What a form rounds for show is not changed by sending it back.
	address := "/book/board/" + w.board.ID.String() + "/correct"
	b.stored(address, with(b.form(b.open(address), address), "place", "rack 3", "why", "moved"))
	require.Equal(t, []db.Change{{Field: "place", Old: "rack 2", New: "rack 3"}}, b.history("board", w.board))
}

// history returns the changes of the newest correction of an entry.
func (b *bench) history(kind string, e db.Entry) []db.Change {
	b.Helper()
	lines, err := b.store.HistoryOf(b.Context(), kind, e.ID)
	require.NoError(b, err)
	require.NotEmpty(b, lines)
	return lines[0].Changes
}
