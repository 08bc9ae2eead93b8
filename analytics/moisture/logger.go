package moisture

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"time"
)

// LoggerRow is one record of a climate logger: when, how warm, how humid.
type LoggerRow struct {
	Line  int // in the file, from 1
	At    time.Time
	TempC float64
	RH    float64 // percent
}

// LoggerFaultKind names what is wrong in a logger file; it is stable, for tests
// and translations.
type LoggerFaultKind string

// What can be wrong in a logger file.
const (
	FaultUnreadable LoggerFaultKind = "unreadable"     // a row without time or number; left out
	FaultImpossible LoggerFaultKind = "impossible"     // a value no air has; left out
	FaultOrder      LoggerFaultKind = "out_of_order"   // rows were sorted
	FaultDuplicate  LoggerFaultKind = "duplicate_time" // the first is kept
	FaultGap        LoggerFaultKind = "gap"            // records are missing
	FaultStuck      LoggerFaultKind = "stuck"          // the same values for two days
	FaultClipped    LoggerFaultKind = "clipped"        // humidity a little above 100 was cut
	FaultUnit       LoggerFaultKind = "unit"           // the file's unit is not °C or %
	FaultUnitSwitch LoggerFaultKind = "unit_switch"    // the unit changes within the file
	FaultUnitUnsure LoggerFaultKind = "unit_unsure"    // °C or °F cannot be told
	FaultSwapped    LoggerFaultKind = "swapped"        // temperature and humidity look exchanged
	FaultDates      LoggerFaultKind = "dates_unsure"   // day and month cannot be told apart
	FaultFuture     LoggerFaultKind = "future"         // dated after now; left out
)

// LoggerFault is one thing wrong in a logger file, in words for a person.
type LoggerFault struct {
	Line int // 0 for the file as a whole
	Kind LoggerFaultKind
	Text string
}

// LoggerOptions says what the file does not. The zero value reads UTC times and
// finds the unit out.
type LoggerOptions struct {
	// Location is the zone of times without one; nil means UTC.
	Location *time.Location
	// Fahrenheit and Celsius settle the temperature unit; neither means that
	// the header or the values decide.
	Fahrenheit, Celsius bool
	// MonthFirst reads 03/04/2026 as 4 March where the file leaves it open.
	MonthFirst bool
	// Now, when set, leaves out rows dated after it.
	Now time.Time
}

// LoggerFile is what a logger file holds, checked.
type LoggerFile struct {
	// Rows are in order of time, in °C and percent.
	Rows []LoggerRow
	// Interval is the usual time between records.
	Interval time.Duration
	Faults   []LoggerFault
}

// Bounds on a file: a logger that records every minute writes half a million
// rows a year.
const (
	maxLoggerBytes = 64 << 20
	maxLoggerRows  = 2_000_000
	maxFaults      = 200
)

// ParseLogger reads the text of a logger file: rows of time, temperature and
// humidity separated by commas, semicolons or tabs, with or without a header,
// with decimal points or commas. What is wrong is found and reported, and what
// can be put right is; see LoggerFaultKind. A file without one usable row, or
// beyond 64 MiB or two million rows, is ErrLogger.
func ParseLogger(text string, o LoggerOptions) (LoggerFile, error) {
	if len(text) > maxLoggerBytes {
		return LoggerFile{}, fmt.Errorf("logger file of %d MiB: %w: split it by year", len(text)>>20, ErrLogger)
	}
	// Spreadsheets put a byte-order mark before the header.
	text = strings.TrimPrefix(text, "\ufeff")
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = separatorOf(text)
	// Preambles and trailing notes have other lengths; rows are judged singly.
	r.FieldsPerRecord = -1
	r.LazyQuotes = true
	r.TrimLeadingSpace = true
	records, err := r.ReadAll()
	if err != nil {
		return LoggerFile{}, fmt.Errorf("logger file: %w: %w", ErrLogger, err)
	}
	return ReadLogger(records, o)
}

// separatorOf counts which separator the first lines use most; a comma wins
// only if no semicolon or tab does, because it may be a decimal comma.
func separatorOf(text string) rune {
	head := text
	if i := nthLine(text, 5); i > 0 {
		head = text[:i]
	}
	for _, sep := range []rune{';', '\t'} {
		if strings.Count(head, string(sep)) >= 2 {
			return sep
		}
	}
	return ','
}

// nthLine is the index after the nth newline, -1 when there are fewer.
func nthLine(text string, n int) int {
	at := 0
	for range n {
		i := strings.IndexByte(text[at:], '\n')
		if i < 0 {
			return -1
		}
		at += i + 1
	}
	return at
}

// ReadLogger is ParseLogger for rows already split into cells.
func ReadLogger(records [][]string, o LoggerOptions) (LoggerFile, error) {
	if len(records) > maxLoggerRows {
		return LoggerFile{}, fmt.Errorf("logger file of %d rows: %w: split it by year", len(records), ErrLogger)
	}
	l := loggerReader{options: o}
	if o.Location == nil {
		l.options.Location = time.UTC
	}
	// Order matters below: times before units, because a change of unit is a
	// jump between neighbours; units before limits, because 80 is a fine °F.
	first := l.columns(records)
	l.dateOrder(records[min(first, len(records)):])
	for i, record := range records[min(first, len(records)):] {
		l.row(first+i+1, record)
	}
	if len(l.file.Rows) == 0 {
		return l.file, fmt.Errorf("logger file: %w: each row needs time, temperature and humidity", ErrLogger)
	}
	l.order()
	l.humidity()
	l.temperature()
	l.impossible()
	if len(l.file.Rows) == 0 {
		return l.file, fmt.Errorf("logger file: %w: no value is one that air can have", ErrLogger)
	}
	l.gaps()
	l.stuck()
	if l.dropped > 0 {
		l.file.Faults = append(l.file.Faults, LoggerFault{0, l.file.Faults[0].Kind, fmt.Sprintf("%d more faults are not listed.", l.dropped)})
	}
	return l.file, nil
}

// loggerReader is the state of reading one file.
type loggerReader struct {
	options                    LoggerOptions
	file                       LoggerFile
	timeCol, clockCol          int // clockCol is -1 unless date and time are apart
	tempCol, humCol            int
	headerF, headerC, headerPc bool
	layouts                    []string
	dropped                    int // faults beyond maxFaults
}

func (l *loggerReader) fault(line int, kind LoggerFaultKind, format string, args ...any) {
	if len(l.file.Faults) >= maxFaults {
		l.dropped++
		return
	}
	l.file.Faults = append(l.file.Faults, LoggerFault{line, kind, fmt.Sprintf(format, args...)})
}

// columns finds the columns by the header, if there is one in the first rows,
// and returns the index of the first data row. Without one they are time,
// temperature, humidity.
func (l *loggerReader) columns(records [][]string) int {
	// What a file without a header is taken for.
	l.timeCol, l.clockCol, l.tempCol, l.humCol = 0, -1, 1, 2
	// Some loggers write a few lines about themselves before the header.
	for i, record := range records[:min(len(records), 10)] {
		temp, hum, date, clock := -1, -1, -1, -1
		for j, cell := range record {
			name := strings.ToLower(cell)
			switch {
			case temp < 0 && strings.Contains(name, "temp"):
				temp = j
			case hum < 0 && (strings.Contains(name, "hum") || strings.HasPrefix(strings.TrimSpace(name), "rh") || strings.Contains(name, "feucht")):
				hum = j
			case date < 0 && (strings.Contains(name, "date") || strings.Contains(name, "timestamp") || strings.Contains(name, "datum")):
				date = j
			case clock < 0 && (strings.Contains(name, "time") || strings.Contains(name, "zeit")):
				clock = j
			}
		}
		// A line that names only one of the two is a preamble.
		if temp < 0 || hum < 0 {
			continue
		}
		l.tempCol, l.humCol = temp, hum
		switch {
		case date >= 0 && clock >= 0:
			l.timeCol, l.clockCol = date, clock
		case date >= 0:
			l.timeCol = date
		case clock >= 0:
			l.timeCol = clock
		}
		name := strings.ToLower(record[temp])
		l.headerF = strings.Contains(name, "°f") || strings.Contains(name, "fahr") || strings.Contains(name, "(f)") || strings.HasSuffix(name, "_f") || strings.HasSuffix(name, " f")
		l.headerC = strings.Contains(name, "°c") || strings.Contains(name, "cels") || strings.Contains(name, "(c)") || strings.HasSuffix(name, "_c") || strings.HasSuffix(name, " c")
		l.headerPc = strings.Contains(record[hum], "%")
		return i + 1
	}
	return 0
}

// row reads one record into Rows, still in the file's units.
func (l *loggerReader) row(line int, record []string) {
	if len(record) == 0 || len(record) == 1 && strings.TrimSpace(record[0]) == "" {
		return
	}
	cell := func(i int) string {
		if i < 0 || i >= len(record) {
			return ""
		}
		return strings.TrimSpace(record[i])
	}
	when := cell(l.timeCol)
	if l.clockCol >= 0 {
		when += " " + cell(l.clockCol)
	}
	at, ok := l.time(when)
	temp, okTemp := loggerNumber(cell(l.tempCol))
	hum, okHum := loggerNumber(cell(l.humCol))
	// A row is left out whole: half a record has no equilibrium moisture.
	switch {
	case !ok:
		l.fault(line, FaultUnreadable, "No time can be read from %q.", shorten(when))
	case !okTemp || !okHum:
		l.fault(line, FaultUnreadable, "No temperature and humidity can be read from %q and %q.", shorten(cell(l.tempCol)), shorten(cell(l.humCol)))
	case !l.options.Now.IsZero() && at.After(l.options.Now):
		l.fault(line, FaultFuture, "%s is after now.", at.Format(time.RFC3339))
	default:
		l.file.Rows = append(l.file.Rows, LoggerRow{line, at, temp, hum})
	}
}

// order sorts the rows and drops repeated times.
func (l *loggerReader) order() {
	rows := l.file.Rows
	byTime := func(a, b LoggerRow) int { return a.At.Compare(b.At) }
	if !slices.IsSortedFunc(rows, byTime) {
		l.fault(0, FaultOrder, "The rows are not in order of time; they were sorted.")
		slices.SortStableFunc(rows, byTime)
	}
	// The first of two rows of one time is kept: the second is most often the
	// hour that clocks repeat in autumn.
	kept := rows[:0]
	for _, r := range rows {
		if len(kept) > 0 && r.At.Equal(kept[len(kept)-1].At) {
			l.fault(r.Line, FaultDuplicate, "%s is already in line %d; the first is kept.", r.At.Format("2 January 2006 15:04:05"), kept[len(kept)-1].Line)
			continue
		}
		kept = append(kept, r)
	}
	l.file.Rows = kept
}

// gaps finds the usual interval and what is missing.
func (l *loggerReader) gaps() {
	rows := l.file.Rows
	if len(rows) < 3 {
		return
	}
	steps := make([]time.Duration, 0, len(rows)-1)
	for i := 1; i < len(rows); i++ {
		steps = append(steps, rows[i].At.Sub(rows[i-1].At))
	}
	// The median, because gaps are what is looked for and would spoil a mean.
	slices.Sort(steps)
	l.file.Interval = steps[len(steps)/2]
	for i := 1; i < len(rows); i++ {
		step := rows[i].At.Sub(rows[i-1].At)
		// One or two missed records are radio, not a gap; and for a month's mean
		// nothing under two hours matters.
		if step > 3*l.file.Interval && step > 2*time.Hour {
			l.fault(rows[i].Line, FaultGap, "Nothing from %s to %s, about %d records.",
				rows[i-1].At.Format("2 January 2006 15:04"), rows[i].At.Format("2 January 2006 15:04"), step/l.file.Interval-1)
		}
	}
}

// stuckTime is how long a sensor may show the very same two values.
const stuckTime = 48 * time.Hour

// stuck finds stretches of identical values.
func (l *loggerReader) stuck() {
	rows := l.file.Rows
	for i := 0; i < len(rows); {
		j := i
		// Exactly equal, to the last digit: weather is never that even for two
		// days, and a dead sensor always is.
		for j+1 < len(rows) && rows[j+1].TempC == rows[i].TempC && rows[j+1].RH == rows[i].RH {
			j++
		}
		if j-i >= 3 && rows[j].At.Sub(rows[i].At) >= stuckTime {
			l.fault(rows[i].Line, FaultStuck, "The same two values from %s to %s: is the sensor stuck?",
				rows[i].At.Format("2 January 2006"), rows[j].At.Format("2 January 2006"))
		}
		i = j + 1
	}
}

// shorten keeps pasted text out of messages.
func shorten(s string) string {
	const most = 40
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "…"
}
