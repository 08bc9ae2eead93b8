package server

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// speciesPage is the table of woods with the status of each figure.
type speciesPage struct {
	base
	Find    string
	Species []speciesRow
}

// speciesRow is one wood with how many of its boards the book has.
type speciesRow struct {
	wood.Species
	Boards int
}

// speciesOnePage is one wood: its figures with status and source, and what
// the book's own boards of it measured.
type speciesOnePage struct {
	base
	Species wood.Species
	Facts   []speciesFact
	Sources []string
	Own     db.SpeciesBoards
	// Measured says the mean of the boards with its interval.
	Measured string
	// Newest are the boards measured last, Dried the stacks of this wood alone.
	Newest []db.StockBoard
	Dried  []dried
}

// speciesFact is one field with its status.
type speciesFact struct {
	Label, Value string
	Status       wood.Status
}

func (a *app) speciesList(w http.ResponseWriter, r *http.Request) error {
	page := &speciesPage{base: a.base(r, "Species"), Find: strings.TrimSpace(r.URL.Query().Get("find"))}
	counts, err := a.store.SpeciesCounts(r.Context())
	if err != nil {
		return err
	}
	find := strings.ToLower(page.Find)
	for _, s := range wood.AllSpecies() {
		words := strings.ToLower(strings.Join([]string{s.ID, s.CommonName, s.ScientificName, s.Note}, " "))
		if strings.Contains(words, find) {
			page.Species = append(page.Species, speciesRow{s, counts[s.ID]})
		}
	}
	return a.show(w, "species_list", page)
}

func (a *app) speciesShow(w http.ResponseWriter, r *http.Request) error {
	s, err := wood.SpeciesByID(chi.URLParam(r, "id"))
	if err != nil {
		return &statusError{http.StatusNotFound, "There is no such wood in the species table."}
	}
	page := &speciesOnePage{base: a.base(r, s.CommonName), Species: s, Facts: speciesFacts(s), Sources: wood.Citations(s.Source)}
	if page.Own, err = a.store.SpeciesBoards(r.Context(), s.ID); err != nil {
		return err
	}
	if err := a.loadOwn(r.Context(), page); err != nil {
		return err
	}
	if len(page.Own.Percents) > 0 {
		mean, span, err := moisture.MeanOf(page.Own.Percents, 0.9)
		if err != nil {
			return err
		}
		page.Measured = meanText(mean, span)
	}
	return a.show(w, "species_show", page)
}

// meanText prints a mean of boards, never without how sure it is.
func meanText(mean moisture.Estimate, span moisture.Interval) string {
	if math.IsNaN(span.Low) {
		return fmt.Sprintf("%.1f %% (one board: too few to say how sure)", mean.Mean)
	}
	return fmt.Sprintf("%.1f %% (%.1f to %.1f with 90 %%)", mean.Mean, span.Low, span.High)
}

func speciesFacts(s wood.Species) []speciesFact {
	facts := []speciesFact{
		{"Basic specific gravity", valueText(s.BasicSG, ""), s.BasicSG.Status},
		{"Specific gravity at 12 %", valueText(s.SG12, ""), s.SG12.Status},
		{"Density at 12 %", valueText(s.Density12, " kg/m³"), s.Density12.Status},
		{"Radial shrinkage", valueText(s.Radial, " %"), s.Radial.Status},
		{"Tangential shrinkage", valueText(s.Tangential, " %"), s.Tangential.Status},
		{"Shrinkage in volume", valueText(s.Volumetric, " %"), s.Volumetric.Status},
		{"Heartwood's resistance to decay", s.DecayClass, s.DecayStatus},
		{"Heartwood colour", s.HeartwoodColour, s.CluesStatus},
		{"Odour", s.Odour, s.CluesStatus},
		{"Pores", s.Pores, s.CluesStatus},
		{"Resin canals", map[bool]string{true: "yes", false: "no"}[s.ResinCanals], s.CluesStatus},
	}
	for i := range facts {
		if facts[i].Value == "" {
			facts[i] = speciesFact{facts[i].Label, "no published figure found", ""}
		}
	}
	return facts
}

// valueText prints a figure of the tables or its range; empty where there is
// none.
func valueText(v wood.Value, unit string) string {
	print := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	switch {
	case !v.Known():
		return ""
	case v.Low != v.High:
		return print(v.Low) + " to " + print(v.High) + unit
	}
	return print(v.Low) + unit
}

// statusText says how well a figure is known, whichever table it is from.
func statusText(status any) string {
	switch s := wood.Status(fmt.Sprint(status)); s {
	case wood.Checked:
		return "two sources agree"
	case wood.Read:
		return "read on one page"
	case wood.Derived:
		return "worked out from other figures"
	case wood.FromMemory:
		return "from memory, not read on any page"
	case wood.Mixed:
		return "differs from field to field"
	case wood.NotFound:
		return "looked for and not found"
	case moisture.StatusCommon:
		return "common practice, no source"
	}
	return ""
}
