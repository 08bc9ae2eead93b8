package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestDriveRanksEveryChoice(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	p := b.open("/drive")
	rows := b.sheet("/drive.csv")
	require.Len(t, rows, b.count(db.Sources)+1, "staying home is a choice")
	lines := allIn(p.byID("choices"), "tr", "")[1:]
	require.Len(t, lines, len(rows))
	home, before := 0, 1e9
	for i, row := range rows {
		score := b.amount(row["both"])
		require.LessOrEqual(t, score, before+0.005, "best first")
		before = score
		require.InDelta(t, b.amount(row["expected_net"])+b.amount(row["worth_of_finding_out_a_drive"]), score, 0.011)
		_, why, found := strings.Cut(row["in_words"], ": ")
		require.True(t, found, row["in_words"])
		if row["choice"] == "stay home" {
			home++
			require.Zero(t, score)
			require.Contains(t, text(lines[i]), "Stay home")
			require.Contains(t, strings.ToLower(text(lines[i])), why)
			continue
		}
		require.Contains(t, text(lines[i]), row["reason"])
		require.Contains(t, text(lines[i]), why)
		require.Contains(t, text(lines[i]), row["expected_net"]+" ("+row["next_net_low_90"]+" to "+row["next_net_high_90"]+")")
		require.Contains(t, row["in_words"], row["choice"], "sentences use names")
	}
	require.Equal(t, 1, home)
	require.Contains(t, p.mainText(), "For 14 Mar 2026:")
	require.NotNil(t, p.byID("flips"))
	require.Nil(t, p.byID("moves"), "nothing was asked")
	require.NotEmpty(t, linkSaying(p, "Plan a round"))
	require.NotEmpty(t, linkSaying(p, "Look back"))
}

func TestWhatIfRanksAgain(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	today := b.sheet("/drive.csv")
	dear := b.sheet("/drive.csv?mile=50")
	require.Equal(t, "stay home", dear[0]["choice"], "at 50 a mile nothing pays: %v", dear[0])
	require.NotEqual(t, today[0]["choice"], dear[0]["choice"])
	p := b.open("/drive?mile=3&hour=20&lot=-5")
	require.Contains(t, p.mainText(), "with the figures typed below")
	require.NotNil(t, p.byID("moves"))
	require.Equal(t, "3", valueOf(p, "mile"))
	require.Contains(t, p.mainText(), "from place", "far sources fall behind")

	// The figures that hold, typed again, are the figures that hold.
	p = b.open("/drive")
	same := url.Values{}
	for _, name := range []string{"mile", "price", "hour", "lot", "home", "drives", "far", "kind"} {
		same.Set(name, valueOf(p, name))
	}
	require.NotContains(t, b.open("/drive?"+same.Encode()).mainText(), "typed below")
	require.Equal(t, today, b.sheet("/drive.csv?"+same.Encode()))
	require.Equal(t, today, b.sheet("/drive.csv?lot=0,0&mile="))
}

func TestWhatIfAtTheFlipSwapsTheFirstTwo(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	// A near place that brings little against a far one that brings more.
	for _, s := range []struct{ name, miles, load string }{{"Near Yard", "2", "10"}, {"Far Mill", "30", "60"}} {
		b.add(db.Sources, map[string]string{"name": s.name, "distance": s.miles})
		for _, day := range []string{"2026-01-03", "2026-01-10", "2026-01-17", "2026-01-24", "2026-01-31", "2026-02-07"} {
			b.add(db.Pickups, map[string]string{"source": s.name, "day": day, "distance": s.miles, "minutes": "60"})
			lot := b.add(db.Lots, map[string]string{"pickup": day + " " + s.name, "kind": "crate", "volume": s.load, "usable_percent": "70"})
			b.add(db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT"})
		}
	}
	first := func(mile string) string {
		rows := b.sheet("/drive.csv?mile=" + mile)
		best, net := "", -1e9
		for _, row := range rows {
			if v := b.amount(row["expected_net"]); row["choice"] != "stay home" && v > net {
				best, net = row["choice"], v
			}
		}
		return best
	}
	require.Equal(t, "Far Mill", first("0"))
	said := text(b.open("/drive").byID("flips"))
	_, rest, found := strings.Cut(said, "they change places at ")
	require.True(t, found, said)
	at := b.amount(strings.Fields(rest)[0])
	require.Equal(t, "Far Mill", first(amountText(at-0.05)), said)
	require.Equal(t, "Near Yard", first(amountText(at+0.05)), said)
}

func TestWrongFiguresAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	for query, field := range map[string]string{"mile=dear": "mile", "mile=-1": "mile", "price=NaN": "price", "hour=1e9": "hour", "lot=-99999999": "lot", "lot=Inf": "lot",
		"home=-1": "home", "home=sofa": "home", "drives=0": "drives", "drives=2.5": "drives", "drives=1001": "drives", "far=-3": "far", "far=there": "far", "far=9&kind=moon+base": "kind"} {
		p := b.get("/drive?" + query)
		require.NotEmpty(t, b.refused(p, field), query)
		require.NotNil(t, p.byID("choices"), "what holds today still stands")
		require.Equal(t, http.StatusUnprocessableEntity, b.get("/drive.csv?"+query).status)
	}
}

// TestASeasonAndADayAtHomeAreAsked changes how long the season is and what the
// day is worth at home.
func TestASeasonAndADayAtHomeAreAsked(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	finding := func(query string) (sum float64) {
		for _, row := range b.sheet("/drive.csv?" + query) {
			sum += b.amount(row["worth_of_finding_out_a_drive"])
		}
		return sum
	}
	require.Greater(t, finding("drives=30"), finding("drives=3"), "less time, less to learn for")
	require.Zero(t, finding("drives=1"), "the last drive teaches nothing")
	p := b.open("/drive?drives=3")
	require.Contains(t, p.mainText(), "3 drives left")
	require.Equal(t, "3", valueOf(p, "drives"))
	for _, row := range b.sheet("/drive.csv?drives=3") {
		require.Equal(t, "3", row["drives_left"])
	}
	rows := b.sheet("/drive.csv?home=5000")
	require.Equal(t, "stay home", rows[0]["choice"])
	require.Equal(t, "5000.00", rows[0]["both"])
	require.Contains(t, b.open("/drive?home=5000").mainText(), "Stay home. The day is worth 5000.00 USD there.")
	// A dated figure does the same for every page.
	b.add(db.Settings, map[string]string{"name": db.HomeDay, "valid_from": "2026-01-01", "amount": "5000", "currency": "USD"})
	require.Equal(t, "stay home", b.sheet("/drive.csv")[0]["choice"])
	require.Contains(t, b.open("/sources").mainText(), "Staying home is worth 5000.00")
	require.Contains(t, b.open("/charts/next.svg").body, "stay home 5,000")
}

// TestAPlaceThatIsNotInTheBook is one more choice, like others of its kind.
func TestAPlaceThatIsNotInTheBook(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	rows := b.sheet("/drive.csv?far=9&kind=flooring")
	require.Len(t, rows, b.count(db.Sources)+2)
	found := false
	for _, row := range rows {
		if row["choice"] == "A new place (flooring)" {
			found = true
			require.Equal(t, "0", row["trips"])
			require.NotEmpty(t, row["best_number_of_trips"])
		}
	}
	require.True(t, found)
	p := b.open("/drive?far=9&kind=flooring")
	require.Contains(t, text(p.byID("choices")), "A new place (flooring)")
	require.Empty(t, linkSaying(p, "A new place (flooring)"), "it has no page")
	near, far := "", ""
	for _, row := range b.sheet("/drive.csv?far=2") {
		if row["choice"] == "A new place" {
			near = row["expected_net"]
		}
	}
	for _, row := range b.sheet("/drive.csv?far=60") {
		if row["choice"] == "A new place" {
			far = row["expected_net"]
		}
	}
	require.InDelta(t, 58*0.725, b.amount(near)-b.amount(far), 0.02, "the miles at the rate of the day")
}

// TestMinutesOfLotsNeedLots says what is missing where no trip notes lots.
func TestMinutesOfLotsNeedLots(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.add(db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01", "distance": "12", "empty": "yes"})
	require.Contains(t, b.refused(b.get("/drive?lot=-10"), "lot"), "no trip notes how many lots came")
}

func TestDriveOfSmallBooks(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	p := b.open("/drive")
	require.Contains(t, p.mainText(), "The book has no source yet.")
	require.NotEmpty(t, linkSaying(p, "Enter a source"))
	require.Empty(t, b.sheet("/drive.csv"))

	b.add(db.Sources, map[string]string{"name": "Harbour Tile", "distance": "12"})
	require.Len(t, b.sheet("/drive.csv"), 2)
	require.Nil(t, b.open("/drive").byID("flips"), "one source cannot change places")
	b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01", "distance": "12", "empty": "yes"})
	require.Contains(t, b.open("/drive").mainText(), "Harbour Tile")
	b.tooFar("Other End")
	require.Contains(t, b.open("/drive").mainText(), "What to expect next cannot be said")
}
