package server_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// faults returns the rows of the table of faults: file, row, column, value
// and what is said.
func (p *page) faults() (out [][]string) {
	for _, row := range p.all("tr", "") {
		cells := allIn(row, "td", "")
		if len(cells) != 4 || attr(cells[0], "data-name") != "Row" {
			continue
		}
		line := []string{text(allIn(row, "th", "")[0])}
		for _, c := range cells {
			line = append(line, text(c))
		}
		out = append(out, line)
	}
	return out
}

const goodSources = "Name,Kind,Miles\nHarbour Tile,flooring,12\nSecond Yard,printer,4.5\n"

func TestSheetsAreImportedOnce(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	pickups := upload{"pickups.csv", "date;source;extra miles;colour\n2026-03-01;Harbour Tile;12;blue\n"}
	check := b.importFiles(true, upload{"sources.csv", goodSources}, pickups)
	require.Equal(t, http.StatusOK, check.status, check.mainText())
	require.Contains(t, check.mainText(), "No fault was found. Nothing was stored, as asked.")
	require.Zero(t, b.count(db.Sources))
	p := b.importFiles(false, pickups, upload{"sources.csv", goodSources})
	require.Equal(t, http.StatusOK, p.status, p.mainText())
	require.Contains(t, p.mainText(), "Everything is in the book.")
	require.Contains(t, p.mainText(), "sources.csv: 2 rows of the kind source, 2 new, 0 already in the book")
	require.Contains(t, p.mainText(), "Columns nobody knows, left out: colour")
	before := b.contents()
	again := b.importFiles(false, upload{"sources.csv", goodSources}, pickups)
	require.Contains(t, again.mainText(), "0 new, 2 already in the book")
	require.Equal(t, before, b.contents())
	require.Contains(t, b.open("/sources").mainText(), "Second Yard")
	twice := b.importFiles(false, upload{"sources.csv", goodSources + "Third Yard,printer,3\nThird Yard,printer,3\n"})
	require.Contains(t, twice.mainText(), "1 new, 2 already in the book, 1 the same as an earlier row")
}

// TestWrongCellsAreNamed puts every wrong value of every column into a sheet.
// Each fault names file, row, column and value, and nothing is stored.
func TestWrongCellsAreNamed(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withEverything()
	for _, e := range w.entries() {
		kind, err := db.KindOf(e.Kind)
		require.NoError(t, err)
		sheet, err := kind.Load(t.Context(), b.store, e.ID, db.SheetEnv(testNow))
		require.NoError(t, err)
		header := infoNames(kind.Info())
		var body bytes.Buffer
		out := csv.NewWriter(&body)
		require.NoError(t, out.Write(header))
		tried := wrongValues[e.Kind]
		for _, wrong := range tried {
			row := make([]string, len(header))
			for i, name := range header {
				row[i] = sheet.Values[name]
				if name == wrong.column {
					row[i] = wrong.value
				} else if name == "code" || name == "label" {
					row[i] = "" // this is another entry
				}
			}
			require.NoError(t, out.Write(row))
		}
		out.Flush()
		before, file := b.contents(), e.Kind+"s.csv"
		p := b.importFiles(false, upload{file, body.String()})
		require.Equal(t, http.StatusUnprocessableEntity, p.status, e.Kind)
		require.Equal(t, before, b.contents(), e.Kind)
		found := p.faults()
		for i, wrong := range tried {
			at := slices.IndexFunc(found, func(f []string) bool { return f[1] == fmt.Sprint(i+2) && f[2] == wrong.column })
			require.GreaterOrEqual(t, at, 0, "%s row %d: %s = %.40q: %v", file, i+2, wrong.column, wrong.value, found)
			require.Equal(t, file, found[at][0])
			require.NotEmpty(t, found[at][4])
			if shown := strings.TrimSpace(wrong.value); shown != "" && isPlain(shown) {
				require.NotEmpty(t, found[at][3], "%s = %.40q", wrong.column, wrong.value)
				require.True(t, strings.HasPrefix(shown, strings.TrimSuffix(found[at][3], "…")) || wrong.column == "amount" || strings.HasPrefix(found[at][3], shown),
					"%s = %.40q is shown as %q", wrong.column, wrong.value, found[at][3])
			}
		}
	}
}

func isPlain(s string) bool {
	return !strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r > '~' })
}

// TestFilesThatAreNoSheets sends what people choose by mistake or in malice.
func TestFilesThatAreNoSheets(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	var archive bytes.Buffer
	zipped := zip.NewWriter(&archive)
	inner, err := zipped.Create("sources.csv")
	require.NoError(t, err)
	_, err = io.WriteString(inner, goodSources)
	require.NoError(t, err)
	require.NoError(t, zipped.Close())
	for name, try := range map[string]struct{ body, says string }{
		"a zip renamed":          {archive.String(), "zip archive or a workbook"},
		"empty":                  {"", "is empty"},
		"UTF-16":                 {"\xff\xfeN\x00a\x00", "UTF-16"},
		"PDF":                    {"%PDF-1.7\n", "not a CSV file"},
		"gzip":                   {"\x1f\x8b\x08\x00", "not a CSV file"},
		"a line of 10 MB":        {"name,notes\nHarbour Tile," + strings.Repeat("w", 10<<20) + "\n", "longer than"},
		"a header of 10 MB":      {strings.Repeat("name,", 2<<20), "longer than"},
		"a quote left open":      {"name,notes\nHarbour Tile,\"" + strings.Repeat("w\n", 1<<20), "longer than"},
		"a null byte":            {"name,kind\nHarbour\x00Tile,x\n", "null byte"},
		"a null byte in front":   {"\x00name,kind\nHarbour Tile,x\n", ""},
		"Latin-1":                {"name,kind\nHarbour Tile,fl\xfcr\n", "UTF-8"},
		"Latin-1 in the header":  {"name,kind,gr\xfc\xdfe\nHarbour Tile,,x\n", ""},
		"no header":              {"Harbour Tile,flooring\n", ""},
		"the needed column gone": {"kind,cargo\nflooring,tile\n", "is missing from the header"},
		"a picture":              {"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", ""},
	} {
		before := b.contents()
		p := b.importFiles(false, upload{"sources.csv", try.body})
		if name == "Latin-1 in the header" && p.status == http.StatusOK { // an unknown column is left out
			require.Contains(t, p.mainText(), "Columns nobody knows")
			continue
		}
		require.Equal(t, http.StatusUnprocessableEntity, p.status, name)
		require.NotEmpty(t, p.faults(), name)
		require.Contains(t, p.mainText(), try.says, name)
		require.Less(t, len(p.body), 100<<10, "%s: the fault does not repeat the file", name)
		require.Equal(t, before, b.contents(), name)
	}
}

// TestBrokenUploadsStoreNothing sends bodies that are no whole form.
func TestBrokenUploadsStoreNothing(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	before := b.contents()
	const head = "--frontier\r\nContent-Disposition: form-data; name=\"files\"; filename=\"sources.csv\"\r\n\r\n"
	for name, try := range map[string]struct {
		body, kind string
		status     int
	}{
		"no multipart":             {"files=sources.csv", "application/x-www-form-urlencoded", 400},
		"no boundary":              {head + goodSources, "multipart/form-data", 400},
		"cut off in a file":        {head + goodSources, "multipart/form-data; boundary=frontier", 400},
		"rubbish between":          {head + goodSources + "\r\n--frontier-ish\r\nrubbish", "multipart/form-data; boundary=frontier", 400},
		"nothing":                  {"", "multipart/form-data; boundary=frontier", 400},
		"no file chosen":           {"--frontier\r\nContent-Disposition: form-data; name=\"files\"; filename=\"\"\r\n\r\n\r\n--frontier--\r\n", "multipart/form-data; boundary=frontier", 422},
		"no type of the body":      {head + goodSources, "", 400},
		"more than fifty files":    {strings.Repeat(head+goodSources+"\r\n", 51) + "--frontier--\r\n", "multipart/form-data; boundary=frontier", 413},
		"a path instead of a name": {strings.Replace(head, "sources.csv", "../../etc/passwd", 1) + "what\n1\n\r\n--frontier--\r\n", "multipart/form-data; boundary=frontier", 422},
		"a path of another system": {strings.Replace(head, "sources.csv", `C:\\Users\\x\\notes.csv`, 1) + "what\n1\n\r\n--frontier--\r\n", "multipart/form-data; boundary=frontier", 422},
	} {
		r := b.request(http.MethodPost, "/import", strings.NewReader(try.body))
		if try.kind != "" {
			r.Header.Set("Content-Type", try.kind)
		}
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		p := b.send(r)
		require.Equal(t, try.status, p.status, "%s: %s", name, p.mainText())
		for _, fault := range p.faults() {
			require.NotContains(t, fault[0], "/", name)
			require.NotContains(t, fault[0], `\`, name)
		}
		require.Equal(t, before, b.contents(), name)
	}
	left, err := os.ReadDir(os.TempDir())
	require.NoError(t, err)
	for _, e := range left {
		if info, err := e.Info(); err == nil && strings.HasPrefix(e.Name(), "skepwood-import-") {
			require.True(t, info.ModTime().After(time.Now().Add(-time.Minute)), "%s was left behind", e.Name())
		}
	}
}

// endless gives bytes until it is read to its end, and counts them.
type endless struct {
	left int64
	read atomic.Int64
	head io.Reader
}

func (e *endless) Read(p []byte) (int, error) {
	if e.head != nil {
		if n, err := e.head.Read(p); err == nil {
			e.read.Add(int64(n))
			return n, nil
		}
		e.head = nil
	}
	n := min(int64(len(p)), e.left)
	if n == 0 {
		return 0, io.EOF
	}
	for i := range p[:n] {
		p[i] = 'w'
	}
	e.left -= n
	e.read.Add(n)
	return int(n), nil
}

// leftAtMost is how much of two gibibytes may have left a client when the answer
// reaches it: what lies in the buffers of the connection, more the busier the
// machine.
const leftAtMost = 64 << 20

// tooBig sends a body and returns the answer and how much of it was taken. A
// client that is still sending may see the connection end before the answer;
// it then asks again, as a browser's user would.
func (b *bench) tooBig(path, kind string, body *endless, length int64) *page {
	b.Helper()
	r := b.request(http.MethodPost, path, body)
	r.ContentLength = length
	r.Header.Set("Content-Type", kind)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.send(r)
}

// TestTwoGibibytesAreRefusedAtOnce announces an upload of that size; the
// server must answer without taking it.
func TestTwoGibibytesAreRefusedAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	before := b.contents()
	const size = 2 << 30
	for path, kind := range map[string]string{"/import": "multipart/form-data; boundary=frontier", "/sources": "application/x-www-form-urlencoded", "/nowhere": "text/plain"} {
		body := &endless{left: size}
		p := b.tooBig(path, kind, body, size)
		require.Equal(t, http.StatusRequestEntityTooLarge, p.status, path)
		require.Contains(t, p.mainText(), "larger than this page takes")
		require.Less(t, body.read.Load(), int64(leftAtMost), "%s: bytes that left the client", path)
	}
	require.Equal(t, before, b.contents())
}

// TestFormsOfUnknownSizeAreCutOff sends more than a form may hold without
// saying how much it will be.
func TestFormsOfUnknownSizeAreCutOff(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	before := b.contents()
	for _, path := range []string{"/sources", "/pickups", "/settings/units", "/book/source/" + w.source.ID.String() + "/correct"} {
		body := &endless{left: 2 << 30, head: strings.NewReader("name=")}
		p := b.tooBig(path, "application/x-www-form-urlencoded", body, -1)
		require.Equal(t, http.StatusRequestEntityTooLarge, p.status, path)
		require.Less(t, body.read.Load(), int64(leftAtMost), path)
	}
	require.Equal(t, before, b.contents())
}

// TestUploadOfUnknownSizeIsCutOff sends a sheet without end.
func TestUploadOfUnknownSizeIsCutOff(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	body := &endless{left: 2 << 30, head: strings.NewReader("--frontier\r\nContent-Disposition: form-data; name=\"files\"; filename=\"sources.csv\"\r\n\r\nname\n")}
	p := b.tooBig("/import", "multipart/form-data; boundary=frontier", body, -1)
	require.Equal(t, http.StatusRequestEntityTooLarge, p.status)
	require.Less(t, body.read.Load(), int64(300<<20))
	require.Zero(t, b.count(db.Sources))
}

// unzip returns the files of an export in their order.
func (b *bench) unzip(archive string) (out []upload) {
	b.Helper()
	r, err := zip.NewReader(strings.NewReader(archive), int64(len(archive)))
	require.NoError(b, err)
	for _, f := range r.File {
		in, err := f.Open()
		require.NoError(b, err)
		body, err := io.ReadAll(in)
		require.NoError(b, err)
		out = append(out, upload{f.Name, string(body)})
	}
	return out
}

// TestExportOfABookMakesTheSameBook exports a full book, imports the sheets
// into an empty one that was opened on another day, and exports that.
func TestExportOfABookMakesTheSameBook(t *testing.T) {
	t.Parallel()
	b := setup(t, options{Demo: true})
	w := b.withWood()
	b.stored("/book/source/"+w.source.ID.String()+"/correct", with(b.form(b.open("/book/source/"+w.source.ID.String()+"/correct"), "/book/source/"+w.source.ID.String()+"/correct"),
		"notes", "=1+1\n@home, \"quoted\"; 'and' <b>more</b>", "phone", "+1 555 0100", "why", "-looked again"))
	first := b.get("/export.zip")
	require.Equal(t, "application/zip", first.header.Get("Content-Type"))
	require.Contains(t, first.header.Get("Content-Disposition"), "attachment")
	files := b.unzip(first.body)
	var names []string
	for _, f := range files {
		names = append(names, f.name)
		for _, cells := range records(t, f.text) {
			for _, cell := range cells {
				if cell != "" && strings.ContainsRune("=+@", rune(cell[0])) {
					require.Fail(t, "a cell that a spreadsheet would run", "%s: %q", f.name, cell)
				}
			}
		}
	}
	require.Equal(t, db.ExportFiles(), names)

	other := setup(t, options{Now: func() time.Time { return testNow.AddDate(0, 0, 3) }})
	p := other.importFiles(false, files...)
	require.Equal(t, http.StatusOK, p.status, p.faults())
	second := other.get("/export.zip")
	for i, f := range other.unzip(second.body) {
		require.Equal(t, files[i], f)
	}
	require.True(t, first.body == second.body, "the archives are byte for byte the same")
	// The sources page looks ahead from today; the stock does not.
	require.Equal(t, b.open("/stock").mainText(), other.open("/stock").mainText())
	slices.Reverse(files)
	before := other.contents()
	require.Equal(t, http.StatusOK, other.importFiles(false, files...).status, "in any order")
	require.Equal(t, before, other.contents())
}

func records(t *testing.T, body string) [][]string {
	t.Helper()
	out, err := csv.NewReader(strings.NewReader(body)).ReadAll()
	require.NoError(t, err)
	return out
}

func TestFaultsOfAllFilesAreShownAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	p := b.importFiles(false,
		upload{"sources.csv", "name,latitude,longitude\nHarbour Tile,91,0\nSecond Yard,44,\n"},
		upload{"pickups.csv", "source,date,minutes\nHarbour Tile,2026-03-01,many\nNowhere,2026-03-02,10\n"},
		upload{"notes.csv", "what,ever\n1,2\n"})
	require.Equal(t, http.StatusUnprocessableEntity, p.status)
	var at []string
	for _, f := range p.faults() {
		at = append(at, f[0]+" "+f[1]+" "+f[2])
	}
	for _, want := range []string{"sources.csv 2 latitude", "sources.csv 3 longitude", "pickups.csv 2 minutes", "pickups.csv 3 source", "notes.csv 1 "} {
		require.Contains(t, at, want)
	}
	require.Contains(t, p.mainText(), "so nothing was stored")
	require.Zero(t, b.count(db.Sources))
}
