package db

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
)

// Sheet is one file of comma-separated values to read.
type Sheet struct {
	// Name is the file's name; boards.csv says that it holds boards.
	Name string
	// Size is its length in bytes, for showing progress; 0 where unknown.
	Size int64
	// Open begins to read it.
	Open func() (io.ReadCloser, error)
}

// SheetFault is one fault of a file: where, what and what to do.
type SheetFault struct {
	File string
	// Row counts as a spreadsheet does: the header is row 1.
	Row                            int
	Column, Value, Problem, Remedy string
}

// String writes the fault on one line.
func (f SheetFault) String() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Row > 0 {
		fmt.Fprintf(&b, ", row %d", f.Row)
	}
	if f.Column != "" {
		fmt.Fprintf(&b, ", column %s", f.Column)
	}
	if f.Value != "" {
		fmt.Fprintf(&b, ", value %q", f.Value)
	}
	fmt.Fprintf(&b, ": %s; %s", f.Problem, f.Remedy)
	return b.String()
}

// maxRecord bounds one row of a sheet. A longer one is a file that is no
// sheet, or a quotation mark that was never closed.
const maxRecord = 1 << 20

// rowReader reads a sheet row by row in bounded memory.
type rowReader struct {
	csv    *csv.Reader
	meter  *recordMeter
	header []string
	row    int
	// line is the line of text on which the last row ended.
	line int
}

// recordMeter counts what was read since the last row ended.
type recordMeter struct {
	in    io.Reader
	since int
	total int64
}

var errLongRecord = errors.New("row too long")

func (m *recordMeter) Read(p []byte) (int, error) {
	if m.since > maxRecord {
		return 0, errLongRecord
	}
	n, err := m.in.Read(p)
	m.since += n
	m.total += int64(n)
	return n, err
}

// openRows reads the header and finds out what separates the cells.
func openRows(in io.Reader) (*rowReader, *FieldError) {
	meter := &recordMeter{in: in}
	buffered := bufio.NewReaderSize(meter, 64<<10)
	head, err := buffered.Peek(4096)
	if len(head) == 0 && err != nil {
		return nil, fault("is empty", "export the sheet as CSV again")
	}
	if f := notText(head); f != nil {
		return nil, f
	}
	if bytes.HasPrefix(head, []byte("\xef\xbb\xbf")) {
		_, _ = buffered.Discard(3) // peeked just now: cannot fail
		head = head[3:]
	}
	r := &rowReader{csv: csv.NewReader(buffered), meter: meter}
	r.csv.Comma = separator(head)
	r.csv.FieldsPerRecord = -1
	r.csv.LazyQuotes = true
	r.csv.ReuseRecord = true
	first, f := r.next()
	if f != nil {
		return nil, f
	}
	if first == nil {
		return nil, fault("has no header row", "name the columns in the first row")
	}
	r.header = append([]string(nil), first...)
	return r, nil
}

// notText recognises files that are no CSV, whatever their name says.
func notText(head []byte) *FieldError {
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return fault("is a zip archive or a workbook, not a CSV file", "open it and save the sheet as CSV (UTF-8)")
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("\xfe\xff")):
		return fault("is in UTF-16", "save it as CSV in UTF-8")
	case bytes.HasPrefix(head, []byte("%PDF")), bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0")), bytes.HasPrefix(head, []byte("\x1f\x8b")):
		return fault("is not a CSV file", "open it and save the sheet as CSV (UTF-8)")
	}
	return nil
}

// separator chooses comma, semicolon or tab: whichever the header has most.
func separator(head []byte) rune {
	line, _, _ := bytes.Cut(head, []byte("\n"))
	best, most := ',', bytes.Count(line, []byte(","))
	for _, c := range []rune{';', '\t'} {
		if n := bytes.Count(line, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}

// next returns the next row's cells, or nil at the end. The slice is reused.
func (r *rowReader) next() ([]string, *FieldError) {
	r.meter.since = 0
	cells, err := r.csv.Read()
	r.row++
	switch {
	case err == nil:
		r.passOver(cells)
		if r.header == nil || !blank(cells) {
			return cells, nil
		}
		return r.next()
	case errors.Is(err, io.EOF):
		return nil, nil
	case errors.Is(err, errLongRecord):
		return nil, fault("is longer than %d characters", "look for a quotation mark that is not closed, or split the row", maxRecord)
	default:
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			r.row += max(0, parse.StartLine-r.line-1)
			return nil, fault("cannot be read: %v", "check the quotation marks of this row", parse.Err)
		}
		return nil, fault("could not be read to its end: %v", "try again; if it stays, copy the file anew", err)
	}
}

// passOver counts the empty lines before a row, which the reader leaves out and a
// spreadsheet shows as rows. A row with breaks in its cells is several lines.
func (r *rowReader) passOver(cells []string) {
	start, _ := r.csv.FieldPos(0)
	r.row += start - r.line - 1
	last := len(cells) - 1
	r.line, _ = r.csv.FieldPos(last)
	r.line += strings.Count(cells[last], "\n")
}

func blank(cells []string) bool {
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// formulaLike finds cells that a spreadsheet would run as a formula.
var (
	formulaLike    = regexp.MustCompile(`^'*[=+\-@\t\r]`)
	guardedFormula = regexp.MustCompile(`^'+[=+\-@\t\r]`)
)

// guard puts an apostrophe before a cell that a spreadsheet would run as a
// formula; unguard takes it away again. Plain numbers are left alone.
func guard(cell string) string {
	if !formulaLike.MatchString(cell) {
		return cell
	}
	if _, number := parseFloat(cell); number {
		return cell
	}
	return "'" + cell
}

// GuardCell returns the cell with an apostrophe before what a spreadsheet would
// run as a formula, for tables that are written outside this package.
func GuardCell(cell string) string { return guard(cell) }

func unguard(cell string) string {
	if len(cell) > 1 && cell[0] == '\'' && guardedFormula.MatchString(cell) {
		return cell[1:]
	}
	return cell
}
