package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// defectOnBoard refuses a live defect that lies off its board or goes deeper
// than it, and notes metal on the board.
func defectOnBoard(ctx context.Context, tx pgx.Tx, d *Defect) error {
	if d.Struck() {
		return nil
	}
	var size grade.Size
	err := tx.QueryRow(ctx, "SELECT thickness_nm, width_nm, length_nm FROM board WHERE id = $1", d.Board.ID).Scan(&size.Thickness, &size.Width, &size.Length)
	if err != nil {
		return notFound(err, "board")
	}
	if f := offBoard(d, size); f != nil {
		return FieldErrors{f}
	}
	if !d.Metal {
		return nil
	}
	edit := Edit{Keeper: d.KeeperID, Why: "metal was written down: " + spaced(d.Kind) + " at " + exactLength(d.X)}
	now, err := lastTouched(ctx, tx, "defect", d.Base)
	if err != nil {
		return err
	}
	return metalFound(ctx, tx, []uuid.UUID{d.Board.ID}, edit, now)
}

// offBoard returns the fault of a defect that reaches past its board.
func offBoard(d *Defect, size grade.Size) *FieldError {
	fault := func(field string, l wood.Length, problem, remedy string) *FieldError {
		return &FieldError{Field: field, Value: exactLength(l), Problem: problem, Remedy: remedy}
	}
	through := d.Face == string(grade.Both)
	switch {
	case d.X+d.DX > size.Length:
		return fault("x", d.X, "puts the defect past the end of the board ("+exactLength(size.Length)+")", "measure from the left end")
	case d.Y+d.DY > size.Width:
		return fault("y", d.Y, "puts the defect past the far edge of the board ("+exactLength(size.Width)+")", "measure from the near edge")
	case size.Thickness > 0 && d.Depth > size.Thickness:
		return fault("depth", d.Depth, "is more than the board is thick ("+exactLength(size.Thickness)+")", "what goes through is on both faces; leave the depth empty")
	case size.Thickness > 0 && through && d.Depth > 0 && d.Depth < size.Thickness:
		return fault("depth", d.Depth, "ends inside the board, though the defect is on both faces", "leave it empty, or write down one defect for each face")
	}
	return nil
}

// defectOnce refuses the same defect written down twice, and more of them than
// a board can carry.
func defectOnce(ctx context.Context, tx pgx.Tx, d *Defect) error {
	if d.Struck() {
		return nil
	}
	var same, count int
	err := tx.QueryRow(ctx, `SELECT count(*) FILTER (WHERE kind = $3 AND face = $4 AND x_nm = $5 AND y_nm = $6 AND dx_nm = $7 AND dy_nm = $8), count(*)
		FROM defect WHERE board_id = $1 AND id <> $2 AND struck_at IS NULL`,
		d.Board.ID, d.ID, d.Kind, d.Face, d.X, d.Y, d.DX, d.DY).Scan(&same, &count)
	if err != nil {
		return fmt.Errorf("look for the same defect: %w", err)
	}
	switch {
	case same > 0:
		return FieldErrors{{Field: "kind", Value: spaced(d.Kind), Problem: "is written down at this very place already", Remedy: "correct that entry instead, or give the other one its own place"}}
	case count >= grade.MaxDefects:
		return FieldErrors{{Field: "board", Value: d.Board.Key, Problem: fmt.Sprintf("has %d defects already", count), Remedy: "mark a spoiled stretch as one rectangle"}}
	}
	return nil
}

// boardHoldsDefects refuses a correction that would leave a defect off the
// board, and metal that is both written down and swept clean.
func boardHoldsDefects(ctx context.Context, tx pgx.Tx, b *Board) error {
	var need grade.Size
	var metal int
	err := tx.QueryRow(ctx, `SELECT coalesce(max(depth_nm), 0), coalesce(max(y_nm + dy_nm), 0), coalesce(max(x_nm + dx_nm), 0), count(*) FILTER (WHERE metal)
		FROM defect WHERE board_id = $1 AND struck_at IS NULL`, b.ID).Scan(&need.Thickness, &need.Width, &need.Length, &metal)
	if err != nil {
		return fmt.Errorf("read the board's defects: %w", err)
	}
	var faults FieldErrors
	for _, m := range []struct {
		field      string
		have, need wood.Length
	}{{"thickness", b.Thickness, need.Thickness}, {"width", b.Width, need.Width}, {"length", b.Length, need.Length}} {
		if m.have < m.need {
			faults = append(faults, &FieldError{Field: m.field, Value: exactLength(m.have), Problem: "is less than where a defect of it ends (" + exactLength(m.need) + ")",
				Remedy: "correct or strike that defect first; a board that was cut shorter is a new board, cut on its page"})
		}
	}
	if b.Metal == "clean" && metal > 0 {
		faults = append(faults, &FieldError{Field: "metal", Value: "swept clean", Problem: fmt.Sprintf("contradicts %s with metal still in", plural(metal, "defect", "defects")),
			Remedy: "pull the metal and correct those defects first"})
	}
	if len(faults) > 0 {
		return faults
	}
	return nil
}

// defectsFit refuses defects of a sheet that lie off their board, and notes
// metal on the boards.
func defectsFit(ctx context.Context, run *importRun, rows []*staged[Defect]) error {
	var boards, metal idSet
	for _, s := range rows {
		b := s.targets["board"]
		run.lots.add(b.LotID)
		run.marked[b.ID] = true
		boards.add(b.ID)
		if s.rec.Metal && s.rec.StruckAt == nil {
			metal.add(b.ID)
		}
	}
	type held struct {
		thickness wood.Length
		defects   int
	}
	holds := make(map[uuid.UUID]*held, len(boards.list))
	found, err := run.tx.Query(ctx, `SELECT b.id, b.thickness_nm, count(d.id) FROM board b LEFT JOIN defect d ON d.board_id = b.id AND d.struck_at IS NULL
		WHERE b.id = ANY($1) GROUP BY b.id`, boards.list)
	if err != nil {
		return err
	}
	var id uuid.UUID
	var h held
	if _, err := pgx.ForEachRow(found, []any{&id, &h.thickness, &h.defects}, func() error { one := h; holds[id] = &one; return nil }); err != nil {
		return err
	}
	for _, s := range rows {
		b := s.targets["board"]
		h, ok := holds[b.ID]
		if !ok {
			continue // the board was not found, which is the row's fault
		}
		if f := offBoard(&s.rec, grade.Size{Thickness: h.thickness, Width: b.Width, Length: b.Length}); f != nil {
			s.fail(run, f)
		}
		if s.rec.StruckAt == nil && !s.already {
			h.defects++
		}
		if h.defects > grade.MaxDefects {
			s.fail(run, &FieldError{Field: "board", Value: s.rec.Board.Key, Problem: fmt.Sprintf("has more than %d defects", grade.MaxDefects), Remedy: "mark a spoiled stretch as one rectangle"})
		}
	}
	return metalFound(ctx, run.tx, metal.list, Edit{Keeper: run.opts.Keeper.ID, Why: "metal was written down in an imported sheet"}, run.now)
}

// spaced writes a stored word as people say it: nail hole.
func spaced(word string) string { return strings.ReplaceAll(word, "_", " ") }
