package db_test

import (
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

const quarter = wood.Inch / 4

// board enters a board of the book's first lot, sizes in quarter inches.
func (b *bench) board(t testing.TB, width, length int, more map[string]string) db.Board {
	t.Helper()
	return b.boardOf(t, b.lot(t), width, length, more)
}

func (b *bench) boardOf(t testing.TB, lot db.Entry, width, length int, more map[string]string) db.Board {
	t.Helper()
	values := map[string]string{"lot": lot.Values["code"], "thickness": "3/4 in", "width": (wood.Length(width) * quarter).Format(wood.UnitInch), "length": (wood.Length(length) * quarter).Format(wood.UnitInch)}
	for k, v := range more {
		values[k] = v
	}
	return b.loadBoard(t, b.add(t, db.Boards, values).ID)
}

func (b *bench) loadBoard(t testing.TB, id uuid.UUID) db.Board {
	t.Helper()
	out, err := db.Boards.Get(t.Context(), b.store, id)
	require.NoError(t, err)
	return out
}

func rect(x, y, dx, dy int) grade.Rect {
	return grade.Rect{X: wood.Length(x) * quarter, Y: wood.Length(y) * quarter, DX: wood.Length(dx) * quarter, DY: wood.Length(dy) * quarter}
}

// inches prints quarter inches as a person types them.
func inches(n int) string { return (wood.Length(n) * quarter).Format(wood.UnitInch) }

// TestCutFollowsTheWood rips a board and looks at what the pieces keep.
func TestCutFollowsTheWood(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.board(t, 22, 192, map[string]string{"species": "pine_eastern_white", "place": "rack 2", "metal": "clean"})
	b.add(t, db.Findings, map[string]string{"lot": board.Lot.Key, "kind": "mark", "value": "IPPC US-1234 HT"})
	b.add(t, db.Findings, map[string]string{"lot": board.Lot.Key, "board": board.Code, "kind": "tag", "value": "CCA"})
	// A knot across the rip on the bottom, a nail hole through, a deep check.
	for _, d := range []map[string]string{
		{"kind": "knot", "face": "bottom", "x": inches(10), "y": inches(6), "dx": inches(4), "dy": inches(6), "note": "loose"},
		{"kind": "nail_hole", "face": "both", "x": inches(100), "y": inches(1), "dx": inches(1), "dy": inches(1)},
		{"kind": "check", "face": "top", "x": inches(0), "y": inches(18), "dx": inches(9), "dy": inches(1), "depth": "1/2 in"},
	} {
		d["board"] = board.Code
		b.add(t, db.Defects, d)
	}
	ask := db.BoardCut{
		ID: uuid.Must(uuid.NewV7()), Board: board.ID, Keeper: b.keeper.ID, Why: "ripped for a floor", RipKerf: wood.Inch / 8,
		Pieces: []db.BoardPiece{
			{Rect: grade.Rect{DX: board.Length, DY: wood.Inch * 9 / 4}, Label: "left strip"},
			{Rect: grade.Rect{Y: wood.Inch * 19 / 8, DX: board.Length, DY: wood.Inch * 9 / 4}, Thickness: wood.Inch / 2, Place: "bench"},
			{Rect: grade.Rect{Y: wood.Inch * 19 / 4, DX: board.Length, DY: wood.Inch * 3 / 4}, State: "built"},
		},
	}
	for range 2 { // sent twice it is one cut
		done, err := b.store.CutBoard(t.Context(), ask)
		require.NoError(t, err)
		require.Len(t, done.Pieces, 3)
		require.Equal(t, "cut", done.Board.State)
	}
	parent := b.loadBoard(t, board.ID)
	require.Equal(t, "cut", parent.State)
	history, err := b.store.HistoryOf(t.Context(), "board", board.ID)
	require.NoError(t, err)
	require.Len(t, history, 1)
	require.Equal(t, "ripped for a floor", history[0].Why)
	require.Equal(t, []db.Change{{Field: "state", Old: "rack", New: "cut"}}, history[0].Changes)

	children, err := b.store.BoardsCutFrom(t.Context(), board.ID)
	require.NoError(t, err)
	require.Len(t, children, 3)
	for i, c := range children {
		require.Equal(t, board.Lot.Key+"-"+strconv.Itoa(i+2), c.Code)
		require.Equal(t, "never", c.Verdict, "the tag stays with every piece")
		require.Equal(t, "pine_eastern_white", c.Species)
		require.Equal(t, "clean", c.Metal)
		require.True(t, c.Mapped, "a strip without defects is clear, not unknown")
	}
	require.Equal(t, []string{"rack 2", "bench", "rack 2"}, []string{children[0].Place, children[1].Place, children[2].Place})
	require.Equal(t, wood.Inch/2, children[1].Thickness)
	require.Equal(t, "built", children[2].State)

	want := [][]grade.Defect{
		{ // the knot's near part, and the nail hole
			{Kind: grade.Knot, Face: grade.Bottom, X: 10 * quarter, Y: 6 * quarter, DX: 4 * quarter, DY: 3 * quarter},
			{Kind: grade.NailHole, Face: grade.Both, X: 100 * quarter, Y: quarter, DX: quarter, DY: quarter},
		},
		{ // its far part less the kerf; the check, through what was planed to 1/2 in
			{Kind: grade.Check, Face: grade.Both, X: 0, Y: 18*quarter - wood.Inch*19/8, DX: 9 * quarter, DY: wood.Inch / 8},
			{Kind: grade.Knot, Face: grade.Bottom, X: 10 * quarter, Y: 0, DX: 4 * quarter, DY: 12*quarter - wood.Inch*19/8},
		},
		{},
	}
	for i, c := range children {
		defects, err := b.store.DefectsOf(t.Context(), c.ID)
		require.NoError(t, err)
		got := []grade.Defect{}
		for _, d := range defects {
			got = append(got, d.Grade())
		}
		require.Equal(t, want[i], got, c.Code)
	}
	// The lot's volumes are those of the boards that came out of it.
	row, err := b.store.Lot(t.Context(), board.Lot.ID)
	require.NoError(t, err)
	require.InDelta(t, float64(wood.VolumeOf(board.Thickness, board.Width, board.Length)), row.Gross(), 1e-12)
}

// TestCutConservesTheBoard cuts random boards at random and counts squares of
// 1/4 in: every square of the board is in one piece or in the kerf, and every
// square of a piece is spoiled on a face exactly where the board was.
func TestCutConservesTheBoard(t *testing.T) {
	t.Parallel()
	b := setup(t)
	rng, lot := rand.New(rand.NewPCG(5, 6)), b.lot(t)
	for range 6 {
		width, length := 8+rng.IntN(16), 20+rng.IntN(60)
		board := b.boardOf(t, lot, width, length, nil)
		for range 8 {
			x, y := rng.IntN(length-1), rng.IntN(width-1)
			b.add(t, db.Defects, map[string]string{
				"board": board.Code, "kind": "knot", "face": []string{"top", "bottom", "both"}[rng.IntN(3)],
				"x": inches(x), "y": inches(y), "dx": inches(1 + rng.IntN(min(12, length-x))), "dy": inches(1 + rng.IntN(min(6, width-y))),
			})
		}
		cut := db.BoardCut{Board: board.ID, Keeper: b.keeper.ID, RipKerf: quarter, CrosscutKerf: quarter}
		for _, r := range sawn(rng, [4]int{0, 0, length, width}, 4) {
			cut.Pieces = append(cut.Pieces, db.BoardPiece{Rect: rect(r[0], r[1], r[2], r[3])})
		}
		done, err := b.store.CutBoard(t.Context(), cut)
		require.NoError(t, err)
		parent := b.spoiled(t, board)
		area := 0
		seen := make(map[[2]int]bool)
		for i, piece := range done.Pieces {
			at := cut.Pieces[i].Rect
			child := b.spoiled(t, piece)
			require.Len(t, child, int(at.DX/quarter)*int(at.DY/quarter))
			area += len(child)
			for square, bad := range child {
				in := [2]int{square[0] + int(at.X/quarter), square[1] + int(at.Y/quarter)}
				require.False(t, seen[in], "no wood is in two pieces")
				seen[in] = true
				require.Equal(t, parent[in], bad, "square %v of piece %d", square, i)
			}
		}
		kerf := 0
		for square := range parent {
			if !seen[square] {
				kerf++
			}
		}
		require.Equal(t, width*length, area+kerf)
	}
}

// sawn cuts a rectangle (x, y, dx, dy) with a kerf of one square, some levels
// deep, now along and now across. No piece is less than two squares wide or, as
// boards must be, four long.
func sawn(rng *rand.Rand, r [4]int, depth int) [][4]int {
	side := 2 + depth%2 // the length, then the width
	least := 4 - 2*(depth%2)
	if depth == 0 || r[side] < 2*least+1 {
		return [][4]int{r}
	}
	low, high := r, r
	at := least + rng.IntN(r[side]-2*least)
	low[side] = at
	high[side-2], high[side] = r[side-2]+at+1, r[side]-at-1
	return append(sawn(rng, low, depth-1), sawn(rng, high, depth-1)...)
}

// spoiled says of each square of a board on which faces it is spoiled.
func (b *bench) spoiled(t testing.TB, board db.Board) map[[2]int][2]bool {
	t.Helper()
	defects, err := b.store.DefectsOf(t.Context(), board.ID)
	require.NoError(t, err)
	out := make(map[[2]int][2]bool)
	for x := range int(board.Length / quarter) {
		for y := range int(board.Width / quarter) {
			var bad [2]bool
			for _, d := range defects {
				if d.Grade().Rect().Overlaps(rect(x, y, 1, 1)) {
					bad[0] = bad[0] || d.Face != "bottom"
					bad[1] = bad[1] || d.Face != "top"
				}
			}
			out[[2]int{x, y}] = bad
		}
	}
	return out
}

// TestWrongCutsAreRefused asks for what no saw can do.
func TestWrongCutsAreRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	board := b.boardOf(t, lot, 22, 96, nil)
	half := db.BoardPiece{Rect: rect(0, 0, 40, 22)}
	cases := map[string]struct {
		change  func(*db.BoardCut)
		problem string
	}{
		"nothing":     {func(c *db.BoardCut) { c.Pieces = nil }, "are missing"},
		"no size":     {func(c *db.BoardCut) { c.Pieces[0].DX = 0 }, "piece 1 has no size"},
		"too long":    {func(c *db.BoardCut) { c.Pieces[0].DX = board.Length + 1 }, "reaches off the board"},
		"too wide":    {func(c *db.BoardCut) { c.Pieces[0].DY = board.Width + 1 }, "reaches off the board"},
		"before it":   {func(c *db.BoardCut) { c.Pieces[0].X = -1 }, "is not on the board"},
		"huge":        {func(c *db.BoardCut) { c.Pieces[0].X = 1 << 62 }, "is not on the board"},
		"overlapping": {func(c *db.BoardCut) { c.Pieces = append(c.Pieces, half) }, "piece 2 lies less than a saw cut from piece 1"},
		"no kerf": {func(c *db.BoardCut) {
			c.Pieces = append(c.Pieces, db.BoardPiece{Rect: grade.Rect{X: half.DX + c.CrosscutKerf - 1, DX: wood.Inch, DY: board.Width}})
		}, "less than a saw cut"},
		"kerf below zero": {func(c *db.BoardCut) { c.RipKerf = -1 }, "is below zero"},
		"thicker":         {func(c *db.BoardCut) { c.Pieces[0].Thickness = wood.Inch }, "is thicker than the board"},
		"state":           {func(c *db.BoardCut) { c.Pieces[0].State = "cut" }, "has the state cut"},
		"the same again":  {func(c *db.BoardCut) { c.Pieces[0].Rect = rect(0, 0, 96, 22) }, "piece 1 is the whole board, so nothing would be cut"},
		"as thick": {func(c *db.BoardCut) {
			c.Pieces[0] = db.BoardPiece{Rect: rect(0, 0, 96, 22), Thickness: board.Thickness}
		}, "piece 1 is the whole board"},
		"many": {func(c *db.BoardCut) { c.Pieces = make([]db.BoardPiece, 501) }, "are more than 500"},
	}
	for name, c := range cases {
		cut := db.BoardCut{Board: board.ID, Keeper: b.keeper.ID, RipKerf: wood.Inch / 8, CrosscutKerf: wood.Inch / 8, Pieces: []db.BoardPiece{half}}
		c.change(&cut)
		_, err := b.store.CutBoard(t.Context(), cut)
		var faults db.FieldErrors
		require.ErrorAs(t, err, &faults, name)
		require.Contains(t, faults[0].Problem, c.problem, name)
	}
	require.Equal(t, "rack", b.loadBoard(t, board.ID).State, "nothing was cut")
	thinner := db.BoardCut{Board: b.boardOf(t, lot, 22, 96, nil).ID, Keeper: b.keeper.ID, Pieces: []db.BoardPiece{{Rect: rect(0, 0, 96, 22), Thickness: board.Thickness / 2}}}
	planed, err := b.store.CutBoard(t.Context(), thinner)
	require.NoError(t, err, "planing takes some of it")
	require.Equal(t, board.Thickness/2, planed.Pieces[0].Thickness)

	cut := db.BoardCut{Board: board.ID, Keeper: b.keeper.ID, Version: 7, Pieces: []db.BoardPiece{half}}
	_, err = b.store.CutBoard(t.Context(), cut)
	var conflict *db.ConflictError
	require.ErrorAs(t, err, &conflict)
	cut.Version = 1
	_, err = b.store.CutBoard(t.Context(), cut)
	require.NoError(t, err)
	cut.Version = 0
	_, err = b.store.CutBoard(t.Context(), cut)
	require.ErrorContains(t, err, "no longer on the rack")
	cut.Board = uuid.New()
	_, err = b.store.CutBoard(t.Context(), cut)
	require.True(t, db.IsNotFound(err))
}

// TestStripNarrowerThanThick rips strips narrower than the board is thick: they
// can be corrected, and a sheet brings them back.
func TestStripNarrowerThanThick(t *testing.T) {
	t.Parallel()
	b := setup(t)
	board := b.board(t, 22, 192, map[string]string{"metal": "clean"})
	done, err := b.store.CutBoard(t.Context(), db.BoardCut{
		ID: uuid.Must(uuid.NewV7()), Board: board.ID, Keeper: b.keeper.ID, RipKerf: wood.Inch / 8,
		Pieces: []db.BoardPiece{{Rect: grade.Rect{DX: board.Length, DY: wood.Inch / 2}}},
	})
	require.NoError(t, err)
	strip := done.Pieces[0]
	require.Less(t, strip.Width, strip.Thickness)
	edit := db.Edit{ID: strip.ID, Version: strip.Version, Keeper: b.keeper.ID, Why: "moved", Env: b.env}
	_, err = db.Boards.Correct(t.Context(), b.store, edit, map[string]string{"place": "the loft"})
	require.NoError(t, err)

	row := "lot,parent,thickness,width,length\n" + board.Lot.Key + "," + board.Code + ",3/4 in,1/2 in,20 in\n"
	report, err := b.store.Import(t.Context(), []db.Sheet{sheet("boards.csv", row)}, db.ImportOptions{Keeper: b.keeper})
	require.NoError(t, err)
	require.Zero(t, report.FaultCount, report.Faults)
	report, err = b.store.Import(t.Context(), []db.Sheet{sheet("boards.csv", strings.Replace(row, ","+board.Code+",", ",,", 1))}, db.ImportOptions{Keeper: b.keeper})
	require.NoError(t, err)
	require.Equal(t, 1, report.FaultCount, "a board of its own has the sizes swapped")
}
