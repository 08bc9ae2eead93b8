package yield

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// SheetOptions say how the figures of a sheet are meant; the zero value is
// m³, miles and US dollars.
type SheetOptions struct {
	Volume   string // "m3", "bf" (board feet), "ft3" or "l"; "" means "m3"
	Distance string // "mile" or "km"; "" means "mile"
	Currency string // ISO 4217; "" means "USD"
	// DayFirst and MonthFirst settle dates such as 3/4/2025; with neither they are a
	// fault.
	DayFirst, MonthFirst bool
	// Until is the day of the next drive; a trip of a later day is a fault, most likely
	// of a wrong year. The zero time takes any day.
	Until time.Time
}

// SheetFault is one thing that is wrong in a sheet.
type SheetFault struct {
	Row    int    `json:"row"`    // 1 is the header
	Column string `json:"column"` // as the sheet spells it; "" for the whole row
	Value  string `json:"value"`  // as given, clipped
	What   string `json:"what"`
	Help   string `json:"help"` // what to do, one sentence
}

// String returns row, column, value, fault and remedy in one line.
func (f SheetFault) String() string {
	where := fmt.Sprintf("row %d", f.Row)
	if f.Column != "" {
		where += fmt.Sprintf(", column %s", f.Column)
	}
	if f.Value != "" {
		where += fmt.Sprintf(", %q", f.Value)
	}
	return where + ": " + f.What + ": " + f.Help
}

// MaxSheetRows is the most rows one sheet may have, maxFaults the most faults
// that are listed.
const (
	MaxSheetRows = 1_000_000
	maxFaults    = 1000
)

// sheetReader reads one sheet: known and required name its columns, take is
// called for every row.
type sheetReader struct {
	units           sheetUnits
	known, required []string
	take            func()

	column  map[string]int // place of each known column
	names   []string       // header as spelt
	cells   []string       // of the row
	row     int            // 1 is the header
	count   int            // of rows taken
	unknown []string
	faults  []SheetFault
}

// read takes the text in whole: what is wrong with it as a text is told first, with
// the row.
func (s *sheetReader) read(r io.Reader) error {
	text, err := io.ReadAll(io.LimitReader(r, maxSheetBytes+1))
	if err != nil {
		return err
	}
	switch {
	case len(text) > maxSheetBytes:
		s.fault("", "", "the sheet is larger than 256 MB", "split it by year")
		return nil
	case !utf8.Valid(text):
		s.row = 1 + strings.Count(string(text[:firstInvalid(text)]), "\n")
		s.fault("", "", "the text is not UTF-8", "save the sheet as CSV in UTF-8")
		return nil
	}
	plain := strings.TrimPrefix(string(text), "\ufeff")
	rows := csv.NewReader(strings.NewReader(plain))
	rows.Comma = delimiter(plain)
	rows.FieldsPerRecord = -1
	s.units.comma = rows.Comma == ';'
	return s.rows(rows)
}

// maxSheetBytes bounds the memory of a sheet.
const maxSheetBytes = 256 << 20

// firstInvalid is the place of the first byte that is no UTF-8.
func firstInvalid(text []byte) int {
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRune(text[at:])
		if r == utf8.RuneError && size <= 1 {
			return at
		}
		at += size
	}
	return len(text)
}

// delimiter guesses how the cells are parted: spreadsheets write semicolons where the
// decimal sign is a comma. It is the most frequent of comma, semicolon and tab in the first line.
func delimiter(text string) rune {
	header, _, _ := strings.Cut(text, "\n")
	best, most := ',', strings.Count(header, ",")
	for _, d := range []rune{';', '\t'} {
		if n := strings.Count(header, string(d)); n > most {
			best, most = d, n
		}
	}
	return best
}

// rows goes on after a fault, so that all of them are told at once, but not after a
// broken quotation, which may have swallowed any number of rows.
func (s *sheetReader) rows(rows *csv.Reader) error {
	for {
		cells, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var broken *csv.ParseError
		if errors.As(err, &broken) {
			s.row = broken.StartLine // where the row begins
			s.fault("", "", broken.Err.Error(), "check the quotation marks of this row")
			return nil
		}
		if err != nil {
			return err
		}
		s.row, _ = rows.FieldPos(0)
		if s.column == nil {
			if !s.header(cells) {
				return nil
			}
			continue
		}
		if strings.TrimSpace(strings.Join(cells, "")) == "" {
			continue
		}
		if s.count >= MaxSheetRows {
			s.fault("", "", fmt.Sprintf("more than %d rows", MaxSheetRows), "split the sheet")
			return nil
		}
		if len(s.faults) >= maxFaults {
			s.fault("", "", fmt.Sprintf("more than %d faults", maxFaults), "mend those listed and try again")
			return nil
		}
		s.cells = cells
		s.count++
		if len(cells) > len(s.names) && strings.TrimSpace(strings.Join(cells[len(s.names):], "")) != "" {
			s.fault("", strings.Join(cells[len(s.names):], " "), "the row has more cells than the header", "put text with a comma in quotation marks")
			continue
		}
		s.take()
	}
	if s.column == nil {
		s.row = 1
		s.fault("", "", "the sheet is empty", "begin it with the header "+strings.Join(s.known[:min(9, len(s.known))], ","))
	}
	return nil
}

// header lets columns come in any order and case, with blanks for underscores. An
// unknown column is told but is no fault: people keep notes beside their figures. It
// reads the names of the columns and reports whether all needed are there.
func (s *sheetReader) header(cells []string) bool {
	s.column, s.names = map[string]int{}, cells
	whole := true
	for i, cell := range cells {
		name := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(cell)), " ", "_")
		switch _, twice := s.column[name]; {
		case name == "":
		case !slices.Contains(s.known, name):
			s.unknown = append(s.unknown, clip(strings.TrimSpace(cell)))
		case twice:
			s.fault(cell, cell, "the column is there twice", "leave one of them out")
			whole = false
		default:
			s.column[name] = i
		}
	}
	for _, name := range s.required {
		if _, ok := s.column[name]; !ok {
			s.fault(name, "", "the column is missing", "add it to the header")
			whole = false
		}
	}
	return whole
}

// cell lets rows be shorter than the header, as spreadsheets leave out blanks at the
// end. It returns the cell of a column, "" where the sheet has none.
func (s *sheetReader) cell(name string) string {
	i, ok := s.column[name]
	if !ok || i >= len(s.cells) {
		return ""
	}
	return unguard(strings.TrimSpace(s.cells[i]))
}

// fault adds a fault; column is its known name or as the sheet spells it.
func (s *sheetReader) fault(column, value, what, help string) {
	if i, ok := s.column[column]; ok {
		column = s.names[i]
	}
	s.faults = append(s.faults, SheetFault{
		Row: s.row, Column: strings.TrimSpace(column), Value: clip(value), What: what, Help: help,
	})
}

// clip keeps a fault to one line, whatever was in the cell. It shortens a value for display.
func clip(text string) string {
	const most = 60
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most]) + "…"
}
