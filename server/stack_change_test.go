package server_test

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/server/browsertest"
)

func TestStackIsMovedWithItsAir(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, _ := b.stack(b.withWood(), map[string]string{"name": "Stack A", "place": "yard", "cover": "open", "stickered": "2026-01-09"}, 2, drying)
	for m := 1; m <= 12; m++ {
		b.add(db.Climates, map[string]string{"place": "yard", "month": fmt.Sprint(m), "temperature": "45 F", "humidity": "88"})
		b.add(db.Climates, map[string]string{"place": "barn loft", "month": fmt.Sprint(m), "temperature": "60 F", "humidity": "45"})
	}
	address := "/stacks/" + stack.ID.String()
	require.Contains(t, b.open(address).mainText(), "never at this humidity")
	good := with(b.form(b.open(address), address+"/moves"), "move-day", "2026-02-20", "move-place", "barn loft", "move-cover", "shed", "move-note", "carried on a Saturday")
	before := b.contents()
	for _, try := range []struct{ field, value, says string }{
		{"move-day", "", "missing"}, {"move-day", "2026-01-01", "before the stack was stickered"}, {"move-day", "2027-01-01", "not happened"}, {"move-day", "soon", "not a day"},
		{"move-place", "", "missing"}, {"move-place", long(201), "at most"}, {"move-cover", "tent", "not a known choice"}, {"move-note", long(10001), "at most"},
	} {
		p := b.post(address+"/moves", with(good, try.field, try.value))
		require.Contains(t, b.refused(p, try.field), try.says, "%s = %.40s", try.field, try.value)
	}
	require.Equal(t, before, b.contents())
	p := b.stored(address+"/moves", good)
	for _, says := range []string{"Moved.", "barn loft, in a shed", "Air of yard , 9 Jan 2026 to 20 Feb 2026", "Air of barn loft , 20 Feb 2026 on", "to barn loft, in a shed (carried on a Saturday)"} {
		require.Contains(t, p.mainText(), says)
	}
	require.NotContains(t, p.mainText(), "never at this humidity", "in the loft it gets there")
	require.Contains(t, b.open("/drying/places").mainText(), "barn loft 1")
	require.Contains(t, b.refused(b.post(address+"/moves", with(good, "id", "")), "move-day"), "has a move of this stack already")
	d, err := b.store.DryingStack(t.Context(), stack.ID)
	require.NoError(t, err)
	require.Len(t, d.Climate.Earlier, 1)
	require.Greater(t, d.Climate.Earlier[0].Climate.EMC[0], d.Climate.EMC[0]+5)
	// A move that was wrong is struck, and the stack is back in the yard.
	move := b.first(db.Moves)
	edit := b.form(b.open("/book/move/"+move.ID.String()+"/correct"), "/book/move/"+move.ID.String()+"/strike")
	b.stored("/book/move/"+move.ID.String()+"/strike", with(edit, "why", "another stack"))
	require.Contains(t, b.open(address).mainText(), "never at this humidity")
}

func TestBoardsAreTakenOutWithTheirHistory(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, boards := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09"}, 3, drying)
	address := "/stacks/" + stack.ID.String()
	code := boards[1].Values["code"]
	good := with(b.form(b.open(address), address+"/out"), "out-codes", code, "out-left_stack", "2026-03-01", "out-why", "cut for a stand")
	before := b.contents()
	for _, try := range []struct{ field, value, says string }{
		{"out-codes", "", "missing"}, {"out-codes", "ZZZZZ-1", "names no board"}, {"out-codes", code + " nowhere", "names no board"},
		{"out-left_stack", "soon", "not a day"}, {"out-left_stack", "2027-01-01", "not happened"}, {"out-left_stack", "2025-01-01", "before the stack was stickered"},
		{"out-why", "", "missing"}, {"out-why", long(2001), "longer than"},
	} {
		p := b.post(address+"/out", with(good, try.field, try.value))
		require.Contains(t, b.refused(p, try.field), try.says, "%s = %.40s", try.field, try.value)
	}
	require.Equal(t, before, b.contents())
	curve, err := b.store.DryingStack(t.Context(), stack.ID)
	require.NoError(t, err)
	p := b.stored(address+"/out", good)
	for _, says := range []string{"Taken out.", "2 boards", code + " on 1 Mar 2026"} {
		require.Contains(t, p.mainText(), says)
	}
	after, err := b.store.DryingStack(t.Context(), stack.ID)
	require.NoError(t, err)
	require.Equal(t, 2, after.Boards)
	require.Len(t, after.Obs, len(curve.Obs), "what it read while it lay there still counts")
	main := b.open("/boards/" + boards[1].ID.String()).mainText()
	require.Contains(t, main, "taken out 1 Mar 2026")
	require.Contains(t, main, "cut for a stand")
	require.Contains(t, b.refused(b.post(address+"/out", good), "out-codes"), "does not lie in this stack")
	// It may come back.
	b.stored(address+"/boards", url.Values{"codes": {code}, "layer": {"2"}})
	require.NotContains(t, b.open("/boards/"+boards[1].ID.String()).mainText(), "taken out 1 Mar 2026 ")
	require.Contains(t, b.open(address).mainText(), "3 boards")
}

func TestStackIsTakenDown(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, _ := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09"}, 2, drying)
	address := "/stacks/" + stack.ID.String()
	good := b.form(b.open(address), address+"/down")
	require.Equal(t, "2026-03-14", good.Get("down-taken_down"))
	for _, try := range []struct{ value, says string }{{"soon", "not a day"}, {"2027-01-01", "not happened"}, {"2026-01-01", "before the day"}} {
		require.Contains(t, b.refused(b.post(address+"/down", with(good, "down-taken_down", try.value)), "down-taken_down"), try.says)
	}
	require.Contains(t, b.refused(b.post(address+"/down", with(good, "down-why", long(2001))), "down-why"), "longer than")
	p := b.stored(address+"/down", with(good, "down-why", "dry at last"))
	for _, says := range []string{"Taken down.", "taken down 14 Mar 2026", "dry at last"} {
		require.Contains(t, p.mainText(), says)
	}
	require.NotContains(t, p.mainText(), "Move the whole stack")
	require.Contains(t, b.open("/drying").mainText(), "Taken down")
	require.Equal(t, http.StatusNotFound, b.post("/stacks/0198c5a0-0000-7000-8000-000000000000/down", nil).status)
}

func TestProbingGoesInTurns(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, boards := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09", "zone": "inside", "season": "winter"}, 30, nil)
	address := "/stacks/" + stack.ID.String()
	p := b.open(address)
	require.Contains(t, p.mainText(), "Wanted 14.0 % on average")
	require.Contains(t, p.mainText(), "for wood inside the hive in winter")
	require.Regexp(t, `Probe \d+ boards now; if none is wetter than 18 %, stop: the stack is dry enough`, p.mainText())
	require.Contains(t, p.mainText(), "more dry boards would make it 90 %")
	next := p.all("ol", "")
	require.NotEmpty(t, next)
	picks := allIn(next[0], "li", "")
	require.Contains(t, text(picks[0]), "the thickest of its lot")
	read := func(raw string, n int) {
		for _, board := range boards[:n] {
			b.add(db.Readings, map[string]string{"board": board.Values["code"], "raw": raw, "temperature": "70 F", "taken": "2026-03-13 10:00"})
		}
	}
	read("13", 2)
	p = b.open(address)
	require.Contains(t, p.mainText(), "2 boards were read in the last ten days, 0 of them too wet. Probe")
	for _, li := range allIn(p.all("ol", "")[0], "a", "") {
		require.NotContains(t, []string{boards[0].Values["code"], boards[1].Values["code"]}, text(li), "one that was read lately is not asked for again")
	}
	read("24", 9)
	require.Contains(t, b.open(address).mainText(), "stop, too much of it is still wet")
	dry, dryBoards := b.stack(wood{lot: b.add(db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "crate"})}, map[string]string{"name": "Stack B", "stickered": "2026-01-09"}, 12, map[string]string{"2026-02-20": "15", "2026-03-13": "11"})
	require.Len(t, dryBoards, 12)
	main := b.open("/stacks/" + dry.ID.String()).mainText()
	require.Contains(t, main, "stop, the stack is dry enough by this plan")
	require.Contains(t, main, "12 before that, 12 too wet, counted half")
}

func TestEveryMethodIsReadOnABoard(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	path := "/boards/" + w.board.ID.String()
	form := b.form(b.open(path), path+"/readings")
	for _, try := range []struct {
		pairs []string
		says  []string
	}{
		{[]string{"reading-method", "ohm", "reading-raw", "100", "reading-setting", "one pair", "reading-temperature", "68 F"}, []string{"100 megohms, ohmmeter set to one pair", "resistance table", "from memory"}},
		{[]string{"reading-method", "pinless", "reading-raw", "12"}, []string{"12 %, pinless meter", "no published density correction was located"}},
		{[]string{"reading-method", "ovendry", "reading-mass", "414 g", "reading-dry_mass", "360 g"}, []string{"414 g now, 360 g oven-dry, oven-dry", "15.0 ±", "ASTM D4442"}},
		{[]string{"reading-method", "sample", "reading-mass", "2.2 lb", "reading-dry_mass", "2 lb"}, []string{"tracked sample piece", "10.0 ±", "Agriculture Handbook 188"}},
	} {
		p := b.stored(path+"/readings", with(form, append([]string{"id", ""}, try.pairs...)...))
		for _, says := range try.says {
			require.Contains(t, p.mainText(), says)
		}
	}
	before := b.contents()
	for _, try := range []struct {
		field, says string
		pairs       []string
	}{
		{"reading-dry_mass", "above the mass now", []string{"reading-method", "ovendry", "reading-mass", "300", "reading-dry_mass", "360"}},
		{"reading-dry_mass", "missing beside", []string{"reading-method", "ovendry", "reading-mass", "300"}},
		{"reading-mass", "missing beside", []string{"reading-method", "sample", "reading-dry_mass", "300"}},
		{"reading-dry_mass", "more water than wood", []string{"reading-method", "ovendry", "reading-mass", "3 kg", "reading-dry_mass", "300"}},
		{"reading-method", "takes no masses", []string{"reading-method", "pin", "reading-raw", "12", "reading-mass", "300", "reading-dry_mass", "280"}},
		{"reading-raw", "missing", []string{"reading-method", "ovendry"}},
	} {
		p := b.post(path+"/readings", with(form, try.pairs...))
		require.Contains(t, b.refused(p, try.field), try.says, strings.Join(try.pairs, " "))
	}
	require.Equal(t, before, b.contents())
}

func TestOddReadingOfABoardIsAskedAbout(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	path := "/boards/" + w.board.ID.String()
	form := b.form(b.open(path), path+"/readings")
	before := b.count(db.Readings)
	for raw, says := range map[string]string{"0": "did the pins touch", "300": "more water than this wood can hold"} {
		sent := with(form, "id", "", "reading-raw", raw)
		p := b.post(path+"/readings", sent)
		require.Equal(t, http.StatusUnprocessableEntity, p.status)
		require.Contains(t, p.mainText(), says)
		require.Contains(t, p.summary(), "#reading-sure")
		require.Equal(t, raw, valueOf(p, "reading-raw"))
		require.Equal(t, http.StatusUnprocessableEntity, b.post(path+"/readings", with(sent, "reading-sure", "12|||||")).status, "a tick for another value is none")
	}
	b.add(db.Readings, map[string]string{"board": w.board.Values["code"], "raw": "14", "taken": "2026-03-13 18:00"})
	p := b.post(path+"/readings", with(form, "reading-raw", "35"))
	require.Contains(t, p.mainText(), "+21 points since")
	sure := attr(p.byID("reading-sure"), "value")
	b.stored(path+"/readings", with(form, "reading-raw", "35", "reading-sure", sure))
	require.Equal(t, before+2, b.count(db.Readings))
	b.refused(b.post(path+"/readings", with(form, "reading-raw", "401")), "reading-raw")
}

// TestJourneyTwentyReadings enters twenty readings on one screen by thumb:
// Enter goes on, and what is odd is asked about once.
func TestJourneyTwentyReadings(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, boards := b.stack(b.withWood(), map[string]string{"name": "Stack A", "place": "lean-to", "stickered": "2026-03-01"}, 20, nil)
	before := b.count(db.Readings)
	phone := b.phone(browsertest.Options{})
	phone.Go("/drying")
	phone.Tap("Stack A")
	phone.Type("temperature", "55 F")
	// The script that leads on with Enter comes after the page.
	browsertest.Eval[bool](phone, `new Promise(done => document.readyState === "complete" ? done(true) : addEventListener("load", () => done(true)))`)
	ids := browsertest.Eval[[]string](phone, `[...document.querySelectorAll("input[data-enter=next]")].map(i => i.id)`)
	require.Len(t, ids, 20, "twenty boards on one screen")
	for i, id := range ids {
		require.True(t, i == 0 || id == browsertest.Eval[string](phone, `document.activeElement.id`), "Enter went on to board %d", i+1)
		raw := fmt.Sprint(18 + i%5)
		if i == 7 {
			raw = "350" // a decimal point was missed
		}
		if i < len(ids)-1 {
			raw += "\r"
		}
		phone.Type(id, raw)
	}
	phone.Tap("Add these readings")
	require.Contains(t, phone.See(".faults"), "1 value looks odd")
	require.Contains(t, phone.See(".faults"), "is a decimal point missing?")
	require.Equal(t, before, b.count(db.Readings), "nothing is stored while it is asked")
	require.Equal(t, "19", browsertest.Eval[string](phone, `document.getElementById("`+ids[1]+`").value`), "what was typed stays")
	phone.Type(ids[7], "18")
	phone.Tap("Add these readings")
	require.Contains(t, phone.See("main"), "Added to the book.")
	require.Equal(t, before+20, b.count(db.Readings))
	require.Contains(t, phone.See("main"), "20 boards were read in the last ten days")
	require.Len(t, boards, 20)
	require.Equal(t, "/stacks/"+stack.ID.String(), strings.SplitN(phone.Path(), "?", 2)[0])
}

func TestSpeciesPageShowsWhatItsBoardsMeasured(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, boards := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09"}, 2, drying)
	d, err := b.store.DryingStack(t.Context(), stack.ID)
	require.NoError(t, err)
	p := b.open("/species/pine_eastern_white")
	for _, says := range []string{"Boards in the book 2", "Measured last", boards[0].Values["code"], "How it dried", "Stack A", "0.75 in", fmt.Sprintf("%.0f days", math.Ln2/math.Exp(d.Posterior.LogRate.Mean))} {
		require.Contains(t, p.mainText(), says)
	}
	other := b.open("/species/oak_white").mainText()
	require.NotContains(t, other, "How it dried")
	require.Contains(t, other, "no board of this wood yet")
}
