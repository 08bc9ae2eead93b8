package server_test

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// stack enters a stack of n boards, each read on the days given.
func (b *bench) stack(w wood, values map[string]string, n int, readings map[string]string) (db.Entry, []db.Entry) {
	b.Helper()
	stack := b.add(db.Stacks, values)
	var boards []db.Entry
	for range n {
		board := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48", "species": "pine_eastern_white", "stack": values["name"]})
		for day, raw := range readings {
			b.add(db.Readings, map[string]string{"board": board.Values["code"], "raw": raw, "temperature": "70 F", "taken": day + " 10:00"})
		}
		boards = append(boards, board)
	}
	return stack, boards
}

// drying are readings of a stack that gets there.
var drying = map[string]string{"2026-01-10": "28", "2026-01-24": "23", "2026-02-07": "19.5", "2026-02-21": "17"}

func TestStackIsPutUpFilledAndRead(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	require.Contains(t, b.open("/drying").mainText(), "no stack yet")
	sent := with(b.form(b.open("/stacks/new"), "/stacks"), "name", "Stack A", "place", "lean-to", "stickered", "2026-03-03", "air_temperature", "60 F", "air_humidity", "50")
	p := b.stored("/stacks", sent)
	require.Equal(t, "Stack A", p.title())
	require.Contains(t, p.mainText(), "No board lies in it yet")
	address := strings.TrimSuffix(p.path, "?done=added")
	b.stored("/stacks", sent)
	require.Equal(t, 1, b.count(db.Stacks), "the same form twice is one stack")
	require.Contains(t, b.open("/drying").mainText(), "put boards into it")

	bad := b.post(address+"/boards", url.Values{"codes": {"ZZZZZ-1"}})
	require.Contains(t, b.refused(bad, "codes"), "names no board")
	require.Equal(t, "ZZZZZ-1", valueOf(bad, "codes"))
	b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48"})
	p = b.stored(address+"/boards", url.Values{"codes": {w.lot.Values["code"]}})
	require.Contains(t, p.mainText(), "2 boards, lean-to, under a roof")
	require.Contains(t, b.open("/drying").mainText(), "take the first round of readings")
	require.Contains(t, b.open("/boards/"+w.board.ID.String()).mainText(), "Dries in Stack A")

	before := b.count(db.Readings)
	round := b.form(p, address+"/readings")
	var numbers []string
	for name := range round {
		if strings.HasPrefix(name, "raw-") {
			numbers = append(numbers, name)
			require.Equal(t, "next", attr(p.byID(name), "data-enter"))
		}
	}
	require.Len(t, numbers, 2)
	filled := with(round, numbers[0], "24", numbers[1], "26", "temperature", "50 F", "taken", "2026-03-13 09:00")
	p = b.stored(address+"/readings", filled)
	require.Contains(t, p.mainText(), "Added to the book.")
	require.Equal(t, before+2, b.count(db.Readings))
	b.stored(address+"/readings", filled)
	require.Equal(t, before+2, b.count(db.Readings), "the same round twice is one round")
	for _, says := range []string{"not before", "by", "Wood handbook", "80 %", "2 boards were read in the last ten days", "Not yet", "Moisture now"} {
		require.Contains(t, p.mainText(), says)
	}
}

func TestOddReadingsAreQueriedNotRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, boards := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09"}, 4, map[string]string{"2026-03-13": "18"})
	address := "/stacks/" + stack.ID.String()
	raw := func(i int) string { return "raw-" + boards[i].ID.String() }
	sure := func(i int) string { return "sure-" + boards[i].ID.String() }
	before := b.count(db.Readings)
	sent := with(b.form(b.open(address), address+"/readings"), raw(0), "0", raw(1), "350", raw(2), "39", raw(3), "17.5")
	p := b.post(address+"/readings", sent)
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "3 values look odd")
	for i, says := range []string{"did the pins touch", "more water than this wood can hold", "+21 points"} {
		require.NotNil(t, p.byID(sure(i)), says)
		require.Contains(t, p.mainText(), says)
		require.Contains(t, p.summary(), "#"+sure(i))
	}
	require.Nil(t, p.byID(sure(3)), "17.5 is not odd")
	require.Equal(t, "17.5", valueOf(p, raw(3)), "what was typed stays")
	require.Equal(t, before, b.count(db.Readings))

	// One is corrected, one ticked, one ticked but typed anew: that is asked again.
	sent = with(b.form(p, address+"/readings"), raw(0), "19", sure(1), "350", raw(2), "38.5", sure(2), "39")
	p = b.post(address+"/readings", sent)
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	require.Contains(t, p.mainText(), "1 value looks odd")
	_, ticked := lookAttr(p.byID(sure(1)), "checked")
	require.True(t, ticked, "an answer stays given")
	sent = with(b.form(p, address+"/readings"), sure(1), "350", sure(2), "38.5")
	b.stored(address+"/readings", sent)
	require.Equal(t, before+4, b.count(db.Readings))
}

func TestReadingsThatCannotBeAreRefusedBesideTheirBoard(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, boards := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09"}, 2, nil)
	address := "/stacks/" + stack.ID.String()
	first := "raw-" + boards[0].ID.String()
	form := b.form(b.open(address), address+"/readings")
	before := b.contents()
	for _, try := range []struct{ field, value, says string }{
		{first, "wet", "not a number"}, {first, "-1", "negative"}, {first, "401", "more water"}, {first, "", "at least one number"},
		{"temperature", "hot", "not a temperature"}, {"taken", "2026-03-20", "not happened"}, {"method", "licking", "not a known choice"}, {"place", long(101), "at most"},
	} {
		p := b.post(address+"/readings", with(form, first, "14", try.field, try.value))
		require.Contains(t, b.refused(p, try.field), try.says, "%s = %.40s", try.field, try.value)
	}
	require.Equal(t, before, b.contents())
	// A temperature that may be °F is asked once, not for every board.
	p := b.post(address+"/readings", with(form, first, "14", "raw-"+boards[1].ID.String(), "15", "temperature", "50 C"))
	require.Contains(t, p.mainText(), "1 value looks odd")
	b.stored(address+"/readings", with(b.form(p, address+"/readings"), "sure-temperature", "50 C"))
}

func TestLargeStackIsReadTwentyAtATime(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, _ := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09"}, 23, nil)
	address := "/stacks/" + stack.ID.String()
	rows := func(p *page) (n int) {
		for name := range b.form(p, address+"/readings") {
			if strings.HasPrefix(name, "raw-") {
				n++
			}
		}
		return n
	}
	require.Equal(t, 20, rows(b.open(address)))
	require.Equal(t, 3, rows(b.open(address+"?from=20")))
	for _, odd := range []string{"-5", "400", "x"} {
		require.Equal(t, 20, rows(b.open(address+"?from="+odd)))
	}
}

func TestDryingSortsStacksByTheirDate(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	air := func(name, cover, temperature, humidity string) map[string]string {
		return map[string]string{"name": name, "cover": cover, "stickered": "2026-01-09", "air_temperature": temperature, "air_humidity": humidity}
	}
	b.stack(w, air("Never", "open", "45 F", "92"), 2, map[string]string{"2026-01-10": "28", "2026-01-24": "25", "2026-02-07": "23.5", "2026-02-21": "22.8"})
	b.stack(w, air("Later", "roof", "60 F", "50"), 2, drying)
	b.stack(w, air("Done", "heated", "70 F", "30"), 2, map[string]string{"2026-01-10": "14", "2026-01-24": "9", "2026-02-07": "7.5"})
	b.add(db.Stacks, map[string]string{"name": "Old", "stickered": "2025-01-09", "taken_down": "2025-06-01"})
	p := b.open("/drying")
	main := p.mainText()
	require.Contains(t, main, "3 stacks stand")
	var names []string
	for _, row := range p.all("tr", "")[1:4] {
		names = append(names, strings.Fields(text(row))[0])
	}
	require.Equal(t, []string{"Done", "Later", "Never"}, names)
	for _, says := range []string{"never at this humidity: bring it under a roof", "likely reached since", "Never : bring it under a roof", "Done : probe it", "Taken down", "80 % interval"} {
		require.Contains(t, main, says)
	}
}

func TestStackIsDrawn(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, _ := b.stack(b.withWood(), map[string]string{"name": "Stack A", "stickered": "2026-01-09", "air_temperature": "60 F", "air_humidity": "50"}, 2, drying)
	address := "/charts/stack/" + stack.ID.String()
	svg := b.get(address + ".svg?width=358&theme=dark")
	require.Equal(t, http.StatusOK, svg.status)
	require.Contains(t, svg.body, "80 %")
	require.Contains(t, svg.body, "8 readings")
	png := b.get(address + ".png")
	require.True(t, strings.HasPrefix(png.body, "\x89PNG"))
	require.Equal(t, http.StatusNotFound, b.get(address+".gif").status)
	require.Contains(t, b.open("/stacks/"+stack.ID.String()).body, address+".svg")
	empty := b.add(db.Stacks, map[string]string{"name": "Empty", "stickered": "2026-01-09"})
	require.Contains(t, b.get("/charts/stack/"+empty.ID.String()+".svg").body, "No readings yet")
}

func TestDemoStacksAreShown(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	p := b.open("/drying")
	for _, name := range []string{"stack A", "stack B", "winter stack"} {
		require.Contains(t, p.mainText(), name)
	}
	require.Contains(t, p.mainText(), "never at this humidity")
	stacks, err := b.store.Drying(t.Context())
	require.NoError(t, err)
	for i, s := range stacks {
		if i%4 == 0 || s.Standing() {
			require.Contains(t, b.open("/stacks/"+s.ID.String()).mainText(), strconv.Itoa(s.Boards)+" board", s.Name)
		}
	}
}

func TestUnknownStackIsNotFound(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, path := range []string{"/stacks/1", "/stacks/0198c5a0-0000-7000-8000-000000000000", "/charts/stack/0198c5a0-0000-7000-8000-000000000000.svg"} {
		require.Equal(t, http.StatusNotFound, b.get(path).status, path)
	}
	for _, path := range []string{"/boards", "/readings"} {
		require.Equal(t, http.StatusNotFound, b.post("/stacks/0198c5a0-0000-7000-8000-000000000000"+path, nil).status, path)
	}
}
