package db

import (
	"context"

	"github.com/google/uuid"
)

// noteDiffering tells which rows name an entry that the book has, but say
// something else than the book does. Such a row changes nothing: an import
// adds, and a correction needs a reason. Only cells that hold something are
// compared.
func (e *Entity[T]) noteDiffering(ctx context.Context, run *importRun, batch []*staged[T]) error {
	var ids []uuid.UUID
	for _, s := range batch {
		if s.already && !s.faulty {
			ids = append(ids, e.base(&s.rec).ID)
		}
	}
	if len(ids) == 0 {
		return nil
	}
	kept, err := e.list(ctx, run.tx, "WHERE t.id = ANY($1)", ids)
	if err != nil {
		return err
	}
	byID := make(map[uuid.UUID]*T, len(kept))
	for i := range kept {
		byID[e.base(&kept[i]).ID] = &kept[i]
	}
	for _, s := range batch {
		if book := byID[e.base(&s.rec).ID]; s.already && !s.faulty && book != nil {
			e.noteRow(run, s, book)
		}
	}
	return nil
}

// noteRow notes each cell of the row that differs from the book.
func (e *Entity[T]) noteRow(run *importRun, s *staged[T], book *T) {
	sheet, stored := e.values(&s.rec), e.values(book)
	for _, i := range s.filled {
		if sameValue(sheet[i], stored[i]) {
			continue
		}
		c := &e.columns[i]
		run.sheet.Differing++
		if len(run.report.Differs) < MaxFaults {
			has, remedy := s.otherwise(run)
			run.report.Differs = append(run.report.Differs, SheetFault{File: run.sheet.File, Row: s.row, Column: c.Name,
				Value: clip(c.Codec.print(c.Ptr(&s.rec), run.env)), Problem: has + " “" + clip(c.Codec.print(c.Ptr(book), run.env)) + "”",
				Remedy: remedy})
		}
	}
}

// otherwise says who has the entry with other words, and what to do about it.
func (s *staged[T]) otherwise(run *importRun) (has, remedy string) {
	if s.twin == nil {
		return "the book has", "if the sheet is right, correct the entry on its page"
	}
	if s.shares == "" {
		return run.words(*s.twin) + " is the same entry and says", "if they are two, correct what should tell them apart; if they are one, leave out the row that is wrong"
	}
	return run.words(*s.twin) + " has the same " + s.shares + " and says", "if they are two, give one of them another; if they are one, leave out the row that is wrong"
}
