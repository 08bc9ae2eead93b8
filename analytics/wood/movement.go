package wood

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
)

//go:embed data/dimension.csv
var dimensionCSV string

// Movement is how much one wood moves across the grain with its moisture.
type Movement struct {
	// Name is the common name, SpeciesID the species' id, empty for woods that
	// are in the coefficient table only.
	Name, SpeciesID string
	Group           Group
	Radial          Direction
	Tangential      Direction
	// Saturation is the moisture content, in percent, at which shrinkage
	// begins: 30, or 22 for redwood, western redcedar and northern white-cedar
	// (the values that make the published coefficients follow from the
	// published shrinkages, to the last digit).
	Saturation float64
	// Basis says in words which figures are published and which computed.
	Basis string
}

// Direction is the movement in one direction: Coefficient is the change in
// size per percent of moisture as a fraction of the size, valid between 6 and
// 14 %; Shrinkage is percent of the green size from green to oven-dry.
type Direction struct {
	Coefficient, Shrinkage Value
}

// Saturation of three woods that begin to shrink later.
const lateSaturation = 22.0

// lateShrinkers are those three woods, by species id and by the name of the
// coefficient table.
var lateShrinkers = []string{
	"redwood", "redcedar_western", "whitecedar_northern",
	"redwood, old growth", "redwood, second growth", "redcedar, western", "white-cedar, northern",
}

func saturationOf(names ...string) float64 {
	for _, n := range names {
		if slices.Contains(lateShrinkers, n) {
			return lateSaturation
		}
	}
	return FibreSaturation
}

// dimension is one row of the table of published coefficients (Wood Handbook
// table 13-5).
type dimension struct {
	name, speciesID    string
	group              Group
	radial, tangential Value
}

// dimensions parses the embedded table once.
var dimensions = sync.OnceValues(func() ([]dimension, error) {
	columns := strings.Fields("name species_id group c_radial c_tangential source status note")
	rows, err := csv.NewReader(strings.NewReader(dimensionCSV)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("coefficient table: %w", err)
	}
	var all []dimension
	for i, row := range rows[1:] {
		r := tableRow{columns: columns, cells: row}
		status := Status(r.text("status"))
		all = append(all, dimension{
			r.text("name"), r.text("species_id"), Group(r.text("group")),
			r.value("c_radial", status), r.value("c_tangential", status),
		})
		if r.err != nil {
			return nil, fmt.Errorf("coefficient table, row %d: %w", i+2, r.err)
		}
	}
	return all, nil
})

// CoefficientOf returns the dimensional change coefficient, per percent of
// moisture, of wood that shrinks by shrinkage percent from green to oven-dry
// and begins to at saturation percent: C = S/(F (100 - S (F - 10)/F)). It is
// the slope of eq. 13-3 at 10 %, and reproduces the published coefficients from
// the published shrinkages.
func CoefficientOf(shrinkage, saturation float64) float64 {
	return shrinkage / (saturation * (100 - shrinkage*(saturation-10)/saturation))
}

// ShrinkageOf is the inverse of CoefficientOf.
func ShrinkageOf(coefficient, saturation float64) float64 {
	return 100 * saturation * coefficient / (1 + coefficient*(saturation-10))
}

// direction completes a direction from what is published: each figure that is
// missing follows from the other.
func direction(coefficient, shrinkage Value, saturation float64) Direction {
	switch {
	case !coefficient.Known() && shrinkage.Known():
		coefficient = derive(shrinkage, func(s float64) float64 { return CoefficientOf(s, saturation) })
	case coefficient.Known() && !shrinkage.Known():
		shrinkage = derive(coefficient, func(c float64) float64 { return ShrinkageOf(c, saturation) })
	}
	return Direction{coefficient, shrinkage}
}

// derive computes a figure from another; f must rise.
func derive(v Value, f func(float64) float64) Value {
	return Value{f(v.Low), f(v.High), Weakest(v.Status, Derived)}
}

// Movement returns how much the species moves: the published coefficients
// where there are any, else those that follow from its shrinkage. With neither
// the error is ErrUnknown; MovementOfGroup then gives the bounds.
func (s Species) Movement() (Movement, error) {
	f := saturationOf(s.ID)
	m := Movement{Name: s.CommonName, SpeciesID: s.ID, Group: s.Group, Saturation: f}
	radial, tangential := s.ovenDry(s.Radial), s.ovenDry(s.Tangential)
	var cr, ct Value
	m.Basis = "coefficients computed from shrinkage"
	table, err := dimensions()
	if err != nil {
		return Movement{}, err
	}
	for _, d := range table {
		if d.speciesID == s.ID {
			cr, ct = d.radial, d.tangential
			m.Basis = "published coefficients and shrinkage"
		}
	}
	m.Radial = direction(cr, radial, f)
	m.Tangential = direction(ct, tangential, f)
	if !m.Radial.Coefficient.Known() || !m.Tangential.Coefficient.Known() {
		return Movement{}, fmt.Errorf("shrinkage of %s is %w: no published value was found", s.CommonName, ErrUnknown)
	}
	if s.ShrunkTo > 0 {
		m.Basis += ", itself carried on from 12 % to oven-dry"
	}
	return m, nil
}

// ovenDry carries a shrinkage that a source stops at ShrunkTo on to oven-dry,
// along eq. 4-7.
func (s Species) ovenDry(v Value) Value {
	if s.ShrunkTo == 0 || !v.Known() {
		return v
	}
	return derive(v, func(x float64) float64 { return x / dryness(s.ShrunkTo) })
}

// FindMovement returns the movement of the wood that a person means by name:
// of a species of the table as FindSpecies reads it, else of a wood that is in
// the coefficient table only ("black cherry", "walnut, black"). Errors are
// those of FindSpecies and Species.Movement.
func FindMovement(name string) (Movement, error) {
	if m, ok := movementByName(name); ok {
		return m, nil
	}
	s, err := FindSpecies(name)
	if err != nil {
		return Movement{}, err
	}
	return s.Movement()
}

// movementByName looks among woods without a row in the species table.
func movementByName(name string) (Movement, bool) {
	table, err := dimensions()
	if err != nil || len(name) > maxSpeciesQuery {
		return Movement{}, false
	}
	want := sortedWords(name)
	for _, d := range table {
		if d.speciesID == "" && slices.Equal(sortedWords(d.name), want) {
			f := saturationOf(d.name)
			return Movement{
				Name: d.name, Group: d.group, Saturation: f, Basis: "published coefficients, shrinkage computed from them",
				Radial: direction(d.radial, Value{}, f), Tangential: direction(d.tangential, Value{}, f),
			}, true
		}
	}
	return Movement{}, false
}

func sortedWords(name string) []string {
	return slices.Sorted(slices.Values(strings.Fields(foldName(name))))
}

// MovementOfGroup returns the bounds of movement over every wood of the tables
// in a group, or in both for an empty group: for a board whose species is not
// known. Low and High of each figure are the extremes of the table.
func MovementOfGroup(g Group) (Movement, error) {
	all, err := allMovements()
	if err != nil {
		return Movement{}, err
	}
	m := Movement{
		Name: "any " + string(g), Group: g, Saturation: FibreSaturation,
		Basis: "extremes of the published and computed coefficients of the tables",
	}
	if g == "" {
		m.Name = "any wood"
	}
	n := 0
	for _, one := range all {
		if g == "" || one.Group == g {
			m.Radial = m.Radial.widen(one.Radial)
			m.Tangential = m.Tangential.widen(one.Tangential)
			n++
		}
	}
	if n == 0 {
		return Movement{}, fmt.Errorf("group %.20q is %w: use softwood or hardwood", g, ErrUnknown)
	}
	return m, nil
}

// allMovements returns the movement of every wood that has one.
func allMovements() ([]Movement, error) {
	var all []Movement
	for _, s := range AllSpecies() {
		if m, err := s.Movement(); err == nil {
			all = append(all, m)
		}
	}
	table, err := dimensions()
	if err != nil {
		return nil, err
	}
	for _, d := range table {
		if d.speciesID == "" {
			if m, ok := movementByName(d.name); ok {
				all = append(all, m)
			}
		}
	}
	return all, nil
}

func (d Direction) widen(by Direction) Direction {
	return Direction{d.Coefficient.widen(by.Coefficient), d.Shrinkage.widen(by.Shrinkage)}
}

func (v Value) widen(by Value) Value {
	if !v.Known() {
		return by
	}
	return Value{math.Min(v.Low, by.Low), math.Max(v.High, by.High), Weakest(v.Status, by.Status)}
}
