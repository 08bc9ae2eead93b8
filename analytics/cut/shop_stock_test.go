package cut

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// TestLeaveStockSavesBoards wants four parts that either one board gives, or
// two: nothing is gained by the second, so it stays whole.
func TestLeaveStockSavesBoards(t *testing.T) {
	t.Parallel()
	cm := wood.Centimetre
	for name, rate := range map[string]float64{"without a rate": 0, "with one": 2000} {
		s := Shop{
			Rules: Rules{Pattern: Rip2, Objective: MostValue, OffcutLength: 30 * cm, OffcutWidth: 5 * cm, OffcutRate: rate},
			Boards: []ShopBoard{
				{Code: "A", Thickness: 2 * cm, Length: 100 * cm, Width: 10 * cm}, {Code: "B", Thickness: 2 * cm, Length: 100 * cm, Width: 10 * cm},
				{Code: "C", Thickness: 2 * cm, Length: 200 * cm, Width: 12 * cm},
			},
			Parts: []ShopPart{{Code: "p", Thickness: 2 * cm, Length: 50 * cm, Width: 10 * cm, Value: 10, Max: 2}},
		}
		p := planned(t, s)
		best, err := LeaveStock(context.Background(), s, p, Options{})
		require.NoError(t, err, name)
		require.NoError(t, Check(best.Instance, best.Plan), name)
		require.Equal(t, 20, best.Plan.Value, name)
		require.Len(t, best.Boards, 1, name)
		require.NotEqual(t, 2, best.Boards[0].Board, "%s: the smaller board does", name)
		require.GreaterOrEqual(t, s.Worth(best), s.Worth(p)-1e-9, name)
	}
}

// TestLeaveStockPutsPartsFirst wants more than two boards give. Whatever wood is
// worth, what was asked for is made.
func TestLeaveStockPutsPartsFirst(t *testing.T) {
	t.Parallel()
	cm := wood.Centimetre
	for _, rate := range []float64{0, 1e3, 1e4, 1e5} {
		s := Shop{
			Rules:  Rules{Pattern: Rip2, Objective: MostValue, OffcutLength: 30 * cm, OffcutWidth: 5 * cm, OffcutRate: rate},
			Boards: []ShopBoard{{Code: "A", Length: 100 * cm, Width: 10 * cm}, {Code: "B", Length: 80 * cm, Width: 6 * cm}},
			Parts:  []ShopPart{{Code: "p", Length: 80 * cm, Width: 6 * cm, Value: 500, Max: 3}},
		}
		p := planned(t, s)
		best, err := LeaveStock(context.Background(), s, p, Options{})
		require.NoError(t, err)
		require.Len(t, best.Boards, 2, "rate %v: of 10000 A is worth 1000 whole, B 480, the part 500", rate)
		require.Equal(t, p.Plan.Bound, best.Plan.Bound)
		require.NoError(t, Check(best.Instance, best.Plan))
	}
}

// TestLeaveStockChoosesTheBoard wants one part that two boards could give and
// one that none gives: it comes from the board that is worth less.
func TestLeaveStockChoosesTheBoard(t *testing.T) {
	t.Parallel()
	cm := wood.Centimetre
	for _, rate := range []float64{0, 1e3, 1e4} {
		s := Shop{
			Rules:  Rules{Pattern: Crosscut2, Objective: MostValue, OffcutLength: 30 * cm, OffcutWidth: 5 * cm, OffcutRate: rate},
			Boards: []ShopBoard{{Code: "A", Length: 85 * cm, Width: 10 * cm}, {Code: "B", Length: 61 * cm, Width: 10 * cm}},
			Parts:  []ShopPart{{Code: "p", Length: 60 * cm, Width: 10 * cm, Value: 500, Max: 1}, {Code: "q", Length: 300 * cm, Width: 10 * cm, Value: 900, Max: 1}},
		}
		best, err := LeaveStock(context.Background(), s, planned(t, s), Options{})
		require.NoError(t, err)
		require.Len(t, best.Boards, 1)
		require.Equal(t, 1, best.Boards[0].Board, "rate %v", rate)
	}
}

// TestIdleBoardsStayWhole plans parts that count nothing.
func TestIdleBoardsStayWhole(t *testing.T) {
	t.Parallel()
	s := Shop{
		Rules:  Rules{Pattern: Rip2, Objective: MostValue},
		Boards: []ShopBoard{{Code: "A", Length: 100, Width: 10}, {Code: "B", Length: 50, Width: 10}},
		Parts:  []ShopPart{{Code: "none", Length: 50, Width: 10, Max: 1}, {Code: "some", Length: 100, Width: 10, Value: 1, Max: 1}},
	}
	p := planned(t, s)
	require.Len(t, p.Boards, 1)
	require.Equal(t, 0, p.Boards[0].Board)
	in := p.Instance
	plan := Plan{Placements: []Placement{{Board: 1, Part: 0}, {Board: 0, Part: 1}}}
	dropIdle(in, &plan)
	require.Equal(t, []Placement{{Board: 0, Part: 1}}, plan.Placements)
	in.Parts[0].Min = 1
	plan.Placements = []Placement{{Board: 1, Part: 0}, {Board: 0, Part: 1}}
	dropIdle(in, &plan)
	require.Len(t, plan.Placements, 2, "it was asked for")
}

// TestArrangeJoinsWaste has two parts with the waste between them; pushed
// together they leave one offcut worth keeping.
func TestArrangeJoinsWaste(t *testing.T) {
	t.Parallel()
	cm := wood.Centimetre
	s := Shop{
		Rules:  Rules{Pattern: Crosscut2, Objective: CheapestBoards, OffcutLength: 30 * cm, OffcutWidth: 5 * cm, OffcutRate: 100},
		Boards: []ShopBoard{{Code: "A", Length: 100 * cm, Width: 10 * cm, Cost: 1}},
		Parts:  []ShopPart{{Code: "p", Length: 30 * cm, Width: 10 * cm, Max: 2}},
	}
	p := planned(t, s)
	p.Plan.Placements = []Placement{{X: 0}, {X: 50}}
	at := p.Grid.X
	require.Equal(t, 10*cm, at, "the grid of these sizes")
	p.Plan.Placements = []Placement{{X: 0}, {X: 5}}
	p, err := mustGrid(t, s, p).finish(p.Instance, p.Plan, nil)
	require.NoError(t, err)
	require.Zero(t, p.OffcutValue, "20 cm between and 20 behind")
	better, err := ArrangeShop(context.Background(), s, p, Options{})
	require.NoError(t, err)
	require.Equal(t, 4, better.OffcutValue)
	require.NoError(t, Check(better.Instance, better.Plan))
	require.Equal(t, p.Plan.Value, better.Plan.Value)

	s.Rules.OffcutRate = 0
	fewer, err := ArrangeShop(context.Background(), s, p, Options{})
	require.NoError(t, err)
	require.Len(t, fewer.Boards[0].Offcuts, 1, "where offcuts count nothing, one cut less joins the waste too")
	same, err := ArrangeShop(context.Background(), s, fewer, Options{})
	require.NoError(t, err)
	require.Equal(t, fewer, same)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	s.Rules.OffcutRate = 100
	late, err := ArrangeShop(ctx, s, p, Options{})
	require.NoError(t, err)
	require.Zero(t, late.OffcutValue, "no time, no change")
}

func mustGrid(t require.TestingT, s Shop, p ShopPlan) *gridder {
	g, err := s.gridderOf(p)
	require.NoError(t, err)
	return g
}

// TestArrangeTrimsNoEdge has a strip that ends just before the far edge, as a
// knot below keeps it from the strip beside it: pushed to the edge it needs no
// trim, and the offcut is wider by it. With a knot at the edge it stays.
func TestArrangeTrimsNoEdge(t *testing.T) {
	t.Parallel()
	const mm = wood.Millimetre
	for _, pattern := range []Pattern{Rip2, Rip3, Rip2Trim, Guillotine} {
		s := Shop{
			Rules:  Rules{Pattern: pattern, Objective: MostValue, RipKerf: 3 * mm, CrosscutKerf: 3 * mm, OffcutLength: 300 * mm, OffcutWidth: 40 * mm, OffcutRate: 1e5},
			Boards: []ShopBoard{{Code: "A", Length: 600 * mm, Width: 140 * mm}},
			Parts:  []ShopPart{{Code: "slat", Length: 600 * mm, Width: 25 * mm, Value: 9, Max: 1}},
		}
		p := planned(t, s)
		p.Plan.Placements = []Placement{{Y: int(111 * mm / p.Grid.Y)}}
		p, err := mustGrid(t, s, p).finish(p.Instance, p.Plan, nil)
		require.NoError(t, err)
		require.Equal(t, 2, cutsOf(t, p))
		better, err := ArrangeShop(context.Background(), s, p, Options{})
		require.NoError(t, err)
		require.Equal(t, 1, cutsOf(t, better), pattern)
		require.Equal(t, 112*mm, better.Boards[0].Offcuts[0].DY)

		s.Boards[0].Defects = []ShopDefect{{Y: 137 * mm, DX: 600 * mm, DY: 3 * mm, Face: Both}, {DX: 600 * mm, DY: 107 * mm, Face: Both}}
		p = planned(t, s)
		same, err := ArrangeShop(context.Background(), s, p, Options{})
		require.NoError(t, err)
		require.Equal(t, 2, cutsOf(t, same), "nowhere else to go")
	}
}

// TestTuckSavesCuts frees a part by one cut where two did.
func TestTuckSavesCuts(t *testing.T) {
	t.Parallel()
	const cm = wood.Centimetre
	s := Shop{
		Rules:  Rules{Pattern: Crosscut2, Objective: MostValue, CrosscutKerf: cm, OffcutLength: 30 * cm, OffcutWidth: 5 * cm},
		Boards: []ShopBoard{{Code: "A", Length: 110 * cm, Width: 10 * cm}},
		Parts:  []ShopPart{{Code: "p", Length: 60 * cm, Width: 10 * cm, Value: 9, Max: 1}},
	}
	p := planned(t, s)
	g := mustGrid(t, s, p)
	one := func(x wood.Length) []box {
		return []box{{int(x / p.Grid.X), 0, p.Instance.Parts[0].Length, p.Instance.Parts[0].Width, 0}}
	}
	require.Equal(t, one(0), g.tuck(p.Instance, 0, one(3*cm)), "one cut and all that is left in one piece")
	g.s.Rules.OffcutLength = 46 * cm
	require.Equal(t, one(0), g.tuck(p.Instance, 0, one(3*cm)), "nothing to keep, one cut less")
	s.Boards[0].Defects = []ShopDefect{{X: 0, DX: 2 * cm, DY: 10 * cm, Face: Both}}
	p = planned(t, s)
	g = mustGrid(t, s, p)
	require.Equal(t, one(50*cm), g.tuck(p.Instance, 0, one(3*cm)), "at the far end: 47 of the 49 cm are clear")
}

// cutsOf counts the saw cuts of a plan.
func cutsOf(t require.TestingT, p ShopPlan) int {
	steps, err := Steps(p.Instance, p.Plan)
	require.NoError(t, err)
	return len(steps)
}

// TestArrangeProperties: on random boards arranging never meets more metal,
// loses no value unless it meets less, and makes the same of each board.
func TestArrangeProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := randomShop(t)
		p := planned(t, s)
		ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
		defer cancel()
		better, err := ArrangeShop(ctx, s, p, Options{GapGoal: 1e-3})
		require.NoError(t, err)
		require.NoError(t, Check(better.Instance, better.Plan))
		if metalOf(s, better) == metalOf(s, p) { // less metal met is worth an offcut
			require.GreaterOrEqual(t, better.OffcutValue, p.OffcutValue-len(p.Boards), "to rounding")
		}
		require.InDelta(t, better.Stock, better.PartArea+better.OffcutArea+better.KerfArea+better.WasteArea, 1e-9)
		require.Equal(t, onCopies(p.Plan), onCopies(better.Plan))
		require.LessOrEqual(t, metalOf(s, better), metalOf(s, p))
		if s.Rules.OffcutRate == 0 && metalOf(s, better) == metalOf(s, p) {
			require.LessOrEqual(t, cutsOf(t, better), cutsOf(t, p))
		}
		ctx, cancel = context.WithTimeout(context.Background(), 50*time.Millisecond)
		defer cancel()
		left, err := LeaveStock(ctx, s, p, Options{GapGoal: 1e-3})
		require.NoError(t, err)
		require.NoError(t, Check(left.Instance, left.Plan))
		require.GreaterOrEqual(t, s.Worth(left), s.Worth(p)-1e-9)
	})
}

// randomShop is a few boards with metal in them and a few parts, in millimetres.
func randomShop(t *rapid.T) Shop {
	mm := func(name string, lo, hi int) wood.Length {
		return wood.Length(rapid.IntRange(lo, hi).Draw(t, name)) * wood.Millimetre
	}
	s := Shop{Rules: Rules{
		Pattern:   rapid.SampledFrom([]Pattern{Rip2, Crosscut2, Rip3, Crosscut3, Rip2Trim, Crosscut2Trim, Guillotine}).Draw(t, "pattern"),
		Objective: MostValue, RipKerf: mm("rip kerf", 0, 4), CrosscutKerf: mm("kerf", 0, 4), Clearance: mm("clearance", 0, 3),
		OffcutLength: mm("offcut length", 10, 30), OffcutWidth: mm("offcut width", 5, 15), OffcutRate: rapid.SampledFrom([]float64{0, 3e4, 1e5}).Draw(t, "rate"),
	}}
	for i := range rapid.IntRange(1, 3).Draw(t, "boards") {
		b := ShopBoard{Code: string(rune('A' + i)), Thickness: 20 * wood.Millimetre, Length: mm("length", 40, 120), Width: mm("width", 20, 50)}
		for range rapid.IntRange(0, 3).Draw(t, "nails") {
			b.Defects = append(b.Defects, ShopDefect{X: mm("x", 0, 35), Y: mm("y", 0, 17), DX: 3 * wood.Millimetre, DY: 2 * wood.Millimetre, Metal: true, Face: Both})
		}
		s.Boards = append(s.Boards, b)
	}
	for range rapid.IntRange(1, 3).Draw(t, "parts") {
		s.Parts = append(s.Parts, ShopPart{Thickness: 18 * wood.Millimetre, Length: mm("part", 8, 60), Width: mm("wide", 4, 25), Value: rapid.IntRange(1, 9).Draw(t, "value"), Max: rapid.IntRange(1, 4).Draw(t, "max")})
	}
	for i := range s.Parts {
		s.Parts[i].Code = string(rune('p' + i))
	}
	return s
}

// metalOf counts how often the cuts of a plan meet metal.
func metalOf(s Shop, p ShopPlan) (n int) {
	g, err := s.gridderOf(p)
	if err != nil {
		return -1
	}
	steps, err := Steps(p.Instance, p.Plan)
	if err != nil {
		return -1
	}
	for _, st := range steps {
		for _, m := range g.metalOn(st.Board, p.Instance.Boards[st.Board], 0, 0) {
			if st.kerf().meets(m) {
				n++
			}
		}
	}
	return n
}

// TestLeaveStockUnderOtherObjectives does not look for other boards.
func TestLeaveStockUnderOtherObjectives(t *testing.T) {
	t.Parallel()
	s := Shop{
		Rules:  Rules{Pattern: Rip2, Objective: CheapestBoards},
		Boards: []ShopBoard{{Code: "A", Length: 100, Width: 10, Cost: 1}},
		Parts:  []ShopPart{{Code: "p", Length: 50, Width: 10, Max: 1}},
	}
	p := planned(t, s)
	same, err := LeaveStock(context.Background(), s, p, Options{})
	require.NoError(t, err)
	require.Equal(t, p, same)
	_, err = LeaveStock(context.Background(), Shop{}, p, Options{})
	require.ErrorIs(t, err, ErrPlan)
	_, err = ArrangeShop(context.Background(), Shop{}, p, Options{})
	require.ErrorIs(t, err, ErrPlan)
}

// TestReplanWithFurtherBoards loses the only board and goes on with one that
// joins; boards that cannot join are told.
func TestReplanWithFurtherBoards(t *testing.T) {
	t.Parallel()
	mm := wood.Millimetre
	s := Shop{
		Rules:  Rules{Pattern: Rip2, Objective: ShortFirst, RipKerf: 3 * mm, CrosscutKerf: 3 * mm, EndTrim: 10 * mm, PlaneAllowance: 2 * mm},
		Boards: []ShopBoard{{Code: "A", Thickness: 20 * mm, Length: 700 * mm, Width: 100 * mm}},
		Parts:  []ShopPart{{Code: "p", Thickness: 18 * mm, Length: 300 * mm, Width: 90 * mm, Max: 2}},
	}
	old := planned(t, s)
	for _, b := range []ShopBoard{
		{Code: "thin", Thickness: 19 * mm, Length: 700 * mm, Width: 100 * mm}, {Code: "speck", Thickness: 20 * mm, Length: 15 * mm, Width: 100 * mm},
		{Code: "B", Thickness: 21 * mm, Length: 701 * mm, Width: 100 * mm}, {Code: "not named", Thickness: 21 * mm, Length: 701 * mm, Width: 100 * mm},
	} {
		s.Boards = append(s.Boards, b)
	}
	next, _, err := ReplanShop(context.Background(), s, old, ShopChange{Lost: []int{0}, Added: []int{1, 2, 3}}, Options{})
	require.NoError(t, err)
	require.NoError(t, Check(next.Instance, next.Plan))
	require.Equal(t, []int{0, 1, 3}, next.FromBoard)
	require.Len(t, next.Boards, 1)
	require.Equal(t, 3, next.Boards[0].Board, "thin enough is too thin")
	require.Len(t, next.Boards[0].Pieces, 2)
	require.Nil(t, next.Missing)

	again, _, err := ReplanShop(context.Background(), s, next, ShopChange{Lost: []int{0, 3}, Added: []int{4}}, Options{})
	require.NoError(t, err)
	require.Equal(t, 4, again.Boards[0].Board)
	for _, b := range []int{-1, 0, 9} {
		_, _, err := ReplanShop(context.Background(), s, old, ShopChange{Added: []int{b}}, Options{})
		require.ErrorIs(t, err, ErrPlan, "%d", b)
	}
}
