package cut

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

const eighth = wood.Inch / 8

// plan solves a shop problem and checks that its areas add up.
func planned(t require.TestingT, s Shop) ShopPlan {
	plan, err := PlanShop(context.Background(), s, Options{GapGoal: 0.01})
	require.NoError(t, err)
	require.NoError(t, Check(plan.Instance, plan.Plan))
	require.InDelta(t, plan.Stock, plan.PartArea+plan.OffcutArea+plan.KerfArea+plan.WasteArea, 1e-9)
	require.GreaterOrEqual(t, plan.WasteArea, -1e-9)
	return plan
}

// TestCommonRips checks two rips of common practice, no source: a 5 1/2 in
// board with a 1/8 in kerf gives 2 1/4 + 2 1/4 + 3/4 with nothing left, and
// 3 1/2 + 3/4 + 3/4 leaves 1/4 after two cuts.
func TestCommonRips(t *testing.T) {
	t.Parallel()
	s := Shop{
		Rules:  Rules{Pattern: Rip2, Objective: CheapestBoards, RipKerf: eighth, CrosscutKerf: eighth},
		Boards: []ShopBoard{{Code: "A", Length: 4 * wood.Foot, Width: 44 * eighth, Cost: 1}},
		Parts: []ShopPart{
			{Code: "wide", Length: 4 * wood.Foot, Width: 18 * eighth, Max: 2},
			{Code: "slat", Length: 4 * wood.Foot, Width: 6 * eighth, Max: 1},
		},
	}
	plan := planned(t, s)
	require.True(t, plan.Grid.Exact)
	require.Equal(t, Optimal, plan.Plan.Status)
	require.InDelta(t, 0, plan.WasteArea, 1e-12, "nothing is left")
	require.Equal(t, 5*wood.Inch+wood.Inch/2, plan.Grid.Across(farEdge(plan)), "the last part ends where the board does")

	s.Parts[1].Width += wood.Inch / 64
	plan = planned(t, s)
	require.Equal(t, Infeasible, plan.Plan.Status)
	require.Equal(t, 1, plan.Missing[0]+plan.Missing[1])

	s.Parts = []ShopPart{
		{Code: "rail", Length: 4 * wood.Foot, Width: 28 * eighth, Max: 1},
		{Code: "slat", Length: 4 * wood.Foot, Width: 6 * eighth, Max: 2},
	}
	plan = planned(t, s)
	steps, err := Steps(plan.Instance, plan.Plan)
	require.NoError(t, err)
	require.Len(t, steps, 3, "two cuts between the parts and one to free the last from what is left")
	require.Equal(t, 5*wood.Inch+wood.Inch/4, plan.Grid.Across(farEdge(plan)), "two cuts leave a quarter of an inch")
	require.InDelta(t, (4*wood.Foot).Metres()*(wood.Inch/4).Metres(), plan.WasteArea+steps3(plan, steps), 1e-12)
}

// farEdge returns, in ticks, how far the parts reach across the board.
func farEdge(plan ShopPlan) int {
	far := 0
	for _, p := range plan.Plan.Placements {
		far = max(far, p.Y+plan.Instance.Parts[p.Part].Width)
	}
	return far
}

// steps3 returns the area of the last cut's kerf, which falls in what two cuts
// leave.
func steps3(plan ShopPlan, steps []Step) float64 {
	last := steps[len(steps)-1]
	return plan.Grid.Along(last.DX).Metres() * plan.Grid.Across(last.Kerf).Metres()
}

// TestShopRules plans one board so that each rule shows: dirty ends, end trim,
// allowances, clearance round metal, thickness and zone.
func TestShopRules(t *testing.T) {
	t.Parallel()
	s := Shop{
		Rules:  Rules{Pattern: Rip2, Objective: MostValue, RipKerf: 3 * wood.Millimetre, CrosscutKerf: 3 * wood.Millimetre},
		Boards: []ShopBoard{{Code: "A", Thickness: 20 * wood.Millimetre, Length: 1000 * wood.Millimetre, Width: 100 * wood.Millimetre, Inside: true}},
		Parts:  []ShopPart{{Code: "p", Thickness: 18 * wood.Millimetre, Length: 100 * wood.Millimetre, Width: 100 * wood.Millimetre, Value: 1, Max: 99, Faces: 2, Inside: true}},
	}
	made := func() int { return planned(t, s).Plan.Value }
	require.Equal(t, 9, made(), "1000 = 9 x 100 + 8 x 3 and 76 left")
	s.Boards[0].DirtyStart = 74 * wood.Millimetre
	require.Equal(t, 9, made())
	require.Equal(t, 74*wood.Millimetre, planned(t, s).Boards[0].Pieces[0].X, "pieces are measured from the dirty end")
	s.Rules.EndTrim = 2 * wood.Millimetre
	require.Equal(t, 8, made(), "trim below a kerf still costs the kerf")
	s.Rules.EndTrim, s.Boards[0].DirtyStart = 0, 0
	s.Rules.LengthAllowance = 10 * wood.Millimetre
	require.Equal(t, 8, made(), "8 x 110 + 7 x 3 = 901")
	s.Rules.JointAllowance = wood.Millimetre
	require.Equal(t, 0, made())
	s.Rules.LengthAllowance, s.Rules.JointAllowance = 0, 0
	s.Rules.PlaneAllowance = 3 * wood.Millimetre
	require.Equal(t, 0, made(), "18 + 3 is more than 20")
	s.Rules.PlaneAllowance = 0
	s.Boards[0].Inside = false
	require.Equal(t, 0, made(), "no outside board in an inside part")
	s.Boards[0].Inside = true
	s.Boards[0].Defects = []ShopDefect{{X: 104 * wood.Millimetre, Y: 50 * wood.Millimetre, DX: wood.Millimetre, DY: wood.Millimetre, Face: Top, Metal: true}}
	require.Equal(t, 9, made(), "1 + 1 nail hole + 8: 100, then 105 to 1000 is 8 x 100 + 7 x 3 + 74")
	s.Rules.Clearance = 5 * wood.Millimetre
	require.Equal(t, 8, made(), "the nail reaches back into the first piece")
}

// TestShortFirst clears short boards: two of half the length go before one
// whole, though both plans use the same wood.
func TestShortFirst(t *testing.T) {
	t.Parallel()
	s := Shop{
		Rules: Rules{Pattern: Crosscut2, Objective: ShortFirst},
		Boards: []ShopBoard{
			{Code: "long", Length: 2 * wood.Metre, Width: 100 * wood.Millimetre},
			{Code: "short", Length: wood.Metre, Width: 100 * wood.Millimetre, Count: 2},
		},
		Parts: []ShopPart{{Code: "p", Length: 500 * wood.Millimetre, Width: 100 * wood.Millimetre, Max: 4}},
	}
	for _, b := range planned(t, s).Boards {
		require.Equal(t, 1, b.Board)
	}
	s.Rules.Objective = CheapestBoards
	s.Boards[0].Cost, s.Boards[1].Cost = 1, 1
	require.Equal(t, 1, planned(t, s).Plan.Value)
}

// TestOffcuts keeps what is large enough, and with a rate plans for it.
func TestOffcuts(t *testing.T) {
	t.Parallel()
	cm := wood.Centimetre
	s := Shop{
		Rules:  Rules{Pattern: Rip2, Objective: MostValue, OffcutLength: 30 * cm, OffcutWidth: 5 * cm},
		Boards: []ShopBoard{{Code: "A", Length: 100 * cm, Width: 10 * cm}},
		Parts:  []ShopPart{{Code: "p", Length: 60 * cm, Width: 10 * cm, Value: 10, Max: 1}},
	}
	plan := planned(t, s)
	require.Equal(t, []Piece{{X: 60 * cm, DX: 40 * cm, DY: 10 * cm}}, plan.Boards[0].Offcuts)
	s.Rules.OffcutLength = 41 * cm
	require.Empty(t, planned(t, s).Boards[0].Offcuts)
	require.Zero(t, planned(t, s).OffcutValue)
	s.Rules.OffcutLength, s.Rules.OffcutRate = 30*cm, 100
	plan = planned(t, s)
	require.Equal(t, 4, plan.OffcutValue, "40 x 10 cm at 100 a square metre")
	require.Equal(t, 10, plan.Plan.Value, "the parts' value and bound are the parts' alone")
	require.InDelta(t, 10+4-10, s.Worth(plan), 1e-9, "the board itself was worth 10")
}

// TestGridIsConservative plans shops with sizes on no common grid and checks
// in shop lengths that nothing overlaps, leaves its board or lies on metal.
func TestGridIsConservative(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		length := func(name string, lo, hi wood.Length) wood.Length {
			return wood.Length(rapid.Int64Range(int64(lo), int64(hi)).Draw(t, name))
		}
		s := Shop{Rules: Rules{
			Pattern: rapid.SampledFrom([]Pattern{Rip2, Crosscut2, Rip3, Crosscut3}).Draw(t, "pattern"), Objective: MostValue, MaxTicks: 120,
			RipKerf: length("rip kerf", 0, 4*wood.Millimetre), CrosscutKerf: length("kerf", 0, 4*wood.Millimetre),
			EndTrim: length("trim", 0, 9*wood.Millimetre), Clearance: length("clearance", 0, 9*wood.Millimetre),
		}}
		b := ShopBoard{Length: length("length", 200*wood.Millimetre, wood.Metre), Width: length("width", 60*wood.Millimetre, 200*wood.Millimetre)}
		b.Defects = []ShopDefect{{X: length("x", 0, b.Length-20*wood.Millimetre), Y: length("y", 0, b.Width-20*wood.Millimetre), DX: wood.Millimetre, DY: wood.Millimetre, Metal: true, Face: Both}}
		s.Boards = []ShopBoard{b}
		for range 3 {
			s.Parts = append(s.Parts, ShopPart{Length: length("part", 60*wood.Millimetre, 400*wood.Millimetre), Width: length("wide", 15*wood.Millimetre, 90*wood.Millimetre), Value: rapid.IntRange(1, 9).Draw(t, "value"), Max: 3})
		}
		plan := planned(t, s)
		for _, board := range plan.Boards {
			for i, p := range board.Pieces {
				require.True(t, p.X >= s.Rules.EndTrim && p.X+p.DX <= b.Length-s.Rules.EndTrim && p.Y >= 0 && p.Y+p.DY <= b.Width)
				d, c := b.Defects[0], s.Rules.Clearance
				require.False(t, p.X < d.X+d.DX+c && d.X-c < p.X+p.DX && p.Y < d.Y+d.DY+c && d.Y-c < p.Y+p.DY)
				for _, o := range board.Pieces[:i] {
					apartX := p.X >= o.X+o.DX+s.Rules.CrosscutKerf || o.X >= p.X+p.DX+s.Rules.CrosscutKerf
					apartY := p.Y >= o.Y+o.DY+s.Rules.RipKerf || o.Y >= p.Y+p.DY+s.Rules.RipKerf
					require.True(t, apartX || apartY)
				}
			}
		}
	})
}

// TestLargeBoardsKeepPartsExact plans shops in which one board is too long or
// too wide for ticks that divide every size: blanks and kerfs stay as asked for.
func TestLargeBoardsKeepPartsExact(t *testing.T) {
	t.Parallel()
	const nd, mm = wood.Inch / 32, wood.Millimetre
	inches := Rules{Pattern: Rip2, Objective: MostValue, RipKerf: eighth, CrosscutKerf: eighth, EndTrim: 4 * eighth, LengthAllowance: wood.Inch, JointAllowance: 2 * eighth}
	metric := Rules{Pattern: Rip2, Objective: MostValue, RipKerf: 3 * mm, CrosscutKerf: 3 * mm, LengthAllowance: 25 * mm, JointAllowance: 6 * mm, Clearance: wood.Inch / 4}
	for name, c := range map[string]struct {
		rules      Rules
		large      ShopBoard
		long, wide wood.Length
	}{
		"long in inches": {inches, ShopBoard{Code: "L", Length: 4609 * nd, Width: 177 * nd}, 159 * eighth, 18 * eighth},
		"wide in inches": {inches, ShopBoard{Code: "L", Length: 961 * nd, Width: 1601 * nd}, 159 * eighth, 18 * eighth},
		"millimetres":    {metric, ShopBoard{Code: "L", Length: 2400 * mm, Width: 140 * mm}, 4835 * mm / 10, 57 * mm},
	} {
		s := Shop{Rules: c.rules, Boards: []ShopBoard{c.large, {Code: "S", Length: 1536 * nd, Width: 177 * nd}},
			Parts: []ShopPart{{Code: "side", Length: c.long, Width: c.wide, Value: 3, Max: 40}}}
		plan := planned(t, s)
		require.NotZero(t, plan.Plan.Value, name)
		for _, b := range plan.Boards {
			for _, p := range b.Pieces {
				require.Equal(t, c.long+c.rules.LengthAllowance, p.DX, name)
				require.Equal(t, c.wide+c.rules.JointAllowance, p.DY, name)
			}
		}
		k := plan.Instance.Kerf
		require.Equal(t, c.rules.CrosscutKerf, plan.Grid.Along(k.Crosscut), name)
		require.Equal(t, c.rules.RipKerf, plan.Grid.Across(k.Rip), name)
	}
}

// TestTick chooses ticks for sizes of one direction.
func TestTick(t *testing.T) {
	t.Parallel()
	const nd, mm = wood.Inch / 32, wood.Millimetre
	for name, c := range map[string]struct {
		sizes sizes
		tick  wood.Length
		exact bool
	}{
		"all divide":                 {sizes{eighth, 96 * wood.Inch, []wood.Length{eighth, 21 * eighth}, []wood.Length{96 * wood.Inch, 3 * nd}, 4096}, nd, true},
		"parts and kerf, in 32nds":   {sizes{eighth, 144 * wood.Inch, []wood.Length{eighth, 21 * eighth}, []wood.Length{144 * wood.Inch, 3 * nd}, 4096}, 2 * nd, false},
		"parts and kerf, to 0.5 mm":  {sizes{3 * mm, 1200 * mm, []wood.Length{3 * mm, 5085 * mm / 10}, []wood.Length{1200 * mm, wood.Inch / 4}, 4096}, mm / 2, false},
		"the kerf alone":             {sizes{3 * mm, 2400 * mm, []wood.Length{3 * mm, 23 * wood.Inch}, []wood.Length{2400 * mm}, 4096}, 600_000, false},
		"nothing: the finest":        {sizes{0, 2400 * mm, []wood.Length{0, 23*wood.Inch + 1, 9 * wood.Inch}, []wood.Length{2400*mm - 1}, 4096}, 2400*mm/4096 + 1, false},
		"a kerf finer than any tick": {sizes{mm / 10, 2400 * mm, []wood.Length{mm / 10, 23*wood.Inch + 1}, []wood.Length{2400 * mm}, 4096}, 2400*mm/4096 + 1, false},
	} {
		tick, exact := c.sizes.tick()
		require.Equal(t, c.tick, tick, name)
		require.Equal(t, c.exact, exact, name)
		require.LessOrEqual(t, c.sizes.longest/tick, wood.Length(c.sizes.most), name)
	}
}

// TestShopRefuses reports lengths that make no sense, and where.
func TestShopRefuses(t *testing.T) {
	t.Parallel()
	good := func() Shop {
		return Shop{
			Rules:  Rules{Pattern: Rip2, Objective: MostValue},
			Boards: []ShopBoard{{Code: "A", Length: wood.Metre, Width: wood.Metre}},
			Parts:  []ShopPart{{Code: "p", Length: wood.Metre, Width: wood.Metre, Value: 1, Max: 1}},
		}
	}
	_, _, err := good().Instance()
	require.NoError(t, err)
	for where, spoil := range map[string]func(*Shop){
		"rules.objective":      func(s *Shop) { s.Rules.Objective = "all" },
		"rules:":               func(s *Shop) { s.Rules.RipKerf = -1 },
		"rules.offcut":         func(s *Shop) { s.Rules.OffcutRate = 1 },
		"pattern":              func(s *Shop) { s.Rules.Pattern = "spiral" },
		"boards[0]:":           func(s *Shop) { s.Boards[0].Length = 0 },
		"boards[1].code":       func(s *Shop) { s.Boards = append(s.Boards, s.Boards[0]) },
		"boards[0].defects[0]": func(s *Shop) { s.Boards[0].Defects = []ShopDefect{{DX: 2 * wood.Metre, DY: 1}} },
		"parts[0]:":            func(s *Shop) { s.Parts[0].Width = -1 },
		"parts[0].min":         func(s *Shop) { s.Parts[0].Min = 2 },
	} {
		s := good()
		spoil(&s)
		_, err := PlanShop(context.Background(), s, Options{})
		require.ErrorIs(t, err, ErrInstance, where)
		require.ErrorContains(t, err, where)
	}
}
