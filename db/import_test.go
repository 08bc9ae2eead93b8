package db_test

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/db"
	"skepwood/db/demo"
)

// sheet is a file held in memory.
func sheet(name, text string) db.Sheet {
	return db.Sheet{Name: name, Size: int64(len(text)), Open: func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }}
}

func (b *bench) read(t testing.TB, check bool, sheets ...db.Sheet) *db.ImportReport {
	t.Helper()
	report, err := b.store.Import(t.Context(), sheets, db.ImportOptions{Check: check, Keeper: b.keeper})
	require.NoError(t, err)
	return report
}

// oldSheets is a log as people keep it: own numbers, own headers.
var oldSheets = []db.Sheet{
	sheet("Sources.csv", "Business;Type;Nonsense\nHarbour Tile;flooring;x\nQuarry Lane;stone;y\n"),
	sheet("pickups.csv", "Date,Company,Miles,Minutes,Paid\n2025-11-02,Harbour Tile,12,75,5\n14 Mar 2026,quarry lane,8.5,50,\n"),
	sheet("lots.csv", "Number,Pickup,Type,Count\nA1,2025-11-02 Harbour Tile,crate,2\nA2,2026-03-14 Quarry Lane,pallet,1\n"),
	sheet("findings.csv", "lot,kind,value,date\nA1,mark,IPPC PL-12345 HT,2025-11-02\nA2,tag,CCA,2026-03-14\n"),
	sheet("boards.csv", "lot,number,thick,wide,long\nA1,A1/1,3/4,\"5 1/2\"\"\",48\nA1,A1/2,19 mm,140 mm,1.2 m\n"),
	sheet("defects.csv", "board,kind,x,y,size along,size across\nA1/1,nail_hole,2,1/2,3/8,3/8\n"),
	sheet("readings.csv", "board,date,mc,temp\nA1/1,2026-01-05,18.5,50 F\nA1/2,2026-01-05,17,10 C\n"),
}

func TestImportOldSheets(t *testing.T) {
	t.Parallel()
	b := setup(t)
	report := b.read(t, true, oldSheets...)
	require.Empty(t, report.Faults)
	require.False(t, report.Stored, "--check stores nothing")
	names, err := b.store.SourceNames(t.Context())
	require.NoError(t, err)
	require.Empty(t, names)

	report = b.read(t, false, oldSheets...)
	require.Empty(t, report.Faults)
	require.True(t, report.Stored)
	require.Equal(t, []string{"Nonsense"}, report.Sheets[0].Ignored)
	lots, err := b.store.Lots(t.Context(), db.LotFilter{})
	require.NoError(t, err)
	require.Len(t, lots, 2)
	verdicts := map[string]string{}
	for _, l := range lots {
		verdicts[l.Source] = l.Verdict
	}
	require.Equal(t, map[string]string{"Harbour Tile": "inside", "Quarry Lane": "never"}, verdicts)
	stock, err := b.store.Stock(t.Context(), db.StockFilter{Verdict: "inside"})
	require.NoError(t, err)
	require.Len(t, stock, 2)
	for _, s := range stock {
		require.NotNil(t, s.Percent)
	}

	again := b.read(t, false, oldSheets...)
	for _, s := range again.Sheets {
		require.Zero(t, s.Added, "%s: importing twice adds nothing", s.File)
		require.Equal(t, s.Rows, s.Already, s.File)
	}
}

// TestWrongCells has at least one wrong value for each column of each sheet.
func TestWrongCells(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.read(t, false, oldSheets...)
	long := strings.Repeat("x", 10001)
	for _, tc := range []struct{ file, header, row, column string }{
		{"sources.csv", "name,kind", ",flooring", "name"},
		{"sources.csv", "name,kind", "New," + long, "kind"},
		{"sources.csv", "name,cargo", "New," + long, "cargo"},
		{"sources.csv", "name,contact", "New," + long, "contact"},
		{"sources.csv", "name,phone", "New," + long, "phone"},
		{"sources.csv", "name,permission", "New," + long, "permission"},
		{"sources.csv", "name,hours", "New," + long, "hours"},
		{"sources.csv", "name,place", "New," + long, "place"},
		{"sources.csv", "name,latitude,longitude", "New,91,0", "latitude"},
		{"sources.csv", "name,latitude,longitude", "New,0,181", "longitude"},
		{"sources.csv", "name,latitude", "New,44", "longitude"},
		{"sources.csv", "name,distance", "New,-3", "distance"},
		{"sources.csv", "name,notes", "New," + long, "notes"},
		{"sources.csv", "name,notes", "New,a\x00b", "notes"},
		{"sources.csv", "name,notes", "New,a\xffb", "notes"},
		{"pickups.csv", "source,day", "Nowhere,2026-01-01", "source"},
		{"pickups.csv", "source,day", "Harbour Tile,3/4/2026", "day"},
		{"pickups.csv", "source,day", "Harbour Tile,2031-01-01", "day"},
		{"pickups.csv", "source,day", "Harbour Tile,2026-02-30", "day"},
		{"pickups.csv", "source,day,visit", "Harbour Tile,2026-01-01,0", "visit"},
		{"pickups.csv", "source,day,distance", "Harbour Tile,2026-01-01,far", "distance"},
		{"pickups.csv", "source,day,minutes", "Harbour Tile,2026-01-01,5000", "minutes"},
		{"pickups.csv", "source,day,currency", "Harbour Tile,2026-01-01,dollars", "currency"},
		{"pickups.csv", "source,day,cost", "Harbour Tile,2026-01-01,-5", "cost"},
		{"pickups.csv", "source,day,cost", "Harbour Tile,2026-01-01,5.001", "cost"},
		{"pickups.csv", "source,day,empty", "Harbour Tile,2026-01-01,perhaps", "empty"},
		{"pickups.csv", "source,day,zone", "Harbour Tile,2026-01-01,Moon/Base", "zone"},
		{"pickups.csv", "source,day,notes", "Harbour Tile,2026-01-01," + long, "notes"},
		{"lots.csv", "pickup,kind", "2026-01-09 Harbour Tile,crate", "pickup"},
		{"lots.csv", "pickup,kind,code", "2025-11-02 Harbour Tile,crate,OIL10", "code"},
		{"lots.csv", "pickup,kind,code", "2025-11-02 Harbour Tile,crate,K7MWX", "code"},
		{"lots.csv", "pickup,kind,label", "2025-11-02 Harbour Tile,crate," + long, "label"},
		{"lots.csv", "pickup,kind", "2025-11-02 Harbour Tile,barrel", "kind"},
		{"lots.csv", "pickup,kind,count", "2025-11-02 Harbour Tile,crate,0", "count"},
		{"lots.csv", "pickup,kind,place", "2025-11-02 Harbour Tile,crate," + long, "place"},
		{"lots.csv", "pickup,kind,volume", "2025-11-02 Harbour Tile,crate,0", "volume"},
		{"lots.csv", "pickup,kind,usable_percent", "2025-11-02 Harbour Tile,crate,101", "usable_percent"},
		{"lots.csv", "pickup,kind,broken", "2025-11-02 Harbour Tile,crate,-1", "broken"},
		{"lots.csv", "pickup,kind,dismantle_minutes", "2025-11-02 Harbour Tile,crate,x", "dismantle_minutes"},
		{"lots.csv", "pickup,kind,notes", "2025-11-02 Harbour Tile,crate," + long, "notes"},
		{"boards.csv", "lot,thickness,width,length", "ZZ,3/4,5,48", "lot"},
		{"boards.csv", "lot,thickness,width,length,code", "A1,3/4,5,48,12", "code"},
		{"boards.csv", "lot,thickness,width,length,label", "A1,3/4,5,48," + long, "label"},
		{"boards.csv", "lot,thickness,width,length,parent", "A1,3/4,5,48,none", "parent"},
		{"boards.csv", "lot,thickness,width,length", "A1,3/0,5,48", "thickness"},
		{"boards.csv", "lot,thickness,width,length", "A1,6,5,48", "thickness"},
		{"boards.csv", "lot,thickness,width,length", "A1,3/4,-5,48", "width"},
		{"boards.csv", "lot,thickness,width,length", "A1,3/4,5,0", "length"},
		{"boards.csv", "lot,thickness,width,length", "A1,3/4,5,4000 m", "length"},
		{"boards.csv", "lot,thickness,width,length,species", "A1,3/4,5,48,unobtainium", "species"},
		{"boards.csv", "lot,thickness,width,length,place", "A1,3/4,5,48," + long, "place"},
		{"boards.csv", "lot,thickness,width,length,state", "A1,3/4,5,48,lost", "state"},
		{"boards.csv", "lot,thickness,width,length,metal", "A1,3/4,5,48,maybe", "metal"},
		{"boards.csv", "lot,thickness,width,length,notes", "A1,3/4,5,48," + long, "notes"},
		{"boards.csv", "lot,thickness,width,length,stack", "A1,3/4,5,48,no such stack", "stack"},
		{"stacks.csv", "name,stickered", ",2026-01-05", "name"},
		{"stacks.csv", "name,stickered", long + ",2026-01-05", "name"},
		{"stacks.csv", "name,stickered,place", "S1,2026-01-05," + long, "place"},
		{"stacks.csv", "name,stickered,cover", "S1,2026-01-05,tent", "cover"},
		{"stacks.csv", "name,stickered", "S1,2031-01-05", "stickered"},
		{"stacks.csv", "name,stickered,taken_down", "S1,2026-01-05,2026-01-04", "taken_down"},
		{"stacks.csv", "name,stickered,taken_down", "S1,2026-01-05,soon", "taken_down"},
		{"stacks.csv", "name,stickered,target", "S1,2026-01-05,45", "target"},
		{"stacks.csv", "name,stickered,air_temperature,air_humidity", "S1,2026-01-05,90 C,60", "air_temperature"},
		{"stacks.csv", "name,stickered,air_temperature,air_humidity", "S1,2026-01-05,10 C,101", "air_humidity"},
		{"stacks.csv", "name,stickered,air_temperature", "S1,2026-01-05,10 C", "air_humidity"},
		{"stacks.csv", "name,stickered,air_humidity", "S1,2026-01-05,70", "air_temperature"},
		{"stacks.csv", "name,stickered,notes", "S1,2026-01-05," + long, "notes"},
		{"findings.csv", "lot,kind,value", "ZZ,mark,HT", "lot"},
		{"findings.csv", "lot,board,kind,value", "A2,A1/1,stain,oil", "board"},
		{"findings.csv", "lot,kind,value", "A1,aura,blue", "kind"},
		{"findings.csv", "lot,kind,value", "A1,stain,purple", "value"},
		{"findings.csv", "lot,kind,value,note", "A1,stain,oil," + long, "note"},
		{"findings.csv", "lot,kind,value,seen", "A1,stain,oil,2031-01-01", "seen"},
		{"defects.csv", "board,kind,dx,dy", "ZZ,knot,1,1", "board"},
		{"defects.csv", "board,kind,dx,dy", "A1/1,hole,1,1", "kind"},
		{"defects.csv", "board,kind,dx,dy,face", "A1/1,knot,1,1,inner", "face"},
		{"defects.csv", "board,kind,dx,dy,x", "A1/1,knot,1,1,47.5", "x"},
		{"defects.csv", "board,kind,dx,dy,y", "A1/1,knot,1,1,5", "y"},
		{"defects.csv", "board,kind,dx,dy", "A1/1,knot,0,1", "dx"},
		{"defects.csv", "board,kind,dx,dy", "A1/1,knot,1,wide", "dy"},
		{"defects.csv", "board,kind,dx,dy,metal", "A1/1,knot,1,1,iron", "metal"},
		{"defects.csv", "board,kind,dx,dy,note", "A1/1,knot,1,1," + long, "note"},
		{"readings.csv", "board,raw", "ZZ,12", "board"},
		{"readings.csv", "board,raw,taken", "A1/1,12,2031-05-05", "taken"},
		{"readings.csv", "board,raw", "A1/1,-4", "raw"},
		{"readings.csv", "board,raw", "A1/1,401", "raw"},
		{"readings.csv", "board,raw", "A1/1,NaN", "raw"},
		{"readings.csv", "board,raw,method", "A1/1,12,radar", "method"},
		{"readings.csv", "board,raw,temperature", "A1/1,12,300 C", "temperature"},
		{"readings.csv", "board,raw,setting", "A1/1,12," + long, "setting"},
		{"readings.csv", "board,raw,place", "A1/1,12," + long, "place"},
		{"readings.csv", "board,raw,note", "A1/1,12," + long, "note"},
		{"settings.csv", "name,valid_from,amount", "fuel,2026-01-01,1", "name"},
		{"settings.csv", "name,valid_from,amount", "mile_cost,soon,1", "valid_from"},
		{"settings.csv", "name,valid_from,amount", "mile_cost,2026-01-01,-1", "amount"},
		{"settings.csv", "name,valid_from,amount", "mile_cost,2026-01-01,0.12345", "amount"},
		{"settings.csv", "name,valid_from,amount,currency", "mile_cost,2026-01-01,1,EURO", "currency"},
		{"settings.csv", "name,valid_from,amount,note", "mile_cost,2026-01-01,1," + long, "note"},
		{"sources.csv", "name,id", "New,7", "id"},
		{"sources.csv", "name,entered", "New,yesterday noon", "entered"},
		{"sources.csv", "name,version", "New,-1", "version"},
		{"sources.csv", "name,struck", "New,never", "struck"},
		{"sources.csv", "name,keeper", "New," + long, "keeper"},
	} {
		report := b.read(t, false, sheet(tc.file, tc.header+"\n"+tc.row+"\n"))
		require.False(t, report.Stored, "%s %s", tc.header, tc.row)
		require.NotEmpty(t, report.Faults, "%s: %s / %.60s", tc.file, tc.header, tc.row)
		f := report.Faults[0]
		require.Equal(t, tc.column, f.Column, "%s: %s / %.60s: %v", tc.file, tc.header, tc.row, f)
		require.Equal(t, 2, f.Row)
		require.NotEmpty(t, f.Problem)
		require.NotEmpty(t, f.Remedy)
	}
}

func TestEveryFaultIsReportedAndNothingStored(t *testing.T) {
	t.Parallel()
	b := setup(t)
	report := b.read(t, false,
		sheet("sources.csv", "name\nGood\n"),
		sheet("pickups.csv", "source,day\nGood,2026-01-05\nGood,nonsense\nNobody,2026-01-06\n"))
	require.Equal(t, 2, report.FaultCount)
	require.Equal(t, "pickups.csv, row 3, column day, value \"nonsense\": is not a day; write it like 2026-03-14 or 14 Mar 2026", report.Faults[0].String())
	require.Equal(t, 4, report.Faults[1].Row)
	names, err := b.store.SourceNames(t.Context())
	require.NoError(t, err)
	require.Empty(t, names, "all or nothing")
}

func TestFilesThatAreNoSheets(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var archive bytes.Buffer
	z := zip.NewWriter(&archive)
	_, err := z.Create("sources.csv")
	require.NoError(t, err)
	require.NoError(t, z.Close())
	for name, tc := range map[string]struct{ text, problem string }{
		"zip renamed":     {archive.String(), "zip archive"},
		"empty":           {"", "is empty"},
		"UTF-16":          {"\xff\xfen\x00a\x00", "UTF-16"},
		"10 MB line":      {"name\n" + strings.Repeat("x", 10<<20) + "\n", "longer than"},
		"open quotation":  {"name,notes\nA,\"" + strings.Repeat("line\n", 1<<20), "longer than"},
		"no known header": {"alpha,beta\n1,2\n", "does not say what it holds"},
	} {
		file := "sheet.csv"
		if name != "no known header" {
			file = "sources.csv"
		}
		report := b.read(t, false, sheet(file, tc.text))
		require.NotZero(t, report.FaultCount, name)
		require.Contains(t, report.Faults[0].Problem, tc.problem, name)
	}
}

// export writes the book to a fresh folder and returns the files' contents.
func (b *bench) export(t testing.TB) (string, map[string]string) {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, b.store.Export(context.Background(), func(name string) (io.WriteCloser, error) { return os.Create(filepath.Join(dir, name)) }))
	out := map[string]string{}
	for _, name := range db.ExportFiles() {
		text, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		out[name] = string(text)
	}
	return dir, out
}

func sheetsIn(t testing.TB, dir string) []db.Sheet {
	t.Helper()
	var out []db.Sheet
	for _, name := range db.ExportFiles() {
		path := filepath.Join(dir, name)
		out = append(out, db.Sheet{Name: name, Open: func() (io.ReadCloser, error) { return os.Open(path) }})
	}
	return out
}

func TestExportImportExportIsByteIdentical(t *testing.T) {
	t.Parallel()
	b := setup(t)
	require.NoError(t, b.store.EnsureFigures(t.Context()))
	require.NoError(t, demo.Write(t.Context(), b.store))
	// Values that spreadsheets and encodings trip over.
	b.add(t, db.Sources, map[string]string{"name": "=1+1", "notes": "'=x\n\"quoted\", ünïcode ½\n@home -1 +2", "phone": "-5", "latitude": "-44.25", "longitude": "8.5", "distance": "7.3"})
	dir, first := b.export(t)

	second := setup(t)
	report := second.read(t, false, sheetsIn(t, dir)...)
	require.Empty(t, report.Faults)
	require.True(t, report.Stored)
	_, again := second.export(t)
	for name, text := range first {
		require.Equal(t, text, again[name], name)
	}
	require.Contains(t, first["sources.csv"], "'=1+1", "formulas are guarded")
	require.Contains(t, first["history.csv"], "odometer read again at home")

	third := second.read(t, false, sheetsIn(t, dir)...)
	for _, s := range third.Sheets {
		require.Zero(t, s.Added, s.File)
	}
}

// TestRecomputeChangesNothing compares every derived column before and after.
func TestRecomputeChangesNothing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	require.NoError(t, demo.Write(t.Context(), b.store))
	snapshot := func() string {
		var all strings.Builder
		for _, table := range []string{"pickup", "lot", "board", "reading"} {
			var sum string
			require.NoError(t, b.store.Pool().QueryRow(t.Context(), fmt.Sprintf("SELECT md5(string_agg(t::text, '' ORDER BY t.id)) FROM %s t", table)).Scan(&sum))
			all.WriteString(table + sum)
		}
		return all.String()
	}
	before := snapshot()
	calls := 0
	lots, err := b.store.Recompute(t.Context(), func(done, total int) { calls++; require.LessOrEqual(t, done, total) })
	require.NoError(t, err)
	require.Positive(t, lots)
	require.Positive(t, calls)
	require.Equal(t, before, snapshot())

	// A derived value that went astray is put right.
	owner := b.owner(t)
	_, err = owner.Exec(t.Context(), "UPDATE lot SET verdict = 'inside'")
	require.NoError(t, err)
	_, err = b.store.Recompute(t.Context(), nil)
	require.NoError(t, err)
	require.Equal(t, before, snapshot())
}

func TestImportGivesUpWhenToldTo(t *testing.T) {
	t.Parallel()
	b := setup(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := b.store.Import(ctx, oldSheets, db.ImportOptions{Keeper: b.keeper})
	require.True(t, errors.Is(err, context.Canceled), "%v", err)
}
