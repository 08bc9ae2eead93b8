package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// asked is the question the round page's form would send as it stands.
func (b *bench) asked(p *page) url.Values {
	b.Helper()
	for _, f := range p.all("form", "") {
		if attr(f, "action") == "/round" {
			out := fieldsOf(f)
			for _, n := range allIn(f, "input", "") {
				if _, checked := lookAttr(n, "checked"); checked {
					out.Add("stop", attr(n, "value"))
				}
			}
			return out
		}
	}
	require.Fail(b, "no form")
	return nil
}

func TestRoundPlansTheDay(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	p := b.open("/round")
	rows := b.sheet("/round.csv")
	require.NotEmpty(t, rows)
	lines := allIn(p.byID("route"), "tr", "")[1:]
	require.Len(t, lines, len(rows))
	for i, row := range rows {
		require.Contains(t, text(lines[i]), row["source"])
		require.Contains(t, text(lines[i]), row["adds"])
		require.GreaterOrEqual(t, b.amount(row["adds"]), 0.0, "a stop that adds nothing is left out")
		require.Contains(t, text(lines[i]), row["adds"]+" ("+row["adds_low_90"]+" to "+row["adds_high_90"]+")")
		require.LessOrEqual(t, b.amount(row["adds_low_90"]), b.amount(row["adds_low_50"]))
		require.LessOrEqual(t, b.amount(row["adds_high_50"]), b.amount(row["adds_high_90"]))
		require.LessOrEqual(t, b.amount(row["round_net_low_90"]), b.amount(row["round_net_low_50"]))
		require.Contains(t, p.mainText(), "expected net "+row["round_net"]+" ("+row["round_net_low_90"]+" to "+row["round_net_high_90"]+")")
	}
	require.Contains(t, p.mainText(), "No other set or order of these places")
	require.NotContains(t, p.mainText(), "the way past home is counted, which", "the invented sources have coordinates")
	require.Equal(t, "30", valueOf(p, "lat"), "the settings know where home is")
	require.Equal(t, "-45", valueOf(p, "lon"))
	require.Equal(t, "1.3", valueOf(p, "detour"))
	require.InDelta(t, 40*12, b.amount(valueOf(p, "room")), 0.01, "40 cubic feet are 480 board feet")

	// Sent as it stands, the form asks the same.
	q := b.asked(p)
	require.Len(t, q["stop"], b.count(db.Sources))
	require.Equal(t, rows, b.sheet("/round.csv?"+q.Encode()))
	sheet := linkSaying(b.open("/round?"+q.Encode()), "This round as a sheet (CSV)")
	require.Equal(t, rows, b.sheet(sheet))

	// Left open, the vehicle holds everything and home is nowhere.
	wide := b.sheet("/round.csv?" + with(q, "room", "").Encode())
	require.GreaterOrEqual(t, b.amount(wide[0]["round_net"]), b.amount(rows[0]["round_net"])-0.011)
	tiny := b.sheet("/round.csv?" + with(q, "room", "5").Encode())
	require.Less(t, b.amount(tiny[0]["round_net_high_90"]), b.amount(rows[0]["round_net_high_90"]))
	var load float64
	for _, row := range tiny {
		load += b.amount(row["expected_load_board_feet"])
	}
	require.LessOrEqual(t, load, 5.0+0.05*float64(len(tiny)), "no more than there is room for")
	nowhere := with(q, "lat", "", "lon", "")
	first := b.sheet("/round.csv?" + nowhere.Encode())[0]
	for _, stop := range nowhere["stop"] {
		if src, err := db.Sources.Load(t.Context(), b.store, uuid.MustParse(stop), b.env); err == nil && src.Values["name"] == first["source"] {
			require.InDelta(t, b.amount(nowhere.Get("road-"+stop))/2, b.amount(first["mi_from_last"]), 0.051, "half of there and back")
		}
	}

	// Less time never nets more, and without places nobody leaves.
	before := 1e9
	for _, hours := range []string{"12", "6", "3", "1.5"} {
		got := b.sheet("/round.csv?" + with(q, "hours", hours).Encode())
		net := 0.0
		if len(got) > 0 {
			net = b.amount(got[0]["round_net"])
		}
		require.LessOrEqual(t, net, before+0.011)
		before = net
	}
	q.Del("stop")
	require.Contains(t, b.open("/round?"+q.Encode()).mainText(), "No place is ticked below")
	require.Empty(t, b.sheet("/round.csv?"+q.Encode()))
}

// twoMills are places that always bring a good load, far from home.
func (b *bench) twoMills() {
	b.Helper()
	for _, name := range []string{"East Mill", "Path to Mill"} {
		b.add(db.Sources, map[string]string{"name": name, "distance": "20"})
		for _, day := range []string{"2026-01-03", "2026-01-10", "2026-01-17", "2026-01-24", "2026-01-31", "2026-02-07"} {
			b.add(db.Pickups, map[string]string{"source": name, "day": day, "distance": "20", "minutes": "60"})
			lot := b.add(db.Lots, map[string]string{"pickup": day + " " + name, "kind": "crate", "volume": "60", "usable_percent": "80"})
			b.add(db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT"})
		}
	}
}

func TestRoundUsesTypedDistances(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.twoMills()
	p := b.open("/round")
	q := with(b.asked(p), "hours", "12")
	far := b.sheet("/round.csv?" + q.Encode())
	require.Len(t, far, 2)
	require.Equal(t, "10.0", far[0]["mi_from_last"], "half of there and back")
	require.Equal(t, "20.0", far[1]["mi_from_last"], "past home")
	near := b.sheet("/round.csv?" + with(q, "between", "path to mill to EAST MILL: 3,5\n").Encode())
	require.Equal(t, "3.5", near[1]["mi_from_last"])
	require.InDelta(t, 16.5*0.725, b.amount(near[0]["round_net"])-b.amount(far[0]["round_net"]), 0.03, "the miles saved at the rate of the day")
	require.NotContains(t, b.open("/round?"+with(q, "between", "Path to Mill to East Mill: 3.5").Encode()).mainText(), "past home is counted, which")

	// Little room: less is taken.
	require.Less(t, b.amount(b.sheet("/round.csv?" + with(q, "room", "30").Encode())[0]["round_net"]), b.amount(far[0]["round_net"]))
	// A typed way home counts.
	id := q["stop"][0]
	changed := b.sheet("/round.csv?" + with(q, "road-"+id, "30").Encode())
	require.InDelta(t, -10*0.725, b.amount(changed[0]["round_net"])-b.amount(far[0]["round_net"]), 0.03, "five miles more out, and back past home")
}

func TestRoundUsesCoordinates(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.twoMills()
	for _, s := range b.everyEntry() {
		if s.Kind != "source" {
			continue
		}
		entry, err := db.Sources.Load(t.Context(), b.store, s.ID, b.env)
		require.NoError(t, err)
		lat := map[string]string{"East Mill": "44.1", "Path to Mill": "44.2"}[entry.Values["name"]]
		_, err = db.Sources.Correct(t.Context(), b.store, db.Edit{ID: s.ID, Version: 1, Keeper: b.keeper.ID, Why: "surveyed", Env: b.env}, map[string]string{"latitude": lat, "longitude": "-89.5"})
		require.NoError(t, err)
	}
	q := with(b.asked(b.open("/round")), "hours", "12", "lat", "44", "lon", "-89.5", "detour", "1.5")
	rows := b.sheet("/round.csv?" + q.Encode())
	require.Len(t, rows, 2)
	require.InDelta(t, 0.1*69.093*1.5, b.amount(rows[1]["mi_from_last"]), 0.051, "a tenth of a degree of latitude on the mean sphere, 69.09 miles to the degree")
	p := b.get("/round?" + with(q, "lon", "").Encode())
	require.NotEmpty(t, b.refused(p, "lon"))
}

func TestRoundRefusesWhatCannotBeRead(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.twoMills()
	q := b.asked(b.open("/round"))
	for _, c := range [][2]string{{"hours", "0"}, {"hours", "25"}, {"hours", "all day"}, {"room", "-1"}, {"speed", "0"}, {"speed", "900"}, {"detour", "0.5"},
		{"between", "East Mill: 4"}, {"between", "East Mill to Path to Mill"}, {"between", "East Mill to Nowhere: 4"}, {"between", "East Mill to East Mill: 4"}, {"between", "East Mill to Path to Mill: far"}} {
		p := b.get("/round?" + with(q, c[0], c[1]).Encode())
		require.NotEmpty(t, b.refused(p, c[0]), c)
		require.Equal(t, c[1], strings.TrimSpace(valueOf(p, c[0])), "what was typed stays")
		require.Equal(t, http.StatusUnprocessableEntity, b.get("/round.csv?"+with(q, c[0], c[1]).Encode()).status)
	}
	road := "road-" + q["stop"][0]
	require.NotEmpty(t, b.refused(b.get("/round?"+with(q, road, "near").Encode()), road))
}

func TestRoundOfSmallBooks(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	require.Contains(t, b.open("/round").mainText(), "The book has no source yet.")
	require.Empty(t, b.sheet("/round.csv"))
	b.add(db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	require.Contains(t, b.open("/round").mainText(), "Harbour Tile")
	require.Contains(t, b.open("/round?hours=6").mainText(), "No place is ticked below")
	require.Empty(t, b.sheet("/round.csv?hours=6"))
	b.tooFar("Other End")
	require.Contains(t, b.open("/round").mainText(), "What to expect next cannot be said")
}

func TestPagesInKilometresAndMillimetres(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.twoMills()
	miles := b.sheet("/round.csv?" + with(b.asked(b.open("/round")), "between", "East Mill to Path to Mill: 4").Encode())
	values := db.KeeperValues(b.keeper)
	values["length_unit"], values["distance_unit"] = "mm", "km"
	_, err := b.store.SaveKeeper(t.Context(), b.keeper.ID, b.keeper.Version, values)
	require.NoError(t, err)
	p := b.open("/round")
	q := b.asked(p)
	require.Equal(t, "32.2", q.Get("road-"+q["stop"][0]), "20 miles")
	require.InDelta(t, 48.28, b.amount(q.Get("speed")), 0.01, "30 miles an hour")
	km := b.sheet("/round.csv?" + with(q, "between", "East Mill to Path to Mill: 6.437376").Encode())
	require.Equal(t, miles[1]["round_net"], km[1]["round_net"], "the same round in other units")
	require.Equal(t, "6.4", km[1]["km_from_last"])
	require.InDelta(t, b.amount(miles[0]["expected_load_board_feet"])*2.359737, b.amount(km[0]["expected_load_litres"]), 0.2, "a board foot is 2.359737 litres")
	row := b.sheet("/sources.csv")[0]
	require.NotEmpty(t, row["break_even_km"])
	require.NotEmpty(t, row["usable_litres"])
	require.Contains(t, b.open("/sources").mainText(), row["next_net"])
}
