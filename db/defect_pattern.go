package db

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
)

// DefectPattern asks to write the same kind of defects onto one board, or onto
// every whole board of a lot that is on the rack: pieces cut from others have
// theirs from those, and no rows of their own.
type DefectPattern struct {
	// ID makes the pattern one however often it is sent; one undo takes all
	// of it back.
	ID uuid.UUID
	// Board is the board; without one, Lot is the lot.
	Board, Lot uuid.UUID
	Keeper     uuid.UUID
	// Note is kept with every defect.
	Note string
	// On works the defects out for a board; its faults are of package grade.
	On func(grade.Board) ([]grade.Defect, error)
}

// PatternDone says what a pattern wrote.
type PatternDone struct {
	// Boards were given something new, Defects in all; what was written down
	// at the same place already was left alone.
	Boards, Defects int
	// Name is what the defects of the pattern share.
	Name string
}

// PutPattern writes a pattern in one transaction. A pattern that does not fit
// a board is a fault in the field that grade names, with the board's code.
func (s *Store) PutPattern(ctx context.Context, p DefectPattern) (PatternDone, error) {
	if p.ID == uuid.Nil {
		p.ID = newID()
	}
	out := PatternDone{Name: p.ID.String()}
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		out.Boards, out.Defects = 0, 0
		where, id := "t.id = $1", p.Board
		if p.Board == uuid.Nil {
			where, id = "t.lot_id = $1 AND "+wholeOnRack, p.Lot
		}
		boards, err := Boards.list(ctx, tx, "WHERE "+where+" ORDER BY t.id", id)
		if err != nil {
			return err
		}
		if len(boards) == 0 {
			return FieldErrors{{Problem: "no whole board of it is on the rack", Remedy: "add its boards first; rows on a piece that was cut from another are put there on its own map"}}
		}
		if err := holdLots(ctx, tx, []uuid.UUID{boards[0].Lot.ID}); err != nil {
			return err
		}
		var metal []uuid.UUID
		for i := range boards {
			b := &boards[i]
			defects, err := p.On(grade.Board{Thickness: b.Thickness, Width: b.Width, Length: b.Length})
			if err != nil {
				return patternFault(err, b.Code)
			}
			like := Defect{Base: s.fresh(Base{KeeperID: p.Keeper}), Note: p.Note, Pattern: out.Name}
			n, err := putDefects(ctx, tx, b, defects, like)
			if err != nil {
				return err
			}
			if n > 0 {
				out.Boards, out.Defects = out.Boards+1, out.Defects+n
				if defects[0].Metal {
					metal = append(metal, b.ID)
				}
			}
		}
		if err := metalFound(ctx, tx, metal, Edit{Keeper: p.Keeper, Why: "metal was written down: " + p.Note}, s.Now()); err != nil {
			return err
		}
		return deriveBoards(ctx, tx, boards[0].Lot.ID, idsOf(boards))
	})
	return out, err
}

// wholeOnRack picks the boards t of a lot that a pattern is for.
const wholeOnRack = "t.struck_at IS NULL AND t.state = 'rack' AND t.parent_id IS NULL"

// WholeBoards counts the boards of a lot on the rack that were cut from no other.
func (s *Store) WholeBoards(ctx context.Context, lot uuid.UUID) (n int, err error) {
	err = s.pool.QueryRow(ctx, "SELECT count(*) FROM board t WHERE t.lot_id = $1 AND "+wholeOnRack, lot).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("count the whole boards: %w", err)
	}
	return n, nil
}

// patternFault puts a fault of a pattern beside its field.
func patternFault(err error, code string) error {
	var wrong *grade.Error
	if !errors.As(err, &wrong) {
		return err
	}
	return FieldErrors{{Field: wrong.Field, Value: code, Problem: wrong.Problem + " (board " + code + ")", Remedy: wrong.Remedy}}
}

// StrikePattern takes back what one pattern wrote: every live defect of it is
// struck through, each with a line in its history. It returns how many.
func (s *Store) StrikePattern(ctx context.Context, pattern string, keeper uuid.UUID, why string) (int, error) {
	if strings.TrimSpace(pattern) == "" {
		return 0, fmt.Errorf("pattern: %w", ErrNotFound)
	}
	n := 0
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		defects, err := Defects.list(ctx, tx, "WHERE t.pattern = $1 AND t.struck_at IS NULL ORDER BY t.id FOR NO KEY UPDATE OF t", pattern)
		if err != nil {
			return err
		}
		n = len(defects)
		alone := *Defects
		alone.derive = nil
		var boards idSet
		for _, d := range defects {
			edit := Edit{ID: d.ID, Version: d.Version, Keeper: keeper, Why: why, Env: SheetEnv(s.Now())}
			if err := alone.strike(ctx, tx, edit, ActionStruck, s.Now()); err != nil {
				return err
			}
			boards.add(d.Board.ID)
		}
		rows, err := tx.Query(ctx, "SELECT DISTINCT lot_id FROM board WHERE id = ANY($1) ORDER BY lot_id", boards.list)
		if err != nil {
			return err
		}
		lots, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
		if err != nil {
			return err
		}
		for _, lot := range lots {
			if err := deriveBoards(ctx, tx, lot, boards.list); err != nil {
				return err
			}
		}
		return nil
	})
	return n, err
}

// PatternLine is a pattern with live defects on a board.
type PatternLine struct {
	// Name is what StrikePattern takes.
	Name, Note string
	// Here counts its defects on the board, Boards how many boards have some.
	Here, Boards int
}

// Words says what the pattern is.
func (p PatternLine) Words() string {
	note := p.Note
	switch {
	case note != "":
	case strings.HasPrefix(p.Name, edgePattern):
		note = "taper and wane, as the board was entered"
	default:
		note = "a pattern"
	}
	if p.Boards > 1 {
		return note + ", on " + strconv.Itoa(p.Boards) + " boards"
	}
	return note
}

// PatternsOn lists the patterns that a board carries, the newest first.
func (s *Store) PatternsOn(ctx context.Context, board uuid.UUID) ([]PatternLine, error) {
	rows, err := s.pool.Query(ctx, `SELECT p.pattern, p.note, p.here, (SELECT count(DISTINCT o.board_id) FROM defect o WHERE o.pattern = p.pattern AND o.pattern <> '' AND o.struck_at IS NULL)
		FROM (SELECT pattern, max(note) AS note, count(*) AS here, max(received_at) AS at FROM defect
			WHERE board_id = $1 AND pattern <> '' AND struck_at IS NULL GROUP BY pattern) p ORDER BY p.at DESC, p.pattern LIMIT 50`, board)
	if err != nil {
		return nil, fmt.Errorf("read the patterns: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[PatternLine])
}

// PatternsOfLot lists the patterns on a lot's boards, the newest first; Here
// counts over all of them.
func (s *Store) PatternsOfLot(ctx context.Context, lot uuid.UUID) ([]PatternLine, error) {
	rows, err := s.pool.Query(ctx, `SELECT d.pattern, max(d.note), count(*), count(DISTINCT d.board_id) FROM defect d JOIN board b ON b.id = d.board_id
		WHERE b.lot_id = $1 AND b.struck_at IS NULL AND d.pattern <> '' AND d.struck_at IS NULL
		GROUP BY d.pattern ORDER BY max(d.received_at) DESC, d.pattern LIMIT 50`, lot)
	if err != nil {
		return nil, fmt.Errorf("read the patterns: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[PatternLine])
}
