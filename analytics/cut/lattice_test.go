package cut

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

func TestClassesOfLattice(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		vectors [][]int64
		order   int // 0 where the classes have no end or are too many
		same    [2][]int64
		other   [2][]int64
	}{
		"twos and threes": {[][]int64{{2, 0}, {0, 3}}, 6, [2][]int64{{3, 1}, {1, -2}}, [2][]int64{{1, 0}, {2, 0}}},
		"checkerboard":    {[][]int64{{1, 1}, {1, -1}}, 2, [2][]int64{{0, 0}, {3, 5}}, [2][]int64{{0, 0}, {1, 0}}},
		"everything":      {[][]int64{{2, 1}, {1, 1}}, 1, [2][]int64{{0, 0}, {7, -3}}, [2][]int64{}},
		"a line":          {[][]int64{{1, 2}}, 0, [2][]int64{}, [2][]int64{}},
		"too many":        {[][]int64{{20, 0}, {0, 20}}, 0, [2][]int64{}, [2][]int64{}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l := newLattice(2)
			for _, v := range c.vectors {
				l.add(v)
			}
			got := l.classes(mostClasses)
			if c.order == 0 {
				require.Nil(t, got)
				return
			}
			require.Equal(t, c.order, got.order)
			assert.Equal(t, classOf(got, c.same[0]), classOf(got, c.same[1]))
			if c.order > 1 {
				assert.NotEqual(t, classOf(got, c.other[0]), classOf(got, c.other[1]))
			}
		})
	}
}

// classOf returns the class of a vector.
func classOf(c *classes, v []int64) int {
	class := 0
	for i, n := range v {
		class = int(c.plus[class][c.times(c.unit[i], int(n))])
	}
	return class
}

// TestClassesAddUp compares the number of classes with the determinant, and
// holds that sums, differences and multiples of classes are those of vectors.
func TestClassesAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "dimensions")
		vector := rapid.SliceOfN(rapid.Int64Range(-4, 4), n, n)
		vectors := rapid.SliceOfN(vector, n, n).Draw(t, "vectors")
		l, square := newLattice(n), mat.NewDense(n, n, nil)
		for i, v := range vectors {
			l.add(v)
			for j, x := range v {
				square.Set(i, j, float64(x))
			}
		}
		det := int(math.Round(math.Abs(mat.Det(square))))
		c := l.classes(mostClasses)
		if det == 0 || det > mostClasses {
			require.Nil(t, c)
			return
		}
		require.Equal(t, det, c.order)
		a, b := vector.Draw(t, "a"), vector.Draw(t, "b")
		sum := slices.Clone(a)
		subtract(sum, b, -1)
		require.Equal(t, int(c.plus[classOf(c, a)][classOf(c, b)]), classOf(c, sum))
		require.Zero(t, c.plus[classOf(c, a)][c.minus[classOf(c, a)]])
		subtract(sum, vectors[0], 3)
		require.Equal(t, int(c.plus[classOf(c, a)][classOf(c, b)]), classOf(c, sum), "three vectors of the lattice less")
	})
}

func TestLatticeGivesUpOnHugeNumbers(t *testing.T) {
	t.Parallel()
	l := newLattice(2)
	l.add([]int64{3, 1 << 40})
	l.add([]int64{5, 1})
	assert.Nil(t, l.classes(mostClasses))
}
