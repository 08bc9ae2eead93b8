package server_test

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/screen"
	"skepwood/db"
	"skepwood/server/browsertest"
)

// finding enters one finding on a lot.
func (b *bench) finding(lot db.Entry, kind, value, note string) db.Entry {
	b.Helper()
	return b.add(db.Findings, map[string]string{"lot": lot.Values["code"], "kind": kind, "value": value, "note": note, "seen": "2026-03-01"})
}

// TestFirstPolicyChoiceNeedsAReason sends the form without the reason it asks
// for, before any choice is in the book.
func TestFirstPolicyChoiceNeedsAReason(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	choice := b.form(b.open("/rules/policy?setting=S04&verdict=never"), "/rules/policy")
	for _, why := range []string{"", "  \n"} {
		p := b.post("/rules/policy", with(choice, "why", why))
		require.Equal(t, http.StatusUnprocessableEntity, p.status)
		b.refused(p, "why")
		require.Contains(t, p.mainText(), "say in a few words why your house does so")
		require.Zero(t, b.count(db.Policies))
	}
	b.stored("/rules/policy", with(choice, "why", "the club agreed"))
	require.Equal(t, 1, b.count(db.Policies))
}

func TestPublishedRuleIsNoChoice(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	p := b.get("/rules/policy?setting=S18&verdict=inside")
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "S18 (arsenical preservative) cannot be set: it is published and cannot be softened.")
	p = b.get("/rules/policy?setting=S04&verdict=inside")
	require.Contains(t, p.mainText(), "choose outside, hold or never")
	require.Equal(t, http.StatusNotFound, b.get("/rules/policy?setting=S99&verdict=never").status)
}

// TestNewRulesShowWhatTheyChangeBeforeTheyApply has a book that version 1 of the
// rules judged: it let a laboratory note lift a never of the house.
func TestNewRulesShowWhatTheyChangeBeforeTheyApply(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withEverything() // the house says never to methyl bromide
	gassed := b.add(db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "pallet", "count": "1"})
	b.finding(gassed, "mark", "IPPC CN-001 / MB", "")
	b.finding(gassed, "test_residue", "none", "Lab X, March")
	board := b.add(db.Boards, map[string]string{"lot": gassed.Values["code"], "thickness": "3/4", "width": "5", "length": "40"})
	require.NotContains(t, b.open("/rules").mainText(), "older version")

	_, err := b.store.Pool().Exec(t.Context(), "UPDATE lot SET rule_version = '1+before'")
	require.NoError(t, err)
	for _, table := range []string{"lot", "board"} {
		_, err := b.store.Pool().Exec(t.Context(), "UPDATE "+table+" SET verdict = 'inside', reasons = '[]' WHERE verdict = 'never'")
		require.NoError(t, err)
	}
	stored := func() (lot, version, board_ string) {
		require.NoError(t, b.store.Pool().QueryRow(t.Context(), `SELECT l.verdict, l.rule_version, b.verdict FROM lot l JOIN board b ON b.lot_id = l.id
			WHERE l.id = $1 AND b.id = $2`, gassed.ID, board.ID).Scan(&lot, &version, &board_))
		return lot, version, board_
	}

	page := b.open("/rules")
	require.Contains(t, page.mainText(), "2 lots were judged by an older version of the rules.")
	require.Contains(t, page.mainText(), "1 lot would move from inside to never: "+gassed.Values["code"])
	require.NotContains(t, page.mainText(), w.lot.Values["code"], "a lot that stays is not listed")
	lot, version, of := stored()
	require.Equal(t, []string{"inside", "1+before", "inside"}, []string{lot, version, of}, "looking changes nothing")

	require.Equal(t, http.StatusSeeOther, b.post("/rules/apply", b.form(page, "/rules/apply")).status)
	lot, version, of = stored()
	require.Equal(t, []string{"never", screen.Version(), "never"}, []string{lot, version, of})
	require.NotContains(t, b.open("/rules").mainText(), "older version")
	require.Contains(t, b.open("/lots/"+gassed.ID.String()).mainText(), "never")
}

// TestRiskCountsOnlyWoodThatMayBeTaken shows a source whose every pallet carries
// a good mark and its owner's colour.
func TestRiskCountsOnlyWoodThatMayBeTaken(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.add(db.Sources, map[string]string{"name": "Depot", "kind": "other"})
	b.add(db.Pickups, map[string]string{"source": "Depot", "day": "2026-03-01", "distance": "3", "minutes": "20", "cost": "0"})
	var lots []db.Entry
	for range 4 {
		lot := b.add(db.Lots, map[string]string{"pickup": "2026-03-01 Depot", "kind": "pallet", "count": "1"})
		b.finding(lot, "mark", "IPPC US-1234 HT", "")
		lots = append(lots, lot)
	}
	for _, lot := range lots {
		b.finding(lot, "ownership", "pool", "")
	}
	path := "/sources/" + b.first(db.Sources).ID.String()
	page := b.open(path)
	require.Contains(t, page.mainText(), "4 of its 4 lots are not ours to take. Verdicts and test count only wood that may be taken, and none may.")
	require.Regexp(t, `not ours to take\s+4 of 4\s+100 %`, page.mainText())
	require.NotRegexp(t, `inside\s+\d of \d`, page.mainText())
	b.finding(lots[0], "release", "owner_written", "A. Owner, signed 2 March")
	page = b.open(path)
	require.Contains(t, page.mainText(), "3 of its 4 lots are not ours to take.")
	require.Regexp(t, `inside\s+1 of 1\s+100 %`, page.mainText())
	require.Regexp(t, `not ours to take\s+3 of 4\s+75 %`, page.mainText())
}

// TestMisreadingMustNameAnEntry records misreadings of what is there, of what is
// not, and of what was struck.
func TestMisreadingMustNameAnEntry(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	other := b.add(db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "pallet", "count": "1"})
	elsewhere := b.finding(other, "stain", "oil", "")
	oil := b.finding(w.lot, "stain", "oil", "")
	action := "/lots/" + w.lot.ID.String() + "/findings"
	values := func(value string) url.Values {
		return url.Values{"kind": {"misreading"}, "value": {value}, "note": {"iron, shown by the magnet"}, "id": {"0198c0de-0000-7000-8000-00000000000a"}}
	}
	before := b.contents()
	for _, value := range []string{"stain=crust", "crust", elsewhere.ID.String(), "misreading=stain=oil"} {
		p := b.post(action, values(value))
		require.Equal(t, http.StatusUnprocessableEntity, p.status, value)
		b.refused(p, "value")
		require.Contains(t, p.mainText(), "names no entry here; name what was misread as kind=value", value)
		require.Equal(t, value, valueOf(p, "value"))
	}
	require.Equal(t, before, b.contents())
	b.stored(action, values("stain=oil"))
	require.Equal(t, "inside", b.verdict(w.lot))
	again := b.count(db.Findings)
	require.NoError(t, db.Findings.Strike(t.Context(), b.store, db.Edit{ID: oil.ID, Version: oil.Version, Keeper: b.keeper.ID, Why: "never was", Env: b.env}))
	b.post(action, values("stain=oil"))
	require.Equal(t, again, b.count(db.Findings), "the same form twice is one entry, whatever was struck since")
	more := values("stain=oil")
	more.Set("note", "another reason")
	b.refused(b.post(action, more), "value")
}

// verdict is the stored verdict of a lot.
func (b *bench) verdict(lot db.Entry) string {
	b.Helper()
	row, err := b.store.Lot(b.Context(), lot.ID)
	require.NoError(b, err)
	return row.Verdict
}

// TestFindingFaultsSayWhichFieldAndBounds tries numbers out of bounds and fields
// left empty.
func TestFindingFaultsSayWhichFieldAndBounds(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	for _, c := range []struct{ kind, value, note, field, want string }{
		{"moisture", "-3", "", "value", "Value is out of bounds; write a number from 0 to 400 %"},
		{"moisture", "1000", "", "value", "Value is out of bounds; write a number from 0 to 400 %"},
		{"moisture", "damp", "", "value", "Value is no number that can be read; write a number from 0 to 400 %"},
		{"moisture", "", "", "value", "Value is missing; write a number from 0 to 400 %"},
		{"odour", " ", "", "value", "Value is missing; choose one of: fresh, musty"},
		{"statement", "heat_treated", "", "note", "Note is missing; write who stated it, and when"},
		{"statement", "heat_treated", ".", "note", "Note says nothing; write who stated it, and when, in at least 2 letters or digits"},
	} {
		p := b.post("/lots/"+w.lot.ID.String()+"/findings", url.Values{"kind": {c.kind}, "value": {c.value}, "note": {c.note}})
		require.Equal(t, http.StatusUnprocessableEntity, p.status, c)
		b.refused(p, c.field)
		require.Contains(t, p.mainText(), c.want)
	}
}

// TestPagesSayWhatIsFromMemory looks at a rule that was checked in part, at the
// list of rules, at a mark, and at the card.
func TestPagesSayWhatIsFromMemory(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	b.finding(w.lot, "tag", "EL2", "")
	const want = "published, checked; from memory: what PTI and EL2 hold"
	require.Contains(t, b.open("/lots/"+w.lot.ID.String()).mainText(), "Rule S24: "+want+".")
	require.Contains(t, b.open("/marks?text=EL2").mainText(), "Rule S24: "+want+".")
	rules := b.open("/rules").mainText()
	require.Contains(t, rules, want+"; since 2")
	require.Contains(t, rules, "J. Stored Prod. Res. 2011 (abstract); FAO/WHO 1966 on bromide; house policy, checked")
	require.NotContains(t, rules, "FAO/WHO 1966 on bromide, 2011")
	card := b.open("/marks/card").mainText()
	require.Contains(t, card, "DH †")
	require.Regexp(t, `† From memory; no source was read for this: DH \(60 C, 1 minute\); SF \(`, card)
}

// TestCardPrintsOnOnePage prints the truck's card on both papers.
func TestCardPrintsOnOnePage(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	tab := b.phone(browsertest.Options{})
	tab.Go("/marks/card")
	require.Equal(t, 1, tab.PrintedPages(browsertest.Letter))
	require.Equal(t, 1, tab.PrintedPages(browsertest.A4))
	tab.Go("/rules")
	require.Greater(t, tab.PrintedPages(browsertest.A4), 1, "a long page counts as several")
}
