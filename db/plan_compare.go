package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/wood"
)

// CompareLayouts says of each layout of a plan that is still to be cut whether
// its board's defects, ends and size are still those it was made for, and how
// its sweep for metal stands: a nail that was found since is in no drawing and
// in no cut.
func (s *Store) CompareLayouts(ctx context.Context, p *Plan, layouts []PlanLayout) error {
	at := map[uuid.UUID]int{}
	var ids []uuid.UUID
	for i := range layouts {
		if l := &layouts[i]; l.Open() {
			at[l.Board.ID] = i
			ids = append(ids, l.Board.ID)
		}
	}
	if len(ids) == 0 {
		return nil
	}
	boards, err := s.stockBoards(ctx, "WHERE b.id = ANY($1)", ids)
	if err != nil {
		return err
	}
	now := make([]BuildBoard, len(boards))
	for i := range boards {
		now[i].StockBoard = boards[i]
	}
	if err := s.fillEnds(ctx, now); err != nil {
		return err
	}
	if err := s.fillDefects(ctx, now); err != nil {
		return err
	}
	for i := range now {
		l := &layouts[at[now[i].ID]]
		l.Corrected, l.MetalNow = !p.madeFor(&l.LayoutDrawing, &now[i]), now[i].Metal
	}
	return nil
}

// madeFor reports whether a drawing shows the board as it is.
func (p *Plan) madeFor(d *LayoutDrawing, b *BuildBoard) bool {
	if d.Thickness != b.Thickness || d.Width != b.Width || d.Length != b.Length || len(d.Defects) != len(b.Defects) {
		return false
	}
	if start, end := p.rules().Trims(p.shopBoard(b)); start != d.TrimStart || end != d.TrimEnd {
		return false
	}
	count := map[LayoutDefect]int{}
	for i := range d.Defects {
		count[d.Defects[i]]++
		count[drawnDefect(&b.Defects[i])]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

// drawnDefect is a defect as a drawing has it.
func drawnDefect(d *Defect) LayoutDefect {
	return LayoutDefect{LayoutRect{d.X, d.Y, d.DX, d.DY}, d.Kind, d.Face, d.Metal}
}

// fillEnds reads the boards' own ends.
func (s *Store) fillEnds(ctx context.Context, boards []BuildBoard) error {
	at, ids := make(map[uuid.UUID]int, len(boards)), make([]uuid.UUID, len(boards))
	for i := range boards {
		at[boards[i].ID], ids[i] = i, boards[i].ID
	}
	rows, err := s.pool.Query(ctx, "SELECT id, left_trim_nm, right_trim_nm FROM board WHERE id = ANY($1)", ids)
	if err != nil {
		return fmt.Errorf("read the ends of boards: %w", err)
	}
	var id uuid.UUID
	var left, right *wood.Length
	_, err = pgx.ForEachRow(rows, []any{&id, &left, &right}, func() error {
		b := &boards[at[id]]
		b.LeftTrim, b.RightTrim, left, right = left, right, nil, nil
		return nil
	})
	return err
}
