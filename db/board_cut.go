package db

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// BoardPiece is what one board becomes at the saw: a rectangle of it, measured
// from its left end and near edge with the top face up.
type BoardPiece struct {
	grade.Rect
	// Thickness is what is left of it after planing or resawing; 0 means the
	// board's own. It is never more.
	Thickness wood.Length
	// State is where the piece goes, "rack" when empty.
	State string
	// Place is where it is put; empty means where the board lay.
	Place string
	// Label is a number of its own, Notes what is to be said of it.
	Label, Notes string
}

// BoardCut asks to turn one board into pieces.
type BoardCut struct {
	// ID makes the same request sent twice one cut: the pieces' ids follow
	// from it. Without one each call is a cut of its own.
	ID    uuid.UUID
	Board uuid.UUID
	// Version is the version of the board that was read; 0 takes any.
	Version int
	Keeper  uuid.UUID
	// Why is kept in the board's history.
	Why string
	// RipKerf parts two pieces across the board, CrosscutKerf along it: two
	// pieces must lie at least one of them apart, as no saw takes less.
	RipKerf, CrosscutKerf wood.Length
	Pieces                []BoardPiece
	// least is the least length of a piece; a plan says itself what it keeps.
	least wood.Length
}

// CutBoard is a board that was cut and what came of it.
type CutBoard struct {
	Board Board
	// Pieces are the new boards in the order they were asked for.
	Pieces []Board
	// Again is true where the same request had been carried out before; then
	// nothing was changed.
	Again bool
}

// maxCutPieces bounds the pieces of one board.
const maxCutPieces = 500

// CutBoard turns a board into pieces in one transaction: the board's state
// becomes cut, each piece is a board of the same lot with the cut one as its
// parent and its species, stack, place, moisture and state of metal; the defects that
// reach into a piece are cut off at its edges and written down for it, on the
// face they show on. Findings stay where they were made and count for every
// piece through its parent. Faults come as FieldErrors, a board corrected
// meanwhile as a *ConflictError.
func (s *Store) CutBoard(ctx context.Context, cut BoardCut) (CutBoard, error) {
	var out CutBoard
	cut.least = LeastBoard
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		done, err := cutBoards(ctx, tx, []BoardCut{cut}, s.Now())
		if err == nil {
			out = done[0]
		}
		return err
	})
	return out, err
}

// cutBoards cuts several boards within the caller's transaction and then
// derives every lot once. See [Store.CutBoard].
func cutBoards(ctx context.Context, tx pgx.Tx, cuts []BoardCut, now time.Time) ([]CutBoard, error) {
	out := make([]CutBoard, 0, len(cuts))
	var lots, changed []uuid.UUID
	for _, cut := range cuts {
		done, err := cutBoard(ctx, tx, cut, now)
		if err != nil {
			return nil, err
		}
		out, lots = append(out, done), append(lots, done.Board.Lot.ID)
		changed = append(append(changed, done.Board.ID), idsOf(done.Pieces)...)
	}
	slices.SortFunc(lots, func(a, b uuid.UUID) int { return bytes.Compare(a[:], b[:]) })
	for _, lot := range slices.Compact(lots) {
		if err := deriveBoards(ctx, tx, lot, changed); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// cutBoard cuts one board and derives nothing yet.
func cutBoard(ctx context.Context, tx pgx.Tx, cut BoardCut, now time.Time) (CutBoard, error) {
	board, err := lockBoard(ctx, tx, cut)
	if err != nil {
		return CutBoard{}, err
	}
	if again, err := cutBefore(ctx, tx, cut, board); err != nil || again.Again {
		return again, err
	}
	if faults := cut.check(board); len(faults) > 0 {
		return CutBoard{}, faults
	}
	defects, err := Defects.list(ctx, tx, "WHERE t.board_id = $1 AND t.struck_at IS NULL ORDER BY t.id", board.ID)
	if err != nil {
		return CutBoard{}, err
	}
	// Whoever wrote down a defect looked: what is left of the board is known.
	for _, d := range defects {
		board.LookedOver = board.LookedOver || !strings.HasPrefix(d.Pattern, edgePattern)
	}
	out := CutBoard{}
	for i, p := range cut.Pieces {
		piece, err := cut.store(ctx, tx, board, p, Base{ID: alikeID(cut.ID, i), KeeperID: cut.Keeper, ReceivedAt: now})
		if err != nil {
			return CutBoard{}, err
		}
		if err := clipDefects(ctx, tx, defects, p.Rect, piece, board.Code); err != nil {
			return CutBoard{}, err
		}
		out.Pieces = append(out.Pieces, piece)
	}
	if out.Board, err = markCut(ctx, tx, board, cut, now); err != nil {
		return out, err
	}
	return out, newestReadings(ctx, tx, []uuid.UUID{board.ID})
}

// lockBoard reads the board for update.
func lockBoard(ctx context.Context, tx pgx.Tx, cut BoardCut) (Board, error) {
	if err := holdLotsOf(ctx, tx, []uuid.UUID{cut.Board}); err != nil {
		return Board{}, err
	}
	edit := Edit{ID: cut.Board, Version: cut.Version, Keeper: cut.Keeper, Env: SheetEnv(time.Time{})}
	if edit.Version == 0 {
		err := tx.QueryRow(ctx, "SELECT version FROM board WHERE id = $1 FOR UPDATE", cut.Board).Scan(&edit.Version)
		if err != nil {
			return Board{}, notFound(err, "board")
		}
	}
	board, err := Boards.locked(ctx, tx, edit)
	if err != nil && board.State == "cut" && cut.ID != uuid.Nil {
		return board, nil // perhaps this very request, sent again
	}
	return board, err
}

// cutBefore finds the pieces of the same request, carried out before.
func cutBefore(ctx context.Context, tx pgx.Tx, cut BoardCut, board Board) (CutBoard, error) {
	out := CutBoard{Board: board}
	if cut.ID == uuid.Nil {
		return out, nil
	}
	ids := make([]uuid.UUID, len(cut.Pieces))
	for i := range ids {
		ids[i] = alikeID(cut.ID, i)
	}
	var err error
	out.Pieces, err = Boards.list(ctx, tx, "WHERE t.id = ANY($1) AND t.parent_id = $2 ORDER BY array_position($1, t.id)", ids, board.ID)
	out.Again = len(out.Pieces) > 0
	return out, err
}

// store enters one piece as a board.
func (c BoardCut) store(ctx context.Context, tx pgx.Tx, board Board, p BoardPiece, base Base) (Board, error) {
	b := board
	b.Base, b.Parent = base, RefTo(board.ID)
	b.Code, b.Label, b.Notes = "", p.Label, p.Notes
	b.Width, b.Length = p.DY, p.DX
	b.keepEnds(board, p.Rect)
	if p.Thickness > 0 {
		b.Thickness = p.Thickness
	}
	if p.Place != "" {
		b.Place = p.Place
	}
	b.State = "rack"
	if p.State != "" {
		b.State = p.State
	}
	alone := *Boards
	alone.derive = nil
	if _, err := alone.insert(ctx, tx, &b); err != nil {
		return b, err
	}
	b.Parent.Key = board.Code
	return b, nil
}

// keepEnds leaves a piece the ends that are still its board's. An end that was
// just sawn is clean: nothing comes off it.
func (b *Board) keepEnds(of Board, r grade.Rect) {
	sawn := func() *wood.Length { return new(wood.Length) }
	switch {
	case r.X > 0:
		b.LeftTrim = sawn()
	case b.Length <= trimOf(of.LeftTrim):
		b.LeftTrim = nil
	}
	switch {
	case r.X+r.DX < of.Length:
		b.RightTrim = sawn()
	case b.Length <= trimOf(b.LeftTrim)+trimOf(of.RightTrim):
		b.RightTrim = nil
	}
}

// trimOf is how much comes off an end, 0 where it is left to the plan.
func trimOf(l *wood.Length) wood.Length {
	if l == nil {
		return 0
	}
	return *l
}

// clipDefects writes down for a piece what of the board's defects reaches into
// it, measured from its own corner.
func clipDefects(ctx context.Context, tx pgx.Tx, defects []Defect, r grade.Rect, piece Board, from string) error {
	alone := *Defects
	alone.derive, alone.prepare = nil, nil
	for _, d := range defects {
		in := d.Grade().Rect().Intersect(r)
		if in.Empty() {
			continue
		}
		d.Base = Base{ID: derivedID("defect", piece.ID.String()+d.ID.String()), KeeperID: piece.KeeperID, ReceivedAt: piece.ReceivedAt}
		d.Board = RefTo(piece.ID)
		if !strings.HasPrefix(d.Pattern, edgePattern) {
			d.Pattern = "" // nails of a piece are taken back one by one
		}
		d.X, d.Y, d.DX, d.DY = in.X-r.X, in.Y-r.Y, in.DX, in.DY
		if d.Depth >= piece.Thickness { // planed thinner, it shows on both faces
			d.Face, d.Depth = string(grade.Both), 0
		}
		if d.Note == "" {
			d.Note = "from board " + from
		}
		if _, err := alone.insert(ctx, tx, &d); err != nil {
			return err
		}
	}
	return nil
}

// markCut sets the board's state and keeps why.
func markCut(ctx context.Context, tx pgx.Tx, board Board, cut BoardCut, now time.Time) (Board, error) {
	edit := Edit{ID: board.ID, Version: board.Version, Keeper: cut.Keeper, Why: cut.Why, Env: SheetEnv(now)}
	if strings.TrimSpace(edit.Why) == "" {
		edit.Why = "cut into " + fmt.Sprint(len(cut.Pieces)) + " pieces"
	}
	alone := *Boards
	alone.derive = nil
	return alone.correct(ctx, tx, edit, map[string]string{"state": "cut"}, now)
}
