package server

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// TestThinStripsNeedRoomForTheFence rips a strip of 1 in: the rest must be as
// wide as a strip that may lie between fence and blade, or both go under one
// push block.
func TestThinStripsNeedRoomForTheFence(t *testing.T) {
	t.Parallel()
	doc := &db.PlanDocument{}
	doc.Cut.Grid = cut.Grid{X: wood.Inch / 8, Y: wood.Inch / 8}
	c := &cutter{doc: doc}
	rip := func(fence, of, kerf int) cut.Step {
		return cut.Step{Kind: cut.RipCut, Fence: fence, DX: 300, DY: of, Kerf: kerf}
	}
	for name, want := range map[string]struct {
		step cut.Step
		way  thinWay
	}{
		"a wide strip":              {rip(12, 13, 1), asUsual},
		"a crosscut":                {cut.Step{Kind: cut.CrossCut, Fence: 2, DX: 300, DY: 20, Kerf: 1}, asUsual},
		"thin, the rest 1 1/2 in":   {rip(8, 21, 1), alongFence},
		"thin, the rest 1 3/8 in":   {rip(8, 20, 1), underBlock},
		"thin, the kerf runs off":   {rip(8, 9, 1), underBlock},
		"thin, half a kerf is left": {rip(11, 12, 1), underBlock},
	} {
		require.Equal(t, want.way, c.thin(want.step), name)
	}
	setups := c.thinApart([]cut.Setup{{Kind: cut.RipCut, Fence: 8, Steps: []cut.Step{rip(8, 44, 1), rip(8, 17, 1), rip(8, 35, 1)}}, {Kind: cut.RipCut, Fence: 12, Steps: []cut.Step{rip(12, 13, 1)}}})
	require.Len(t, setups, 3)
	require.Equal(t, []cut.Step{rip(8, 44, 1), rip(8, 35, 1)}, setups[0].Steps, "while the board is wide")
	require.Equal(t, []cut.Step{rip(8, 17, 1)}, setups[1].Steps)
}
