package db

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// rowPlace is where an entry of an import stands: the place of its sheet in the
// report, and its row as a spreadsheet counts. It is small, since a large sheet
// has many.
type rowPlace struct{ sheet, row int32 }

// rowsKept is how many places of rows an import keeps in memory. There may be
// millions of readings: the rest goes to a table that ends with the import.
const rowsKept = 20_000

// cameFrom remembers which rows brought the entries of one kind that the book
// did not have before.
type cameFrom struct {
	rows map[uuid.UUID]rowPlace
	// back are places looked up in the table, for the rows at hand.
	back map[uuid.UUID]rowPlace
	// kind counts the kinds read, since entries of two may share an id.
	kind int
	// put says that some places are in the table, indexed that they can be
	// looked up there fast.
	put, indexed bool
}

// came remembers the row that brings an entry the book does not have.
func (run *importRun) came(id uuid.UUID, row int) {
	if run.from.rows == nil {
		run.from.rows = make(map[uuid.UUID]rowPlace)
	}
	run.from.rows[id] = rowPlace{int32(len(run.report.Sheets) - 1), int32(row)} //nolint:gosec // no sheet has so many rows
}

// nextKind forgets the rows of the kind read so far.
func (run *importRun) nextKind() {
	clear(run.from.rows)
	run.from.kind++
	run.from.put = false
}

// earlier returns the row of this import that brought the entry, nil where the
// book had it before. Those of earlier batches are there after recall.
func (run *importRun) earlier(id uuid.UUID) *rowPlace {
	if at, ok := run.from.rows[id]; ok {
		return &at
	}
	if at, ok := run.from.back[id]; ok {
		return &at
	}
	return nil
}

// putAway moves the places of rows to the table once there are many of them.
func (run *importRun) putAway(ctx context.Context) error {
	f := &run.from
	if len(f.rows) < rowsKept {
		return nil
	}
	if _, err := run.tx.Exec(ctx, "CREATE TEMPORARY TABLE IF NOT EXISTS import_row (kind integer, id uuid, sheet integer, row integer) ON COMMIT DROP"); err != nil {
		return fmt.Errorf("make room for the rows read: %w", err)
	}
	ids := slices.Collect(maps.Keys(f.rows))
	_, err := run.tx.CopyFrom(ctx, pgx.Identifier{"import_row"}, []string{"kind", "id", "sheet", "row"}, pgx.CopyFromSlice(len(ids), func(i int) ([]any, error) {
		at := f.rows[ids[i]]
		return []any{f.kind, ids[i], at.sheet, at.row}, nil
	}))
	if err != nil {
		return fmt.Errorf("put the rows read away: %w", err)
	}
	clear(f.rows)
	f.put = true
	return nil
}

// recall brings the places of entries back that rows before this batch brought.
func (run *importRun) recall(ctx context.Context, ids []uuid.UUID) error {
	f := &run.from
	f.back = nil
	if !f.put || len(ids) == 0 {
		return nil
	}
	if !f.indexed { // most imports never look
		if _, err := run.tx.Exec(ctx, "CREATE INDEX ON import_row (id)"); err != nil {
			return fmt.Errorf("sort the rows read: %w", err)
		}
		f.indexed = true
	}
	rows, err := run.tx.Query(ctx, "SELECT id, sheet, row FROM import_row WHERE id = ANY($1) AND kind = $2", ids, f.kind)
	if err != nil {
		return fmt.Errorf("look for rows read before: %w", err)
	}
	var id uuid.UUID
	var at rowPlace
	f.back = make(map[uuid.UUID]rowPlace)
	_, err = pgx.ForEachRow(rows, []any{&id, &at.sheet, &at.row}, func() error { f.back[id] = at; return nil })
	if err != nil {
		return fmt.Errorf("look for rows read before: %w", err)
	}
	return nil
}

// words name a row for those who look at the sheet being read.
func (run *importRun) words(at rowPlace) string {
	if int(at.sheet) == len(run.report.Sheets)-1 {
		return fmt.Sprintf("row %d of this sheet", at.row)
	}
	return fmt.Sprintf("row %d of %s", at.row, run.report.Sheets[at.sheet].File)
}

// said names what two rows with the same key have in common.
func (n natural[T]) said() string {
	if n.words != "" {
		return n.words
	}
	return n.field
}

// knownBy names what makes the row the entry that it is: the id that it gives,
// the first key that it has; it is empty where what it says does.
func (e *Entity[T]) knownBy(s *staged[T]) string {
	if s.given {
		return "id"
	}
	for _, n := range e.natural {
		if n.key(&s.rec) != "" {
			return n.said()
		}
	}
	return ""
}
