package server

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// TestMarksSayWhatLiesInThePieces cuts a board whose near strip is waste with
// two nails in it, one of them metal still, and whose rest has a taper drawn as
// a staircase.
func TestMarksSayWhatLiesInThePieces(t *testing.T) {
	t.Parallel()
	const in = wood.Inch
	spot := func(x, y, dx, dy wood.Length) db.LayoutRect { return db.LayoutRect{X: x, Y: y, DX: dx, DY: dy} }
	l := &layoutView{}
	l.LayoutDrawing = db.LayoutDrawing{Code: "A", Length: 40 * in, Width: 6 * in, Offcuts: []db.LayoutRect{spot(0, 3*in, 40*in, 3*in)}, Defects: []db.LayoutDefect{
		{LayoutRect: spot(4*in, in, in/4, in/4), Kind: "nail_hole", Face: "both"},
		{LayoutRect: spot(20*in, in, in/4, in/4), Kind: "nail_hole", Face: "both", Metal: true},
		{LayoutRect: spot(0, 5*in, 40*in, in), Kind: "wane", Face: "both"},
		{LayoutRect: spot(20*in, 4*in, 20*in, 2*in), Kind: "wane", Face: "both"},
	}}
	doc := &db.PlanDocument{}
	doc.Cut.Grid = cut.Grid{X: in / 8, Y: in / 8}
	c := &cutter{doc: doc, boards: map[int]*layoutView{0: l}}
	step := cut.Step{Kind: cut.RipCut, DX: 320, DY: 48, At: 23, Kerf: 1, Fence: 23, Part: -1, Rest: -1, Waste: true}
	freed, kerf, rest := c.parts(step)
	words, metal := c.marks(step, freed, kerf, rest)
	require.False(t, metal, "no metal in the cut itself")
	require.Equal(t, []string{"nail hole goes with the waste", "nail hole, metal, goes with the waste", "wane stays in the offcut"}, words)
}
