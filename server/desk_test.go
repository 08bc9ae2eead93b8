package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	sums "skepwood/analytics/wood"
	"skepwood/db"
)

// ask opens the desk with one question.
func (b *bench) ask(tool string, pairs ...string) *page {
	b.Helper()
	q := url.Values{"ask": {tool}}
	for i := 0; i < len(pairs); i += 2 {
		q.Set(tool+"-"+pairs[i], pairs[i+1])
	}
	return b.get("/desk?" + q.Encode())
}

// answer is the text of the answers on a page.
func (p *page) answer() string {
	var all []string
	for _, n := range p.all("dl", "answer") {
		all = append(all, text(n))
	}
	return strings.Join(all, " ")
}

func TestDeskAnswersAsTheFunctionsDo(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	require.Empty(t, b.open("/desk").answer(), "nothing was asked")
	for _, try := range []struct {
		tool   string
		typed  []string
		answer string
		source string
	}{
		// The handbook's table: 70 °F and 65 % keep wood at 12.0 %.
		{"air", []string{"temperature", "70 F", "humidity", "65"}, "12.0 %", sums.SourceEMC},
		{"air", []string{"temperature", "20 C", "dew_point", "20 C"}, "relative humidity 100.0 %", sums.SourceMagnus},
		{"air", []string{"temperature", "68 F", "wet_bulb", "62 F"}, "wet bulb", sums.SourcePsychrometer},
		{"air", []string{"temperature", "20 C", "moisture", "12"}, "relative humidity 65.0 %", sums.SourceEMC},
		{"density", []string{"species", "white ash", "moisture", "12"}, "669 kg/m³", sums.SourceDensity},
		{"density", []string{"mass", "2 lb", "moisture", "12", "thickness", "3/4", "width", "5 1/2", "length", "48"}, "without water", sums.SourceDensity},
		// 232 mm white fir from 8 to 11 %: 233.7 mm, Wood Handbook's example.
		{"resize", []string{"species", "white fir", "width", "232 mm", "grain", "flat", "from", "8", "to", "11"}, "233.7", sums.SourceCoefficient},
		{"resize", []string{"width", "9 1/4", "from", "16", "to", "9"}, "worst", ""},
		{"resize", []string{"width", "9 1/4", "from", "16", "to", "9", "wanted", "then"}, "cut now", ""},
		{"feet", []string{"thickness", "1", "width", "6", "length", "96"}, "4.00 board feet", sums.SourceBoardFeet},
		{"feet", []string{"thickness", "1", "width", "8", "length", "120", "count", "3", "nominal", "nominal"}, "20.00 board feet as nominal", sums.SourceSoftwoodTally},
		{"oven", []string{"wet", "98.55 g", "dry", "82.1 g"}, "20.0 % of oven-dry mass", sums.SourceOvenDry},
		{"oven", []string{"sample", "3.3 kg", "section1", "60", "section2", "70", "now", "2.4 kg"}, "Calculated oven-dry mass 2.000 kg", sums.SourceKilnSample},
		{"oven", []string{"wet_basis", "16.6667"}, "20.0 % of oven-dry mass", sums.SourceWetBasis},
	} {
		p := b.ask(try.tool, try.typed...)
		require.Equal(t, http.StatusOK, p.status, "%s %v: %s", try.tool, try.typed, p.mainText())
		require.Contains(t, p.answer(), try.answer, "%s %v", try.tool, try.typed)
		require.Contains(t, p.mainText(), "Source: ", "%s %v", try.tool, try.typed)
		require.Contains(t, p.mainText(), strings.Join(strings.Fields(try.source), " "), "%s %v", try.tool, try.typed)
		for i := 0; i < len(try.typed); i += 2 {
			require.Equal(t, try.typed[i+1], value(p.byID(try.tool+"-"+try.typed[i])), "what was typed stays")
		}
	}
}

func TestDeskPutsFaultsBesideTheirField(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for _, try := range []struct {
		tool  string
		typed []string
		field string
		says  string
	}{
		{"air", nil, "temperature", "fill it in"},
		{"air", []string{"temperature", "warm", "humidity", "65"}, "temperature", "write it like"},
		{"air", []string{"temperature", "20 C"}, "humidity", "exactly one"},
		{"air", []string{"temperature", "20 C", "humidity", "150"}, "humidity", "out of range"},
		{"air", []string{"temperature", "20 C", "dew_point", "25 C"}, "dew_point", "out of range"},
		{"air", []string{"temperature", "20 C", "wet_bulb", "25 C"}, "wet_bulb", "out of range"},
		{"air", []string{"temperature", "20 C", "moisture", "60"}, "moisture", "out of range"},
		{"air", []string{"temperature", "900 C", "humidity", "60"}, "temperature", ""},
		{"density", []string{"species", "plastic", "moisture", "12"}, "species", ""},
		{"density", []string{"species", "white ash", "moisture", "300"}, "moisture", "out of range"},
		{"density", []string{"species", "white ash", "moisture", "12", "width", "5"}, "thickness", "none of them"},
		{"density", []string{"mass", "1 kg", "moisture", "12"}, "mass", "give thickness"},
		{"density", []string{"moisture", "12"}, "species", "give a species"},
		{"density", []string{"mass", "heavy", "moisture", "12"}, "mass", "write it like"},
		{"resize", []string{"from", "16", "to", "9"}, "width", "give a width"},
		{"resize", []string{"from", "16", "to", "900", "width", "5"}, "to", "out of range"},
		{"resize", []string{"from", "16", "to", "9", "width", "5", "species", "sugi"}, "species", ""},
		{"resize", []string{"from", "16", "to", "9", "width", "5", "grain", "curly"}, "grain", ""},
		{"feet", []string{"thickness", "1", "width", "6"}, "length", "fill it in"},
		{"feet", []string{"thickness", "1", "width", "6", "length", "8 ft", "count", "many"}, "count", "whole number"},
		{"feet", []string{"thickness", "1", "width", "6", "length", "8 ft", "count", "2000000"}, "count", "give a count"},
		{"feet", []string{"thickness", "1", "width", "13", "length", "8 ft", "nominal", "nominal"}, "nominal", ""},
		{"oven", nil, "wet", "give either"},
		{"oven", []string{"wet", "5 g", "dry", "6 g"}, "dry", "out of range"},
		{"oven", []string{"wet_basis", "99"}, "wet_basis", "out of range"},
		{"oven", []string{"sample", "3 kg", "now", "2 kg"}, "section1", ""},
		{"oven", []string{"moisture", "500"}, "moisture", "out of range"},
		{"oven", []string{"moisture", strings.Repeat("9", 5000)}, "moisture", "long"},
	} {
		p := b.ask(try.tool, try.typed...)
		require.Contains(t, b.refused(p, try.tool+"-"+try.field), try.says, "%s %v", try.tool, try.typed)
		require.Empty(t, p.answer(), "%s %v", try.tool, try.typed)
	}
}

func TestSpeciesShowEachFigureWithItsStatus(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	all := b.open("/species")
	require.Len(t, all.all("tr", ""), len(sums.AllSpecies())+1)
	require.Contains(t, all.mainText(), "from memory, not read on any page")
	some := b.open("/species?find=eastern+white")
	require.Contains(t, some.mainText(), "1 wood for")
	require.Contains(t, b.open("/species?find=plastic").mainText(), "No wood of the table")
	for _, s := range sums.AllSpecies() {
		p := b.open("/species/" + s.ID)
		require.Equal(t, s.CommonName, p.title())
		require.Contains(t, p.mainText(), "Source: ", s.ID)
	}
	require.Equal(t, http.StatusNotFound, b.get("/species/plastic").status)
}

func TestSpeciesShowsWhatOwnBoardsMeasured(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	path := "/species/pine_eastern_white"
	require.Contains(t, b.open(path).mainText(), "no board of this wood yet")
	var struck db.Entry
	for i, raw := range []string{"12", "13", "14", "38", ""} {
		board := b.add(db.Boards, map[string]string{"lot": w.lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48", "species": "pine_eastern_white"})
		if raw != "" {
			b.add(db.Readings, map[string]string{"board": board.Values["code"], "raw": raw, "temperature": "70 F", "taken": "2026-03-02 10:00"})
		}
		if i == 4 {
			struck = board
		}
	}
	p := b.open(path)
	require.Contains(t, p.mainText(), "Boards in the book 5")
	require.Contains(t, p.mainText(), "Measured 3 boards; 1 outside the meter's range")
	require.Regexp(t, `Mean moisture 1[2-6]\.\d % \(\d+\.\d to \d+\.\d with 90 %\)`, p.mainText())
	require.NoError(t, db.Boards.Strike(t.Context(), b.store, db.Edit{ID: struck.ID, Version: 1, Keeper: b.keeper.ID, Why: "twice", Env: b.env}))
	require.Contains(t, b.open(path).mainText(), "Boards in the book 4")
	require.Contains(t, b.open("/species?find=eastern+white").mainText(), "4")
}
