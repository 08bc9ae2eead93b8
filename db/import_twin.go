package db

import (
	"fmt"

	"github.com/google/uuid"
)

// rowPlace is where an entry of an import stands: the place of its sheet in the
// report, and its row as a spreadsheet counts. It is small, since a large sheet
// has many.
type rowPlace struct{ sheet, row int32 }

// came remembers the row that brings an entry the book does not have.
func (run *importRun) came(id uuid.UUID, row int) {
	if run.rows == nil {
		run.rows = make(map[uuid.UUID]rowPlace)
	}
	run.rows[id] = rowPlace{int32(len(run.report.Sheets) - 1), int32(row)} //nolint:gosec // no sheet has so many rows
}

// earlier returns the row of this import that brought the entry, nil where the
// book had it before.
func (run *importRun) earlier(id uuid.UUID) *rowPlace {
	if at, ok := run.rows[id]; ok {
		return &at
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
// the first key that it has, or all that it says.
func (e *Entity[T]) knownBy(s *staged[T]) string {
	if s.given {
		return "id"
	}
	for _, n := range e.natural {
		if n.key(&s.rec) != "" {
			return n.said()
		}
	}
	return "entry"
}
