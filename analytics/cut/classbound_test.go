package cut

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawnClasses draws classes of n items.
func drawnClasses(t *rapid.T, n int) *classes {
	for {
		l := newLattice(n)
		for i := range n {
			v := rapid.SliceOfN(rapid.Int64Range(-2, 2), n, n).Draw(t, "vector")
			v[i] += rapid.Int64Range(1, 3).Draw(t, "diagonal")
			l.add(v)
		}
		if c := l.classes(mostBoundClasses); c != nil {
			return c
		}
	}
}

// twoStage returns an instance cut in two stages, its solver, bounded, and
// engine.
func twoStage(t *rapid.T, in Instance) (Instance, *solver, *stripEngine) {
	in.Pattern = rapid.SampledFrom([]Pattern{Rip2, Crosscut2}).Draw(t, "two stages")
	_, last := penalties(in)
	s := newSolver(in, Options{Workers: 2}, last, never)
	s.e = newEngine(s.p)
	s.d = newDuals(s.p, s.e, 1, never)
	s.d.start()
	s.d.run(1e-9, math.MaxInt)
	return in, s, s.e.(*stripEngine)
}

// TestBoardByClasses compares what patterns of each class gain with every
// pattern there is.
func TestBoardByClasses(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := tinyInstance(t)
		in.Boards = in.Boards[:1]
		b := &in.Boards[0]
		b.Length, b.Width = min(6, b.Length), min(3, b.Width)
		b.Defects = slices.DeleteFunc(b.Defects, func(d Defect) bool { return d.X+d.DX > b.Length || d.Y+d.DY > b.Width })
		for i := range in.Parts {
			p := &in.Parts[i]
			p.Max = 60 // the programme of one board knows no number wanted
			p.Length = max(2, p.Length)
		}
		in, s, e := twoStage(t, in)
		c := drawnClasses(t, len(s.p.items))
		gain := make([]float64, len(s.p.items))
		for i := range gain {
			gain[i] = float64(rapid.IntRange(0, 9).Draw(t, "gain"))
		}
		for k := range s.p.kinds {
			best := make([]float64, c.order)
			for i := range best {
				best[i] = math.Inf(-1)
			}
			for _, counts := range bruteBoard(in, s.p.kinds[k].slots[0].board) {
				sum, class := 0.0, 0
				for i, it := range s.p.items {
					sum += gain[i] * float64(counts[it.part])
					class = int(c.plus[class][c.times(c.unit[i], counts[it.part])])
				}
				best[class] = max(best[class], sum)
			}
			w := newClassPricer(e, c, c.unit, gain, never)
			got := append([]float64(nil), w.run(k)...)
			require.Equal(t, best, got)
			for class, v := range got {
				if !math.IsInf(v, -1) {
					holdsPattern(t, s, k, c, class, v, gain, w.pattern(k, class))
				}
			}
		}
	})
}

// holdsPattern requires that a pattern is of a class, gains so much and can be
// cut.
func holdsPattern(t *rapid.T, s *solver, k int, c *classes, class int, gains float64, gain []float64, bits []bit) {
	pt := patternOf(bits)
	sum, got := 0.0, 0
	for i, it := range pt.items {
		sum += gain[it] * float64(pt.n[i])
		got = int(c.plus[got][c.times(c.unit[it], int(pt.n[i]))])
	}
	require.Equal(t, class, got)
	require.Equal(t, gains, sum)
	inc := newIncumbent(s.p)
	in := s.p.in
	in.Parts = append([]Part(nil), in.Parts...)
	in.Objective = MaxValue
	for i := range in.Parts {
		in.Parts[i].Max = 1000
	}
	inc.p = newProblem(in, 1)
	for slot, kind := range inc.slots {
		if kind == k {
			inc.use[slot] = pt
			require.NoError(t, Check(in, inc.plan()))
			return
		}
	}
}

// TestClassBoundHolds holds the bound by classes, whatever classes these are,
// against the best plan of all.
func TestClassBoundHolds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in, s, e := twoStage(t, tinyInstance(t))
		best, possible := brute(in)
		if !possible {
			t.Skip("there is no plan")
		}
		c := drawnClasses(t, len(s.p.items))
		b := &classBound{s: s, c: c, engine: e, loses: make([][]float64, len(s.p.kinds)), base: make([]int, len(s.p.kinds))}
		require.True(t, b.priceAll(2))
		worth := s.p.base + float64(best)
		if in.Objective == MinBoardCost {
			worth = s.p.base - float64(best)
		}
		require.GreaterOrEqual(t, s.d.best.bound-b.least(), worth-1e-6)
	})
}

// pairs is an instance in which a part fits a board twice, an odd number of it
// is wanted, and half a board left over is worth nothing.
func pairs() Instance {
	in := Instance{ID: "pairs", Pattern: Rip2, Objective: MaxValue, Parts: []Part{
		{ID: 0, Length: 50, Width: 10, Value: 60, Max: 5}, {ID: 1, Length: 100, Width: 10, Value: 100, Max: 1000},
	}}
	for i := range 24 {
		in.Boards = append(in.Boards, Board{ID: i, Length: 100 + i, Width: 10})
	}
	return in
}

// TestOddNumberProven: five parts of which two fit a board cannot all be made
// without a board that gives one alone. A mix of patterns takes half a board's
// pair; classes know better.
func TestOddNumberProven(t *testing.T) {
	t.Parallel()
	in := pairs()
	first, _ := penalties(in)
	s := newSolver(in, Options{Workers: 1}, first, never)
	s.e = newEngine(s.p)
	s.bounds()
	s.fillPools(1)
	require.InDelta(t, 2450, s.bound, 1e-3)
	s.boundByClasses()
	assert.InDelta(t, 2440, s.bound, 1e-3)

	plan, err := Solve(context.Background(), in, Options{})
	require.NoError(t, err)
	assert.Equal(t, 2440, plan.Value)
	assert.Equal(t, Optimal, plan.Status)
}

func TestRepeatedBoards(t *testing.T) {
	t.Parallel()
	l := newLattice(1)
	l.add([]int64{3})
	b := &classBound{c: l.classes(3)}
	one := []float64{0, 5, 7}
	list := b.zero()
	for n := range 9 {
		assert.Equal(t, list, b.repeat(one, n), "%d boards", n)
		list = b.add(list, one)
	}
}
