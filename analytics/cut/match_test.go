package cut

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// never does not stop.
func never() bool { return false }

// randomMaster makes up a master of so many boards with a few columns each,
// each at some cost, solved. Of each item it wants what one choice of cheap
// columns makes, which it returns the worth of.
func randomMaster(rng *rand.Rand, boards, rows, columns int) (m *master, planted float64) {
	drop := make([]float64, rows)
	for r := range drop {
		drop[r] = float64(20 + rng.IntN(80))
	}
	want, count := make([]float64, rows), make([]float64, boards)
	var list []column
	for k := range boards {
		count[k] = 1
		pick := rng.IntN(columns)
		for c := range columns {
			col := column{kind: k, worth: -9 * rng.Float64()}
			if c == pick {
				col.worth /= 5
			}
			for r := range int32(rows) {
				if rng.IntN(3) == 0 {
					n := float64(1 + rng.IntN(2))
					col.items, col.n = append(col.items, r), append(col.n, n)
					col.worth += n * drop[r]
					if c == pick {
						want[r] += n
					}
				}
			}
			if c == pick {
				planted += col.worth
			}
			list = append(list, col)
		}
	}
	m = newMaster(want, drop, count, never)
	for _, c := range list {
		m.add(c)
	}
	m.solve(1e-7)
	return m, planted
}

// mostWorth looks at every choice of one column for each board.
func mostWorth(m *master, k int, made []float64, worth float64) float64 {
	if k == len(m.of) {
		for r, n := range made {
			if over := n - math.Round(m.want[r]); over > 0 {
				worth -= over * m.drop[r]
			}
		}
		return worth
	}
	best := math.Inf(-1)
	for _, c := range m.of[k] {
		col := &m.cols[c]
		for i, r := range col.items {
			made[r] += col.n[i]
		}
		best = max(best, mostWorth(m, k+1, made, worth+col.worth))
		for i, r := range col.items {
			made[r] -= col.n[i]
		}
	}
	return best
}

// worthOfChoice adds up a choice, copies beyond those wanted taken off again.
func worthOfChoice(m *master, list []choice) float64 {
	made, worth := make([]float64, len(m.want)), 0.0
	for _, c := range list {
		worth += m.cols[c.col].worth
		for i, r := range m.cols[c.col].items {
			made[r] += m.cols[c.col].n[i]
		}
	}
	for r, n := range made {
		worth -= max(0, n-math.Round(m.want[r])) * m.drop[r]
	}
	return worth
}

// A match is one column for each board at most, is worth what it says and no
// more than the best of all choices; the prices' bound holds for that one too.
func TestMatchIsAChoice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		m, planted := randomMaster(rng, 8, rapid.IntRange(2, 6).Draw(t, "rows"), 3)
		best := mostWorth(m, 0, make([]float64, len(m.want)), 0)
		target := planted - float64(rng.IntN(30))
		mt := &matcher{rng: rng, stop: never, effort: thorough}
		if !mt.run(m, target) {
			return
		}
		seen := map[int]bool{}
		for _, c := range mt.best {
			assert.False(t, seen[m.cols[c.col].kind], "two columns for a board")
			seen[m.cols[c.col].kind] = true
		}
		assert.InDelta(t, mt.worth, worthOfChoice(m, mt.best), 1e-6)
		assert.GreaterOrEqual(t, mt.worth, target-1e-6)
		assert.LessOrEqual(t, mt.worth, best+1e-6)
		assert.GreaterOrEqual(t, mt.tilt.dual(), best-1e-6*best)
	})
}

// Where one choice is known to make everything that is wanted at little cost,
// matching finds one as good, nearly always.
func TestMatchFindsWhatIsThere(t *testing.T) {
	for _, c := range []struct{ boards, rows, columns int }{{8, 4, 3}, {16, 8, 4}, {24, 8, 8}} {
		found := 0
		for seed := range uint64(20) {
			m, planted := randomMaster(rand.New(rand.NewPCG(seed, 2)), c.boards, c.rows, c.columns)
			mt := &matcher{rng: rand.New(rand.NewPCG(seed, 3)), stop: never, effort: thorough}
			if mt.run(m, planted) {
				found++
			}
		}
		assert.GreaterOrEqual(t, found, 18, "%d boards, %d items", c.boards, c.rows)
	}
}

// Prices that are settled make, on average, what is wanted, copies lacking and
// thrown away counted in.
func TestTiltMakesWhatIsWanted(t *testing.T) {
	for seed := range uint64(30) {
		m, _ := randomMaster(rand.New(rand.NewPCG(seed, 4)), 12, 6, 5)
		ti := newTilt(m)
		ti.heat = 10
		ti.settle(50)
		ti.derive()
		for r, g := range ti.grad {
			assert.Less(t, math.Abs(g), 1.5*math.Sqrt(ti.heat*ti.hess.At(r, r)), "item %d", r) // a deviation and a half
		}
		mean := make([]float64, len(m.want))
		for k := range m.of {
			_, z := ti.weigh(k, ti.price)
			for i, c := range m.of[k] {
				for j, r := range m.cols[c].items {
					mean[r] += ti.prob[i] / z * m.cols[c].n[j]
				}
			}
		}
		for r, p := range ti.price {
			lack, over := 1/math.Expm1(p/ti.heat), 1/math.Expm1((m.drop[r]-p)/ti.heat)
			assert.InDelta(t, math.Round(m.want[r])-mean[r]-lack+over, ti.grad[r], 1e-6)
		}
		assert.GreaterOrEqual(t, ti.dual(), m.objective()-1e-6*m.objective())
		// The derivative is that of the smoothed dual.
		base := ti.smooth(ti.price)
		for r := range ti.price {
			next := append([]float64(nil), ti.price...)
			next[r] += 1e-4
			assert.InDelta(t, ti.grad[r], (ti.smooth(next)-base)/1e-4, 1e-2)
		}
	}
}

// Cooling ends near the entropy asked for, or as hot as may be.
func TestTiltCools(t *testing.T) {
	m, _ := randomMaster(rand.New(rand.NewPCG(1, 5)), 30, 8, 10)
	ti := newTilt(m)
	ti.cool(30, 1000)
	assert.LessOrEqual(t, ti.entropy, 30.0)
	assert.GreaterOrEqual(t, ti.entropy, 15.0)
	ti.cool(1e6, 5)
	assert.InDelta(t, 5, ti.heat, 1e-9)
}

// Joining finds the combinations that add up and lose least, as trying all
// four lots does.
func TestJoinFindsAllFour(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 6))
		mt := &matcher{rng: rng, stop: never, effort: thorough}
		marks := func() []combination {
			var list []combination
			for i := range 6 {
				list = append(list, combination{mark: uint64(rng.IntN(12)), loss: int32(rng.IntN(900)), draw: int32(i)})
			}
			return distinct(sortByLoss(list))
		}
		for i := range mt.lots {
			mt.lots[i].drawn = marks()
		}
		goal, least := uint64(rng.IntN(40)), int32(math.MaxInt32)
		for _, a := range mt.lots[0].drawn {
			for _, b := range mt.lots[1].drawn {
				for _, c := range mt.lots[2].drawn {
					for _, d := range mt.lots[3].drawn {
						if a.mark+b.mark+c.mark+d.mark == goal {
							least = min(least, a.loss+b.loss+c.loss+d.loss)
						}
					}
				}
			}
		}
		got := int32(math.MaxInt32)
		mt.join(goal, func(at [lotCount]int32) bool {
			sum, loss := uint64(0), int32(0)
			for i, j := range at {
				sum += mt.lots[i].drawn[j].mark
				loss += mt.lots[i].drawn[j].loss
			}
			require.Equal(t, goal, sum)
			require.LessOrEqual(t, loss, got)
			got = loss
			return true
		})
		require.Equal(t, least, got)
	})
}
