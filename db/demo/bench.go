package demo

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// benchID names what the club did at the bench, so that it is done once.
var benchID = uuid.MustParse("0b8f7a52-6a0e-4f0c-9d55-6f5a3d1e7c21")

// atTheBench maps, sweeps and cuts some of the club's boards: a lot swept and
// looked over as a whole, tapering boards out of a crate's braces, a board with
// nails still in, a shake in one face, and a long board crosscut in two.
func atTheBench(ctx context.Context, store *db.Store, keeper db.Keeper) error {
	if _, err := db.Boards.Get(ctx, store, uuid.NewSHA1(benchID, []byte("0"))); !db.IsNotFound(err) {
		return err // done before, or not to be read
	}
	boards, err := store.Stock(ctx, db.StockFilter{Verdict: "inside", MinLength: 40 * wood.Inch, MinWidth: 3 * wood.Inch, Limit: 40})
	if err != nil {
		return err
	}
	if len(boards) < 4 {
		return fmt.Errorf("the demonstration log has %d long boards, too few for the bench", len(boards))
	}
	first, nails, last := boards[0], boards[1], boards[2]
	for _, b := range boards[3:] {
		if strings.HasPrefix(b.Place, "rack") { // what lies in a stack stays there
			last = b
		}
	}
	if _, err := store.MarkBoards(ctx, db.BoardMark{Lot: first.LotID, Column: "metal", Value: "clean", Keeper: keeper.ID, Why: "swept clean: magnet over both faces, the whole lot"}); err != nil {
		return err
	}
	if _, err := store.MarkBoards(ctx, db.BoardMark{Lot: first.LotID, Column: "looked_over", Value: "yes", Keeper: keeper.ID, Why: "both faces looked over while stacking"}); err != nil {
		return err
	}
	if err := braces(ctx, store, keeper, first.LotID); err != nil {
		return err
	}
	row := grade.NailRows{Rows: 1, Across: 2, FromEnd: wood.Inch * 6, Metal: true}
	if _, err := store.PutPattern(ctx, db.DefectPattern{ID: uuid.NewSHA1(benchID, []byte("nails")), Board: nails.ID, Keeper: keeper.ID, Note: "nails broken off flush, 1 row of 2", On: row.Defects}); err != nil {
		return err
	}
	check := map[string]string{"board": last.Code, "kind": "check", "face": "top", "x": "10 in", "y": "1 in", "dx": "7 in", "dy": "1/8 in", "depth": "1/4 in", "note": "from drying too fast in the sun"}
	if _, err := db.Defects.Add(ctx, store, db.Base{ID: uuid.NewSHA1(benchID, []byte("check")), KeeperID: keeper.ID}, check, keeper.Env(store.Now())); err != nil {
		return err
	}
	return crosscut(ctx, store, keeper, last)
}

// braces adds three tapering boards with wane to a lot.
func braces(ctx context.Context, store *db.Store, keeper db.Keeper, lot uuid.UUID) error {
	b := grade.Board{Thickness: wood.Inch * 7 / 8, Width: wood.Inch * 5, Length: wood.Inch * 44}
	edges, err := grade.Taper(b, b.Width, wood.Inch*17/4)
	if err != nil {
		return err
	}
	bark, err := grade.EdgeWane{Width: wood.Inch / 2, Length: 9 * wood.Inch}.Defects(b)
	if err != nil {
		return err
	}
	like := db.Board{Base: db.Base{ID: benchID, KeeperID: keeper.ID}, Lot: db.RefTo(lot), Thickness: b.Thickness, Width: b.Width, Length: b.Length,
		State: "rack", Metal: "not_swept", Place: "rack 1", Species: "spruce_norway", Notes: "braces of the crate, 5 in at one end and 4 1/4 in at the other"}
	_, err = store.AddBoardsWith(ctx, like, 3, append(edges, bark...))
	return err
}

// crosscut halves a board for the short rack.
func crosscut(ctx context.Context, store *db.Store, keeper db.Keeper, row db.StockBoard) error {
	b := grade.Board{Thickness: row.Thickness, Width: row.Width, Length: row.Length}
	halves, err := grade.Crosscut(b, wood.Inch/8, wood.Inch*21)
	if err != nil {
		return err
	}
	ask := db.BoardCut{ID: uuid.NewSHA1(benchID, []byte("cut")), Board: row.ID, Keeper: keeper.ID, CrosscutKerf: wood.Inch / 8, Why: "crosscut into 2 boards for the short rack"}
	for _, r := range halves {
		ask.Pieces = append(ask.Pieces, db.BoardPiece{Rect: r, Place: "rack 3"})
	}
	_, err = store.CutBoard(ctx, ask)
	return err
}
