package db_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// row returns what is derived for a board.
func (b *bench) row(t testing.TB, id uuid.UUID) db.StockBoard {
	t.Helper()
	out, err := b.store.StockBoard(t.Context(), id)
	require.NoError(t, err)
	return out
}

// TestLookedOverAndClearIsKnown stores that a board without defects was looked
// over, by itself and for a whole lot.
func TestLookedOverAndClearIsKnown(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	one, two := b.boardOf(t, lot, 22, 96, nil), b.boardOf(t, lot, 22, 96, nil)
	require.False(t, b.row(t, one.ID).Mapped, "not looked over is not clear")
	done, err := b.store.MarkBoards(t.Context(), db.BoardMark{Board: one.ID, Column: "looked_over", Value: "yes", Keeper: b.keeper.ID, Why: "both faces"})
	require.NoError(t, err)
	require.Equal(t, 1, done.Changed)
	require.True(t, b.row(t, one.ID).Mapped)
	require.False(t, b.row(t, two.ID).Mapped)
	done, err = b.store.MarkBoards(t.Context(), db.BoardMark{Lot: lot.ID, Column: "looked_over", Value: "yes", Keeper: b.keeper.ID, Why: "all of them"})
	require.NoError(t, err)
	require.Equal(t, 1, done.Changed, "one was so already")
	require.True(t, b.row(t, two.ID).Mapped)
	history, err := b.store.HistoryOf(t.Context(), "board", two.ID)
	require.NoError(t, err)
	require.Equal(t, []db.Change{{Field: "looked_over", Old: "no", New: "yes"}}, history[0].Changes)

	_, err = b.store.MarkBoards(t.Context(), db.BoardMark{Board: one.ID, Column: "state", Value: "gone", Keeper: b.keeper.ID, Why: "x"})
	require.ErrorContains(t, err, "one tap")
	_, err = b.store.MarkBoards(t.Context(), db.BoardMark{Board: uuid.New(), Column: "metal", Value: "clean", Keeper: b.keeper.ID, Why: "x"})
	require.True(t, db.IsNotFound(err))
	_, err = b.store.MarkBoards(t.Context(), db.BoardMark{Board: one.ID, Column: "metal", Value: "perhaps", Keeper: b.keeper.ID, Why: "x"})
	require.ErrorContains(t, err, "not a known choice")
}

// TestMetalIsFoundBeforeItIsSwept follows a board's metal.
func TestMetalIsFoundBeforeItIsSwept(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	one, two := b.boardOf(t, lot, 22, 96, nil), b.boardOf(t, lot, 22, 96, nil)
	sweep := db.BoardMark{Lot: lot.ID, Column: "metal", Value: "clean", Keeper: b.keeper.ID, Why: "swept both faces"}
	done, err := b.store.MarkBoards(t.Context(), sweep)
	require.NoError(t, err)
	require.Equal(t, 2, done.Changed)
	nail := b.add(t, db.Defects, map[string]string{"board": one.Code, "kind": "nail_hole", "x": "2", "y": "1", "dx": "1/4", "dy": "1/4", "metal": "yes"})
	require.Equal(t, "found", b.loadBoard(t, one.ID).Metal, "metal written down is metal found")
	history, err := b.store.HistoryOf(t.Context(), "board", one.ID)
	require.NoError(t, err)
	require.Equal(t, "metal was written down: nail hole at 2 in", history[0].Why)
	done, err = b.store.MarkBoards(t.Context(), sweep)
	require.NoError(t, err)
	require.Equal(t, db.Marked{Left: []string{one.Code}}, done, "what is written down contradicts it")
	sweep.Board = one.ID
	_, err = b.store.MarkBoards(t.Context(), sweep)
	require.ErrorContains(t, err, "contradicts 1 defect with metal still in")
	edit := db.Edit{ID: nail.ID, Version: 1, Keeper: b.keeper.ID, Why: "pulled", Env: b.env}
	_, err = db.Defects.Correct(t.Context(), b.store, edit, map[string]string{"metal": "no"})
	require.NoError(t, err)
	require.Equal(t, "found", b.loadBoard(t, one.ID).Metal, "pulled is not yet swept")
	_, err = b.store.MarkBoards(t.Context(), sweep)
	require.NoError(t, err)
	require.Equal(t, "clean", b.loadBoard(t, one.ID).Metal)

	b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "metal", "value": "found"})
	require.Equal(t, "found", b.loadBoard(t, one.ID).Metal)
	require.Equal(t, "found", b.loadBoard(t, two.ID).Metal, "a finding on the lot is one on each board")
	_, err = db.Defects.Correct(t.Context(), b.store, db.Edit{ID: nail.ID, Version: 2, Keeper: b.keeper.ID, Why: "looked again", Env: b.env}, map[string]string{"metal": "yes"})
	require.NoError(t, err)
}

// TestPatternsGoOnAndOffAsOne writes nail rows onto a lot of boards of two
// sizes and takes them back.
func TestPatternsGoOnAndOffAsOne(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	one, two := b.boardOf(t, lot, 22, 96, nil), b.boardOf(t, lot, 14, 160, nil)
	gone := b.boardOf(t, lot, 14, 160, map[string]string{"state": "gone"})
	nails := grade.NailRows{Rows: 3, Across: 3, FromEnd: 2 * wood.Inch}
	put := db.DefectPattern{ID: uuid.Must(uuid.NewV7()), Lot: lot.ID, Keeper: b.keeper.ID, Note: "nail rows", On: nails.Defects}
	for range 2 { // sent twice it is one pattern
		_, err := b.store.PutPattern(t.Context(), put)
		require.NoError(t, err)
	}
	require.Equal(t, 9, b.live(t, one.ID))
	require.Equal(t, 9, b.live(t, two.ID))
	require.Zero(t, b.live(t, gone.ID))
	require.True(t, b.row(t, one.ID).Mapped)
	usable := b.row(t, one.ID).UsableM3
	again := put
	again.ID = uuid.Must(uuid.NewV7())
	done, err := b.store.PutPattern(t.Context(), again)
	require.NoError(t, err)
	require.Zero(t, done.Defects, "the same nails are not written down twice")
	lines, err := b.store.PatternsOn(t.Context(), one.ID)
	require.NoError(t, err)
	require.Equal(t, []db.PatternLine{{Name: put.ID.String(), Note: "nail rows", Here: 9, Boards: 2}}, lines)
	require.Equal(t, "nail rows, on 2 boards", lines[0].Words())
	n, err := b.store.StrikePattern(t.Context(), put.ID.String(), b.keeper.ID, "wrong lot")
	require.NoError(t, err)
	require.Equal(t, 18, n)
	require.Zero(t, b.live(t, one.ID))
	require.Greater(t, b.row(t, one.ID).UsableM3, usable)
	n, err = b.store.StrikePattern(t.Context(), put.ID.String(), b.keeper.ID, "wrong lot")
	require.NoError(t, err)
	require.Zero(t, n)
	_, err = b.store.StrikePattern(t.Context(), " ", b.keeper.ID, "x")
	require.True(t, db.IsNotFound(err))

	metal := put
	metal.ID, metal.Lot, metal.Board = uuid.Nil, uuid.Nil, two.ID
	nails.Metal = true
	metal.On = nails.Defects
	done, err = b.store.PutPattern(t.Context(), metal)
	require.NoError(t, err)
	require.Equal(t, 9, done.Defects)
	require.Equal(t, "found", b.loadBoard(t, two.ID).Metal)

	metal.On = grade.NailRows{Rows: 3, Across: 3, FromEnd: 30 * wood.Inch}.Defects
	metal.Board, metal.Lot = uuid.Nil, lot.ID
	_, err = b.store.PutPattern(t.Context(), metal)
	require.ErrorContains(t, err, one.Code, "the shorter board is named")
	require.ErrorContains(t, err, "measure from the nearer end")
}

func (b *bench) live(t testing.TB, board uuid.UUID) (n int) {
	t.Helper()
	defects, err := b.store.DefectsOf(t.Context(), board)
	require.NoError(t, err)
	for _, d := range defects {
		if !d.Struck() {
			n++
		}
	}
	return n
}

// TestBadDefects tries what cannot be on a board: off it, without size, twice,
// deeper than it; overlapping ones are counted once.
func TestBadDefects(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.board(t, 16, 96, nil)
	good := map[string]string{"board": board.Code, "kind": "knot", "face": "top", "x": "4", "y": "1", "dx": "2", "dy": "1"}
	with := func(more ...string) map[string]string {
		out := map[string]string{}
		for k, v := range good {
			out[k] = v
		}
		for i := 0; i < len(more); i += 2 {
			out[more[i]] = more[i+1]
		}
		return out
	}
	first := b.add(t, db.Defects, good)
	before := b.row(t, board.ID).UsableM3
	for name, c := range map[string]struct {
		values map[string]string
		says   string
	}{
		"off the end":  {with("x", "23"), "past the end"},
		"off the edge": {with("y", "3 1/2"), "past the far edge"},
		"no size":      {with("dx", "0"), "is zero"},
		"twice":        {good, "at this very place already"},
		"too deep":     {with("x", "10", "depth", "1"), "is more than the board is thick (3/4 in)"},
		"no depth":     {with("x", "10", "depth", "0"), "is zero; leave it empty where it was not measured; what goes through is on both faces"},
		"not through":  {with("x", "10", "face", "both", "depth", "1/4"), "ends inside the board"},
	} {
		_, err := db.Defects.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, c.values, b.env)
		var faults db.FieldErrors
		require.ErrorAs(t, err, &faults, name)
		require.Contains(t, faults.Error(), c.says, name)
	}
	require.Equal(t, 1, b.live(t, board.ID))
	b.add(t, db.Defects, with("x", "5")) // reaches into the first
	b.add(t, db.Defects, with("x", "4 1/2", "dx", "1/2"))
	after := b.row(t, board.ID).UsableM3
	require.LessOrEqual(t, after, before)

	// A board cannot be corrected away from under its defects, and a defect
	// struck meanwhile cannot come back where the board is no longer.
	edit := db.Edit{ID: board.ID, Version: 1, Keeper: b.keeper.ID, Why: "measured again", Env: b.env}
	_, err := db.Boards.Correct(t.Context(), b.store, edit, map[string]string{"length": "6"})
	require.ErrorContains(t, err, "is less than where a defect of it ends (7 in)")
	for _, d := range []db.Edit{{ID: first.ID, Version: 1}} {
		d.Keeper, d.Why, d.Env = b.keeper.ID, "wrong board", b.env
		require.NoError(t, db.Defects.Strike(t.Context(), b.store, d))
	}
	defects, err := b.store.DefectsOf(t.Context(), board.ID)
	require.NoError(t, err)
	for _, d := range defects {
		if !d.Struck() {
			require.NoError(t, db.Defects.Strike(t.Context(), b.store, db.Edit{ID: d.ID, Version: 1, Keeper: b.keeper.ID, Why: "wrong board", Env: b.env}))
		}
	}
	_, err = db.Boards.Correct(t.Context(), b.store, edit, map[string]string{"length": "5"})
	require.NoError(t, err)
	err = db.Defects.Restore(t.Context(), b.store, db.Edit{ID: first.ID, Version: 2, Keeper: b.keeper.ID, Why: "it was right", Env: b.env})
	require.ErrorContains(t, err, "past the end of the board (5 in)")
}

// TestSheetsOfDefectsAreChecked imports defects that cannot be.
func TestSheetsOfDefectsAreChecked(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.board(t, 16, 96, nil)
	var many strings.Builder
	many.WriteString("board,kind,face,x,y,dx,dy,depth,metal\n")
	for i := range 1001 {
		fmt.Fprintf(&many, "%s,insect_hole,top,%d mm,%d mm,1 mm,1 mm,,no\n", board.Code, i%500, i/500)
	}
	for name, c := range map[string]struct{ sheet, says string }{
		"too deep": {"board,kind,face,x,y,dx,dy,depth\n" + board.Code + ",knot,top,1,1,1,1,2 in\n", "is more than the board is thick"},
		"no depth": {"board,kind,face,x,y,dx,dy,depth\n" + board.Code + ",knot,top,1,1,1,1,0 mm\n", "row 2, column depth, value \"0 mm\": is zero"},
		"too many": {many.String(), "has more than 1000 defects"},
	} {
		report, err := b.store.Import(t.Context(), []db.Sheet{sheet("defects.csv", c.sheet)}, db.ImportOptions{Keeper: b.keeper})
		require.NoError(t, err, name)
		require.Positive(t, report.FaultCount, name)
		require.Contains(t, report.Faults[0].String(), c.says, name)
	}
	report, err := b.store.Import(t.Context(), []db.Sheet{sheet("defects.csv", "board,kind,face,x,y,dx,dy,metal\n"+board.Code+",nail_hole,both,1,1,1/4,1/4,yes\n")}, db.ImportOptions{Keeper: b.keeper})
	require.NoError(t, err)
	require.Zero(t, report.FaultCount)
	require.Equal(t, "found", b.loadBoard(t, board.ID).Metal)
}

// TestEdgesOfABoard enters boards that taper: the missing wood is marked on
// each, is no mapping of its faces, and follows into pieces.
func TestEdgesOfABoard(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	like := db.Board{Base: db.Base{ID: uuid.Must(uuid.NewV7()), KeeperID: b.keeper.ID}, Lot: db.RefTo(lot.ID), Thickness: wood.Inch, Width: 6 * wood.Inch, Length: 80 * wood.Inch, State: "rack", Metal: "not_swept"}
	taper, err := grade.Taper(grade.Board{Thickness: like.Thickness, Width: like.Width, Length: like.Length}, 6*wood.Inch, 5*wood.Inch)
	require.NoError(t, err)
	var boards []db.Board
	for range 2 {
		boards, err = b.store.AddBoardsWith(t.Context(), like, 3, taper)
		require.NoError(t, err)
		require.Len(t, boards, 3)
	}
	for _, one := range boards {
		require.Equal(t, 8, b.live(t, one.ID))
		require.False(t, b.row(t, one.ID).Mapped, "a taper says nothing of the faces")
	}
	done, err := b.store.CutBoard(t.Context(), db.BoardCut{Board: boards[0].ID, Keeper: b.keeper.ID, Pieces: []db.BoardPiece{{Rect: grade.Rect{X: 40 * wood.Inch, DX: 40 * wood.Inch, DY: 6 * wood.Inch}}}})
	require.NoError(t, err)
	require.Equal(t, 4, b.live(t, done.Pieces[0].ID))
	require.False(t, b.row(t, done.Pieces[0].ID).Mapped)

	require.NoError(t, b.store.UncutBoard(t.Context(), db.Edit{ID: boards[0].ID, Version: 2, Keeper: b.keeper.ID, Why: "not sawn after all", Env: b.env}))
	require.Equal(t, "rack", b.loadBoard(t, boards[0].ID).State)
	require.True(t, b.loadBoard(t, done.Pieces[0].ID).Struck())
	err = b.store.UncutBoard(t.Context(), db.Edit{ID: boards[0].ID, Version: 3, Keeper: b.keeper.ID, Why: "again", Env: b.env})
	require.ErrorContains(t, err, "is not cut up")
}

// TestCutsCannotBeTakenBackUnderUse cuts a piece further.
func TestCutsCannotBeTakenBackUnderUse(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.board(t, 16, 96, nil)
	cut := func(id uuid.UUID, length int) db.CutBoard {
		done, err := b.store.CutBoard(t.Context(), db.BoardCut{Board: id, Keeper: b.keeper.ID, Pieces: []db.BoardPiece{{Rect: rect(0, 0, length, 16)}}})
		require.NoError(t, err)
		return done
	}
	piece := cut(board.ID, 60).Pieces[0]
	small := cut(piece.ID, 20).Pieces[0]
	err := b.store.UncutBoard(t.Context(), db.Edit{ID: board.ID, Version: 2, Keeper: b.keeper.ID, Why: "x", Env: b.env})
	require.ErrorContains(t, err, "is cut up already")
	up, err := b.store.AncestorsOf(t.Context(), small.ID)
	require.NoError(t, err)
	require.Len(t, up, 2)
	require.Equal(t, []string{piece.Code, board.Code}, []string{up[0].Code, up[1].Code})
	got, err := b.store.GradeBoard(t.Context(), small.ID)
	require.NoError(t, err)
	require.Equal(t, rect(0, 0, 20, 16), got.Rect())
}

// TestEntriesAtOnceAddUp lets boards and findings of one lot arrive at the
// same moment: the lot's sums and verdict are those of all of them.
func TestEntriesAtOnceAddUp(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	var all sync.WaitGroup
	for i := range 6 {
		all.Go(func() {
			if i == 3 {
				b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "tag", "value": "CCA"})
				return
			}
			b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "1", "width": "4", "length": "36"})
		})
	}
	all.Wait()
	row, err := b.store.Lot(t.Context(), lot.ID)
	require.NoError(t, err)
	require.Equal(t, 5, row.Boards)
	require.Equal(t, "never", row.Verdict)
	require.InDelta(t, 5*float64(wood.VolumeOf(wood.Inch, 4*wood.Inch, 36*wood.Inch)), row.GrossNever, 1e-12)
	sums, err := b.store.PickupSums(t.Context())
	require.NoError(t, err)
	require.InDelta(t, row.GrossNever, sums[0].GrossNever, 1e-12)
}

// TestWorkOnOneLotAtOnce cuts, sweeps, corrects and maps boards of one lot at
// the same moment: every act is done once, and the lot adds up.
func TestWorkOnOneLotAtOnce(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	var boards []db.Board
	for range 5 {
		boards = append(boards, b.boardOf(t, lot, 16, 96, nil))
	}
	acts := []func() error{
		func() error {
			_, err := b.store.CutBoard(t.Context(), db.BoardCut{Board: boards[0].ID, Keeper: b.keeper.ID, Pieces: []db.BoardPiece{{Rect: rect(0, 0, 40, 16)}}})
			return err
		},
		func() error {
			_, err := b.store.MarkBoards(t.Context(), db.BoardMark{Lot: lot.ID, Column: "looked_over", Value: "yes", Keeper: b.keeper.ID, Why: "all"})
			return err
		},
		func() error {
			_, err := db.Boards.Correct(t.Context(), b.store, db.Edit{ID: boards[1].ID, Version: 1, Keeper: b.keeper.ID, Why: "longer", Env: b.env}, map[string]string{"length": "40 in"})
			var conflict *db.ConflictError
			if errors.As(err, &conflict) {
				return nil // the sweep of the lot came first, and the keeper is told
			}
			return err
		},
		func() error {
			_, err := b.store.PutPattern(t.Context(), db.DefectPattern{Lot: lot.ID, Keeper: b.keeper.ID, On: grade.NailRows{Rows: 2, Across: 2, FromEnd: wood.Inch, Metal: true}.Defects})
			return err
		},
		func() error {
			_, err := db.Defects.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"board": boards[4].Code, "kind": "nail_hole", "x": "9", "y": "1", "dx": "1/4", "dy": "1/4", "metal": "yes"}, b.env)
			return err
		},
		func() error {
			_, err := db.Findings.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"lot": lot.Values["code"], "kind": "metal", "value": "found"}, b.env)
			return err
		},
	}
	fails := make(chan error, len(acts))
	for _, act := range acts {
		go func() { fails <- act() }()
	}
	for range acts {
		require.NoError(t, <-fails)
	}
	before, err := b.store.Lot(t.Context(), lot.ID)
	require.NoError(t, err)
	_, err = b.store.Recompute(t.Context(), nil)
	require.NoError(t, err)
	after, err := b.store.Lot(t.Context(), lot.ID)
	require.NoError(t, err)
	require.Equal(t, before, after, "nothing was derived from what was out of date")
	for _, board := range boards[1:] {
		require.Equal(t, "found", b.loadBoard(t, board.ID).Metal)
	}
}

// TestPiecesAreAsDryAsTheirBoard cuts a measured board twice over and corrects
// its reading afterwards.
func TestPiecesAreAsDryAsTheirBoard(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.board(t, 16, 96, nil)
	read := b.add(t, db.Readings, map[string]string{"board": board.Code, "raw": "14", "taken": "2026-03-02 10:00"})
	cut := func(id uuid.UUID, length int) db.Board {
		done, err := b.store.CutBoard(t.Context(), db.BoardCut{Board: id, Keeper: b.keeper.ID, Pieces: []db.BoardPiece{{Rect: rect(0, 0, length, 16)}}})
		require.NoError(t, err)
		return done.Pieces[0]
	}
	piece := cut(board.ID, 60)
	small := cut(piece.ID, 20)
	same := func(want float64) {
		t.Helper()
		require.InDelta(t, want, *b.row(t, piece.ID).Percent, 1e-12)
		require.InDelta(t, want, *b.row(t, small.ID).Percent, 1e-12)
	}
	same(*b.row(t, board.ID).Percent)
	_, err := db.Readings.Correct(t.Context(), b.store, db.Edit{ID: read.ID, Version: 1, Keeper: b.keeper.ID, Why: "misread", Env: b.env}, map[string]string{"raw": "18"})
	require.NoError(t, err)
	wet := *b.row(t, board.ID).Percent
	require.Greater(t, wet, 16.0)
	same(wet)
	own := b.add(t, db.Readings, map[string]string{"board": piece.Code, "raw": "9", "taken": "2026-03-10 10:00"})
	require.Less(t, *b.row(t, piece.ID).Percent, 12.0)
	same(*b.row(t, piece.ID).Percent)
	require.InDelta(t, wet, *b.row(t, board.ID).Percent, 1e-12)
	_, err = b.store.Recompute(t.Context(), nil)
	require.NoError(t, err)
	same(*b.row(t, piece.ID).Percent)
	require.NoError(t, db.Readings.Strike(t.Context(), b.store, db.Edit{ID: own.ID, Version: 1, Keeper: b.keeper.ID, Why: "another board", Env: b.env}))
	same(wet)
	require.NoError(t, db.Readings.Strike(t.Context(), b.store, db.Edit{ID: read.ID, Version: 2, Keeper: b.keeper.ID, Why: "another board", Env: b.env}))
	require.Nil(t, b.row(t, small.ID).Percent)
}

// TestPatternOfALotIsForWholeBoards: a piece that was ripped from a board has
// that board's nails, and no rows of its own two inches from its own ends.
func TestPatternOfALotIsForWholeBoards(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	whole := b.boardOf(t, lot, 22, 96, nil)
	piece := b.boardOf(t, lot, 3, 20, map[string]string{"parent": b.boardOf(t, lot, 22, 96, map[string]string{"state": "cut"}).Code})
	count := func() int {
		n, err := b.store.WholeBoards(t.Context(), lot.ID)
		require.NoError(t, err)
		return n
	}
	require.Equal(t, 1, count())
	put := db.DefectPattern{Lot: lot.ID, Keeper: b.keeper.ID, Note: "nail rows", On: grade.NailRows{Rows: 3, Across: 2, FromEnd: 2 * wood.Inch, FromEdge: wood.Inch}.Defects}
	done, err := b.store.PutPattern(t.Context(), put)
	require.NoError(t, err, "an inch from each edge is nowhere on the piece, which is not asked")
	require.Equal(t, [2]int{1, 6}, [2]int{done.Boards, done.Defects})
	require.Equal(t, 6, b.live(t, whole.ID))
	require.Zero(t, b.live(t, piece.ID))
	put.Lot, put.Board, put.On = uuid.Nil, piece.ID, grade.NailRows{Rows: 1, Across: 1, FromEnd: wood.Inch}.Defects
	_, err = b.store.PutPattern(t.Context(), put)
	require.NoError(t, err, "on its own map it takes rows")
	require.Equal(t, 1, b.live(t, piece.ID))
	_, err = db.Boards.Correct(t.Context(), b.store, b.editing(whole.ID, b.loadBoard(t, whole.ID).Version, "lent"), map[string]string{"state": "gone"})
	require.NoError(t, err)
	put.Lot, put.Board = lot.ID, uuid.Nil
	require.Zero(t, count())
	_, err = b.store.PutPattern(t.Context(), put)
	require.ErrorContains(t, err, "no whole board of it is on the rack")
}
