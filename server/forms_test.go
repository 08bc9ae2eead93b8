package server_test

import (
	"net/url"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/screen"
	"skepwood/db"
)

// sheet is a form as a page offers it, filled in so that it would be stored.
type sheet struct {
	name string
	// page shows the form, action takes it.
	page, action string
	// kind names the list of wrong values, prefix stands before each field.
	kind, prefix string
	// good makes the form complete.
	good []string
	// fields are those of the columns that the form asks for.
	fields []string
}

// forms are all forms of the book that ask for columns; a page of each kind's
// correction among them.
func (w wood) forms() []sheet {
	lot, board := "/lots/"+w.lot.ID.String(), "/boards/"+w.board.ID.String()
	out := []sheet{
		{name: "new source", page: "/sources/new", action: "/sources", kind: "source", good: []string{"name", "Second Yard", "latitude", "44", "longitude", "-89"},
			fields: columns(db.Sources)},
		{name: "pickup", page: "/pickups/new?source=Harbour+Tile", action: "/pickups", kind: "pickup", good: []string{"lot-0-kind", "crate", "action", "log"},
			fields: []string{"source", "day", "distance", "minutes", "cost", "visit", "currency", "zone", "notes"}},
		{name: "lot of a pickup", page: "/pickups/new?source=Harbour+Tile", action: "/pickups", kind: "lot", prefix: "lot-0-", good: []string{"lot-0-kind", "crate", "lot-0-place", "shed", "action", "log"},
			fields: []string{"kind", "count", "volume", "place"}},
		{name: "boards alike", page: lot, action: lot + "/boards", kind: "board", good: []string{"thickness", "3/4", "width", "5 1/2", "length", "48", "boards", "2"},
			fields: []string{"thickness", "width", "length", "species", "place", "metal"}},
		{name: "ends", page: board, action: board + "/ends", kind: "board", prefix: "ends-", good: []string{"ends-left_trim", "1 in"}, fields: []string{"left_trim", "right_trim"}},
		{name: "defect", page: board, action: board + "/defects", kind: "defect", prefix: "defect-", good: []string{"defect-kind", "knot", "defect-dx", "1", "defect-dy", "1"},
			fields: []string{"kind", "face", "x", "y", "dx", "dy", "metal", "note"}},
		{name: "reading", page: board, action: board + "/readings", kind: "reading", prefix: "reading-", good: []string{"reading-raw", "12"},
			fields: []string{"raw", "method", "temperature", "setting", "place", "mass", "dry_mass", "taken", "note"}},
		{name: "units", page: "/settings", action: "/settings/units", kind: "keeper", fields: columns(db.Keepers)},
		{name: "figure", page: "/settings", action: "/settings/figures", kind: "setting", prefix: "figure-",
			good: []string{"figure-name", db.HourValue, "figure-valid_from", "2026-01-05", "figure-amount", "12"}, fields: columns(db.Settings)},
	}
	out = append(out, buildForms()...)
	for _, e := range w.entries() {
		address := "/book/" + e.Kind + "/" + e.ID.String() + "/correct"
		kind, err := db.KindOf(e.Kind)
		if err != nil {
			panic(err) // e was entered under this kind
		}
		out = append(out, sheet{name: "correct a " + e.Kind, page: address, action: address, kind: e.Kind, good: []string{"why", "looked again"}, fields: openNames(kind.Info())})
	}
	return out
}

func columns[T any](e *db.Entity[T]) []string { return infoNames(e.Info()) }

func infoNames(info []db.ColumnInfo) (out []string) {
	for _, c := range info {
		out = append(out, c.Name)
	}
	return out
}

// openNames are the columns that a person may correct.
func openNames(info []db.ColumnInfo) (out []string) {
	for _, c := range info {
		if !c.Sealed {
			out = append(out, c.Name)
		}
	}
	return out
}

// TestWrongValuesAreRefused goes through every field of every form: the
// message stands beside it, what was typed is kept, nothing is stored.
func TestWrongValuesAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, form := range b.withEverything().forms() {
		t.Run(form.name, func(t *testing.T) {
			b := b.on(t)
			good := with(b.form(b.open(form.page), form.action), form.good...)
			before, tried := b.contents(), map[string]bool{}
			for _, w := range wrongValues[form.kind] {
				if !slices.Contains(form.fields, w.column) || w == (wrong{"code", "", ""}) {
					continue
				}
				tried[w.column] = true
				id := form.prefix + w.column
				p := b.post(form.action, with(good, id, w.value))
				require.Contains(t, b.refused(p, id), w.says, "%s = %.60q", id, w.value)
				b.kept(p, good, id, w.value)
			}
			for _, field := range form.fields {
				require.True(t, tried[field], "no wrong value was tried for %s", field)
			}
			require.Equal(t, before, b.contents(), "a refused form stored something")
		})
	}
}

// TestEveryColumnHasAWrongValue keeps the lists of wrong values whole.
func TestEveryColumnHasAWrongValue(t *testing.T) {
	t.Parallel()
	kinds := map[string][]db.ColumnInfo{"keeper": db.KeeperFields()}
	for _, kind := range db.EntryKinds() {
		kinds[kind.Name()] = kind.Info()
	}
	for name, info := range kinds {
		for _, column := range info {
			require.True(t, slices.ContainsFunc(wrongValues[name], func(w wrong) bool { return w.column == column.Name }),
				"no wrong value of %s is tried for %s", column.Name, name)
		}
	}
}

// kept checks that the form shown again holds what was typed. A closed list
// cannot show a value that it does not have.
func (b *bench) kept(p *page, sent url.Values, wrongID, typed string) {
	b.Helper()
	for name := range sent {
		field := p.byID(name)
		if field == nil { // a hidden field or a button
			continue
		}
		want := sent.Get(name)
		if name == wrongID {
			want = typed
		}
		if field.Data == "select" && name == wrongID || !utf8.ValidString(want) || strings.ContainsRune(want, 0) {
			continue
		}
		require.Equal(b, want, value(field), "what was typed into %s is lost after a fault of %s", name, wrongID)
	}
	if !utf8.ValidString(typed) || strings.ContainsRune(typed, 0) {
		field := p.byID(wrongID)
		require.NotEmpty(b, value(field), "what was typed into %s is lost", wrongID)
	}
}

// TestWrongFindingsAtTheKerbAreRefused tries a wrong value for each kind of
// finding that the pickup's form asks about.
func TestWrongFindingsAtTheKerbAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.withWood()
	good := with(b.form(b.open("/pickups/new?source=Harbour+Tile"), "/pickups"), "lot-0-kind", "pallet", "action", "log", "day", "2026-03-02")
	before := b.contents()
	for _, kind := range screen.Kinds() {
		id := "lot-0-finding-" + string(kind.Kind)
		value := "no such thing"
		if kind.FreeText {
			value = long(4097)
		}
		p := b.post("/pickups", with(good, id, value))
		b.refused(p, id)
		require.Equal(t, "pallet", valueOf(p, "lot-0-kind"))
	}
	require.Equal(t, before, b.contents())
}

func valueOf(p *page, id string) string { return value(p.byID(id)) }

// TestWrongFindingOfALotIsRefused tries the form behind the taps.
func TestWrongFindingOfALotIsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	action, before := "/lots/"+w.lot.ID.String()+"/findings", b.contents()
	for _, try := range []struct {
		values url.Values
		field  string
	}{
		{url.Values{"tap": {"vibe=good"}}, "kind"},
		{url.Values{"tap": {"stain=lipstick"}}, "value"},
		{url.Values{"tap": {"stain"}}, "value"},
		{url.Values{"tap": {"a\x00b=c"}}, "kind"},
		{url.Values{}, "kind"},
		{url.Values{"kind": {"mark"}, "value": {""}}, "value"},
		{url.Values{"kind": {"mark"}, "value": {long(4097)}}, "value"},
		{url.Values{"kind": {"mark"}, "value": {"bell\a"}}, "value"},
		{url.Values{"kind": {"moisture"}, "value": {"wet"}}, "value"},
		{url.Values{"kind": {"mark"}, "value": {"HT"}, "note": {long(10001)}}, "note"},
		{url.Values{"kind": {"statement"}, "value": {"heat_treated"}}, "note"},
		{url.Values{"kind": {"mark"}, "value": {"HT"}, "board": {"ZZZZZ-9"}}, "board"},
		{url.Values{"kind": {"mark"}, "value": {"HT"}, "seen": {"2027-01-01"}}, "seen"},
	} {
		p := b.post(action, try.values)
		b.refused(p, try.field)
		if v := try.values.Get("value"); v != "" && v != "bell\a" {
			require.Equal(t, v, valueOf(p, "value"))
		}
	}
	require.Equal(t, before, b.contents())
}

// TestReasonOfAChangeIsNeeded tries wrong reasons for corrections and strikes.
func TestReasonOfAChangeIsNeeded(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, e := range b.withEverything().entries() {
		address := "/book/" + e.Kind + "/" + e.ID.String()
		edit := b.open(address + "/correct")
		good, strike := b.form(edit, address+"/correct"), b.form(edit, address+"/strike")
		before := b.contents()
		for _, why := range []string{"", "  ", long(2001), "null\x00byte", "latin-1 \xfc"} {
			b.refused(b.post(address+"/correct", with(good, "why", why)), "why")
			b.refused(b.post(address+"/strike", with(strike, "why", why)), "strike-why")
		}
		require.Equal(t, before, b.contents())
		b.stored(address+"/strike", with(strike, "why", "entered twice"))
		restore := b.form(b.open(address+"/correct"), address+"/restore")
		struck := b.contents()
		for _, why := range []string{"", long(2001)} {
			b.refused(b.post(address+"/restore", with(restore, "why", why)), "restore-why")
		}
		require.Equal(t, struck, b.contents())
		b.stored(address+"/restore", with(restore, "why", "it was right"))
	}
}

// TestWrongCountOfBoardsIsRefused tries the one field that is no column.
func TestWrongCountOfBoardsIsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	lot := "/lots/" + w.lot.ID.String()
	good := with(b.form(b.open(lot), lot+"/boards"), "thickness", "3/4", "width", "5", "length", "40")
	before := b.contents()
	for _, n := range []string{"", "0", "-3", "501", "seven", "2.5", "99999999999999999999"} {
		p := b.post(lot+"/boards", with(good, "boards", n))
		b.refused(p, "boards")
		require.Equal(t, n, valueOf(p, "boards"))
		require.Equal(t, "3/4", valueOf(p, "thickness"))
	}
	require.Equal(t, before, b.contents())
}

// TestWrongStockFiltersAreRefused tries each field of the filter.
func TestWrongStockFiltersAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	for _, field := range []string{"min_thickness", "max_thickness", "min_width", "min_length"} {
		for _, typed := range []string{"thick", "-1", "5 apples", long(100), "1/0"} {
			p := b.get("/stock?" + url.Values{field: {typed}}.Encode())
			b.refused(p, field)
			require.Equal(t, typed, valueOf(p, field))
		}
	}
	for _, typed := range []string{"wet", "0", "-1", "401", "NaN", "Inf", "1e999"} {
		p := b.get("/stock?" + url.Values{"dry": {typed}}.Encode())
		b.refused(p, "dry")
		require.Equal(t, typed, valueOf(p, "dry"))
	}
	two := b.get("/stock?min_width=wide&dry=damp")
	require.Contains(t, two.mainText(), "Nothing was looked up: the filter cannot be read.")
	require.NotContains(t, two.mainText(), "stored", "a filter stores nothing, so there is nothing to say of it")
	require.ElementsMatch(t, []string{"#min_width", "#dry"}, two.summary())
	for _, query := range []string{"place=the+moon", "after=zzz", "lot=x"} {
		require.Equal(t, 200, b.get("/stock?"+query).status, query)
	}
	require.Contains(t, b.open("/stock?verdict=inside&min_thickness=1/2&max_thickness=1&min_width=5&min_length=40&dry=20&place=rack+2").mainText(), w.board.Values["code"])
}

// TestNamesAndCodesAreTakenOnce tries values that another entry has.
func TestNamesAndCodesAreTakenOnce(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	other := b.add(db.Sources, map[string]string{"name": "Second Yard"})
	second := b.add(db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "pallet", "label": "P-7"})
	piece := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "1", "width": "4", "length": "30", "label": "B-7"})
	correct := func(e db.Entry) string { return "/book/" + e.Kind + "/" + e.ID.String() + "/correct" }
	for _, try := range []struct {
		page, action, field, value string
	}{
		{"/sources/new", "/sources", "name", "HARBOUR tile"},
		{correct(other), correct(other), "name", "harbour tile"},
		{"/pickups/new", "/pickups", "day", "2026-03-01"},
		{correct(w.lot), correct(w.lot), "label", "P-7"},
		{correct(w.lot), correct(w.lot), "code", second.Values["code"]},
		{correct(w.board), correct(w.board), "label", "B-7"},
		{correct(w.board), correct(w.board), "code", piece.Values["code"]},
		{correct(w.board), correct(w.board), "parent", w.board.Values["code"]},
		{"/settings", "/settings/figures", "figure-valid_from", "2026-02-01"},
	} {
		good := b.form(b.open(try.page), try.action)
		switch try.action {
		case "/pickups":
			good = with(good, "source", "Harbour Tile", "lot-0-kind", "crate", "action", "log")
		case "/settings/figures":
			good = with(good, "figure-name", db.MileCost, "figure-amount", "1")
		default:
			good = with(good, "why", "looked again")
		}
		before := b.contents()
		b.refused(b.post(try.action, with(good, try.field, try.value)), try.field)
		require.Equal(t, before, b.contents(), try.field)
	}
}

// TestTwoKeepersCannotShareAName renames the keeper to one that an imported
// book brought.
func TestTwoKeepersCannotShareAName(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	p := b.importFiles(false, upload{"sources.csv", "name,keeper\nHarbour Tile,Wren\n"})
	require.Equal(t, 200, p.status, p.mainText())
	good := b.form(b.open("/settings"), "/settings/units")
	b.refused(b.post("/settings/units", with(good, "name", "wren")), "name")
	require.Equal(t, "The keeper", valueOf(b.open("/settings"), "name"))
}

// TestWrongReasonOfAPolicyIsRefused tries the one field of the form that
// chooses house policy, before and after the first choice.
func TestWrongReasonOfAPolicyIsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	choice := b.form(b.open("/rules/policy?setting=S04&verdict=never"), "/rules/policy")
	for _, first := range []bool{true, false} {
		before := b.contents()
		for _, w := range wrongText("why", 10000) {
			p := b.post("/rules/policy", with(choice, "why", w.value))
			b.refused(p, "why")
			require.NotEmpty(t, valueOf(p, "why"))
		}
		require.Equal(t, before, b.contents())
		for _, other := range [][]string{{"setting", "S99"}, {"verdict", "inside"}, {"verdict", "perhaps"}, {"verdict", ""}} {
			p := b.post("/rules/policy", with(choice, append(other, "why", "a habit")...))
			require.GreaterOrEqual(t, p.status, 400, other)
			require.Less(t, p.status, 500, other)
			require.Equal(t, before, b.contents())
		}
		if first {
			b.stored("/rules/policy", with(choice, "why", "our habit"))
			choice = b.form(b.open("/rules/policy?setting=S04&verdict=outside"), "/rules/policy")
		}
	}
	b.refused(b.post("/rules/policy", with(choice, "why", "")), "why")
}
