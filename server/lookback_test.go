package server_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestLookBackScoresEachTrip(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	p := b.open("/lookback?since=2020-01-01")
	rows := b.sheet("/lookback.csv?since=2020-01-01")
	require.Greater(t, len(rows), 20)
	lines := allIn(p.byID("scored"), "tr", "")[1:]
	require.Len(t, lines, len(rows))
	inside := 0
	for i, row := range rows {
		says := text(lines[i])
		require.Contains(t, says, row["source"])
		require.Contains(t, says, row["planned"]+" ("+row["planned_low_90"]+" to "+row["planned_high_90"]+")")
		require.Equal(t, row["inside_90"] == "no", strings.Contains(says, "outside"))
		got, low, high := b.amount(row["got"]), b.amount(row["planned_low_90"]), b.amount(row["planned_high_90"])
		if row["inside_90"] == "yes" {
			inside++
			require.True(t, low-0.011 <= got && got <= high+0.011, row)
		}
		require.LessOrEqual(t, b.amount(row["chance_of_less"]), b.amount(row["chance_of_no_more"]))
		require.GreaterOrEqual(t, b.amount(row["crps"]), 0.0)
		if i > 0 {
			require.GreaterOrEqual(t, rows[i-1]["day"], row["day"], "newest first")
		}
	}
	require.Contains(t, p.mainText(), fmt.Sprintf("%d of %d trips fell inside their 90 %% interval", inside, len(rows)))
	require.Contains(t, p.mainText(), fmt.Sprintf("Trips scored %d", len(rows)))
	for _, img := range p.all("img", "") {
		require.Contains(t, attr(img, "src"), "/charts/pit.svg?since=2020-01-01&width=")
		require.Contains(t, attr(img, "alt"), fmt.Sprintf("%d forecasts", len(rows)))
		require.Contains(t, b.open(attr(img, "src")).body, fmt.Sprintf("%d forecasts", len(rows)))
	}
	reading := text(p.byID("reading"))
	require.True(t, strings.Contains(reading, "Nothing speaks against") || strings.Contains(reading, "of outcomes fell"), reading)
	require.Contains(t, b.open(attr(p.all("img", "")[0], "src")).body, "place of the trip in its forecast")
	require.Len(t, b.sheet("/lookback.csv?since=2027-01-01"), 0)
	require.Contains(t, b.open("/lookback?since=2027-01-01").mainText(), "No trip to score yet")
}

func TestLookBackOfSmallBooks(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	require.Contains(t, b.open("/lookback").mainText(), "The book has no source yet.")
	require.Empty(t, b.sheet("/lookback.csv"))
	b.open("/charts/pit.svg")
	b.add(db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	require.Contains(t, b.open("/lookback").mainText(), "No trip to score yet")
	b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01", "distance": "12", "empty": "yes"})
	require.Contains(t, b.open("/lookback").mainText(), "No trip to score yet")
	b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-07", "distance": "12", "empty": "yes"})
	rows := b.sheet("/lookback.csv")
	require.Len(t, rows, 1, "the first day had no book before it")
	require.Equal(t, "-8.70", rows[0]["got"])
	require.Equal(t, "0.00", rows[0]["crps_of_running_mean"], "the mean of one like it")
}

func TestLookBackRefusesWhatIsNoDay(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	for _, since := range []string{"yesterday", "2026-02-31", "0001-01-01"} {
		require.NotEmpty(t, b.refused(b.get("/lookback?since="+since), "since"))
		require.Equal(t, http.StatusUnprocessableEntity, b.get("/lookback.csv?since="+since).status)
	}
}

func TestSourceSaysWhatItsNextTripBrings(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	for _, row := range b.sheet("/sources.csv") {
		var path string
		for _, a := range b.open("/sources").all("a", "") {
			if text(a) == row["source"] {
				path = attr(a, "href")
			}
		}
		p := b.open(path)
		for _, says := range []string{"Next trip nets " + row["next_net"] + " (" + row["next_net_low_90"] + " to " + row["next_net_high_90"] + ")",
			"Break-even distance " + row["break_even_mi"], "Does it change", "Next best time to call", "of the time"} {
			require.Contains(t, p.mainText(), says, path)
		}
		for i, picture := range []string{"/charts/fate", "/charts/trips"} {
			picture += strings.TrimPrefix(path, "/sources")
			require.Contains(t, attr(p.all("img", "")[i], "src"), picture+".svg")
			svg := b.open(picture + ".svg?width=358")
			requireXML(t, svg.body)
			require.Contains(t, svg.body, attr(p.all("img", "")[i], "alt")[:20])
			require.Equal(t, "image/png", b.open(picture+".png").header.Get("Content-Type"))
		}
	}
}

func TestSourceWithoutTripsOrOutlook(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	src := b.add(db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	path := "/sources/" + src.ID.String()
	p := b.open(path)
	require.Contains(t, p.mainText(), "No trip yet; like others of its kind")
	require.NotContains(t, p.mainText(), "Does it change")
	require.Empty(t, p.all("img", ""), "no picture of no trips")
	require.Contains(t, b.open("/charts/trips/"+src.ID.String()+".svg").body, "No drives yet")
	b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01", "distance": "12", "empty": "yes"})
	require.Contains(t, b.open(path).mainText(), "One trip cannot show a change.")
	b.tooFar("Other End")
	require.Contains(t, b.open(path).mainText(), "What to expect next cannot be said")
	require.Equal(t, http.StatusNotFound, b.get("/charts/trips/00000000-0000-0000-0000-000000000000.svg").status)
	require.Equal(t, http.StatusNotFound, b.get("/charts/trips/12.svg").status)
}

// TestLookBackOfALongBookIsBounded scores the latest days alone, and says so.
func TestLookBackOfALongBookIsBounded(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	src := b.add(db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	_, err := b.store.Pool().Exec(t.Context(), `INSERT INTO pickup (id, source_id, day, visit, distance_m, minutes, empty, keeper_id)
		SELECT md5('p' || i)::uuid, $1, date '2026-03-13' - i, 1, 19000, 60, true, $2 FROM generate_series(0, 149) i`, src.ID, b.keeper.ID)
	require.NoError(t, err)
	p := b.open("/lookback?since=2025-01-01")
	require.Contains(t, p.mainText(), "45 earlier trips are left out")
	require.Contains(t, p.mainText(), "the latest 104 days of drives are scored")
	require.Len(t, b.sheet("/lookback.csv?since=2025-01-01"), 104)
	require.Len(t, b.sheet("/lookback.csv?since=2026-03-10"), 4)
	// The page of the source shows its latest drives, its sheet all.
	_, err = b.store.Pool().Exec(t.Context(), `INSERT INTO pickup (id, source_id, day, visit, distance_m, minutes, empty, keeper_id)
		SELECT md5('q' || i)::uuid, $1, date '2025-06-13' - i, 1, 19000, 60, true, $2 FROM generate_series(0, 149) i`, src.ID, b.keeper.ID)
	require.NoError(t, err)
	path := "/sources/" + src.ID.String()
	p = b.open(path)
	require.Contains(t, p.mainText(), "92 earlier drives are in the sheet alone")
	require.Contains(t, p.mainText(), "from 300 pickups")
	require.Contains(t, attr(p.all("img", "")[0], "alt"), "208 drives")
	require.Len(t, b.sheet(path+"/trips.csv"), 300)
}

func TestSourceShowsPlannedAgainstGot(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	scored := map[string]map[string]string{}
	for _, row := range b.sheet("/lookback.csv?since=2020-01-01") {
		scored[row["source"]+" "+row["day"]] = row
	}
	planned := 0
	for _, row := range b.sheet("/sources.csv")[:3] {
		var path string
		for _, a := range b.open("/sources").all("a", "") {
			if text(a) == row["source"] {
				path = attr(a, "href")
			}
		}
		p, own := b.open(path), 0
		require.Contains(t, p.mainText(), "Next best time to call")
		require.NotEmpty(t, linkSaying(p, "These drives as a sheet (CSV)"))
		for _, trip := range b.sheet(path + "/trips.csv") {
			if trip["planned"] == "" {
				continue
			}
			planned++
			own++
			want := scored[row["source"]+" "+trip["day"]]
			require.Equal(t, want["planned"], trip["planned"], "page and look back say the same")
			require.Equal(t, want["got"], trip["net"])
			require.Contains(t, p.mainText(), trip["planned"]+" ("+trip["planned_low_90"]+" to "+trip["planned_high_90"]+")")
		}
		id := strings.TrimPrefix(path, "/sources/")
		requireXML(t, b.open("/charts/fate/"+id+".svg?width=358").body)
		drawn := b.open("/charts/trips/" + id + ".svg").body
		require.Equal(t, own > 0, strings.Contains(drawn, "planned, 90 % likely"), row["source"])
		require.Equal(t, own > 0, strings.Contains(drawn, "interval planned the day before"), row["source"])
	}
	require.Greater(t, planned, 8)
	require.Equal(t, http.StatusNotFound, b.get("/charts/fate/12.svg").status)
	require.Equal(t, http.StatusNotFound, b.get("/sources/00000000-0000-0000-0000-000000000000/trips.csv").status)
}

func TestNextTimeToCall(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for hours, says := range map[string]string{ // now is Saturday, 14 March 2026, 16:30
		"weekdays 7 to 15":  "Monday 16 Mar, 07:00 to 15:00, in its dock hours: weekdays 7 to 15; not before the next drive",
		"Saturdays 9 to 18": "Saturday 14 Mar, 16:30 to 18:00",
		"by telephone":      "any time",
		"if the gate is up": "No day follows from these words",
	} {
		src := b.add(db.Sources, map[string]string{"name": "Yard " + hours, "hours": hours})
		require.Contains(t, b.open("/sources/"+src.ID.String()).mainText(), says)
	}
	src := b.add(db.Sources, map[string]string{"name": "Silent Yard"})
	require.NotContains(t, b.open("/sources/"+src.ID.String()).mainText(), "time to call")
}
