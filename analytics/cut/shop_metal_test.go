package cut

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// TestCutsMissMetal rips two slats from a board with a nail where the second
// rip would run: with the spare wood on the other side of it the saw misses.
func TestCutsMissMetal(t *testing.T) {
	t.Parallel()
	mm := wood.Millimetre
	s := Shop{
		Rules: Rules{Pattern: Rip2, Objective: MostValue, RipKerf: 3 * mm, CrosscutKerf: 3 * mm, Clearance: 5 * mm},
		Boards: []ShopBoard{{
			Code: "A", Length: 1000 * mm, Width: 100 * mm,
			Defects: []ShopDefect{{X: 900 * mm, Y: 43 * mm, DX: 4 * mm, DY: 4 * mm, Face: Top, Metal: true}},
		}},
		Parts: []ShopPart{{Code: "p", Length: 800 * mm, Width: 44 * mm, Value: 1, Max: 2}},
	}
	in, g, err := s.instance()
	require.NoError(t, err)
	boxes := []box{{0, 0, 800, 44, 0}, {0, 47, 800, 44, 0}}
	h := g.hazardsOn(0, in.Boards[0])
	require.Equal(t, hazards{[]area{{900, 43, 4, 4}}, []area{{898, 41, 8, 8}}}, h, "a cut keeps 2 mm away: the clearance of 5 less the kerf of 3")
	require.Equal(t, 1, h.met(in, 0, boxes), "the first rip runs from 44 to 47")
	moved := slide(in, 0, boxes, h)
	require.Zero(t, h.met(in, 0, moved))
	require.GreaterOrEqual(t, moved[1].y, 49+3, "and not beside it either")
	require.Zero(t, metalOf(s, planned(t, s)))

	// A nail too wide to be missed: the layout stays and the cut is told.
	s.Boards[0].Defects[0].Y, s.Boards[0].Defects[0].DY = 40*mm, 20*mm
	in, g, err = s.instance()
	require.NoError(t, err)
	require.Equal(t, boxes, slide(in, 0, boxes, g.hazardsOn(0, in.Boards[0])))
}

// TestOrderGoesRoundMetal has two strips of unlike width and a nail that the
// rip between them meets wherever they slide in their order; changed about,
// the nail lies behind the wider one, and the saw misses it.
func TestOrderGoesRoundMetal(t *testing.T) {
	t.Parallel()
	mm := wood.Millimetre
	for name, rate := range map[string]float64{"without a rate": 0, "with one": 100} {
		s := Shop{
			Rules: Rules{Pattern: Rip2, Objective: CheapestBoards, RipKerf: 3 * mm, CrosscutKerf: 3 * mm, OffcutLength: 50 * mm, OffcutWidth: 30 * mm, OffcutRate: rate},
			Boards: []ShopBoard{{
				Code: "A", Length: 1000 * mm, Width: 100 * mm, Cost: 1,
				Defects: []ShopDefect{{X: 900 * mm, Y: 59 * mm, DX: 4 * mm, DY: 5 * mm, Face: Top, Metal: true}},
			}},
			Parts: []ShopPart{{Code: "wide", Length: 880 * mm, Width: 58 * mm, Max: 1}, {Code: "narrow", Length: 880 * mm, Width: 36 * mm, Max: 1}},
		}
		in, g, err := s.instance()
		require.NoError(t, err)
		p, err := g.finish(in, Plan{Status: Optimal, Value: 1, Bound: 1, Placements: []Placement{{Part: 0, Y: 0}, {Part: 1, Y: 61}}}, nil)
		require.NoError(t, err)
		require.Zero(t, metalOf(s, p), "from 58 to 61, or up to 3 further on, it would meet the nail")
		require.Equal(t, 39, p.Plan.Placements[0].Y)
		better, err := ArrangeShop(context.Background(), s, p, Options{})
		require.NoError(t, err, name)
		require.NoError(t, Check(better.Instance, better.Plan), name)
		require.Zero(t, metalOf(s, better), name)
		require.Len(t, better.Boards[0].Pieces, 2, name)
	}
}

// TestNoPartHoldsMetal: a part that may show defects on both faces is still not
// cut with a nail in it.
func TestNoPartHoldsMetal(t *testing.T) {
	t.Parallel()
	s := Shop{
		Rules:  Rules{Pattern: Rip2, Objective: MostValue},
		Boards: []ShopBoard{{Code: "A", Length: 100, Width: 10, Defects: []ShopDefect{{X: 50, Y: 5, DX: 1, DY: 1, Face: Top}}}},
		Parts:  []ShopPart{{Code: "p", Length: 100, Width: 10, Value: 1, Max: 1}},
	}
	require.Len(t, planned(t, s).Boards, 1, "a stain on one face")
	s.Boards[0].Defects[0].Metal = true
	require.Empty(t, planned(t, s).Boards)
}

// TestSlideAgainstEveryPlace compares the strips of a rip with every place that
// they could take in every order.
func TestSlideAgainstEveryPlace(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		kerf := rapid.IntRange(0, 3).Draw(t, "kerf")
		in := Instance{Pattern: Rip2, Objective: MaxValue, Kerf: Kerf{kerf, 1}, Boards: []Board{{Length: 20, Width: rapid.IntRange(12, 24).Draw(t, "width")}}}
		var boxes []box
		at := 0
		for i := range rapid.IntRange(1, 3).Draw(t, "strips") {
			wide := rapid.IntRange(2, 5).Draw(t, "wide")
			at += rapid.IntRange(0, 2).Draw(t, "gap")
			if at+wide > in.Boards[0].Width {
				break
			}
			in.Parts = append(in.Parts, Part{ID: i, Length: 10, Width: wide, Value: 1, Max: 1})
			boxes = append(boxes, box{0, at, 10, wide, i})
			at += wide + kerf
		}
		if len(boxes) == 0 {
			return
		}
		var h hazards
		for range rapid.IntRange(1, 3).Draw(t, "nails") {
			nail := area{15, rapid.IntRange(0, in.Boards[0].Width-2).Draw(t, "y"), 2, rapid.IntRange(1, 2).Draw(t, "dy")}
			h.metal, h.near = append(h.metal, nail), append(h.near, area{14, nail.y - 1, 4, nail.dy + 2})
		}
		if rapid.Bool().Draw(t, "a knot") {
			y := rapid.IntRange(0, in.Boards[0].Width-1).Draw(t, "knot")
			d := Defect{X: 3, Y: y, DX: 1, DY: 1, Face: Both}
			if !slices.ContainsFunc(boxes, func(b box) bool { return y >= b.y && y < b.y+b.dy }) {
				in.Boards[0].Defects = append(in.Boards[0].Defects, d)
			}
		}
		// Across the grain nothing meets metal: the parts lie at the left end.
		least := everyPlace(in, boxes, h, 0, 0)
		kept := least < costMetal // no metal is met: they keep their order
		for _, order := range [][]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
			if kept {
				break
			}
			var turned []box
			for _, i := range order {
				if i < len(boxes) {
					turned = append(turned, boxes[i])
				}
			}
			least = min(least, everyPlace(in, turned, h, 0, 0))
		}
		moved := slide(in, 0, boxes, h)
		require.NoError(t, checkBoard(in, 0, slices.Clone(moved)))
		if was := h.of(in, 0, boxes); was%costCut == 0 && was < costMetal {
			require.Equal(t, boxes, moved, "nothing to mend")
			return
		}
		require.Equal(t, least, h.of(in, 0, moved), "%+v %v %v", in, boxes, h)
	})
}

// everyPlace tries every place of the strips from i on and returns the least
// cost.
func everyPlace(in Instance, boxes []box, h hazards, i, from int) int {
	if i == len(boxes) {
		if checkBoard(in, 0, slices.Clone(boxes)) != nil {
			return 1 << 30
		}
		return h.of(in, 0, boxes)
	}
	least := 1 << 30
	boxes = slices.Clone(boxes)
	for y := from; y+boxes[i].dy <= in.Boards[0].Width; y++ {
		boxes[i].y = y
		least = min(least, everyPlace(in, boxes, h, i+1, y+boxes[i].dy+in.Kerf.Rip))
	}
	return least
}

// TestSlideProperties: on random boards of every pattern what is moved can be
// cut, is the same parts, and meets no more metal.
func TestSlideProperties(t *testing.T) {
	t.Parallel()
	helped := 0
	rapid.Check(t, func(t *rapid.T) {
		s := randomShop(t)
		in, g, err := s.instance()
		require.NoError(t, err)
		plan := planned(t, s)
		at := map[int][]box{}
		for _, p := range plan.Plan.Placements {
			at[p.Board] = append(at[p.Board], boxOf(in, p))
		}
		for board, boxes := range at {
			h := g.hazardsOn(board, in.Boards[board])
			h.metal = append(h.metal, area{in.Boards[board].Length / 2, in.Boards[board].Width / 2, 2, 2})
			moved := slide(in, board, boxes, h)
			require.NoError(t, checkBoard(in, board, slices.Clone(moved)))
			for i := range boxes {
				require.Equal(t, boxes[i].part, moved[i].part)
			}
			was, is := h.of(in, board, boxes), h.of(in, board, moved)
			require.LessOrEqual(t, is, was)
			if is < was {
				helped++
			}
		}
	})
	require.Positive(t, helped, "some layout had room")
}

// TestTrims takes off ends as asked, and more where metal lies in the cut.
func TestTrims(t *testing.T) {
	t.Parallel()
	in := wood.Inch
	r := Rules{EndTrim: in / 2, CrosscutKerf: in / 8}
	b := ShopBoard{Length: 48 * in, Width: 5 * in, DirtyStart: in}
	trims := func(f func(ShopBoard) (wood.Length, wood.Length)) [2]wood.Length {
		start, end := f(b)
		return [2]wood.Length{start, end}
	}
	require.Equal(t, [2]wood.Length{3 * in / 2, in / 2}, trims(r.Trims))
	b.OwnEnds = true
	require.Equal(t, [2]wood.Length{in, 0}, trims(r.Trims), "its own ends are all that comes off")
	b.DirtyEnd = in / 16
	require.Equal(t, [2]wood.Length{in, in / 8}, trims(r.Trims), "no less than a kerf")
	nail := func(x wood.Length) ShopDefect { return ShopDefect{X: x, DX: in / 4, DY: in / 4, Metal: true} }
	b.Defects = []ShopDefect{nail(3 * in / 4), nail(48*in - in/4)}
	require.Equal(t, [2]wood.Length{9 * in / 8, 3 * in / 8}, trims(r.ClearTrims), "a kerf behind the nails")
	b.Defects = append(b.Defects, nail(in))
	require.Equal(t, 11*in/8, trims(r.ClearTrims)[0], "and behind the next one")
	r.Clearance = in / 4
	require.Equal(t, [2]wood.Length{3 * in / 2, in / 2}, trims(r.ClearTrims), "as far from them as a part keeps")
	r.Clearance = 0
	b.Defects[0].Metal, b.Defects[2].Metal = false, false
	require.Equal(t, in, trims(r.ClearTrims)[0], "a hole is no metal")
	wire := nail(in / 2)
	wire.DX = 10 * in
	b.Defects = []ShopDefect{wire}
	require.Equal(t, in, trims(r.ClearTrims)[0], "too much to cut away")
}
