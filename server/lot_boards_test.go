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

// TestLotWithManyBoards goes through the boards of a lot page by page, and opens
// boards by what is written on them.
func TestLotWithManyBoards(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	id, code := b.lotOf(231) // and the one that the lot has
	lot := "/lots/" + id.String()
	rows, err := b.store.LotBoards(t.Context(), id)
	require.NoError(t, err)
	require.Len(t, rows, 232)
	all := make([]string, 0, len(rows))
	for _, row := range rows {
		all = append(all, row.Code)
	}
	_, err = db.Boards.Correct(t.Context(), b.store, db.Edit{ID: rows[7].ID, Version: 1, Keeper: b.keeper.ID, Why: "burnt", Env: b.env}, map[string]string{"state": "broken", "label": "North 7"})
	require.NoError(t, err)

	shown := func(address string) (codes []string) {
		for _, table := range b.open(address).all("table", "stack") {
			for _, a := range allIn(table, "a", "") {
				if strings.Contains(text(table), "Looked at") && attr(a.Parent, "scope") == "row" && strings.HasPrefix(attr(a, "href"), "/boards/") {
					codes = append(codes, text(a))
				}
			}
		}
		return codes
	}
	steps := func(p *page) (words []string) {
		for _, a := range p.all("a", "button") {
			if strings.Contains(attr(a, "href"), "?boards=") {
				words = append(words, text(a))
			}
		}
		return words
	}
	first := b.open(lot)
	require.Contains(t, first.mainText(), "232 boards of it, 231 on the rack. Shown are 1 to 100, page 1 of 3")
	var seen []string
	for page := 1; page <= 3; page++ {
		seen = append(seen, shown(lot+"?boards="+strconv.Itoa(page))...)
	}
	require.Equal(t, all, seen, "every board stands on one page")
	require.Equal(t, all[200:], shown(lot+"?boards=last"))
	for _, odd := range []string{"99", "99999999999999999999", "4611686018427387904"} {
		require.Contains(t, []string{all[200], all[0]}, shown(lot + "?boards=" + odd)[0], odd)
	}
	for _, odd := range []string{"0", "-1", "two", ""} {
		require.Equal(t, all[:100], shown(lot+"?boards="+odd), odd)
	}
	require.Equal(t, []string{"Next boards", "Last boards"}, steps(first))
	require.Equal(t, []string{"First boards", "Last boards"}, steps(b.open(lot+"?boards=2")))

	find := func(text string) *page { return b.get(lot + "?find=" + url.QueryEscape(text)) }
	for _, c := range []struct{ typed, code string }{
		{all[150], all[150]}, {" " + all[231] + " ", all[231]}, {"8", code + "-8"}, {"North 7", all[7]},
	} {
		p := find(c.typed)
		require.Equal(t, http.StatusSeeOther, p.status, c.typed)
		found, err := b.store.BoardByCode(t.Context(), c.code)
		require.NoError(t, err)
		require.Equal(t, "/boards/"+found.String(), p.header.Get("Location"), c.typed)
	}
	for typed, says := range map[string]string{"": "is missing; write the code", "9999": "no board has this code", "ZZZZZ-1": "no board has this code", long(301): "no board has this code"} {
		require.Contains(t, b.refused(find(typed), "find"), says, typed)
	}
	require.Equal(t, "9999", valueOf(find("9999"), "find"))

	// A tap on all of them reaches those that the page does not show.
	require.Equal(t, http.StatusSeeOther, b.post(lot+"/marks", url.Values{"mark": {"metal=clean"}}).status)
	var swept int
	require.NoError(t, b.store.Pool().QueryRow(t.Context(), "SELECT count(*) FROM board WHERE metal = 'clean'").Scan(&swept))
	require.Equal(t, 231, swept)
}

// TestManyBoardsLeftAsTheyAre names some of the boards that a tap left alone,
// and counts the rest.
func TestManyBoardsLeftAsTheyAre(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	id, _ := b.lotOf(30)
	_, err := b.store.Pool().Exec(t.Context(), "UPDATE board SET metal = 'found'")
	require.NoError(t, err)
	rows, err := b.store.LotBoards(t.Context(), id)
	require.NoError(t, err)
	for _, row := range rows {
		b.add(db.Defects, map[string]string{"board": row.Code, "kind": "nail_hole", "face": "both", "x": "1", "y": "1", "dx": "1/4", "dy": "1/4", "metal": "yes"})
	}
	said := b.stored("/lots/"+id.String()+"/marks", url.Values{"mark": {"metal=clean"}}).mainText()
	_, said, found := strings.Cut(said, "0 boards changed. Left as they are, because metal is written down on them: ")
	require.True(t, found)
	named, _, found := strings.Cut(said, " and 11 more.")
	require.True(t, found, said)
	require.Len(t, strings.Split(named, ", "), 20)
}
