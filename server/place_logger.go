package server

import (
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"path/filepath"
	"strings"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// loggerUpload is the form for a logger's file with what was found in the last
// one.
type loggerUpload struct {
	Unit, Dates   field
	Anyway, Check bool
	Problem       string
	Report        *loggerReport
}

// loggerReport is what a file holds and what is wrong with it.
type loggerReport struct {
	File, Interval, Span string
	Rows                 int
	Faults               []moisture.LoggerFault
	// Open are the questions that must be answered before it is stored.
	Open []string
	// Added counts the months stored; Left says which days were there already.
	Added   int
	Left    []string
	Checked bool
}

// maxLogger is the largest file that is read; see moisture.ParseLogger.
const maxLogger = 64 << 20

func newLoggerUpload(form map[string]string) loggerUpload {
	unit := db.ColumnInfo{Name: "unit", Label: "Temperature is in", Options: []db.Option{{Value: "F", Label: "°F"}, {Value: "C", Label: "°C"}}, Help: "Left open, the file's header or its values decide."}
	dates := db.ColumnInfo{Name: "dates", Label: "Dates like 3/4/2026 are", Options: []db.Option{{Value: "day", Label: "day first: 3 April"}, {Value: "month", Label: "month first: 4 March"}}, Help: "Left open, the order of the rows decides."}
	fields := newForm([]db.ColumnInfo{unit, dates}, "logger-", map[string]string{"unit": form["logger-unit"], "dates": form["logger-dates"]}, nil).Fields
	return loggerUpload{Unit: fields[0], Dates: fields[1], Anyway: form["logger-anyway"] != "", Check: form["logger-check"] != ""}
}

// loggerImport reads a logger's file into the air of a place.
func (a *app) loggerImport(w http.ResponseWriter, r *http.Request) error {
	form, name, text, err := readLoggerForm(r)
	if err != nil {
		return err
	}
	page, err := a.loadPlace(r, form["name"])
	if err != nil {
		return err
	}
	page.Upload = newLoggerUpload(form)
	refuse := func(problem string) error {
		page.Upload.Problem = problem
		return a.render(w, http.StatusUnprocessableEntity, "place_show", page)
	}
	if name == "" {
		return refuse("No file was chosen. Choose the CSV file of the logger.")
	}
	zone := page.Env.Zone
	parsed, err := moisture.ParseLogger(text, moisture.LoggerOptions{Location: zone, Fahrenheit: form["logger-unit"] == "F", Celsius: form["logger-unit"] == "C",
		MonthFirst: form["logger-dates"] == "month", Now: a.store.Now()})
	if err != nil {
		page.Upload.Report = &loggerReport{File: name, Faults: parsed.Faults}
		return refuse(fmt.Sprintf("Nothing was stored: %v.", err))
	}
	report := newLoggerReport(name, parsed, form)
	page.Upload.Report = report
	if len(report.Open) > 0 {
		return refuse("Nothing was stored yet: something must be settled first. Choose the file again with the answer.")
	}
	if page.Upload.Check {
		report.Checked = true
		return a.show(w, "place_show", page)
	}
	return a.storeLogger(w, r, page, parsed)
}

// storeLogger stores the months of a settled file and shows the place anew with
// the report.
func (a *app) storeLogger(w http.ResponseWriter, r *http.Request, page *placePage, parsed moisture.LoggerFile) error {
	report := page.Upload.Report
	got, err := a.store.ImportLogger(r.Context(), db.Base{KeeperID: page.Keeper.ID}, db.LoggerImport{Place: page.Name, File: report.File, Parsed: parsed})
	if err != nil {
		faults, other := asFaults(err)
		if other != nil {
			return other
		}
		page.Upload.Problem = "Nothing was stored: " + faults.Error()
		return a.render(w, http.StatusUnprocessableEntity, "place_show", page)
	}
	after, err := a.loadPlace(r, page.Name)
	if err != nil {
		return err
	}
	report.Added, report.Left = len(got.Added), got.Left
	after.Upload.Report = report
	return a.show(w, "place_show", after)
}

// readLoggerForm reads the posted form: its short fields and the file's text.
func readLoggerForm(r *http.Request) (form map[string]string, name, text string, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, "", "", &statusError{http.StatusBadRequest, "The upload could not be read. Choose the file on the page of the place and send it again."}
	}
	form = make(map[string]string)
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) && len(form) > 0 {
			return form, name, text, nil
		}
		if err != nil {
			return nil, "", "", uploadError(err)
		}
		most := int64(4096)
		if part.FormName() == "file" {
			most = maxLogger
		}
		value, err := readPart(part, most)
		if err != nil {
			return nil, "", "", err
		}
		if part.FormName() != "file" {
			form[part.FormName()] = value
		} else if part.FileName() != "" {
			name, text = filepath.Base(strings.ReplaceAll(part.FileName(), `\`, "/")), value
		}
	}
}

func readPart(part *multipart.Part, most int64) (string, error) {
	value, err := io.ReadAll(io.LimitReader(part, most+1))
	if err != nil {
		return "", uploadError(err)
	}
	if int64(len(value)) > most {
		return "", &http.MaxBytesError{Limit: most}
	}
	return strings.ToValidUTF8(string(value), "�"), nil
}

// newLoggerReport says what a file holds, and which of its faults are questions
// that the form can answer and has not.
func newLoggerReport(name string, parsed moisture.LoggerFile, form map[string]string) *loggerReport {
	report := &loggerReport{File: name, Rows: len(parsed.Rows), Interval: parsed.Interval.String()}
	if parsed.Interval > 0 {
		report.Interval = fmt.Sprintf("%g minutes", parsed.Interval.Minutes())
	}
	first, last := parsed.Rows[0].At, parsed.Rows[len(parsed.Rows)-1].At
	report.Span = first.Format("2 January 2006 15:04") + " to " + last.Format("2 January 2006 15:04")
	anyway := form["logger-anyway"] != ""
	for _, f := range parsed.Faults {
		if f.Kind == moisture.FaultDates && form["logger-dates"] != "" {
			continue // answered
		}
		report.Faults = append(report.Faults, f)
		switch {
		case f.Kind == moisture.FaultDates:
			report.Open = append(report.Open, "Say below whether day or month comes first in its dates.")
		case f.Kind == moisture.FaultUnitUnsure:
			report.Open = append(report.Open, "Say below in which unit its temperatures are.")
		case f.Kind == moisture.FaultSwapped && !anyway:
			report.Open = append(report.Open, "Put the two columns right in the file, or tick below that they are.")
		}
	}
	return report
}
