package moisture

import (
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"time"

	"skepwood/analytics/wood"
)

// DryRow is one reading of a file of readings of a stack.
type DryRow struct {
	Line int
	// At is the time of the reading; for files that count days it is that many
	// days after DryFile.Epoch.
	At          time.Time
	Percent     float64
	TempC       *float64
	Species     string // species id, "" when not given
	ThicknessMM float64
}

// DryFile is a file of readings: one row for each, with a header.
type DryFile struct {
	Rows []DryRow
	// Dated says that the file has dates; else days are counted from Epoch.
	Dated bool
}

// Epoch is day zero of files that count days.
func Epoch() time.Time { return time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) }

// DryUnits says in which units bare numbers of a file of readings are.
type DryUnits struct {
	Temperature wood.TemperatureUnit
	Length      wood.Unit
}

// Bounds on a file of readings.
const (
	maxDryBytes = 4 << 20
	maxDays     = 36525
)

// dryColumns are the columns with the names they go by.
var dryColumns = []struct {
	name  string
	words []string
}{
	{"day", []string{"day", "days", "date", "time", "at"}},
	{"percent", []string{"percent", "%", "mc", "moisture", "reading", "raw", "value"}},
	{"temperature", []string{"temperature", "temp", "wood_temp", "wood temperature"}},
	{"species", []string{"species", "wood"}},
	{"thickness", []string{"thickness", "thick"}},
}

// ParseDryFile reads text of readings with a header: day (a number of days or a
// date such as 2026-03-14) and percent, and if wanted temperature, species and
// thickness. Names of species are those wood.FindSpecies knows. Every fault is
// an ErrDryFile that names the line.
func ParseDryFile(text string, units DryUnits) (DryFile, error) {
	if len(text) > maxDryBytes {
		return DryFile{}, fmt.Errorf("%w: more than %d MiB", ErrDryFile, maxDryBytes>>20)
	}
	text = strings.TrimPrefix(text, "\ufeff")
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = separatorOf(text)
	r.Comment = '#'
	r.TrimLeadingSpace = true
	// The header is read first, because a file without one would otherwise
	// lose its first reading silently.
	header, err := r.Read()
	if err != nil {
		return DryFile{}, fmt.Errorf("%w: the first line must name the columns day and percent", ErrDryFile)
	}
	p := dryParser{units: units}
	if err := p.header(header); err != nil {
		return DryFile{}, err
	}
	records, err := r.ReadAll()
	if err != nil {
		return DryFile{}, fmt.Errorf("%w: %w", ErrDryFile, err)
	}
	for i, record := range records {
		if err := p.row(i+2, record); err != nil {
			return DryFile{}, err
		}
	}
	if len(p.file.Rows) == 0 {
		return DryFile{}, fmt.Errorf("%w: there is no reading below the header", ErrDryFile)
	}
	return p.file, nil
}

// dryParser is the state of reading one file.
type dryParser struct {
	units  DryUnits
	column map[string]int
	file   DryFile
}

// header finds the columns.
func (p *dryParser) header(header []string) error {
	p.column = make(map[string]int)
	for i, cell := range header {
		name := strings.ToLower(strings.TrimSpace(cell))
		for _, c := range dryColumns {
			// The first column of a name wins; further ones are notes of the keeper.
			if _, taken := p.column[c.name]; !taken && namesColumn(name, c.words) {
				p.column[c.name] = i
				break
			}
		}
	}
	for _, need := range []string{"day", "percent"} {
		if _, ok := p.column[need]; !ok {
			return fmt.Errorf("%w: line 1 names no column %s (found %s)", ErrDryFile, need, shorten(strings.Join(header, ", ")))
		}
	}
	return nil
}

// namesColumn reports whether a heading is one of the words, perhaps with a
// unit behind it.
func namesColumn(name string, words []string) bool {
	for _, w := range words {
		if name == w || strings.HasPrefix(name, w+" ") || strings.HasPrefix(name, w+"(") || strings.HasPrefix(name, w+"_") {
			return true
		}
	}
	return false
}

// cell returns a column's text, "" when the file lacks it.
func (p *dryParser) cell(record []string, name string) string {
	i, ok := p.column[name]
	if !ok {
		return ""
	}
	// The reader has already refused rows of another length than the header.
	return strings.TrimSpace(record[i])
}

// row reads one reading.
func (p *dryParser) row(line int, record []string) error {
	fail := func(column string, err error) error {
		return fmt.Errorf("%w: line %d, %s: %w", ErrDryFile, line, column, err)
	}
	row := DryRow{Line: line}
	at, dated, err := dryDay(p.cell(record, "day"))
	if err != nil {
		return fail("day", err)
	}
	// Days and dates cannot be put on one clock.
	if len(p.file.Rows) > 0 && dated != p.file.Dated {
		return fail("day", fmt.Errorf("dates and numbers of days are mixed"))
	}
	row.At, p.file.Dated = at, dated
	if row.Percent, err = wood.ParsePercent(p.cell(record, "percent")); err != nil {
		return fail("percent", err)
	}
	if s := p.cell(record, "temperature"); s != "" {
		c, err := wood.ParseTemperature(s, p.units.Temperature)
		if err != nil {
			return fail("temperature", err)
		}
		v := float64(c)
		row.TempC = &v
	}
	// The name must be one species without doubt: a wrong species would skew
	// every correction after it.
	if s := p.cell(record, "species"); s != "" {
		species, err := wood.FindSpecies(s)
		if err != nil {
			return fail("species", err)
		}
		row.Species = species.ID
	}
	if s := p.cell(record, "thickness"); s != "" {
		l, err := wood.ParseLength(s, p.units.Length)
		if err != nil {
			return fail("thickness", err)
		}
		row.ThicknessMM = l.Millimetres()
	}
	p.file.Rows = append(p.file.Rows, row)
	return nil
}

// dryDay reads a number of days or a date.
func dryDay(s string) (at time.Time, dated bool, err error) {
	// A bare number is days since stickering, as the shop counts them.
	if day, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64); err == nil {
		if !(day >= 0 && day <= maxDays) {
			return time.Time{}, false, fmt.Errorf("%q is not a number of days from 0 to %d", shorten(s), maxDays)
		}
		return Epoch().Add(time.Duration(day * 24 * float64(time.Hour))), false, nil
	}
	for _, layout := range []string{"2006-01-02", "2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02T15:04:05", time.RFC3339} {
		// Without a zone the day is what matters, and UTC keeps it whole.
		if t, err := time.Parse(layout, s); err == nil && t.Year() > 1900 && t.Year() < 2200 {
			return t, true, nil
		}
	}
	return time.Time{}, false, fmt.Errorf("%q is neither a number of days nor a date such as 2026-03-14", shorten(s))
}
