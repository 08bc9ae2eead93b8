package wood

import (
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
	"sync"
)

// SourceNominal and SourceSoftwoodTally name where the softwood sizes and the
// trade's way of counting them come from, for showing beside a result.
const (
	SourceNominal       = "American Softwood Lumber Standard PS 20-20, sizes of boards and dimension (dry = 19 % or less)"
	SourceBoardFeet     = "thickness x width x length in inches / 144"
	SourceSoftwoodTally = "softwood trade: nominal thickness (at least 1 in) x nominal width x actual length / 144, " +
		"PS 20, from memory"
)

// Section is the thickness and width of a board.
type Section struct{ Thickness, Width Length }

// Seasoning is how wet softwood was when it was dressed to size.
type Seasoning string

// The two columns of the size table; dry is 19 % moisture or less.
const (
	Dry   Seasoning = "dry"
	Green Seasoning = "green"
)

// ErrNominal is returned, wrapped, for a size that is not in the softwood
// table.
var ErrNominal = errors.New("not a softwood size of PS 20")

//go:embed data/nominal.csv
var nominalCSV string

// nominalSize is one row of the table: a nominal size and what it measures.
type nominalSize struct{ nominal, dry, green Length }

func (n nominalSize) actual(s Seasoning) Length {
	if s == Green {
		return n.green
	}
	return n.dry
}

type nominalTable struct{ thickness, width []nominalSize }

// nominalSizes parses the embedded table once; it cannot fail on the file that
// is compiled in, which a test reads through.
var nominalSizes = sync.OnceValue(func() nominalTable {
	rows, err := csv.NewReader(strings.NewReader(nominalCSV)).ReadAll()
	if err != nil || len(rows) == 0 {
		return nominalTable{}
	}
	var t nominalTable
	for _, row := range rows[1:] {
		var v [3]Length
		for i := range v {
			v[i], _ = ParseLength(row[i+1], UnitInch)
		}
		size := nominalSize{v[0], v[1], v[2]}
		if row[0] == "width" {
			t.width = append(t.width, size)
		} else {
			t.thickness = append(t.thickness, size)
		}
	}
	return t
})

// ActualOf returns what softwood of the given nominal size measures when
// dressed: 1 by 6 in is 3/4 by 5 1/2 in dry. Sizes that are not in PS 20 are
// ErrNominal.
func ActualOf(nominal Section, s Seasoning) (Section, error) {
	t := nominalSizes()
	thick, ok := findNominal(t.thickness, nominal.Thickness)
	if !ok {
		return Section{}, fmt.Errorf("thickness %s is %w", nominal.Thickness.Format(UnitInch), ErrNominal)
	}
	wide, ok := findNominal(t.width, nominal.Width)
	if !ok {
		return Section{}, fmt.Errorf("width %s is %w", nominal.Width.Format(UnitInch), ErrNominal)
	}
	return Section{thick.actual(s), wide.actual(s)}, nil
}

func findNominal(sizes []nominalSize, nominal Length) (nominalSize, bool) {
	for _, n := range sizes {
		if n.nominal == nominal {
			return n, true
		}
	}
	return nominalSize{}, false
}

// NominalGuess is the softwood size that a measured board most likely is.
type NominalGuess struct {
	Nominal   Section
	Seasoning Seasoning
	// Off is by how much thickness and width measure more than the table's
	// size; negative is less.
	Off Section
}

// slack is how far a board may be from its table size and still be it: 1/16 in
// for the planer and the tape, and 3 % for swelling and shrinking since (about
// 12 points of moisture at the widest coefficient of common softwoods).
func slack(table Length) Length { return Inch/16 + table*3/100 }

// NominalOf guesses the nominal size of a softwood board from what it
// measures, dry or green, whichever is nearer over thickness and width
// together; dry wins a tie. A board that is off by more than 1/16 in and 3 % on
// either side is ErrNominal: rough-sawn wood and packaging often is, and counts
// by its actual size.
func NominalOf(actual Section) (NominalGuess, error) {
	var best NominalGuess
	var bestOff Length = -1
	t := nominalSizes()
	for _, s := range []Seasoning{Dry, Green} {
		thick, offT, okT := nearestNominal(t.thickness, actual.Thickness, s)
		wide, offW, okW := nearestNominal(t.width, actual.Width, s)
		if !okT || !okW {
			continue
		}
		off := max(offT, -offT) + max(offW, -offW)
		if bestOff < 0 || off < bestOff {
			bestOff = off
			best = NominalGuess{Section{thick.nominal, wide.nominal}, s, Section{offT, offW}}
		}
	}
	if bestOff < 0 {
		return NominalGuess{}, fmt.Errorf("%s by %s is %w: count it by its actual size",
			actual.Thickness.Format(UnitInch), actual.Width.Format(UnitInch), ErrNominal)
	}
	return best, nil
}

// nearestNominal returns the size nearest to actual, how much actual is over
// it, and whether that is within the slack.
func nearestNominal(sizes []nominalSize, actual Length, s Seasoning) (best nominalSize, off Length, ok bool) {
	for _, n := range sizes {
		d := actual - n.actual(s)
		if !ok || max(d, -d) < max(off, -off) {
			best, off, ok = n, d, true
		}
	}
	return best, off, ok && max(off, -off) <= slack(best.actual(s))
}

// SoftwoodBoardFeet counts one board as the softwood trade does: nominal
// thickness, taken as 1 in if less, times nominal width times actual length
// (PS 20, from memory). A dressed 3/4 by 5 1/2 in board counts as 1 by 6.
// Hardwood is counted by surface measure instead; boards out of packaging match
// neither rule, so show the volume by actual size beside it.
func SoftwoodBoardFeet(nominal Section, length Length) float64 {
	return VolumeOf(max(nominal.Thickness, Inch), nominal.Width, length).BoardFeet()
}
