package server_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/server/browsertest"
)

// phone opens a tab for the pages of the bench.
func (b *bench) phone(o browsertest.Options) *browsertest.Tab {
	b.Helper()
	return browsertest.New(b, b.server.URL, o)
}

// TestJourneyLogAPickup logs a visit with two lots and what was found on
// them, from an empty book to the verdicts, with scripts and without.
func TestJourneyLogAPickup(t *testing.T) {
	t.Parallel()
	for name, o := range map[string]browsertest.Options{"with scripts": {}, "without scripts": {NoScripts: true}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := setup(t, options{})
			phone := b.phone(o)
			phone.Go("/")
			phone.Tap("Enter the first source")
			phone.Type("name", "Harbour Tile")
			phone.Type("distance", "12")
			phone.Tap("Add the source")
			phone.Tap("Log a pickup here")
			phone.Type("minutes", "75")
			phone.Choose("lot-0-kind", "crate")
			phone.Type("lot-0-finding-mark", "IPPC US-1234 HT")
			phone.Tap("Add another lot")
			phone.Choose("lot-1-kind", "pallet")
			phone.Type("lot-1-count", "3")
			phone.Type("lot-1-finding-mark", "IPPC US-1234 HT")
			phone.Choose("lot-1-finding-stain", "oil")
			phone.Tap("Log this pickup")
			require.Contains(t, phone.See("main"), "Logged.")
			require.Contains(t, phone.See("main"), "75 minutes")
			require.Equal(t, []string{"inside", "never"}, phone.Texts("tbody .verdict .word"), "a good mark never cancels a bad stain")
			phone.Tap(phone.Texts("tbody th a")[1])
			require.Contains(t, phone.See("section[aria-label=Verdict]"), "oil")
			require.Equal(t, 2, b.count(db.Lots))
			require.Equal(t, 3, b.count(db.Findings))
		})
	}
}

// TestJourneyCorrectAPickup corrects a figure and finds both values again.
func TestJourneyCorrectAPickup(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	phone := b.phone(browsertest.Options{})
	phone.Go("/pickups/" + w.pickup.ID.String())
	phone.Tap("Correct or strike this entry")
	phone.Type("minutes", "95")
	phone.Tap("Correct the entry")
	require.Contains(t, phone.See(".faults"), "Why it is changed", "a reason is asked for")
	require.Equal(t, "95", browsertest.Eval[string](phone, `document.getElementById("minutes").value`))
	require.Equal(t, "faults", browsertest.Eval[string](phone, `document.activeElement.className`), "the list of faults is read first")
	phone.Tap("Why it is changed is missing; say in a few words why the entry is changed")
	phone.Type("why", "clock misread")
	phone.Tap("Correct the entry")
	require.Contains(t, phone.See("main"), "95 minutes")
	for _, path := range []string{phone.Path(), "/book/pickup/" + w.pickup.ID.String(), "/book"} {
		phone.Go(path)
		require.Equal(t, []string{"75"}, phone.Texts("del"), path)
		require.Equal(t, []string{"95"}, phone.Texts("ins"), path)
		require.Contains(t, phone.See("main"), "clock misread", path)
	}
}

// TestJourneyRankSources reads which source is worth the drive.
func TestJourneyRankSources(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	phone := b.phone(browsertest.Options{})
	phone.Go("/")
	require.Equal(t, "/sources", phone.Path())
	ranking, err := b.store.Ranking(t.Context(), "USD")
	require.NoError(t, err)
	expected := ranking.Expected()
	require.Len(t, expected, 9)
	names := phone.Texts("#next tbody th a")
	for i, s := range expected {
		require.Equal(t, s.Name, names[i], "place %d", i+1)
	}
	for _, figure := range phone.Texts(`td[data-name="Net a pickup"], td[data-name="Next trip"]`) {
		require.Regexp(t, `\(.+ to .+\)|too few|no trip`, figure, "never a bare mean")
	}
	require.True(t, browsertest.Eval[bool](phone, `(() => {
		const answer = [...document.querySelectorAll("main p")].find(p => p.innerText.includes("Most is expected of"));
		return answer.getBoundingClientRect().bottom < innerHeight;
	})()`), "the answer is in the first screenful")
	require.Contains(t, phone.See("main"), "Most is expected of "+names[0])
	browsertest.Eval[bool](phone, `Promise.all([...document.images].map(i => { i.loading = "eager"; return i.decode(); })).then(() => true)`)
	require.Empty(t, browsertest.Eval[[]string](phone, `[...document.images].filter(i => i.naturalWidth === 0 || i.clientWidth > innerWidth).map(i => i.currentSrc)`), "every picture is drawn")
	phone.Scheme("dark")
	phone.Go("/sources")
	browsertest.Eval[bool](phone, `Promise.all([...document.images].map(i => { i.loading = "eager"; return i.decode(); })).then(() => true)`)
	require.Empty(t, browsertest.Eval[[]string](phone, `[...document.images].map(i => i.currentSrc).filter(src => !src.includes("theme=dark"))`), "dark pictures on a dark page")
	phone.Tap(names[0])
	require.Equal(t, names[0], phone.See("h1"))
	require.Contains(t, phone.See("main"), "Net a pickup")
}

// TestJourneyImport sends a sheet with two faults, mends them and sends it
// again.
func TestJourneyImport(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	folder := t.TempDir()
	sources, pickups := filepath.Join(folder, "sources.csv"), filepath.Join(folder, "pickups.csv")
	write := func(path, body string) { require.NoError(t, os.WriteFile(path, []byte(body), 0o600)) }
	write(sources, "name,kind,miles\nHarbour Tile,flooring,12\nSecond Yard,printer,close by\n")
	write(pickups, "source,date,minutes\nHarbour Tile,2026-03-01,75\nSecond Yard,3/4/2026,40\n")
	phone := b.phone(browsertest.Options{})
	phone.Go("/sources")
	phone.Tap("Import a spreadsheet")
	phone.Upload("files", sources, pickups)
	phone.Tap("Import")
	require.Contains(t, phone.See(".faults"), "2 faults were found, so nothing was stored")
	rows := phone.Texts("main table:first-of-type tbody tr")
	require.GreaterOrEqual(t, len(rows), 2)
	for i, want := range [][]string{{"sources.csv", "3", "distance", "close by", "not a number"}, {"pickups.csv", "3", "day", "3/4/2026", "4 March", "3 April"}} {
		for _, part := range want {
			require.Contains(t, rows[i], part)
		}
	}
	require.Zero(t, b.count(db.Sources))
	write(sources, "name,kind,miles\nHarbour Tile,flooring,12\nSecond Yard,printer,3\n")
	write(pickups, "source,date,minutes\nHarbour Tile,2026-03-01,75\nSecond Yard,2026-03-04,40\n")
	phone.Upload("files", sources, pickups)
	phone.Tap("Import")
	require.Contains(t, phone.See("main"), "Everything is in the book.")
	require.Equal(t, 2, b.count(db.Sources))
	require.Equal(t, 2, b.count(db.Pickups))
	phone.Tap("Book")
	require.Contains(t, phone.See("main"), "2026-03-04 Second Yard")
}

// TestJourneyEmptyHanded needs one tap once the form is open.
func TestJourneyEmptyHanded(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	phone := b.phone(browsertest.Options{})
	phone.Go("/sources/" + w.source.ID.String())
	phone.Tap("Log a pickup here")
	phone.Tap("Came home empty")
	require.Contains(t, phone.See("main"), "Came home empty")
	require.Contains(t, phone.See("h1"), "14 Mar 2026")
	require.Equal(t, 2, b.count(db.Pickups))
}

// TestEnterKeyLogsNoEmptyDrive presses the key that takes a form's first
// button, as the phone's keyboard offers it.
func TestEnterKeyLogsNoEmptyDrive(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.withWood()
	phone := b.phone(browsertest.Options{})
	phone.Go("/pickups/new?source=Harbour+Tile")
	phone.Press("minutes", "90\r")
	require.Contains(t, phone.See(".faults"), "no lot was described")
	require.Equal(t, 1, b.count(db.Pickups))
	require.Equal(t, "90", browsertest.Eval[string](phone, `document.getElementById("minutes").value`))
}

// TestTapAddsAFinding judges a lot anew with one tap, and a form in flight is
// not sent twice.
func TestTapAddsAFinding(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	phone := b.phone(browsertest.Options{})
	phone.Go("/lots/" + w.lot.ID.String())
	require.Equal(t, "inside", phone.See(".big .word"))
	phone.Unfold("What eyes see")
	phone.Tap("Green or olive")
	require.Equal(t, "never", phone.See(".big .word"))
	require.Equal(t, 2, b.count(db.Findings))
	require.True(t, strings.HasPrefix(phone.Path(), "/lots/"+w.lot.ID.String()))
	phone.Go("/sources/new")
	require.True(t, browsertest.Eval[bool](phone, `(() => {
		const form = document.querySelector("form[method=post]");
		form.addEventListener("submit", e => { if (!e.defaultPrevented) e.preventDefault(); });
		const once = form.dispatchEvent(new Event("submit", {cancelable: true}));
		let prevented = 0;
		form.addEventListener("submit", e => { prevented++; });
		form.requestSubmit();
		return form.dataset.sent === "yes" && prevented === 1;
	})()`))
}
