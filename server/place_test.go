package server_test

import (
	"fmt"
	"io"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/server/browsertest"
)

// loggerCSV writes hourly records from a day on, passed through change.
func loggerCSV(header string, from time.Time, hours int, change func(i int, c, rh float64) string) string {
	var b strings.Builder
	b.WriteString(header + "\n")
	for i := range hours {
		turn := float64(i%24-9) * math.Pi / 12
		line := change(i, 8+5*math.Sin(turn)+0.01*float64(i%7), 65-12*math.Sin(turn)+0.1*float64(i%5))
		if line != "" {
			fmt.Fprintf(&b, "%s,%s\n", from.Add(time.Duration(i)*time.Hour).Format("2006-01-02 15:04"), line)
		}
	}
	return b.String()
}

// celsius is a record in °C.
func celsius(_ int, c, rh float64) string { return fmt.Sprintf("%.2f,%.1f", c, rh) }

const loggerHeader = "Time,Temperature (°C),Humidity (%)"

var loggerFrom = time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC)

// sendLogger sends a logger's file as the form of a place does.
func (b *bench) sendLogger(place string, file upload, fields ...string) *page {
	b.Helper()
	var body strings.Builder
	w := multipart.NewWriter(&body)
	require.NoError(b, w.WriteField("name", place))
	for i := 0; i < len(fields); i += 2 {
		require.NoError(b, w.WriteField(fields[i], fields[i+1]))
	}
	part, err := w.CreateFormFile("file", file.name)
	require.NoError(b, err)
	_, err = io.WriteString(part, file.text)
	require.NoError(b, err)
	require.NoError(b, w.Close())
	r := b.request(http.MethodPost, "/import/logger", strings.NewReader(body.String()))
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.send(r)
}

func TestLoggerFileBecomesTheAirOfAPlace(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	stack, _ := b.stack(b.withWood(), map[string]string{"name": "Stack A", "place": "Lean-to", "stickered": "2026-01-09"}, 2, drying)
	require.Contains(t, b.open("/stacks/"+stack.ID.String()).mainText(), "the book does not know the air of this place")
	file := upload{"shed.csv", loggerCSV(loggerHeader, loggerFrom, 40*24, func(i int, c, rh float64) string {
		if i >= 100 && i < 170 {
			return "" // its battery was empty
		}
		if i >= 400 {
			c = c*1.8 + 32 // somebody changed the unit
		}
		return celsius(i, c, rh)
	})}
	check := b.sendLogger("lean-to", file, "logger-check", "yes")
	require.Equal(t, http.StatusOK, check.status)
	require.Contains(t, check.mainText(), "Nothing was stored, as asked.")
	require.Zero(t, b.count(db.Climates))

	p := b.sendLogger("lean-to", file)
	require.Equal(t, http.StatusOK, p.status, p.mainText())
	for _, says := range []string{"890 records", "1 February 2026 00:00 to 12 March 2026 23:00", "one every 60 minutes", "2 months are in the book now", "2 faults were found",
		"Nothing from 5 February 2026 03:00 to 8 February 2026 02:00, about 70 records", "From here on temperature is in °F; it was turned into °C", "own records of the place"} {
		require.Contains(t, p.mainText(), says)
	}
	require.Equal(t, 2, b.count(db.Climates))
	// Beside the file, for good.
	later := b.open("/drying/place?name=LEAN-TO")
	require.Contains(t, later.mainText(), "logger file shed.csv Found in it: Line")
	require.Contains(t, later.mainText(), "Line 102: Nothing from 5 February")
	require.Contains(t, later.mainText(), "26 recorded days")
	require.Contains(t, later.mainText(), "nothing known: the nearest months")
	// What the stack dries in.
	main := b.open("/stacks/" + stack.ID.String()).mainText()
	require.Contains(t, main, "Air of Lean-to : own records of the place")
	require.NotContains(t, main, "does not know the air")
	require.Contains(t, b.open("/drying/places").mainText(), "Lean-to 1")

	before := b.contents()
	again := b.sendLogger("lean-to", file)
	require.Contains(t, again.mainText(), "every day of it is in the book already")
	require.Contains(t, again.mainText(), "2026-02-01 to 2026-02-28 are in the book already (logger file shed.csv); left out")
	require.Equal(t, before, b.contents())
	// A later file that overlaps brings its new days only.
	next := b.sendLogger("lean-to", upload{"next.csv", loggerCSV(loggerHeader, loggerFrom.AddDate(0, 0, 38), 24*3, celsius)})
	require.Contains(t, next.mainText(), "1 month is in the book now")
	require.Contains(t, next.mainText(), "13 Mar to 13 Mar 2026")
}

func TestLoggerFilesThatAreInDoubtAreNotStored(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	before := b.contents()
	noUnit := upload{"a.csv", loggerCSV("Time,Temp,Hum", loggerFrom, 72, celsius)}
	warm := func(i int, c, rh float64) string { return celsius(i, c+9, rh) }
	swapped := upload{"a.csv", loggerCSV("Time,Temp,Hum", loggerFrom, 72, func(i int, _, _ float64) string {
		return fmt.Sprintf("%.1f,%.1f", 66+0.1*float64(i%9), 15+0.1*float64(i%5))
	})}
	slashes := "date,temp c,hum %\n"
	for range 9 {
		slashes += "3/4/2025 10:00,12,60\n"
	}
	for name, c := range map[string]struct {
		file  upload
		says  string
		field []string
	}{
		"no file":  {upload{"", ""}, "No file was chosen", nil},
		"no rows":  {upload{"a.csv", "hello,world\n"}, "each row needs time, temperature and humidity", nil},
		"unit":     {upload{"a.csv", loggerCSV("Time,Temp,Hum", loggerFrom, 72, warm)}, "in which unit its temperatures are", nil},
		"dates":    {upload{"a.csv", slashes}, "whether day or month comes first", nil},
		"swapped":  {swapped, "two columns", nil},
		"all wild": {upload{"a.csv", loggerCSV(loggerHeader, loggerFrom, 72, func(int, float64, float64) string { return "900,400" })}, "no value is one that air can have", nil},
	} {
		t.Run(name, func(t *testing.T) {
			b := b.on(t)
			p := b.sendLogger("lean-to", c.file, c.field...)
			require.Equal(t, http.StatusUnprocessableEntity, p.status, p.mainText())
			require.Contains(t, p.mainText(), c.says)
			require.NotNil(t, p.byID("file-error"))
			require.Equal(t, before, b.contents())
		})
	}
	settled := b.sendLogger("lean-to", upload{"a.csv", loggerCSV("Time,Temp,Hum", loggerFrom, 72, warm)}, "logger-unit", "C")
	require.Contains(t, settled.mainText(), "1 month is in the book now")
	require.Contains(t, b.sendLogger("loft", swapped, "logger-anyway", "yes").mainText(), "1 month is in the book now")
	require.Equal(t, http.StatusOK, b.sendLogger("shed", noUnit, "logger-unit", "C").status)
	require.Contains(t, b.open("/drying/place?name=shed").mainText(), "too few recorded days")
}

func TestLoggerUploadsThatAreNoneAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	for name, kind := range map[string]string{"no form": "text/csv", "broken form": "multipart/form-data; boundary=x"} {
		r := b.request(http.MethodPost, "/import/logger", strings.NewReader("--y\r\n\r\nhello"))
		r.Header.Set("Content-Type", kind)
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		require.Equal(t, http.StatusBadRequest, b.send(r).status, name)
	}
	require.Equal(t, http.StatusRequestEntityTooLarge, b.sendLogger("lean-to", upload{"a.csv", "x"}, "logger-unit", long(5000)).status)
	for _, place := range []string{"", "  ", long(201)} {
		require.Equal(t, http.StatusNotFound, b.sendLogger(place, upload{"a.csv", "x"}).status)
		require.Equal(t, http.StatusNotFound, b.get("/drying/place?name="+url.QueryEscape(place)).status)
	}
}

func TestTwelveMonthsAreTypedIn(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	const path, address = "/drying/place", "/drying/place?name=barn+loft"
	form := b.form(b.open(address), path)
	good := with(form, "source", "station table")
	for m := 1; m <= 12; m++ {
		good = with(good, db.MonthField("temperature", m), fmt.Sprint(40+m), db.MonthField("humidity", m), "70")
	}
	for _, try := range []struct{ field, value, says string }{
		{"temperature-3", "mild", "not a temperature"}, {"temperature-12", "200 F", "temperature air has"}, {"temperature-1", "", "missing"},
		{"humidity-7", "101", "outside"}, {"humidity-7", "damp", "not a number"}, {"humidity-2", "", "missing"}, {"source", long(301), "at most"},
	} {
		p := b.post(path, with(good, try.field, try.value))
		require.Equal(t, http.StatusUnprocessableEntity, p.status)
		require.Contains(t, b.refused(p, try.field), try.says, try.field)
		require.Equal(t, "70", valueOf(p, "humidity-11"), "what was typed stays")
		require.Zero(t, b.count(db.Climates), "nothing half is stored")
	}
	b.refused(b.post(path, form), "temperature-1") // nothing typed at all

	p := b.stored(path, good)
	require.Equal(t, 12, b.count(db.Climates))
	require.Contains(t, p.mainText(), "usual mean")
	require.Contains(t, p.mainText(), "monthly means written down for the place")
	b.stored(path, good) // the same form twice
	require.Equal(t, 12, b.count(db.Climates))

	// A changed month is corrected, with its reason.
	edit := b.form(b.open(address), path)
	require.Equal(t, "43 F", edit.Get("temperature-3"))
	changed := with(edit, "humidity-3", "66")
	before := b.contents()
	require.Contains(t, b.refused(b.post(path, changed), "why"), "say in a few words")
	require.Contains(t, b.refused(b.post(path, with(changed, "why", "x", "temperature-5", "", "humidity-5", "")), "temperature-5"), "the book has this month")
	require.Contains(t, b.stored(path, edit).mainText(), "Nothing was different")
	require.Equal(t, before, b.contents())
	p = b.stored(path, with(changed, "why", "misread the table"))
	require.Contains(t, p.mainText(), "Corrected.")
	require.Equal(t, 12, b.count(db.Climates))
	changes := b.open("/book?kind=change").mainText()
	require.Contains(t, changes, "misread the table")
	require.Contains(t, changes, "humidity")
}

func TestPlacesWithoutAnythingSayWhatToDo(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	require.Contains(t, b.open("/drying/places").mainText(), "No stack names a place yet")
	p := b.open("/drying/place?name=attic")
	require.Contains(t, p.mainText(), "does not know the air of this place yet")
	require.Contains(t, p.mainText(), "Read in a logger")
	require.Contains(t, b.open("/drying").body, "/stacks/new")
}

// TestJourneyReadALogger finds a file's fault on the phone, settles it and sees
// the air of the place.
func TestJourneyReadALogger(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	b.add(db.Stacks, map[string]string{"name": "Stack A", "place": "lean-to", "stickered": "2026-01-09"})
	file := filepath.Join(t.TempDir(), "shed.csv")
	warm := func(i int, c, rh float64) string {
		if i > 200 && i < 260 {
			return ""
		}
		return celsius(i, c+9, rh)
	}
	require.NoError(t, os.WriteFile(file, []byte(loggerCSV("Time,Temp,Hum", loggerFrom, 30*24, warm)), 0o600))
	phone := b.phone(browsertest.Options{})
	phone.Go("/drying")
	phone.Tap("Places and their air")
	phone.Tap("lean-to")
	phone.Upload("file", file)
	phone.Tap("Read the file")
	require.Contains(t, phone.See("main"), "Say below in which unit its temperatures are.")
	require.Zero(t, b.count(db.Climates))
	phone.Choose("logger-unit", "C")
	phone.Upload("file", file)
	phone.Tap("Read the file")
	require.Contains(t, phone.See("main"), "2 months are in the book now")
	require.Contains(t, phone.See("main"), "Nothing from 9 February 2026 08:00 to 11 February 2026 20:00")
	require.Equal(t, 2, b.count(db.Climates))
	phone.Go("/drying/place?name=lean-to")
	require.Contains(t, phone.See("main"), "Found in it:")
	require.Contains(t, phone.See("main"), "1 standing stack uses it")
}
