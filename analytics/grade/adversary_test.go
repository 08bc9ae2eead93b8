package grade_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// peppered makes a board with as many small defects as a board may carry.
func peppered(size wood.Length) grade.Board {
	rnd := rand.New(rand.NewPCG(7, 7))
	b := grade.Board{Thickness: inch, Width: 24 * inch, Length: 16 * foot}
	for range grade.MaxDefects {
		d := grade.Defect{Kind: grade.InsectHole, Face: []grade.Face{grade.Top, grade.Bottom, grade.Both}[rnd.IntN(3)], DX: size, DY: size}
		d.X, d.Y = wood.Length(rnd.Int64N(int64(b.Length-size))), wood.Length(rnd.Int64N(int64(b.Width-size)))
		b.Defects = append(b.Defects, d)
	}
	return b
}

// TestPeppered grades and measures boards with hundreds of holes: the answers
// stay sound, and the search bounded.
func TestPeppered(t *testing.T) {
	t.Parallel()
	opts := grade.HouseOptions()
	opts.Parts = grade.Parts()
	for _, size := range []wood.Length{inch / 64, inch / 4, inch} {
		b := peppered(size)
		r, err := grade.Judge(b, grade.JudgeOptions{Effort: 20_000})
		require.NoError(t, err)
		require.Equal(t, 32, r.SurfaceMeasure)
		u, err := grade.UsableVolume(b, opts)
		require.NoError(t, err)
		requireBlanks(t, b, opts, u)
		require.Positive(t, u.Clear)
	}
}
