package yield

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
)

// sheetUnits turn the figures of a sheet into those of a Pickup.
type sheetUnits struct {
	volume, distance     float64 // m³ and miles for one unit
	currency             string
	comma                bool // decimal comma
	dayFirst, monthFirst bool
	until                time.Time
}

// units checks the options and turns them into factors.
func (o SheetOptions) units() (sheetUnits, error) {
	u := sheetUnits{currency: o.Currency, dayFirst: o.DayFirst, monthFirst: o.MonthFirst, until: o.Until}
	volumes := map[string]float64{"": 1, "m3": 1, "bf": CubicMetresPerBoardFoot, "ft3": 12 * CubicMetresPerBoardFoot, "l": 0.001}
	distances := map[string]float64{"": 1, "mile": 1, "km": 1 / 1.609344}
	var ok bool
	if u.volume, ok = volumes[strings.ToLower(o.Volume)]; !ok {
		return u, fmt.Errorf("%w: volumes in %q: use m3, bf, ft3 or l", ErrOption, o.Volume)
	}
	if u.distance, ok = distances[strings.ToLower(o.Distance)]; !ok {
		return u, fmt.Errorf("%w: distances in %q: use mile or km", ErrOption, o.Distance)
	}
	if u.currency == "" {
		u.currency = "USD"
	}
	if !ValidCurrency(u.currency) {
		return u, fmt.Errorf("%w: currency %q: use three capital letters such as USD", ErrOption, o.Currency)
	}
	if o.DayFirst && o.MonthFirst {
		return u, fmt.Errorf("%w: dates cannot have both day and month first", ErrOption)
	}
	return u, nil
}

// unguard undoes what exports do to cells that a spreadsheet would run: it takes off the apostrophe that keeps spreadsheets from running a cell.
func unguard(cell string) string {
	if len(cell) > 1 && cell[0] == '\'' && strings.ContainsRune("=+-@", rune(cell[1])) {
		return cell[1:]
	}
	return cell
}

// text refuses control characters and what is too long for a name.
func (s *sheetReader) text(column string) string {
	cell := s.cell(column)
	if strings.ContainsFunc(cell, unicode.IsControl) {
		s.fault(column, cell, "a control character", "type the name again")
	}
	if len(cell) > 200 {
		s.fault(column, cell, "longer than 200 bytes", "shorten the name")
	}
	return cell
}

// name is a text that must be there.
func (s *sheetReader) name(column string) string {
	if s.cell(column) == "" {
		s.fault(column, "", "no "+column, "name the place")
	}
	return s.text(column)
}

// number reads a decimal number of zero or more; a blank is 0.
func (s *sheetReader) number(column string) (float64, bool) {
	x, ok := s.signed(column)
	if ok && x < 0 {
		s.fault(column, s.cell(column), "negative", "enter zero or more")
		return 0, false
	}
	return x, ok
}

// signed reads a decimal number; a blank is 0.
func (s *sheetReader) signed(column string) (float64, bool) {
	cell := s.cell(column)
	if cell == "" {
		return 0, true
	}
	text := cell
	if s.units.comma {
		text = strings.Replace(text, ",", ".", 1)
	}
	x, err := strconv.ParseFloat(text, 64)
	// ParseFloat also takes exponents, hexadecimal, Inf and NaN: nobody means them.
	plain := strings.Trim(text, "-0123456789.") == ""
	if err == nil && plain {
		return x, true
	}
	help := "write it in digits, such as 12.5, without a unit"
	if s.units.comma {
		help = "write it in digits, such as 12,5, without a unit"
	}
	s.fault(column, cell, "not a number", help)
	return 0, false
}

// amount reads a number in a unit and refuses what is absurd.
func (s *sheetReader) amount(column string, unit, most float64) float64 {
	x, ok := s.number(column)
	if ok && x*unit > most {
		s.fault(column, s.cell(column), fmt.Sprintf("more than %.6g", most/unit), "look for a slipped digit or a wrong unit")
		return 0
	}
	return x * unit
}

// whole reads a count.
func (s *sheetReader) whole(column string) int {
	x, ok := s.number(column)
	if ok && (x != math.Trunc(x) || x > 100_000) {
		s.fault(column, s.cell(column), "not a whole number up to 100,000", "count the lots")
		return 0
	}
	return int(x)
}

// cash is counted in whole coins from the sheet on, so that sums are exact. It reads an amount in major units with no more digits than the currency has.
func (s *sheetReader) cash(column string) Money {
	cell := s.cell(column)
	x, ok := s.number(column)
	if !ok || x == 0 {
		return Money{}
	}
	minor := x * MinorPerMajor(s.units.currency)
	switch {
	case minor > 1e12:
		s.fault(column, cell, "more than any pickup costs", "look for a slipped digit")
	case math.Abs(minor-math.Round(minor)) > 1e-6:
		s.fault(column, cell, "a part of the smallest coin", "round it")
	default:
		return Money{Minor: int64(math.Round(minor)), Currency: s.units.currency}
	}
	return Money{}
}

// yes reads a mark; a blank is no.
func (s *sheetReader) yes(column string) bool {
	cell := s.cell(column)
	switch strings.ToLower(cell) {
	case "yes", "y", "true", "1", "x":
		return true
	case "", "no", "n", "false", "0":
		return false
	}
	s.fault(column, cell, "neither yes nor no", "write yes or no")
	return false
}

// date is generous with forms and strict with meaning: no guess is made where two
// days are possible, because a wrong one would never be noticed. It reads a day in one of the usual ways. Day and month of 3/4/2025 are told
// apart only by the options; with dots the day stands first.
func (s *sheetReader) date(column string) time.Time {
	cell := s.cell(column)
	if cell == "" {
		s.fault(column, "", "no date", "enter the day of the drive")
		return time.Time{}
	}
	layouts := []string{time.DateOnly, "2006/1/2", "2.1.2006", "2 Jan 2006", "2 January 2006", "Jan 2, 2006", "January 2, 2006"}
	if s.units.dayFirst {
		layouts = append(layouts, "2/1/2006")
	}
	if s.units.monthFirst {
		layouts = append(layouts, "1/2/2006")
	}
	for _, layout := range layouts {
		if day, err := time.Parse(layout, cell); err == nil {
			if day.Year() < 1900 || day.Year() > 2200 {
				s.fault(column, cell, "not a year of this century or the last", "write the year with four digits")
			} else if until := s.units.until; !until.IsZero() && dayNumber(day) > dayNumber(until) {
				s.fault(column, cell, "later than the next drive, "+until.Format(time.DateOnly), "correct the date, or say which day is planned")
			}
			return day
		}
	}
	_, dayErr := time.Parse("2/1/2006", cell)
	_, monthErr := time.Parse("1/2/2006", cell)
	if dayErr == nil || monthErr == nil {
		s.fault(column, cell, "day and month cannot be told apart", "write it as 2025-04-03, or say which stands first")
		return time.Time{}
	}
	s.fault(column, cell, "not a day", "write it as 2025-04-03")
	return time.Time{}
}
