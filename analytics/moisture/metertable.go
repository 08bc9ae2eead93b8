package moisture

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
)

//go:embed data/meter.csv
var meterCSV string

// MeterRow is one row of the embedded meter table, as published or derived.
type MeterRow struct {
	Kind    string // "resistance", "species_reading", "temperature_rule"…
	Species string // as the source prints it
	MC      float64
	TempC   float64
	Reading float64
	Value   float64 // NaN where the table holds words
	Text    string  // Value as printed
	Unit    string
	Source  string
	Status  string
	Note    string
}

// MeterTable returns every row of the embedded meter table, for showing beside
// a result; numbers that the table leaves empty are NaN.
func MeterTable() ([]MeterRow, error) {
	rows, err := meterRows()
	return slices.Clone(rows), err
}

var meterRows = sync.OnceValues(func() ([]MeterRow, error) { return parseMeter(meterCSV) })

// parseMeter reads the meter table; errors name the line.
func parseMeter(text string) ([]MeterRow, error) {
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("meter table: %w", err)
	}
	const columns = "kind,species,mc_pct,temp_c,reading_pct,value,unit,source,status,note"
	if len(records) == 0 || strings.Join(records[0], ",") != columns {
		return nil, fmt.Errorf("meter table: the columns are not %s", columns)
	}
	var rows []MeterRow
	for i, c := range records[1:] {
		// Columns in the order of the header, which was compared above.
		row := MeterRow{
			Kind: c[0], Species: c[1], MC: number(c[2]), TempC: number(c[3]), Reading: number(c[4]),
			Value: number(c[5]), Text: c[5], Unit: c[6], Source: c[7], Status: c[8], Note: c[9],
		}
		// Only these rows are computed with; the others are shown or tested.
		if row.Kind == "resistance" && (math.IsNaN(row.MC) || !(row.Value > 0)) {
			return nil, fmt.Errorf("meter table, row %d: a resistance row needs moisture and megohms", i+2)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// number reads a cell, NaN when it holds none.
func number(cell string) float64 {
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// referenceRow is the row the Douglas-fir scale of meters is made from.
const referenceRow = "Douglas-fir (coast)"

// resistanceRow is one species' column of the resistance table: the natural
// logarithm of megohms at whole percents.
type resistanceRow struct {
	mc, logR []float64
}

// logAt returns ln megohms at moisture mc, log-linear between the published
// percents and beyond them with the slope of the outermost two.
func (r resistanceRow) logAt(mc float64) float64 { return interpolate(r.mc, r.logR, mc) }

// mcAt is the inverse of logAt; resistance falls as moisture rises.
func (r resistanceRow) mcAt(logR float64) float64 {
	// A search from the dry end: eighteen steps at most, in one cache line or
	// two.
	i := 1
	for i < len(r.mc)-1 && logR < r.logR[i] {
		i++
	}
	return r.mc[i-1] + (logR-r.logR[i-1])*(r.mc[i]-r.mc[i-1])/(r.logR[i]-r.logR[i-1])
}

// interpolate is linear between the points (x ascending), beyond them with the
// slope of the outermost two.
func interpolate(x, y []float64, at float64) float64 {
	i := 1
	for i < len(x)-1 && at > x[i] {
		i++
	}
	return y[i-1] + (at-x[i-1])*(y[i]-y[i-1])/(x[i]-x[i-1])
}

// resistanceRows collects the resistance table by species.
func resistanceRows() map[string]resistanceRow {
	// The table is compiled in and read through by a test.
	all, _ := meterRows()
	rows := make(map[string]resistanceRow)
	for _, m := range all {
		if m.Kind != "resistance" {
			continue
		}
		r := rows[m.Species]
		// The logarithm is nearly straight in the moisture, the resistance is not.
		r.mc, r.logR = append(r.mc, m.MC), append(r.logR, math.Log(m.Value))
		rows[m.Species] = r
	}
	return rows
}
