package grade_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// TestWaysCheckVectors holds the rule table against vectors worked out from
// the association's summary chart by hand: cuttings as base+extra, units as
// base/extra, for surface measures 1 to 16; -1 where there is none.
func TestWaysCheckVectors(t *testing.T) {
	t.Parallel()
	type pair struct{ count, extra, units, extraUnits int }
	none := pair{-1, -1, -1, -1}
	base := func(count, units int) pair { return pair{count, -1, units, -1} }
	both := func(count, units, extraUnits int) pair { return pair{count, count + 1, units, extraUnits} }
	for sm, want := range map[int]struct{ fas, no1, no2 pair }{
		4:  {base(1, 40), both(1, 32, 36), both(2, 24, 32)},
		5:  {base(1, 50), both(2, 40, 45), both(2, 30, 40)},
		6:  {both(1, 60, 66), both(2, 48, 54), both(3, 36, 48)},
		7:  {both(1, 70, 77), both(2, 56, 63), both(3, 42, 56)},
		8:  {both(2, 80, 88), both(3, 64, 72), base(4, 48)},
		9:  {both(2, 90, 99), both(3, 72, 81), base(4, 54)},
		10: {both(2, 100, 110), both(3, 80, 90), base(5, 60)},
		11: {both(2, 110, 121), base(4, 88), base(5, 66)},
		12: {both(3, 120, 132), base(4, 96), base(6, 72)},
		13: {both(3, 130, 143), base(4, 104), base(6, 78)},
		14: {both(3, 140, 154), base(5, 112), base(7, 84)},
		15: {both(3, 150, 165), base(5, 120), base(7, 90)},
		16: {base(4, 160), base(5, 128), base(7, 96)},
		3:  {none, both(1, 24, 27), both(1, 18, 24)},
		2:  {none, none, both(1, 12, 16)},
	} {
		for g, p := range map[grade.Grade]pair{grade.FAS: want.fas, grade.F1F: want.fas, grade.No1: want.no1, grade.No2A: want.no2, grade.No2B: want.no2} {
			got := none
			for _, w := range grade.Ways(g, sm, 6*inch) {
				switch w.Name {
				case grade.WayBase:
					got.count, got.units = w.Count, int(w.Units)
				case grade.WayExtra:
					got.extra, got.extraUnits = w.Count, int(w.Units)
				}
			}
			require.Equal(t, p, got, "%s, surface measure %d", g, sm)
		}
	}
	for sm := 1; sm <= 16; sm++ {
		require.Equal(t, []float64{float64(4 * sm), float64(3 * sm)}, []float64{
			grade.Ways(grade.No3A, sm, 6*inch)[0].Units, grade.Ways(grade.No3B, sm, 6*inch)[0].Units,
		})
	}
}

// TestWaysOfSmallPieces follows the notes of the same chart.
func TestWaysOfSmallPieces(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		g     grade.Grade
		sm    int
		names []string
		units []float64
	}{
		{grade.No1, 1, []string{grade.WayAllClear}, []float64{12}},
		{grade.No1, 2, []string{grade.WaySmall}, []float64{18}},
		{grade.No2A, 1, []string{grade.WaySmall}, []float64{8}},
		{grade.Selects, 2, []string{grade.WayAllClear, grade.WaySmall}, []float64{24, 22}},
		{grade.Selects, 3, []string{grade.WayAllClear, grade.WaySmall}, []float64{36, 33}},
		{grade.FAS, 3, nil, nil},
		{grade.FAS, 0, nil, nil},
		{grade.FAS, 12, []string{grade.WayBase, grade.WayExtra, grade.WayFull}, []float64{120, 132, 139.68}},
		{grade.FAS, 5, []string{grade.WayBase}, []float64{50}},
		{grade.Below, 8, nil, nil},
	} {
		var names []string
		var units []float64
		for _, w := range grade.Ways(c.g, c.sm, 6*inch) {
			names, units = append(names, w.Name), append(units, w.Units)
		}
		require.Equal(t, c.names, names, "%s, surface measure %d", c.g, c.sm)
		require.InDeltaSlice(t, c.units, units, 1e-9)
	}
	require.Len(t, grade.Ways(grade.Selects, 6, 5*inch), 2, "no 97 % rule under 6 in of width")
}

// eighths turns eighths of an inch into a length.
func eighths(n int) wood.Length { return wood.Length(n) * inch / 8 }

// framed leaves exactly the given rectangles of a board clear on both faces.
func framed(b grade.Board, clear ...grade.Rect) grade.Board {
	xs, ys := []wood.Length{0, b.Length}, []wood.Length{0, b.Width}
	for _, r := range clear {
		xs, ys = append(xs, r.X, r.Right()), append(ys, r.Y, r.Far())
	}
	slices.Sort(xs)
	slices.Sort(ys)
	xs, ys = slices.Compact(xs), slices.Compact(ys)
	for i := 1; i < len(xs); i++ {
		for j := 1; j < len(ys); j++ {
			cell := grade.Rect{X: xs[i-1], Y: ys[j-1], DX: xs[i] - xs[i-1], DY: ys[j] - ys[j-1]}
			if !slices.ContainsFunc(clear, func(r grade.Rect) bool { return r.Contains(cell) }) {
				b.Defects = append(b.Defects, grade.Defect{Kind: grade.Stain, Face: grade.Both, X: cell.X, Y: cell.Y, DX: cell.DX, DY: cell.DY})
			}
		}
	}
	return b
}

// TestWorkedCuttings takes the cuttings of the worked examples: units of each
// and what the grade needs. The two with cuttings are recalled from the
// illustrated guide to American hardwood lumber grades (American Hardwood
// Export Council) and were not read; their arithmetic was confirmed. The three
// cuttings of the first cannot lie side by side on a board of 12 in x 12 ft
// (three lengths of 4 1/2 ft are 13 1/2 ft, and no two widths fit in 12 in), so
// only its sums are held to.
func TestWorkedCuttings(t *testing.T) {
	t.Parallel()
	feet := func(quarters int) wood.Length { return wood.Length(quarters) * foot / 4 }
	for name, c := range map[string]struct {
		g         grade.Grade
		b         grade.Board
		cuttings  []grade.Rect
		units     []float64
		needed    float64
		allowed   int
		surface   int
		tolerance float64
	}{
		"from memory: 12 in x 12 ft, No. 1 Common": {
			g: grade.No1, b: grade.Board{Width: 12 * inch, Length: 12 * foot}, surface: 12, needed: 96, allowed: 4,
			cuttings: []grade.Rect{{DY: eighths(76), DX: feet(18)}, {DY: eighths(68), DX: feet(18)}, {DY: eighths(36), DX: feet(18)}},
			units:    []float64{42.75, 38.25, 20.25},
		},
		"from memory: 8 in x 12 ft, FAS": {
			g: grade.FAS, b: grade.Board{Width: 8 * inch, Length: 12 * foot}, surface: 8, needed: 80, allowed: 2,
			cuttings: []grade.Rect{{DY: eighths(28), DX: 12 * foot}, {DY: eighths(36), DX: 8*foot + 8*inch}},
			units:    []float64{42, 39},
		},
		"6 7/16 in x 10 ft 9 in, No. 1 Common": {
			g: grade.No1, b: grade.Board{Width: 6*inch + 7*inch/16, Length: 10*foot + 9*inch}, surface: 5, needed: 40, allowed: 2,
		},
		"6 in x 8 ft, FAS":          {g: grade.FAS, b: grade.Board{Width: 6 * inch, Length: 8 * foot}, surface: 4, needed: 40, allowed: 1},
		"6 in x 8 ft, No. 1 Common": {g: grade.No1, b: grade.Board{Width: 6 * inch, Length: 8 * foot}, surface: 4, needed: 32, allowed: 1},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			sm := grade.SurfaceMeasure(c.b.Width, c.b.Length, grade.HalfUp)
			require.Equal(t, c.surface, sm)
			way := grade.Ways(c.g, sm, c.b.Width)[0]
			require.Equal(t, c.allowed, way.Count)
			require.InDelta(t, c.needed, way.Units, 1e-9)
			sum := 0.0
			for i, r := range c.cuttings {
				require.InDelta(t, c.units[i], r.Units(), 1e-9)
				sum += r.Units()
			}
			if len(c.cuttings) > 0 {
				require.GreaterOrEqual(t, sum, way.Units)
				require.LessOrEqual(t, len(c.cuttings), way.Count)
			}
		})
	}
}

// TestWorkedLayout grades the one recalled example whose cuttings fit on their
// board, everything else on it being stained.
func TestWorkedLayout(t *testing.T) {
	t.Parallel()
	b := framed(grade.Board{Thickness: inch, Width: 8 * inch, Length: 12 * foot},
		grade.Rect{DX: 12 * foot, DY: eighths(28)},
		grade.Rect{Y: eighths(28), DX: 8*foot + 8*inch, DY: eighths(36)},
	)
	r, err := grade.Judge(b, grade.JudgeOptions{})
	require.NoError(t, err)
	require.Equal(t, grade.FAS, r.Grade)
	require.Equal(t, grade.WayBase, r.Made[0].Way.Name)
	require.InDelta(t, 81, r.Made[0].Cuttings.Units, 1e-9)
	require.Len(t, r.Made[0].Cuttings.Rects, 2)
	require.True(t, r.Certain)
	require.Equal(t, grade.NotCertified, r.Limits[0])
}

// face returns a defect over the given inches of one face.
func face(f grade.Face, k grade.Kind, x, y, dx, dy int) grade.Defect {
	r := in(x, y, dx, dy)
	return grade.Defect{Kind: k, Face: f, X: r.X, Y: r.Y, DX: r.DX, DY: r.DY}
}

// TestJudge tries one board for each rule.
func TestJudge(t *testing.T) {
	t.Parallel()
	board := func(width, feet int, ds ...grade.Defect) grade.Board {
		return grade.Board{Thickness: inch, Width: wood.Length(width) * inch, Length: wood.Length(feet) * foot, Defects: ds, Mapped: true}
	}
	for name, c := range map[string]struct {
		b     grade.Board
		grade grade.Grade
		way   string
	}{
		"clear, least FAS board":               {board(6, 8), grade.FAS, grade.WayBase},
		"clear, too narrow for FAS":            {board(5, 8), grade.Selects, grade.WayAllClear},
		"clear, too short for FAS":             {board(6, 7), grade.Selects, grade.WayBase},
		"clear, too short for Selects":         {board(6, 5), grade.No1, grade.WayBase},
		"clear, 3 in x 4 ft":                   {board(3, 4), grade.No1, grade.WayAllClear},
		"clear, under 3 in":                    {board(2, 8), grade.Below, ""},
		"clear, under 4 ft":                    {board(6, 3), grade.Below, ""},
		"3 in x 4 ft with one stain":           {board(3, 4, face(grade.Top, grade.Stain, 0, 0, 6, 3)), grade.No2A, grade.WaySmall},
		"a knot in the middle":                 {board(6, 8, face(grade.Both, grade.Knot, 47, 2, 2, 2)), grade.No1, grade.WayExtra},
		"one stained foot at the end":          {board(6, 8, face(grade.Both, grade.Stain, 84, 0, 12, 6)), grade.FAS, grade.WayBase},
		"same foot rotten":                     {board(6, 8, face(grade.Both, grade.Decay, 84, 0, 12, 6)), grade.No1, grade.WayBase},
		"stained poorer face, enough for 1C":   {board(6, 8, face(grade.Bottom, grade.Stain, 66, 0, 30, 6)), grade.F1F, grade.WayBase},
		"stained poorer face, enough for 2A":   {board(6, 8, face(grade.Bottom, grade.Stain, 48, 0, 48, 6)), grade.No2A, grade.WayBase},
		"7 in face spoiled all over":           {board(7, 8, face(grade.Bottom, grade.Stain, 0, 0, 96, 7)), grade.No2B, grade.WayBase},
		"both faces knotty all over":           {board(6, 8, face(grade.Both, grade.Knot, 0, 0, 96, 6)), grade.No2B, grade.WayBase},
		"metal is never sound":                 {board(6, 8, grade.Defect{Kind: grade.Stain, Face: grade.Top, DX: 8 * foot, DY: 6 * inch, Metal: true}), grade.Below, ""},
		"wane over half the length":            {board(6, 8, face(grade.Both, grade.Wane, 0, 5, 50, 1)), grade.No1, grade.WayBase},
		"wane over half the length, one face":  {board(6, 8, face(grade.Bottom, grade.Wane, 0, 5, 50, 1)), grade.No1, grade.WayBase},
		"wane under half the length, one face": {board(6, 8, face(grade.Bottom, grade.Wane, 0, 5, 46, 1)), grade.FAS, grade.WayBase},
		"third of the wood":                    {board(12, 8, face(grade.Both, grade.Decay, 36, 0, 60, 12)), grade.No3A, grade.WayBase},
		"quarter of the wood, sound":           {board(12, 8, face(grade.Both, grade.Decay, 26, 0, 70, 12)), grade.No3B, grade.WayBase},
		"less than that":                       {board(12, 8, face(grade.Both, grade.Decay, 23, 0, 73, 12)), grade.Below, ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, err := grade.Judge(c.b, grade.JudgeOptions{})
			require.NoError(t, err)
			require.Equal(t, c.grade, r.Grade, "%+v", r.Trials)
			require.True(t, r.Certain)
			if c.grade == grade.Below {
				require.Empty(t, r.Made)
				return
			}
			require.Len(t, r.Made, 2)
			carries := r.Made[1]
			if c.grade == grade.FAS || c.grade == grade.F1F || c.grade == grade.Selects {
				carries = r.Made[0]
			}
			require.Equal(t, c.way, carries.Way.Name)
		})
	}
}

// TestJudgeLimits tries the limits of the FAS face one by one: each takes a
// board that would be FAS down to No. 1 Common.
func TestJudgeLimits(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		d     grade.Defect
		holds bool
	}{
		// Surface measure 8: knots to 8/3 in, splits to 16 in.
		"knot of 2 in":          {face(grade.Both, grade.Knot, 0, 0, 2, 2), true},
		"knot of 3 in":          {face(grade.Both, grade.Knot, 0, 0, 3, 3), false},
		"split of 16 in":        {face(grade.Both, grade.Split, 0, 0, 16, 1), true},
		"split of 17 in":        {face(grade.Both, grade.Split, 0, 0, 17, 1), false},
		"wane of 6 ft":          {face(grade.Both, grade.Wane, 24, 0, 72, 1), true},
		"wane of 6 ft 1 in":     {face(grade.Both, grade.Wane, 24, 0, 73, 1), false},
		"decay of 2 in at end":  {face(grade.Both, grade.Decay, 0, 0, 12, 2), true},
		"decay of 3 in at end":  {face(grade.Both, grade.Decay, 0, 0, 12, 3), false},
		"decay of 3 in further": {face(grade.Both, grade.Decay, 12, 0, 12, 2), true},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := grade.Board{Thickness: inch, Width: 8 * inch, Length: 12 * foot, Defects: []grade.Defect{c.d}}
			r, err := grade.Judge(b, grade.JudgeOptions{})
			require.NoError(t, err)
			if c.holds {
				require.Equal(t, grade.FAS, r.Grade, "%+v", r.Trials)
			} else {
				require.Equal(t, grade.No1, r.Grade, "%+v", r.Trials)
				require.NotEmpty(t, r.Trials[0].Why)
			}
		})
	}
}

// TestFullWidthRule grades a board by two full-width cuttings too short for
// any other way.
func TestFullWidthRule(t *testing.T) {
	t.Parallel()
	// 6 in x 12 ft, a stain of 1 in 3 ft from the end: 54 + 17.5 of 69.84.
	b := grade.Board{Thickness: inch, Width: 6 * inch, Length: 12 * foot, Defects: []grade.Defect{face(grade.Both, grade.Stain, 35, 0, 1, 6)}}
	r, err := grade.Judge(b, grade.JudgeOptions{})
	require.NoError(t, err)
	require.Equal(t, grade.FAS, r.Grade)
	require.Equal(t, grade.WayFull, r.Made[0].Way.Name)
	require.InDelta(t, 71.5, r.Made[0].Cuttings.Units, 1e-9)
}

// anyBoard draws a board of up to 12 in x 14 ft with up to n defects, on
// eighths of an inch.
func anyBoard(t *rapid.T, n int) grade.Board {
	b := grade.Board{
		Thickness: eighths(rapid.IntRange(3, 16).Draw(t, "thickness")),
		Width:     eighths(rapid.IntRange(8, 96).Draw(t, "width")),
		Length:    eighths(rapid.IntRange(96, 14*96).Draw(t, "length")),
		Mapped:    rapid.Bool().Draw(t, "mapped"),
	}
	for range rapid.IntRange(0, n).Draw(t, "defects") {
		b.Defects = append(b.Defects, anyDefect(t, b))
	}
	return b
}

func anyDefect(t *rapid.T, b grade.Board) grade.Defect {
	part := func(room wood.Length, name string) (at, size wood.Length) {
		n := int(room * 8 / inch)
		x := rapid.IntRange(0, n-1).Draw(t, name)
		return eighths(x), eighths(rapid.IntRange(1, min(n-x, 40)).Draw(t, "d"+name))
	}
	d := grade.Defect{
		Kind: rapid.SampledFrom(grade.Kinds()).Draw(t, "kind"), Metal: rapid.Bool().Draw(t, "metal"),
		Face: rapid.SampledFrom([]grade.Face{grade.Top, grade.Bottom, grade.Both}).Draw(t, "face"),
	}
	d.X, d.DX = part(b.Length, "x")
	d.Y, d.DY = part(b.Width, "y")
	return d
}

func rankOf(g grade.Grade) int { return slices.Index(append(grade.Grades(), grade.Below), g) }

func TestJudgeProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := anyBoard(t, 5)
		r, err := grade.Judge(b, grade.JudgeOptions{Effort: 20_000})
		require.NoError(t, err)
		for _, made := range r.Made {
			requireCuttings(t, grade.Search{Area: b.Rect(), Count: made.Way.Count, Sizes: made.Way.Sizes}, made.Cuttings)
		}
		for name, turned := range map[string]grade.Board{"rolled": b.Roll(), "tumbled": b.Tumble(), "swung": b.Swing()} {
			again, err := grade.Judge(turned, grade.JudgeOptions{Effort: 20_000})
			require.NoError(t, err)
			if r.Certain && again.Certain {
				require.Equal(t, r.Grade, again.Grade, "%s", name)
			}
		}
		more := b
		more.Defects = append(slices.Clone(b.Defects), anyDefect(t, b))
		worse, err := grade.Judge(more, grade.JudgeOptions{Effort: 20_000})
		require.NoError(t, err)
		if r.Certain {
			require.GreaterOrEqual(t, rankOf(worse.Grade), rankOf(r.Grade), "a defect raised the grade")
		}
	})
}
