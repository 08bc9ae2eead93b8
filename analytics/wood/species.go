package wood

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Status says how well a figure of the tables is known.
type Status string

// The statuses, best first. Empty means that there is no figure.
const (
	// Checked: two sources agree.
	Checked Status = "checked"
	// Read: read on one page.
	Read Status = "read"
	// Derived: computed from other figures.
	Derived Status = "derived"
	// FromMemory: recalled, not read on any page.
	FromMemory Status = "memory"
	// Mixed: a row whose fields differ; see theirs.
	Mixed Status = "mixed"
	// NotFound: looked for and not found.
	NotFound Status = "not_found"
)

// statusOrder ranks statuses from best to worst.
var statusOrder = []Status{Checked, Read, Derived, Mixed, FromMemory, NotFound}

// Weakest returns the least trustworthy of the statuses given; empty ones do
// not count, and with no others the result is empty.
func Weakest(statuses ...Status) Status {
	worst := -1
	for _, s := range statuses {
		worst = max(worst, slices.Index(statusOrder, s))
	}
	if worst < 0 {
		return ""
	}
	return statusOrder[worst]
}

// Value is a figure of the tables with its status. Some sources print a range;
// Low and High then differ.
type Value struct {
	Low, High float64
	Status    Status
}

// Known reports whether the tables hold the figure.
func (v Value) Known() bool { return v.Low > 0 }

// Mid returns the figure, or the middle of its range.
func (v Value) Mid() float64 { return (v.Low + v.High) / 2 }

// Group tells the two great groups of woods apart.
type Group string

// Softwoods are conifers, hardwoods are broadleaved trees.
const (
	Softwood Group = "softwood"
	Hardwood Group = "hardwood"
)

// Species is one row of the species table: a species, or a group that the
// trade sells as one.
type Species struct {
	ID, CommonName, ScientificName string
	Group                          Group
	// Origins are ISO 3166 alpha-2 codes of the countries it is shipped from.
	Origins []string
	Region  string

	// BasicSG is oven-dry mass over green volume, SG12 over the volume at 12 %
	// moisture; Density12 is in kg/m³ at 12 %, water included.
	BasicSG, SG12, Density12 Value
	// Radial, Tangential and Volumetric are shrinkages in percent of the green
	// size, down to the moisture content ShrunkTo: 0, oven-dry, for all but a
	// few whose sources give 12 %.
	Radial, Tangential, Volumetric Value
	ShrunkTo                       float64

	// ResinCanals, Pores ("none", "diffuse", "ring"), HeartwoodColour and Odour
	// are clues for telling species apart; CluesStatus is theirs.
	ResinCanals     bool
	Pores           string
	HeartwoodColour string
	Odour           string
	CluesStatus     Status

	// DecayClass is the heartwood's resistance to decay in the words of its
	// source: USDA groups, EN 350 or Australian classes, which are not
	// interchangeable. No species' sapwood resists.
	DecayClass  string
	DecayStatus Status

	// Source holds keys of Citation in brackets. Status is the row's as a whole.
	Source string
	Status Status
	Note   string
}

//go:embed data/species.csv
var speciesCSV string

// speciesTable parses the embedded table once.
var speciesTable = sync.OnceValues(func() ([]Species, error) { return parseSpecies(speciesCSV) })

// AllSpecies returns the whole table in its own order; the caller may keep it.
func AllSpecies() []Species {
	// The table is compiled in and read through by a test, so that its error
	// cannot occur in a built program.
	all, _ := speciesTable()
	all = slices.Clone(all)
	for i := range all {
		all[i].Origins = slices.Clone(all[i].Origins)
	}
	return all
}

// SpeciesByID returns the species with exactly this id, such as
// "pine_eastern_white", else a *SpeciesError.
func SpeciesByID(id string) (Species, error) {
	// Recomputing a whole book asks for every reading: no copy of the table.
	all, _ := speciesTable()
	for i := range all {
		if all[i].ID == id {
			s := all[i]
			s.Origins = slices.Clone(s.Origins)
			return s, nil
		}
	}
	return Species{}, &SpeciesError{Query: shorten(id), Reason: "no species has this id"}
}

// speciesColumns are the columns of data/species.csv that are read.
var speciesColumns = strings.Fields(`id common_name scientific_name group origin_iso2 region
	sg_basic sg_basic_status sg_12 sg_12_status density_12_kgm3
	shrink_radial_pct shrink_tangential_pct shrink_volumetric_pct shrink_status
	resin_canals pores heartwood_colour odour decay_class decay_status clues_status source status note`)

// parseSpecies reads the table; errors name the row.
func parseSpecies(text string) ([]Species, error) {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("species table: %w", err)
	}
	if len(rows) == 0 || !slices.Equal(rows[0], speciesColumns) {
		return nil, fmt.Errorf("species table: the columns are not %s", strings.Join(speciesColumns, ","))
	}
	var all []Species
	for i, row := range rows[1:] {
		r := tableRow{columns: speciesColumns, cells: row}
		s := r.species()
		if r.err != nil {
			return nil, fmt.Errorf("species table, row %d: %w", i+2, r.err)
		}
		all = append(all, s)
	}
	return all, nil
}

// tableRow reads cells by column name and keeps the first error.
type tableRow struct {
	columns, cells []string
	err            error
}

func (r *tableRow) text(column string) string {
	return r.cells[slices.Index(r.columns, column)]
}

// value reads "0.35" or a range "4.0-4.7"; an empty cell is no figure and has
// no status.
func (r *tableRow) value(column string, status Status) Value {
	cell := r.text(column)
	if cell == "" {
		return Value{}
	}
	low, high, ranged := strings.Cut(cell, "-")
	if !ranged {
		high = low
	}
	v := Value{Status: status}
	for _, p := range []struct {
		text string
		to   *float64
	}{{low, &v.Low}, {high, &v.High}} {
		x, err := strconv.ParseFloat(p.text, 64)
		if (err != nil || x <= 0) && r.err == nil {
			r.err = fmt.Errorf("%s %q is not a number above 0", column, cell)
		}
		*p.to = x
	}
	return v
}

func (r *tableRow) species() Species {
	shrink := Status(r.text("shrink_status"))
	sg12 := Status(r.text("sg_12_status"))
	if sg12 == "" || sg12 == Derived {
		// Where the source prints a density and no specific gravity, the
		// density has the row's own status.
		sg12 = Status(r.text("status"))
	}
	s := Species{
		ID: r.text("id"), CommonName: r.text("common_name"), ScientificName: r.text("scientific_name"),
		Group: Group(r.text("group")), Origins: strings.Fields(r.text("origin_iso2")), Region: r.text("region"),
		BasicSG:    r.value("sg_basic", Status(r.text("sg_basic_status"))),
		SG12:       r.value("sg_12", Status(r.text("sg_12_status"))),
		Density12:  r.value("density_12_kgm3", sg12),
		Radial:     r.value("shrink_radial_pct", shrink),
		Tangential: r.value("shrink_tangential_pct", shrink),
		Volumetric: r.value("shrink_volumetric_pct", shrink),

		ResinCanals: r.text("resin_canals") == "y", Pores: r.text("pores"),
		HeartwoodColour: r.text("heartwood_colour"), Odour: r.text("odour"),
		CluesStatus: Status(r.text("clues_status")),
		DecayClass:  r.text("decay_class"), DecayStatus: Status(r.text("decay_status")),
		Source: r.text("source"), Status: Status(r.text("status")), Note: r.text("note"),
	}
	if strings.Contains(s.Note, "shrinkage is green to 12% MC") {
		s.ShrunkTo = 12
	}
	return s
}
