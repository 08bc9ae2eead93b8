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
		require.Contains(t, text(lines[i]), row["in_words"])
		require.Contains(t, text(lines[i]), row["reason"])
		if row["choice"] == "stay home" {
			home++
			require.Zero(t, score)
			continue
		}
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
	for _, name := range []string{"mile", "price", "hour", "lot"} {
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
	for query, field := range map[string]string{"mile=dear": "mile", "mile=-1": "mile", "price=NaN": "price", "hour=1e9": "hour", "lot=-99999999": "lot", "lot=Inf": "lot"} {
		p := b.get("/drive?" + query)
		require.NotEmpty(t, b.refused(p, field), query)
		require.NotNil(t, p.byID("choices"), "what holds today still stands")
		require.Equal(t, http.StatusUnprocessableEntity, b.get("/drive.csv?"+query).status)
	}
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
	b.add(db.Sources, map[string]string{"name": "Other End", "distance": "3000"})
	require.Contains(t, b.open("/drive").mainText(), "What to expect next cannot be said")
}
