package db

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// ImportOptions says how sheets are read; Keeper is required.
type ImportOptions struct {
	// Check finds every fault and stores nothing.
	Check bool
	// Keeper signs entries whose sheet names nobody.
	Keeper Keeper
	// Progress, if not nil, is told how many bytes of a file are read.
	Progress func(file string, read, size int64)
}

// SheetReport says what became of one file.
type SheetReport struct {
	File, Kind           string
	Rows, Added, Already int
	// Twice counts the rows whose entry an earlier row of these files brought.
	Twice int
	// Differing counts the cells of rows the book has already that say
	// something else than the book.
	Differing int
	// Ignored are columns that no kind of entry has.
	Ignored []string
}

// ImportReport says what became of an import.
type ImportReport struct {
	Sheets []SheetReport
	// Faults are the first faults in the order of the files, at most
	// MaxFaults; FaultCount counts all.
	Faults     []SheetFault
	FaultCount int
	// Differs are the first cells, at most MaxFaults, that say something else
	// than the entry which the book has already. They change nothing.
	Differs []SheetFault
	// Stored is true when the book now holds the entries.
	Stored bool
}

// Differing counts the cells that say something else than the book.
func (r *ImportReport) Differing() (n int) {
	for _, sheet := range r.Sheets {
		n += sheet.Differing
	}
	return n
}

// inOrder sorts the faults of each file by row: references are looked up for
// many rows at once, after their cells were read.
func (r *ImportReport) inOrder() {
	place := make(map[string]int, len(r.Sheets))
	for i, sheet := range r.Sheets {
		place[sheet.File] = i
	}
	slices.SortStableFunc(r.Faults, func(a, b SheetFault) int {
		return cmp.Or(cmp.Compare(place[a.File], place[b.File]), cmp.Compare(a.Row, b.Row))
	})
}

// added counts the entries that were new.
func (r *ImportReport) added() (n int) {
	for _, sheet := range r.Sheets {
		n += sheet.Added
	}
	return n
}

// MaxFaults bounds how many faults a report spells out.
const MaxFaults = 1000

// errRollBack ends the transaction of an import that stores nothing.
var errRollBack = errors.New("roll back")

// Import reads sheets into the book: all of them or, where any has a fault or
// opts.Check is set, nothing. Entries already in the book are left alone, so
// that importing twice adds nothing. Memory stays bounded whatever the size
// of the files: rows pass through in batches.
func (s *Store) Import(ctx context.Context, sheets []Sheet, opts ImportOptions) (*ImportReport, error) {
	var report *ImportReport
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		run := &importRun{tx: tx, opts: opts, now: s.Now(), report: &ImportReport{}, ordinal: make(map[uuid.UUID]int), keepers: make(map[string]uuid.UUID),
			marked: make(map[uuid.UUID]bool), whole: make(map[uuid.UUID]bool)}
		run.env = opts.Keeper.Env(run.now)
		report = run.report
		if err := run.all(ctx, sheets); err != nil {
			return err
		}
		report.inOrder()
		if report.FaultCount > 0 || opts.Check {
			return errRollBack
		}
		return run.finish(ctx)
	})
	if errors.Is(err, errRollBack) {
		return report, nil
	}
	if err != nil {
		return report, fmt.Errorf("import: %w", err)
	}
	report.Stored = true
	if report.added() > 0 {
		if err := s.refreshStatistics(ctx); err != nil { // the entries are in the book all the same
			s.log.WarnContext(ctx, "statistics_stale", "error", err)
		}
	}
	return report, nil
}

// importRun is one import while it runs.
type importRun struct {
	tx      pgx.Tx
	opts    ImportOptions
	env     Env
	now     time.Time
	report  *ImportReport
	ordinal map[uuid.UUID]int
	keepers map[string]uuid.UUID
	// lots and boards whose derived figures must be brought up to date.
	lots, boards idSet
	pickups      idSet
	// marked are boards about which something was written down, whole the lots
	// about which something was that counts for all of their boards.
	marked, whole map[uuid.UUID]bool
	// everything says that something changed by which every lot is judged.
	everything bool
	from       cameFrom
	// broken are the names of rows at fault, by kind.
	broken map[string]struct{}
	// sheet is the file being read.
	sheet *SheetReport
}

// idSet remembers ids once, in the order they came.
type idSet struct {
	seen map[uuid.UUID]struct{}
	list []uuid.UUID
}

func (s *idSet) add(id uuid.UUID) {
	if id == uuid.Nil {
		return
	}
	if s.seen == nil {
		s.seen = make(map[uuid.UUID]struct{})
	}
	if _, ok := s.seen[id]; !ok {
		s.seen[id] = struct{}{}
		s.list = append(s.list, id)
	}
}

// sheetKind is what a file can hold: entries of a kind, keepers or history.
type sheetKind interface {
	Name() string
	// accepts reports how many of its columns a header names, and whether all
	// that are required are there.
	accepts(header []string) (known int, complete bool)
	// readSheet stores the rows.
	readSheet(ctx context.Context, run *importRun, rows *rowReader) error
}

// sheetKinds lists them in the order in which they must be read.
func sheetKinds() []sheetKind {
	return []sheetKind{keeperSheet{}, Settings, Policies, Allowances, Sources, Pickups, Lots, Climates, Stacks, Moves, Boards, Findings, Defects, Readings, OwnParts, Plans, Layouts, Blanks, historySheet{}}
}

// all reads the sheets, each after those it refers to.
func (run *importRun) all(ctx context.Context, sheets []Sheet) error {
	type opened struct {
		sheet Sheet
		kind  sheetKind
		order int
	}
	var list []opened
	for _, sheet := range sheets {
		kind, order, err := run.kindOf(sheet)
		if err != nil {
			return err
		}
		if kind != nil {
			list = append(list, opened{sheet, kind, order})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].order < list[j].order })
	for i, o := range list {
		if i > 0 && o.order != list[i-1].order {
			run.nextKind()
		}
		if err := run.one(ctx, o.sheet, o.kind); err != nil {
			return err
		}
	}
	return nil
}

// kindOf finds out what a file holds: by its name, else by its header.
func (run *importRun) kindOf(sheet Sheet) (sheetKind, int, error) {
	in, err := sheet.Open()
	if err != nil {
		return nil, 0, err
	}
	defer in.Close()
	rows, f := openRows(in)
	if f != nil {
		run.wrong(sheet.Name, 1, f)
		return nil, 0, nil
	}
	kinds := sheetKinds()
	stem := strings.TrimSuffix(strings.ToLower(filepath.Base(sheet.Name)), ".csv")
	for i, k := range kinds {
		if stem == k.Name() || stem == k.Name()+"s" || stem == plurals[k.Name()] {
			return k, i, nil
		}
	}
	best, most := -1, 0
	for i, k := range kinds {
		if known, complete := k.accepts(rows.header); complete && known > most {
			best, most = i, known
		}
	}
	if best < 0 {
		run.wrong(sheet.Name, 1, &FieldError{Value: clip(strings.Join(rows.header, ",")), Problem: "does not say what it holds",
			Remedy: "name it sources.csv, pickups.csv, lots.csv, climates.csv, stacks.csv, moves.csv, boards.csv, findings.csv, defects.csv or readings.csv, with the columns the import page lists"})
		return nil, 0, nil
	}
	return kinds[best], best, nil
}

// plurals that are not made with an s.
var plurals = map[string]string{"history": "history", "policy": "policies"}

func (run *importRun) one(ctx context.Context, sheet Sheet, kind sheetKind) error {
	run.report.Sheets = append(run.report.Sheets, SheetReport{File: sheet.Name, Kind: kind.Name()})
	run.sheet = &run.report.Sheets[len(run.report.Sheets)-1]
	in, err := sheet.Open()
	if err != nil {
		return err
	}
	defer in.Close()
	rows, f := openRows(progressReader{in, run, sheet, new(int64)})
	if f != nil {
		run.wrong(sheet.Name, 1, f)
		return nil
	}
	return kind.readSheet(ctx, run, rows)
}

// progressReader tells how much of a file was read.
type progressReader struct {
	io.Reader
	run   *importRun
	sheet Sheet
	read  *int64
}

func (p progressReader) Read(b []byte) (int, error) {
	n, err := p.Reader.Read(b)
	*p.read += int64(n)
	if p.run.opts.Progress != nil {
		p.run.opts.Progress(p.sheet.Name, *p.read, p.sheet.Size)
	}
	return n, err
}

// wrong notes a fault.
func (run *importRun) wrong(file string, row int, f *FieldError) {
	run.report.FaultCount++
	if len(run.report.Faults) < MaxFaults {
		run.report.Faults = append(run.report.Faults, SheetFault{file, row, f.Field, f.Value, f.Problem, f.Remedy})
	}
}

// keeperNamed returns the id of a keeper, entering a name the book does not
// know yet.
func (run *importRun) keeperNamed(ctx context.Context, name string) (uuid.UUID, error) {
	if name == "" {
		return run.opts.Keeper.ID, nil
	}
	key := strings.ToLower(name)
	if id, ok := run.keepers[key]; ok {
		return id, nil
	}
	_, err := run.tx.Exec(ctx, `INSERT INTO keeper (id, name) SELECT $1, $2 WHERE NOT EXISTS (SELECT 1 FROM keeper WHERE lower(name) = lower($2))`,
		derivedID("keeper", key), name)
	if err != nil {
		return uuid.Nil, err
	}
	var id uuid.UUID
	if err := run.tx.QueryRow(ctx, `SELECT id FROM keeper WHERE lower(name) = lower($1)`, name).Scan(&id); err != nil {
		return uuid.Nil, err
	}
	run.keepers[key] = id
	return id, nil
}

// deriveBatch is how many lots are judged in one go.
const deriveBatch = 1000

// finish brings up to date what follows from the new entries.
func (run *importRun) finish(ctx context.Context) error {
	if err := newestReadings(ctx, run.tx, run.boards.list); err != nil {
		return err
	}
	if run.everything {
		return deriveEveryLot(ctx, run.tx)
	}
	change := &woodChange{boards: run.changed, lots: run.whole}
	for start := 0; start < len(run.lots.list); start += deriveBatch {
		if err := deriveSince(ctx, run.tx, run.lots.list[start:min(start+deriveBatch, len(run.lots.list))], change); err != nil {
			return err
		}
	}
	rows, err := run.tx.Query(ctx, "SELECT DISTINCT pickup_id FROM lot WHERE id = ANY($1)", run.lots.list)
	if err != nil {
		return err
	}
	touched, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return err
	}
	for _, id := range touched {
		run.pickups.add(id)
	}
	return sumPickups(ctx, run.tx, run.pickups.list)
}

// changed tells whether a board is new or something new is known of it. That it
// was probed says nothing about its verdict, but is kept in the same place.
func (run *importRun) changed(board uuid.UUID) bool {
	_, seen := run.boards.seen[board]
	return seen || run.marked[board]
}

// judgeAll notes that entries change by what every lot is judged.
func judgeAll[T any](_ context.Context, run *importRun, rows []*staged[T]) error {
	run.everything = run.everything || len(rows) > 0
	return nil
}

// SheetName is the usual file name for a sheet of the kind.
func SheetName(kind EntryKind) string {
	if p, ok := plurals[kind.Name()]; ok {
		return p + ".csv"
	}
	return kind.Name() + "s.csv"
}
