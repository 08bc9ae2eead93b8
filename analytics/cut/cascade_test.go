package cut

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawingOf prepares drawing from a random master's boards.
func drawingOf(t require.TestingT, m *master, told *classes, target float64) *drawing {
	tl := newTilt(m)
	need := m.objective() - target
	tl.heat = max(1, need)
	require.True(t, tl.coolTo(max(1, lossShare*need), lotNats*(1<<cascadeLevels)))
	d := newDrawing(tl, told, max(10, need))
	require.NotNil(t, d)
	return d
}

// TestCascadeFindsPlanted: among 48 boards with a choice of 5 patterns each,
// some 10^33 plans, one is known to make what is wanted at little loss.
func TestCascadeFindsPlanted(t *testing.T) {
	t.Parallel()
	found := 0
	for seed := range uint64(6) {
		m, planted := randomMaster(rand.New(rand.NewPCG(seed, 1)), 48, 8, 5)
		d := drawingOf(t, m, oneClass(8), planted)
		c := &cascade{d: d, rng: rand.New(rand.NewPCG(seed, 2)), stop: never, size: 3000}
		for range 20 {
			if c.run(planted) {
				found++
				assert.GreaterOrEqual(t, c.worth, planted-1e-9)
				break
			}
		}
	}
	assert.Equal(t, 6, found)
}

// TestCascadeSaysTrue holds what cascades find against the master: one column
// of each board, worth what is said, at least the target.
func TestCascadeSaysTrue(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		rows := rapid.IntRange(2, 8).Draw(t, "rows")
		m, planted := randomMaster(rng, rapid.IntRange(16, 40).Draw(t, "boards"), rows, 4)
		target := planted - float64(rapid.IntRange(0, 100).Draw(t, "less"))
		c := &cascade{d: drawingOf(t, m, drawnClasses(t, rows), target), rng: rng, stop: never, size: 500}
		if !c.run(target) {
			return
		}
		made, worth := make([]float64, rows), 0.0
		require.Len(t, c.found, len(m.of))
		for k, at := range c.found {
			col := &m.cols[at]
			require.Equal(t, k, col.kind)
			worth += col.worth
			for i, r := range col.items {
				made[r] += col.n[i]
			}
		}
		for r, n := range made {
			worth -= max(0, n-math.Round(m.want[r])) * m.drop[r]
		}
		require.InDelta(t, worth, c.worth, 1e-6)
		require.GreaterOrEqual(t, worth, target-1e-9)
	})
}

// TestPickedClassesAddUp: together the boards' classes and the loose ends are
// of the class wanted.
func TestPickedClassesAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		rows := rapid.IntRange(1, 5).Draw(t, "rows")
		m, planted := randomMaster(rng, 20, rows, 4)
		d := drawingOf(t, m, drawnClasses(t, rows), planted-200)
		picked, loose := d.pickClasses(rng)
		if picked == nil {
			t.Skip("the class wanted is out of reach")
		}
		class := 0
		for b, own := range picked {
			require.NotNil(t, d.menus[b][own])
			class = int(d.c.plus[class][own])
		}
		for _, o := range loose {
			class = int(d.c.plus[class][d.classOfLoose(o.col)])
		}
		require.Equal(t, d.rule.wanted, class)
	})
}

// TestLikeliestCounts compares the likeliest counts with all there are.
func TestLikeliestCounts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		hist := make([]map[int]int, rapid.IntRange(1, 4).Draw(t, "joinings"))
		for i := range hist {
			hist[i] = rapid.MapOfN(rapid.IntRange(0, 6), rapid.IntRange(1, 9), 1, 4).Draw(t, "seen")
		}
		want := rapid.IntRange(0, 16).Draw(t, "want")
		var best func(i, left int) float64
		best = func(i, left int) float64 {
			if i == len(hist) {
				if left == 0 {
					return 0
				}
				return math.Inf(-1)
			}
			top := math.Inf(-1)
			for v, n := range hist[i] {
				top = max(top, math.Log(float64(n))+best(i+1, left-v))
			}
			return top
		}
		counts := likeliest(hist, want)
		if top := best(0, want); counts == nil {
			require.True(t, math.IsInf(top, -1))
		} else {
			sum, score := 0, 0.0
			for i, n := range counts {
				sum += n
				score += math.Log(float64(hist[i][n]))
			}
			require.Equal(t, want, sum)
			require.InDelta(t, top, score, 1e-9)
		}
	})
}

// TestMarksAddUp: fields of marks add up as counts do.
func TestMarksAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		rows := rapid.IntRange(1, 30).Draw(t, "rows")
		m, planted := randomMaster(rng, 20, rows, 3)
		d := drawingOf(t, m, oneClass(rows), planted-500)
		sum, made := mark{}, make([]int, rows)
		for b, menus := range d.menus {
			o := &menus[0].options[rng.IntN(len(menus[0].options))]
			sum = sum.plus(&o.mark)
			col := &m.cols[o.col]
			require.Equal(t, b, col.kind)
			for i, r := range col.items {
				made[r] += int(col.n[i])
			}
		}
		for at, r := range d.tight {
			require.Equal(t, made[r], d.count(&sum, at))
			require.Equal(t, int(math.Round(m.want[r])), d.count(&d.wanted, at))
		}
	})
}
