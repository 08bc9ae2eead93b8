package db

import (
	"context"
	"strconv"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
)

// AddBoards stores n boards alike in one transaction and returns them with
// their codes. Their ids follow from like's, where it has one: the same call
// twice adds nothing.
func (s *Store) AddBoards(ctx context.Context, like Board, n int) ([]Board, error) {
	return s.AddBoardsWith(ctx, like, n, nil)
}

// edgePattern begins the pattern of defects that came with a board's entry: a
// taper or wane along an edge. They say nothing about the rest of its faces.
const edgePattern = "edges "

// AddBoardsWith is AddBoards for boards that taper or carry wane: each of them
// gets the defects, as one pattern.
func (s *Store) AddBoardsWith(ctx context.Context, like Board, n int, edges []grade.Defect) ([]Board, error) {
	out := make([]Board, 0, n)
	form := like.ID
	if form == uuid.Nil {
		form = newID()
	}
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		out = out[:0]
		bulk, numbers := *Boards, make(boardNumbers)
		bulk.derive = nil // once for all of them, below
		bulk.prepare = func(ctx context.Context, tx pgx.Tx, b *Board) error {
			if err := boardOfLot(ctx, tx, b.Parent, b.Lot); err != nil {
				return err
			}
			return numbers.give(ctx, tx, b) // nothing hangs on a new board that could contradict it
		}
		for i := range n {
			b := like
			b.Base = s.fresh(Base{ID: alikeID(form, i), KeeperID: like.KeeperID})
			added, err := bulk.insert(ctx, tx, &b)
			if err != nil {
				return err
			}
			if !added {
				numbers.takeBack(&like)
			} else if _, err := putDefects(ctx, tx, &b, edges, Defect{Base: b.Base, Pattern: edgePattern + form.String()}); err != nil {
				return err
			}
			out = append(out, b)
		}
		if n == 0 {
			return nil
		}
		ids := idsOf(out)
		if err := deriveReadings(ctx, tx, ids); err != nil {
			return err
		}
		return deriveBoards(ctx, tx, out[0].Lot.ID, ids)
	})
	return out, err
}

// idsOf lists boards' ids.
func idsOf(boards []Board) []uuid.UUID {
	ids := make([]uuid.UUID, len(boards))
	for i := range boards {
		ids[i] = boards[i].ID
	}
	return ids
}

// alikeID makes the id of the i-th of several entries that came in one form
// from the form's own id; without one it leaves the id open.
func alikeID(form uuid.UUID, i int) uuid.UUID {
	if form == uuid.Nil {
		return uuid.Nil
	}
	return uuid.NewSHA1(form, []byte(strconv.Itoa(i)))
}

// putDefects writes defects onto a board, each like the one given in all but
// its place, and returns how many were new: what is written down there already
// is left as it is. It derives nothing.
func putDefects(ctx context.Context, tx pgx.Tx, b *Board, defects []grade.Defect, like Defect) (int, error) {
	if len(defects) == 0 {
		return 0, nil
	}
	have, err := Defects.list(ctx, tx, "WHERE t.board_id = $1 AND t.struck_at IS NULL", b.ID)
	if err != nil {
		return 0, err
	}
	taken := make(map[grade.Defect]bool, len(have))
	for _, d := range have {
		taken[placeOf(d.Grade())] = true
	}
	bulk := *Defects
	bulk.derive, bulk.prepare = nil, nil
	added := 0
	for i, g := range defects {
		if taken[placeOf(g)] {
			continue
		}
		d := like
		d.ID = uuid.NewSHA1(b.ID, []byte(like.Pattern+"\x1f"+strconv.Itoa(i)))
		d.Board, d.Kind, d.Face = Ref{ID: b.ID, Key: b.Code}, string(g.Kind), string(g.Face)
		d.X, d.Y, d.DX, d.DY, d.Depth, d.Metal = g.X, g.Y, g.DX, g.DY, g.Depth, g.Metal
		fresh, err := bulk.insert(ctx, tx, &d)
		if err != nil {
			return added, err
		}
		if fresh {
			added++
		}
	}
	if added > 0 && len(have)+added > grade.MaxDefects {
		return added, FieldErrors{{Field: "board", Value: b.Code, Problem: "would have more than " + strconv.Itoa(grade.MaxDefects) + " defects", Remedy: "mark a spoiled stretch as one rectangle"}}
	}
	return added, nil
}

// placeOf is what tells two defects apart.
func placeOf(d grade.Defect) grade.Defect {
	return grade.Defect{Kind: d.Kind, Face: d.Face, X: d.X, Y: d.Y, DX: d.DX, DY: d.DY}
}
