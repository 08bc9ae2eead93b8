package moisture

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// loggerNumber reads a number with a decimal point or comma and perhaps a unit.
func loggerNumber(cell string) (float64, bool) {
	// A unit behind the number is dropped here and judged by the header: loggers
	// that write one in every cell write the same in the heading.
	cell = strings.TrimRight(cell, " %°CFcf\u00a0")
	cell = strings.Replace(cell, ",", ".", 1)
	cell = strings.Replace(cell, "−", "-", 1)
	v, err := strconv.ParseFloat(cell, 64)
	return v, err == nil && finite(v)
}

// Layouts of times without doubt, and of those in which day and month could be
// exchanged.
var (
	plainLayouts = []string{
		time.RFC3339, "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04",
		"2006/01/02 15:04:05", "2006/01/02 15:04", "02.01.2006 15:04:05", "02.01.2006 15:04",
		"2 Jan 2006 15:04:05", "2 Jan 2006 15:04", "2006-01-02 15:04:05Z07:00",
	}
	dayFirst   = []string{"2/1/2006 15:04:05", "2/1/2006 15:04", "2/1/2006 3:04:05 PM", "2/1/2006 3:04 PM", "2/1/06 15:04:05", "2/1/06 15:04"}
	monthFirst = []string{"1/2/2006 15:04:05", "1/2/2006 15:04", "1/2/2006 3:04:05 PM", "1/2/2006 3:04 PM", "1/2/06 15:04:05", "1/2/06 15:04"}
)

// time reads a time by the layouts in use, the last successful one first.
func (l *loggerReader) time(cell string) (time.Time, bool) {
	for i, layout := range l.layouts {
		t, err := time.ParseInLocation(layout, cell, l.options.Location)
		// Loggers without a battery start in 1970 or 2000; a year before 1980 is
		// no time, and a year of two digits must not land in the far future.
		if err != nil || t.Year() < 1980 || t.Year() > 2200 {
			continue
		}
		if i > 0 {
			// A file keeps to one layout, so the one that fitted is tried first.
			l.layouts[0], l.layouts[i] = l.layouts[i], l.layouts[0]
		}
		return t, true
	}
	return time.Time{}, false
}

// dateOrder decides whether 03/04 is a day and month or the other way round: a
// number above 12 settles it, else the order in which the rows ascend, else the
// options, and then it is said.
func (l *loggerReader) dateOrder(records [][]string) {
	l.layouts = append([]string(nil), plainLayouts...)
	// Only dates with slashes are in doubt: with points the day comes first,
	// with hyphens the year.
	var firsts, seconds []int
	for _, record := range records {
		if l.timeCol >= len(record) {
			continue
		}
		parts := strings.SplitN(strings.TrimSpace(record[l.timeCol]), "/", 3)
		if len(parts) != 3 || len(parts[0]) > 2 {
			continue
		}
		a, errA := strconv.Atoi(parts[0])
		b, errB := strconv.Atoi(parts[1])
		// Rows that are no dates are reported later, when they are read.
		if errA == nil && errB == nil {
			firsts, seconds = append(firsts, a), append(seconds, b)
		}
	}
	if len(firsts) == 0 {
		return
	}
	switch {
	case slices.Max(firsts) > 12:
		l.layouts = append(l.layouts, dayFirst...)
	case slices.Max(seconds) > 12:
		l.layouts = append(l.layouts, monthFirst...)
	// A logger writes forward in time, so the reading that goes back less
	// often is the right one.
	case falls(firsts, seconds) < falls(seconds, firsts):
		l.layouts = append(l.layouts, monthFirst...)
	case falls(firsts, seconds) > falls(seconds, firsts):
		l.layouts = append(l.layouts, dayFirst...)
	default:
		l.fault(0, FaultDates, "Day and month cannot be told apart in dates such as %d/%d: choose which comes first.", firsts[0], seconds[0])
		if l.options.MonthFirst {
			l.layouts = append(l.layouts, monthFirst...)
		} else {
			l.layouts = append(l.layouts, dayFirst...)
		}
	}
}

// falls counts how often the date goes back when months and days are read in
// this way.
func falls(months, days []int) int {
	n := 0
	for i := 1; i < len(months); i++ {
		if months[i]*32+days[i] < months[i-1]*32+days[i-1] {
			n++
		}
	}
	return n
}

// humidity turns fractions into percent and cuts what is a little above 100.
func (l *loggerReader) humidity() {
	rows := l.file.Rows
	// One value above 1.05 is enough to rule out a fraction: air drier than
	// 1 % does not occur.
	highest := 0.0
	for _, r := range rows {
		highest = max(highest, r.RH)
	}
	if highest <= 1.05 && highest > 0 && !l.headerPc {
		l.fault(0, FaultUnit, "Humidity is a fraction of one; it was turned into percent.")
		for i := range rows {
			rows[i].RH *= 100
		}
	}
	// Capacitive sensors drift upward in wet air, so a little above 100 is
	// the sensor and much above it a fault.
	clipped := 0
	for i := range rows {
		if rows[i].RH > 100 && rows[i].RH <= 105 {
			rows[i].RH = 100
			clipped++
		}
	}
	if clipped > 0 {
		l.fault(0, FaultClipped, "%d rows had a humidity between 100 and 105 %%, which sensors show in wet air; 100 was taken.", clipped)
	}
}

// Air in the shade is between these in °C.
const coldestAir, hottestAir = -45.0, 52.0

// temperature decides the unit and turns °F into °C, for the file or for the
// stretches in which it changes.
func (l *loggerReader) temperature() {
	rows := l.file.Rows
	// Quantiles rather than extremes decide, so that one spike of a bad
	// contact does not change the unit of a year.
	values := make([]float64, len(rows))
	humid := make([]float64, len(rows))
	for i, r := range rows {
		values[i], humid[i] = r.TempC, r.RH
	}
	slices.Sort(values)
	slices.Sort(humid)
	middle := values[len(values)/2]
	high := values[len(values)*95/100]
	fahrenheit := l.options.Fahrenheit || l.headerF
	settled := fahrenheit || l.options.Celsius || l.headerC
	if !settled {
		// The middle of a stretch in °C is hardly above 35, that in °F hardly
		// below 0; between 15 and 35 it may be a cold month in °F.
		fahrenheit = middle > 35 || high > hottestAir
		if !fahrenheit && middle > 15 && values[0] > 10 {
			l.fault(0, FaultUnitUnsure, "No unit is named and %.0f could be °C or °F; °C was taken.", middle)
		}
	}
	// Warm and dry for every row is no weather of woodland; a humidity column
	// read as °F and a temperature column read as percent look just so.
	if high > 60 && values[len(values)*5/100] > 25 && humid[len(humid)*95/100] < 45 {
		l.fault(0, FaultSwapped, "Temperatures about %.0f and humidities about %.0f: are the two columns exchanged?", middle, humid[len(humid)/2])
	}
	l.convert(fahrenheit)
}

// convert walks through the rows, watching for jumps that a change of unit
// explains, and turns what is °F into °C.
func (l *loggerReader) convert(fahrenheit bool) {
	rows := l.file.Rows
	if fahrenheit {
		l.fault(0, FaultUnit, "Temperature is in °F; it was turned into °C.")
	}
	unitF := fahrenheit
	// The comparison is with the neighbour as written, because the jump of a
	// unit is only visible there; across a gap of hours it could be weather.
	last := math.NaN() // as in the file
	for i := range rows {
		raw := rows[i].TempC
		if i > 0 && rows[i].At.Sub(rows[i-1].At) < 6*time.Hour && math.Abs(raw-last) > 15 {
			toF, toC := last*1.8+32, (last-32)/1.8
			switch {
			case !unitF && math.Abs(raw-toF) < 5:
				unitF = true
				l.fault(rows[i].Line, FaultUnitSwitch, "From here on temperature is in °F; it was turned into °C.")
			case unitF && math.Abs(raw-toC) < 3:
				unitF = false
				l.fault(rows[i].Line, FaultUnitSwitch, "From here on temperature is in °C.")
			}
		}
		// Every row is turned by the unit in force, so that the result is in one.
		last = raw
		if unitF {
			rows[i].TempC = (raw - 32) / 1.8
		}
	}
}

// impossible drops rows whose values no air has.
func (l *loggerReader) impossible() {
	kept := l.file.Rows[:0]
	for _, r := range l.file.Rows {
		if r.TempC < coldestAir || r.TempC > hottestAir+8 || r.RH < 0 || r.RH > 100 {
			l.fault(r.Line, FaultImpossible, "%.1f °C at %.0f %% is no air outdoors; left out.", r.TempC, r.RH)
			continue
		}
		kept = append(kept, r)
	}
	l.file.Rows = kept
}
