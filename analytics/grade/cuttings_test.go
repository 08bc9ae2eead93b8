package grade_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

const inch, foot = wood.Inch, wood.Foot

// in returns a rectangle in whole inches.
func in(x, y, dx, dy int) grade.Rect {
	return grade.Rect{X: wood.Length(x) * inch, Y: wood.Length(y) * inch, DX: wood.Length(dx) * inch, DY: wood.Length(dy) * inch}
}

// grid is a small board in whole inches for the exhaustive check.
type grid struct {
	nx, ny  int
	spoiled [][]bool
	sizes   [][2]int // length, width
	memo    map[[5]int]int
}

// best tries every cut at every whole inch: the answer to compare with.
func (g *grid) best(x0, x1, y0, y1, count int) int {
	if count == 0 {
		return 0
	}
	key := [5]int{x0, x1, y0, y1, count}
	if v, ok := g.memo[key]; ok {
		return v
	}
	v := 0
	if g.cutting(x0, x1, y0, y1) {
		v = (x1 - x0) * (y1 - y0)
	}
	for n := 0; n <= count; n++ {
		if count == many && n != many {
			continue
		}
		for x := x0 + 1; x < x1; x++ {
			v = max(v, g.best(x0, x, y0, y1, n)+g.best(x, x1, y0, y1, left(count, n)))
		}
		for y := y0 + 1; y < y1; y++ {
			v = max(v, g.best(x0, x1, y0, y, n)+g.best(x0, x1, y, y1, left(count, n)))
		}
	}
	g.memo[key] = v
	return v
}

// many stands for any number of cuttings.
const many = 1000

func left(count, n int) int {
	if count == many {
		return many
	}
	return count - n
}

func (g *grid) cutting(x0, x1, y0, y1 int) bool {
	for x := x0; x < x1; x++ {
		for y := y0; y < y1; y++ {
			if g.spoiled[x][y] {
				return false
			}
		}
	}
	for _, s := range g.sizes {
		if x1-x0 >= s[0] && y1-y0 >= s[1] {
			return true
		}
	}
	return len(g.sizes) == 0
}

// problem draws a small board with defects on whole inches.
func problem(t *rapid.T) (grade.Search, *grid) {
	nx, ny := rapid.IntRange(2, 11).Draw(t, "length"), rapid.IntRange(1, 6).Draw(t, "width")
	g := &grid{nx: nx, ny: ny, memo: map[[5]int]int{}}
	g.spoiled = make([][]bool, nx)
	for x := range g.spoiled {
		g.spoiled[x] = make([]bool, ny)
	}
	s := grade.Search{Area: in(0, 0, nx, ny), Count: rapid.IntRange(1, 4).Draw(t, "count")}
	for range rapid.IntRange(0, 4).Draw(t, "defects") {
		x, y := rapid.IntRange(0, nx-1).Draw(t, "x"), rapid.IntRange(0, ny-1).Draw(t, "y")
		dx, dy := rapid.IntRange(1, min(3, nx-x)).Draw(t, "dx"), rapid.IntRange(1, min(2, ny-y)).Draw(t, "dy")
		s.Keepouts = append(s.Keepouts, in(x, y, dx, dy))
		for i := x; i < x+dx; i++ {
			for j := y; j < y+dy; j++ {
				g.spoiled[i][j] = true
			}
		}
	}
	for range rapid.IntRange(0, 2).Draw(t, "sizes") {
		l, w := rapid.IntRange(1, 6).Draw(t, "l"), rapid.IntRange(1, 4).Draw(t, "w")
		g.sizes = append(g.sizes, [2]int{l, w})
		s.Sizes = append(s.Sizes, grade.MinSize{Length: wood.Length(l) * inch, Width: wood.Length(w) * inch})
	}
	return s, g
}

// requireCuttings checks that cuttings are what they claim to be.
func requireCuttings(t require.TestingT, s grade.Search, c grade.Cuttings) {
	sum := 0.0
	for i, r := range c.Rects {
		require.True(t, s.Area.Contains(r), "cutting %v is off the board", r)
		for _, k := range s.Keepouts {
			require.False(t, r.Overlaps(k), "cutting %v reaches into %v", r, k)
		}
		for _, o := range c.Rects[i+1:] {
			require.False(t, r.Overlaps(o), "cuttings %v and %v overlap", r, o)
		}
		reached := len(s.Sizes) == 0
		for _, m := range s.Sizes {
			reached = reached || (r.DX >= m.Length && r.DY >= m.Width && r.Units() >= float64(m.Units)-1e-9)
		}
		require.True(t, reached, "cutting %v is too small", r)
		sum += r.Units()
	}
	if s.Count > 0 {
		require.LessOrEqual(t, len(c.Rects), s.Count)
	}
	require.InDelta(t, sum, c.Units, 1e-9*(1+sum))
	require.GreaterOrEqual(t, c.Bound, c.Units-1e-9)
}

func TestMaxCuttingsAgainstExhaustion(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, g := problem(t)
		got, err := grade.MaxCuttings(s)
		require.NoError(t, err)
		requireCuttings(t, s, got)
		want := float64(g.best(0, g.nx, 0, g.ny, s.Count)) / 12
		require.True(t, got.Proven, "not proven: %+v", got)
		require.InDelta(t, want, got.Units, 1e-9)
		require.InDelta(t, want, got.Bound, 1e-9)
	})
}

func TestMaxCuttingsGoal(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, g := problem(t)
		most := float64(g.best(0, g.nx, 0, g.ny, s.Count)) / 12
		s.Goal = rapid.SampledFrom([]float64{most, most + 1.0/12, most + 0.001, most / 2}).Draw(t, "goal")
		got, err := grade.MaxCuttings(s)
		require.NoError(t, err)
		requireCuttings(t, s, got)
		require.True(t, got.Proven)
		if s.Goal <= most {
			require.GreaterOrEqual(t, got.Units, s.Goal-1e-9)
		} else {
			require.Less(t, got.Bound, s.Goal)
		}
	})
}

func TestMaxCuttingsUnlimited(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, g := problem(t)
		s.Count = 0
		got, err := grade.MaxCuttings(s)
		require.NoError(t, err)
		requireCuttings(t, s, got)
		want := float64(g.best(0, g.nx, 0, g.ny, many)) / 12
		require.GreaterOrEqual(t, got.Bound, want-1e-9)
		if got.Proven {
			require.InDelta(t, want, got.Units, 1e-9)
		}
		if len(s.Sizes) > 0 {
			require.True(t, got.Proven)
		}
	})
}

func TestMaxCuttingsRefuses(t *testing.T) {
	t.Parallel()
	board := in(0, 0, 96, 6)
	for name, s := range map[string]grade.Search{
		"goal not a number":    {Area: board, Goal: math.NaN()},
		"goal below zero":      {Area: board, Goal: -1},
		"too many cuttings":    {Area: board, Count: 65},
		"effort below zero":    {Area: board, Effort: -1},
		"area left of the end": {Area: in(-1, 0, 96, 6)},
		"area beyond 100 m":    {Area: grade.Rect{DX: wood.MaxLength, DY: wood.MaxLength + 1}},
		"size below zero":      {Area: board, Sizes: []grade.MinSize{{Width: -1}}},
		"keepout overflows":    {Area: board, Keepouts: []grade.Rect{{X: math.MaxInt64 - 1, DX: 5, DY: 5}}},
		"too many keepouts":    {Area: board, Keepouts: make([]grade.Rect, grade.MaxDefects+1)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := grade.MaxCuttings(s)
			require.ErrorIs(t, err, grade.ErrOption)
		})
	}
}

func TestMaxCuttingsOfNothing(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]grade.Search{
		"no board":         {},
		"spoiled all over": {Area: in(0, 0, 96, 6), Keepouts: []grade.Rect{in(-5, -5, 200, 20)}},
		"too narrow":       {Area: in(0, 0, 96, 3), Sizes: []grade.MinSize{{Width: 4 * inch, Length: 5 * foot}}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c, err := grade.MaxCuttings(s)
			require.NoError(t, err)
			require.Equal(t, grade.Cuttings{Proven: true}, c)
		})
	}
}
