package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
	"skepwood/db"
	"skepwood/server/browsertest"
)

// weighed asks about a board of spruce on the scales: 0.4 basic at 14 %.
func weighed(pairs ...string) url.Values {
	q := url.Values{"mass": {"1.25 kg"}, "thickness": {"19 mm"}, "width": {"140 mm"}, "length": {"1000 mm"}, "moisture": {"14"}}
	return with(q, pairs...)
}

func TestGuessIsAListWithProbabilities(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	p := b.open("/guess?" + weighed("country", "SE", "clue-odour", "resin", "clue-canals", "yes").Encode())
	// The page says what the function says.
	guess, err := moisture.NewGuess(moisture.GuessInput{
		Weighing: &moisture.Weighing{MassGrams: 1250, MassSD: 12.5, LengthMM: 1000, WidthMM: 140, ThicknessMM: 19, Moisture: 14},
		Clues:    []moisture.Clue{{Kind: moisture.ClueCanals, Answer: "yes"}, {Kind: moisture.ClueOdour, Answer: "resin"}},
		Country:  "SE",
	})
	require.NoError(t, err)
	require.Contains(t, p.mainText(), strconv.FormatFloat(guess.BasicGravity.Mean, 'f', 3, 64)+" ± "+strconv.FormatFloat(guess.BasicGravity.SD, 'f', 3, 64))
	require.Contains(t, p.mainText(), guess.Next[0].Ask)
	rows := p.all("td", "num")
	require.GreaterOrEqual(t, len(rows), 3)
	total := 0
	for _, cell := range rows {
		n, err := strconv.Atoi(strings.TrimSuffix(text(cell), " %"))
		require.NoError(t, err)
		total += n
	}
	require.InDelta(t, 100, total, 5, "the list sums to one but for rounding")
	require.InDelta(t, 100*guess.Shares[0].P, float64(percentOf(t, text(rows[0]))), 0.51)
	require.Contains(t, p.mainText(), "another wood, or one the table lacks")
	require.Contains(t, p.mainText(), "tangential")
	require.NotContains(t, p.mainText(), "Put it down", "there is no board to put it on")
	// Nothing asked: what comes first is the most telling clue.
	require.Contains(t, b.open("/guess").mainText(), "Look at this next")
}

func percentOf(t *testing.T, s string) int {
	n, err := strconv.Atoi(strings.TrimSuffix(s, " %"))
	require.NoError(t, err)
	return n
}

func TestWrongGuessesAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, try := range []struct{ field, value, says string }{
		{"mass", "heavy", "mass"}, {"mass", "0", "above 0"}, {"mass", "300 kg", "check units"}, {"mass_error", "much", "mass"},
		{"thickness", "", "fill it in"}, {"thickness", "5 apples", "5 1/2"}, {"width", "0", "above 0"}, {"length", "-1", "length"}, {"size_error", "big", "5 1/2"},
		{"moisture", "", "fill it in"}, {"moisture", "wet", "percent"}, {"moisture", "-3", "percent"}, {"moisture_error", "some", "percent"}, {"moisture_error", "30", "more than 20"},
		{"country", "Sweden", "two letters"}, {"country", "S3", "two letters"}, {"clue-odour", "of roses", "one answer"},
	} {
		p := b.get("/guess?" + weighed(try.field, try.value).Encode())
		require.Contains(t, b.refused(p, try.field), try.says, "%s = %q", try.field, try.value)
		if try.field != "clue-odour" {
			require.Equal(t, try.value, valueOf(p, try.field))
		}
		require.NotContains(t, p.mainText(), "What it may be")
	}
	for _, id := range []string{"1", "0198c5a0-0000-7000-8000-000000000000"} {
		require.Equal(t, http.StatusNotFound, b.get("/guess?board="+id).status)
	}
	require.Equal(t, http.StatusNotFound, b.post("/boards/0198c5a0-0000-7000-8000-000000000000/guess", nil).status)
}

// plusMinus finds the doubt of the newest reading on a board's page.
func plusMinus(t *testing.T, p *page) float64 {
	t.Helper()
	m := regexp.MustCompile(`Moisture ([0-9.]+) ± ([0-9.]+) %`).FindStringSubmatch(p.mainText())
	require.Len(t, m, 3, p.mainText())
	sd, err := strconv.ParseFloat(m[2], 64)
	require.NoError(t, err)
	return sd
}

func TestGuessIsPutDownOnItsBoard(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	path := "/boards/" + w.board.ID.String()
	blank := plusMinus(t, b.open(path))
	require.Contains(t, b.open(path).mainText(), "What wood is it?")
	// The mark's country, the board's sizes and its moisture stand there already.
	p := b.open("/guess?board=" + w.board.ID.String())
	require.Equal(t, "US", valueOf(p, "country"))
	require.NotEmpty(t, valueOf(p, "thickness"))
	require.NotEmpty(t, valueOf(p, "moisture"))
	require.Contains(t, p.mainText(), "not sure:")
	action := ""
	for _, f := range p.all("form", "") {
		if strings.HasPrefix(attr(f, "action"), path+"/guess") {
			action = attr(f, "action")
		}
	}
	require.NotEmpty(t, action)
	before := b.contents()
	require.Contains(t, b.refused(b.post(action, url.Values{"record-species": {"unsure"}}), "record-why"), "why")
	require.Equal(t, before, b.contents())

	p = b.stored(action, url.Values{"record-species": {"unsure"}, "record-why": {"only the mark to go by"}})
	require.Contains(t, p.mainText(), "Put down on the board.")
	require.Contains(t, p.mainText(), "not sure:")
	require.Contains(t, p.mainText(), "averaged over the species it may be")
	require.Contains(t, p.mainText(), "its ± holds their disagreement")
	unsure := plusMinus(t, p)
	require.LessOrEqual(t, unsure, blank, "a guess tells no less than nothing")
	require.Contains(t, text(p.byID("wood")), "pine", "the mark's country speaks for its pines")
	require.Contains(t, p.mainText(), "only the mark to go by", "the change stands in the history")

	p = b.stored(action, url.Values{"record-species": {"pine_ponderosa"}, "record-why": {"smelled of vanilla"}})
	require.Contains(t, p.mainText(), "ponderosa pine")
	require.Less(t, plusMinus(t, p), unsure, "a name tells more than a guess")
	require.NotContains(t, p.mainText(), "averaged over")
	require.Contains(t, b.stored(action, url.Values{"record-species": {"pine_ponderosa"}, "record-why": {"again"}}).mainText(), "Nothing was different")
	b.refused(b.post(action, url.Values{"record-species": {"unobtainium"}, "record-why": {"hm"}}), "record-species")
}

func TestPastOfTheSourceIsCounted(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	for range 6 {
		b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48", "species": "oak_white"})
	}
	p := b.open("/guess?board=" + w.board.ID.String())
	require.Contains(t, p.mainText(), "The source’s other boards: 6 white oak")
	require.Equal(t, "white oak", text(allIn(p.all("tbody", "")[0], "a", "")[0]), "its past leads the list")
}

// TestJourneyGuessAWood goes from the board to the guess and back.
func TestJourneyGuessAWood(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	phone := b.phone(browsertest.Options{})
	phone.Go("/boards/" + w.board.ID.String())
	phone.Tap("What wood is it?")
	phone.Type("mass", "1.3 kg")
	phone.Choose("clue-pores", "none")
	phone.Tap("Guess")
	require.Contains(t, phone.See("main"), "Basic specific gravity, weighed")
	first := phone.Texts("tbody th a")[0]
	phone.Type("record-why", "weighed in the kitchen")
	phone.Tap("Put it down on the board")
	require.Contains(t, phone.See("main"), "Put down on the board.")
	require.Contains(t, phone.See("main"), "not sure:")
	phone.Unfold("How each figure comes about")
	require.Contains(t, phone.See("main"), first+" alone would make it")
}
