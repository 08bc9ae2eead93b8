package db

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// staged is one row of a sheet on its way into the book.
type staged[T any] struct {
	row int
	rec T
	// given is true where the sheet named the entry's id.
	given bool
	// keeper is the name the sheet gives; struck is not known to Base yet.
	keeper string
	// already is true where the book has the entry.
	already bool
	// twin is the earlier row of the files that is this entry, if it is not
	// from before, and shares what the two have in common, in words.
	twin   *rowPlace
	shares string
	faulty bool
	// filled are the columns whose cell held something.
	filled []int
	// targets are the entries that the record's references found, by column.
	targets map[string]target
}

// importBatch is how many rows are checked and stored at once.
const importBatch = 5000

// metaColumns are columns that every kind of entry has in a sheet.
var metaColumns = []ColumnInfo{
	{Name: "id", Label: "Id", Help: "UUID of the entry; leave it out in your own sheets."},
	{Name: "keeper", Label: "Keeper", Help: "Who wrote it; empty means you."},
	{Name: "entered", Label: "Entered", Help: "When the book got it; empty means now."},
	{Name: "version", Label: "Version", Help: "How often it was written; empty means once."},
	{Name: "struck", Label: "Struck", Help: "When it was struck through; empty means it stands."},
}

// accepts implements sheetKind.
func (e *Entity[T]) accepts(header []string) (known int, complete bool) {
	complete = true
	for i := range e.columns {
		c := &e.columns[i]
		found := false
		for _, h := range header {
			found = found || (!c.Hidden && c.matches(h))
		}
		if found {
			known++
		}
		complete = complete && (found || !c.Required)
	}
	return known, complete
}

// layout says which cell of a row belongs to which column.
type layout struct {
	column map[int]int    // cell to index into columns
	meta   map[int]string // cell to name of a meta column
	unit   map[int]string // cell to the unit its header names, such as km
}

// layoutOf matches a header with the columns; unknown and double ones are
// reported, missing required ones are faults.
func (e *Entity[T]) layoutOf(run *importRun, header []string) layout {
	l := layout{column: make(map[int]int), meta: make(map[int]string), unit: make(map[int]string)}
	taken := make(map[int]bool)
	for cell, h := range header {
		if name := normalHeader(h); metaColumn(name) {
			l.meta[cell] = name
			continue
		}
		match := e.columnFor(h, taken)
		if match < 0 {
			run.sheet.Ignored = append(run.sheet.Ignored, clip(h))
			continue
		}
		l.column[cell], taken[match] = match, true
		l.unit[cell] = headerUnit(h)
	}
	for i := range e.columns {
		if c := &e.columns[i]; c.Required && !taken[i] {
			run.wrong(run.sheet.File, 1, &FieldError{Field: c.Name, Problem: "is missing from the header", Remedy: "add the column" + example(c.Example)})
		}
	}
	return l
}

// headerUnits are headers that name the unit of the numbers below them.
var headerUnits = map[string]string{"miles": "mi", "extra_miles": "mi", "km": "km", "board_feet": "bf"}

func headerUnit(header string) string { return headerUnits[normalHeader(header)] }

// withUnit writes the header's unit behind a bare number.
func withUnit(text, unit string) string {
	if unit == "" {
		return text
	}
	if _, bare := parseFloat(strings.TrimSpace(text)); !bare {
		return text
	}
	return text + " " + unit
}

// columnFor finds the column a header names: its own name before any alias.
func (e *Entity[T]) columnFor(header string, taken map[int]bool) int {
	for i := range e.columns {
		if c := &e.columns[i]; !c.Hidden && !taken[i] && normalHeader(header) == c.Name {
			return i
		}
	}
	for i := range e.columns {
		if c := &e.columns[i]; !c.Hidden && !taken[i] && c.matches(header) {
			return i
		}
	}
	return -1
}

func metaColumn(name string) bool {
	for _, m := range metaColumns {
		if m.Name == name {
			return true
		}
	}
	return false
}

// readSheet implements sheetKind: rows are parsed, then checked and stored a
// batch at a time.
func (e *Entity[T]) readSheet(ctx context.Context, run *importRun, rows *rowReader) error {
	l := e.layoutOf(run, rows.header)
	if run.report.FaultCount > 0 && len(l.column) == 0 {
		return nil
	}
	batch := make([]*staged[T], 0, importBatch)
	for {
		cells, f := rows.next()
		if f != nil {
			run.wrong(run.sheet.File, rows.row, f)
			break
		}
		if cells == nil {
			break
		}
		run.sheet.Rows++
		batch = append(batch, e.parseRow(run, l, cells, rows.row))
		if len(batch) == importBatch {
			if err := e.storeBatch(ctx, run, batch); err != nil {
				return err
			}
			batch = batch[:0]
		}
	}
	return e.storeBatch(ctx, run, batch)
}

// parseRow reads one row; every fault of it is noted.
func (e *Entity[T]) parseRow(run *importRun, l layout, cells []string, row int) *staged[T] {
	s := &staged[T]{row: row}
	texts := make([]string, len(e.columns))
	for cell, text := range cells {
		if i, ok := l.column[cell]; ok {
			texts[i] = withUnit(unguard(text), l.unit[cell])
		} else if name, ok := l.meta[cell]; ok {
			s.fail(run, s.setMeta(e.base(&s.rec), name, unguard(text), run.env))
		}
	}
	for i := range e.columns {
		if !e.columns[i].Hidden {
			s.fail(run, e.columns[i].set(&s.rec, texts[i], run.env))
			if strings.TrimSpace(texts[i]) != "" {
				s.filled = append(s.filled, i)
			}
		}
	}
	if !s.faulty && e.check != nil {
		e.refuse(run, s, e.check(&s.rec, run.env), texts)
	}
	// A row with an id comes from a book that has had the entry.
	if !s.faulty && !s.given && e.newly != nil {
		e.refuse(run, s, e.newly(&s.rec, run.env), texts)
	}
	return s
}

// refuse notes faults of a row's cells, which stand in texts.
func (e *Entity[T]) refuse(run *importRun, s *staged[T], faults FieldErrors, texts []string) {
	for _, f := range faults {
		if i := e.at(f.Field); i >= 0 && texts[i] != "" {
			f.Value = clip(strings.TrimSpace(texts[i])) // as it stands in the sheet
		}
		s.fail(run, f)
	}
}

// at returns the place of a column, or -1.
func (e *Entity[T]) at(name string) int {
	return slices.IndexFunc(e.columns, func(c Column[T]) bool { return c.Name == name })
}

// fail notes a fault of the row; nil is none.
func (s *staged[T]) fail(run *importRun, f *FieldError) {
	if f == nil {
		return
	}
	s.faulty = true
	run.wrong(run.sheet.File, s.row, f)
}

// setMeta reads one of the columns that every kind has.
func (s *staged[T]) setMeta(base *Base, name, text string, env Env) *FieldError {
	if text == "" {
		return nil
	}
	f := checkText(text)
	switch {
	case f != nil:
	case name == "id":
		id, err := uuid.Parse(text)
		if err != nil {
			f = fault("is not a UUID", "leave the column out in your own sheets")
		}
		base.ID, s.given = id, true
	case name == "keeper":
		f = (textCodec{max: 200}).parse(&s.keeper, text, env)
	case name == "entered":
		f = instantCodec{}.parse(&base.ReceivedAt, text, env)
	case name == "version":
		f = (wholeCodec{1, 1 << 30, 1}).parse(&base.Version, text, env)
	case name == "struck":
		var at time.Time
		f = instantCodec{}.parse(&at, text, env)
		base.StruckAt = &at
	}
	if f != nil {
		f.Field, f.Value = name, clip(text)
	}
	return f
}

// storeBatch resolves, checks and stores a batch. Rows at fault are left out;
// the transaction is rolled back at the end, so nothing half stays.
func (e *Entity[T]) storeBatch(ctx context.Context, run *importRun, batch []*staged[T]) error {
	if len(batch) == 0 {
		return nil
	}
	if err := e.resolveBatch(ctx, run, batch); err != nil {
		return err
	}
	if err := e.identify(ctx, run, batch); err != nil {
		return err
	}
	for _, n := range e.natural {
		if err := e.matchNatural(ctx, run, n, batch); err != nil {
			return err
		}
	}
	if e.batch != nil {
		if err := e.batch(ctx, run, live(batch)); err != nil {
			return err
		}
	}
	fresh := live(batch)
	for _, s := range batch {
		switch {
		case !s.already:
		case s.twin != nil:
			run.sheet.Twice++
		default:
			run.sheet.Already++
		}
		if s.faulty {
			e.noteFaulty(run, &s.rec)
		}
	}
	_, err := run.tx.CopyFrom(ctx, pgx.Identifier{e.table}, e.stored(), pgx.CopyFromSlice(len(fresh), func(i int) ([]any, error) {
		return e.args(&fresh[i].rec), nil
	}))
	if err != nil {
		return e.explain(err)
	}
	run.sheet.Added += len(fresh)
	if err := e.noteDiffering(ctx, run, batch); err != nil {
		return err
	}
	return run.putAway(ctx)
}

// live keeps the rows that are to be stored.
func live[T any](batch []*staged[T]) []*staged[T] {
	out := make([]*staged[T], 0, len(batch))
	for _, s := range batch {
		if !s.faulty && !s.already {
			out = append(out, s)
		}
	}
	return out
}

// identify gives every row its id and finds those the book has already.
func (e *Entity[T]) identify(ctx context.Context, run *importRun, batch []*staged[T]) error {
	ids := make([]uuid.UUID, 0, len(batch))
	for _, s := range batch {
		if s.faulty {
			continue
		}
		base := e.base(&s.rec)
		if base.ID == uuid.Nil {
			base.ID = e.derive2(run, &s.rec)
		}
		if base.ReceivedAt.IsZero() {
			base.ReceivedAt = run.now
		}
		if base.Version == 0 {
			base.Version = 1
		}
		var err error
		if base.KeeperID, err = run.keeperNamed(ctx, s.keeper); err != nil {
			return err
		}
		ids = append(ids, base.ID)
	}
	rows, err := run.tx.Query(ctx, "SELECT id FROM "+e.table+" WHERE id = ANY($1)", ids)
	if err != nil {
		return fmt.Errorf("look for entries already there: %w", err)
	}
	known := make(map[uuid.UUID]bool)
	var id uuid.UUID
	if _, err := pgx.ForEachRow(rows, []any{&id}, func() error { known[id] = true; return nil }); err != nil {
		return err
	}
	if err := run.recall(ctx, slices.Collect(maps.Keys(known))); err != nil {
		return err
	}
	for _, s := range batch {
		if s.faulty {
			continue
		}
		id := e.base(&s.rec).ID
		s.already = known[id]
		known[id] = true // the same entry twice in one file is one entry
		if s.already {
			s.twin, s.shares = run.earlier(id), e.knownBy(s)
		} else {
			run.came(id, s.row)
		}
	}
	return nil
}

// derive2 makes the id of a row that names none: from its natural key, or
// from its place among the rows of the same parent.
func (e *Entity[T]) derive2(run *importRun, rec *T) uuid.UUID {
	key := e.identity(rec)
	if key != "" {
		return derivedID(e.table, key)
	}
	for i := range e.columns {
		if ref, ok := e.columns[i].Ptr(rec).(*Ref); ok {
			run.ordinal[ref.ID]++
			return derivedID(e.table, fmt.Sprintf("%s\x1f%d", ref.ID, run.ordinal[ref.ID]))
		}
	}
	return newID()
}
