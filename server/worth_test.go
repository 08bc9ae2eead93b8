package server_test

import (
	"encoding/csv"
	"fmt"
	"html"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// sheet reads a page of comma-separated values into a row for each line, by
// the names of the header.
func (b *bench) sheet(path string) []map[string]string {
	b.Helper()
	p := b.open(path)
	require.Equal(b, "text/csv; charset=utf-8", p.header.Get("Content-Type"))
	rows, err := csv.NewReader(strings.NewReader(p.body)).ReadAll()
	require.NoError(b, err, path)
	require.NotEmpty(b, rows, path)
	var out []map[string]string
	for _, row := range rows[1:] {
		cells := map[string]string{}
		for i, name := range rows[0] {
			cells[name] = row[i]
		}
		require.Len(b, cells, len(rows[0]), "a name stands twice in the header")
		out = append(out, cells)
	}
	return out
}

func (b *bench) amount(text string) float64 {
	b.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(b, err)
	return v
}

func TestSourcesSayWhatComesNext(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	p := b.open("/sources")
	rows := b.sheet("/sources.csv")
	require.Len(t, rows, b.count(db.Sources))
	require.Contains(t, p.mainText(), "Most is expected of "+rows[0]["source"])
	require.Contains(t, p.mainText(), "if it is on 14 Mar 2026")
	lines := allIn(p.byID("next"), "tr", "")[1:]
	require.Len(t, lines, len(rows))
	ranks, best, before := 0.0, 0.0, 1e9
	for i, row := range rows {
		says := text(lines[i])
		require.Contains(t, says, row["source"])
		require.Contains(t, says, fmt.Sprintf("%s (%s to %s)", row["next_net"], row["next_net_low_90"], row["next_net_high_90"]), "page and sheet agree")
		require.Equal(t, row["cannot_be_told_apart_from_best"] == "yes", strings.Contains(says, "cannot be told apart from the best"))
		net := b.amount(row["expected_net"])
		require.LessOrEqual(t, net, before, "best first")
		require.LessOrEqual(t, b.amount(row["next_net_low_90"]), b.amount(row["next_net_low_50"]))
		require.LessOrEqual(t, b.amount(row["next_net_high_50"]), b.amount(row["next_net_high_90"]))
		require.Contains(t, row["in_words"], row["source"]+": ")
		before = net
		ranks += b.amount(row["expected_rank"])
		best += b.amount(row["chance_of_being_best"])
	}
	n := float64(len(rows))
	require.InDelta(t, n*(n+1)/2, ranks, 0.1, "places add up")
	require.InDelta(t, 1, best, 0.01, "one of them is the best")
}

// TestEveryPictureOfSourcesHasItsSheet compares pictures, sheets and words.
func TestEveryPictureOfSourcesHasItsSheet(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	p := b.open("/sources")
	for _, img := range p.all("img", "") {
		require.Contains(t, b.open(attr(img, "src")).body, html.EscapeString(attr(img, "alt")), "a picture says what stands beside it")
	}
	wood := b.sheet(linkSaying(p, "Both as a sheet (CSV)"))
	require.Len(t, wood, b.count(db.Sources))
	for _, row := range wood {
		require.Contains(t, p.mainText(), row["source"])
		require.Contains(t, p.mainText(), row["inside_board_feet"])
		require.LessOrEqual(t, b.amount(row["usable_low_90"]), b.amount(row["usable_a_pickup_board_feet"]))
	}
	value := b.sheet(linkSaying(p, "These sums as a sheet (CSV)"))
	require.Greater(t, len(value), 50)
	for i := 1; i < len(value); i++ {
		require.LessOrEqual(t, value[i-1]["day"], value[i]["day"])
		require.GreaterOrEqual(t, b.amount(value[i]["cost_so_far"]), b.amount(value[i-1]["cost_so_far"]), "costs only grow")
	}
}

func TestSourcesOfSmallBooks(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	require.Empty(t, b.sheet("/sources.csv"))
	b.open("/charts/next.svg")

	b.add(db.Sources, map[string]string{"name": "=Harbour Tile", "kind": "flooring", "distance": "12"})
	p := b.open("/sources")
	require.Contains(t, p.mainText(), "No trip yet; like others of its kind")
	require.Contains(t, p.mainText(), "no trip with known wood yet")
	rows := b.sheet("/sources.csv")
	require.Equal(t, "'=Harbour Tile", rows[0]["source"], "formulas are guarded")
	require.Equal(t, "no trips yet", rows[0]["evidence"])
	require.Empty(t, rows[0]["past_net_a_pickup"])

	b.add(db.Pickups, map[string]string{"source": "=Harbour Tile", "day": "2026-03-01", "distance": "12", "minutes": "60", "empty": "yes"})
	p = b.open("/sources")
	require.Contains(t, p.mainText(), "After one trip, not enough to know it well")
	require.Contains(t, p.mainText(), "1, 1 empty")
	row := b.sheet("/sources.csv")[0]
	require.Equal(t, "few trips", row["evidence"])
	require.Equal(t, "-8.70", row["past_net_a_pickup"], "12 miles at 72.5 cents")
	require.Empty(t, row["past_low_90"], "one trip cannot say how sure")

	b.tooFar("Other End")
	p = b.open("/sources")
	require.Contains(t, p.mainText(), `What to expect next cannot be said`)
	require.Contains(t, p.mainText(), "-8.70", "what was still stands")
	require.Nil(t, p.byID("next"))
	require.Len(t, b.sheet("/sources.csv"), 2)
	b.open("/charts/next.svg")
}

func TestSourcesInTwoCurrenciesAreAskedAbout(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.add(db.Sources, map[string]string{"name": "Harbour Tile"})
	b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01", "distance": "12", "empty": "yes", "cost": "3", "currency": "EUR"})
	for _, path := range []string{"/sources"} {
		p := b.get(path)
		require.Equal(t, http.StatusOK, p.status, path)
		require.Contains(t, p.mainText(), "enter the rate at which one became the other", path)
	}
}

func amountText(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }

// tooFar adds a source farther away than a form lets in, as an old book may have it: the
// model answers nothing then.
func (b *bench) tooFar(name string) {
	b.Helper()
	src := b.add(db.Sources, map[string]string{"name": name, "distance": "2000"})
	_, err := b.store.Pool().Exec(b.Context(), "UPDATE source SET distance_m = 3000 * 1609.344 WHERE id = $1", src.ID)
	require.NoError(b, err)
}

// TestPickupsThatCannotBeAreLeftOut has a slip from an old sheet: every page about drives
// names it, links to it and answers for the others.
func TestPickupsThatCannotBeAreLeftOut(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	src := b.add(db.Sources, map[string]string{"name": "Harbour Tile"})
	slip := b.add(db.Pickups, map[string]string{"source": "Harbour Tile", "day": "2026-03-01", "distance": "20", "empty": "yes"})
	_, err := b.store.Pool().Exec(t.Context(), "UPDATE pickup SET distance_m = 4e7 WHERE id = $1", slip.ID)
	require.NoError(t, err)
	for _, path := range []string{"/sources", "/sources/" + src.ID.String(), "/drive", "/round", "/lookback"} {
		p := b.open(path)
		require.Contains(t, p.mainText(), "1 pickup cannot be true and is left out", path)
		require.Contains(t, p.mainText(), "look for a slipped digit or a wrong unit", path)
		require.Equal(t, "/pickups/"+slip.ID.String(), linkSaying(p, "Harbour Tile, 1 Mar 2026"), path)
	}
	require.NotNil(t, b.open("/sources").byID("next"))
	for _, path := range []string{"/sources.csv", "/charts/next.svg", "/charts/value.svg", "/sources/value.csv", "/sources/wood.csv", "/charts/trips/" + src.ID.String() + ".svg", "/sources/" + src.ID.String() + "/trips.csv"} {
		b.open(path)
	}
}
