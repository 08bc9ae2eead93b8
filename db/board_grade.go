package db

import (
	"context"

	"github.com/google/uuid"

	"skepwood/analytics/grade"
)

// GradeBoard returns a board with its live defects as grades and cutting plans
// take it.
func (s *Store) GradeBoard(ctx context.Context, id uuid.UUID) (grade.Board, error) {
	b, err := Boards.one(ctx, s.pool, id)
	if err != nil {
		return grade.Board{}, err
	}
	defects, err := Defects.list(ctx, s.pool, "WHERE t.board_id = $1 AND t.struck_at IS NULL ORDER BY t.x_nm, t.y_nm, t.id", id)
	if err != nil {
		return grade.Board{}, err
	}
	return GradeOf(b, defects), nil
}

// GradeOf puts a board and its live defects together.
func GradeOf(b Board, defects []Defect) grade.Board {
	out := grade.Board{Thickness: b.Thickness, Width: b.Width, Length: b.Length, Mapped: b.LookedOver}
	for _, d := range defects {
		if !d.Struck() {
			out.Defects = append(out.Defects, d.Grade())
		}
	}
	return out
}
