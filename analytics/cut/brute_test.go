package cut

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// bruteBoard lists every count vector that can be cut from one board, by
// trying every place for every piece and asking the checker. It knows nothing
// of canonical positions.
func bruteBoard(in Instance, board int) [][]int {
	seen := map[string]bool{}
	var all [][]int
	counts := make([]int, len(in.Parts))
	b := in.Boards[board]
	var grow func(part, from int, boxes []box)
	grow = func(part, from int, boxes []box) {
		if key := fmt.Sprint(counts); !seen[key] {
			seen[key] = true
			all = append(all, append([]int(nil), counts...))
		}
		for p := part; p < len(in.Parts); p++ {
			want := in.Parts[p]
			if counts[p] >= want.Max || want.Needs&^b.Has != 0 {
				continue
			}
			first := 0
			if p == part {
				first = from // copies of one part in one order only
			}
			for at := first; at < b.Length*b.Width; at++ {
				bx := box{at % b.Length, at / b.Length, want.Length, want.Width, p}
				if bx.x+bx.dx > b.Length || bx.y+bx.dy > b.Width {
					continue
				}
				if _, hit := onDefect(b, want, bx); hit {
					continue
				}
				next := append(append([]box(nil), boxes...), bx)
				if apart(next) && cuttable(in.Pattern, in.Kerf, append([]box(nil), next...)) {
					counts[p]++
					grow(p, at+1, next)
					counts[p]--
				}
			}
		}
	}
	grow(0, 0, nil)
	return all
}

// apart reports whether the last box overlaps none of the others.
func apart(boxes []box) bool {
	l := boxes[len(boxes)-1]
	for _, o := range boxes[:len(boxes)-1] {
		if l.x < o.x+o.dx && o.x < l.x+l.dx && l.y < o.y+o.dy && o.y < l.y+l.dy {
			return false
		}
	}
	return true
}

// brute returns the best value of in, and for MinBoardCost whether every part
// can be made at all.
func brute(in Instance) (best int, possible bool) {
	lists := make([][][]int, len(in.Boards))
	for i := range in.Boards {
		lists[i] = bruteBoard(in, i)
	}
	best, possible = 0, false
	made := make([]int, len(in.Parts))
	var choose func(board, cost int)
	choose = func(board, cost int) {
		if board == len(in.Boards) {
			value, whole := 0, true
			for i, p := range in.Parts {
				value += p.Value * min(made[i], p.Max)
				whole = whole && made[i] >= p.Max
			}
			switch {
			case in.Objective == MaxValue:
				best, possible = max(best, value), true
			case whole && (!possible || cost < best):
				best, possible = cost, true
			}
			return
		}
		for _, v := range lists[board] {
			used := 0
			for i, n := range v {
				made[i] += n
				used += n
			}
			c := cost
			if used > 0 {
				c += in.Boards[board].Cost
			}
			choose(board+1, c)
			for i, n := range v {
				made[i] -= n
			}
		}
	}
	choose(0, 0)
	return best, possible
}

// tinyInstance draws an instance small enough for brute force.
func tinyInstance(t *rapid.T) Instance {
	in := Instance{
		Pattern:   rapid.SampledFrom([]Pattern{Rip2, Crosscut2, Rip3, Crosscut3, Rip2Trim, Crosscut2Trim}).Draw(t, "pattern"),
		Objective: rapid.SampledFrom([]Objective{MaxValue, MaxValue, MinBoardCost}).Draw(t, "objective"),
		Kerf:      Kerf{rapid.IntRange(0, 2).Draw(t, "rip kerf"), rapid.IntRange(0, 2).Draw(t, "crosscut kerf")},
	}
	for i := range rapid.IntRange(1, 2).Draw(t, "boards") {
		b := Board{ID: i, Length: rapid.IntRange(3, 8).Draw(t, "length"), Width: rapid.IntRange(2, 6).Draw(t, "width"),
			Cost: rapid.IntRange(1, 4).Draw(t, "cost"), Has: uint64(rapid.IntRange(0, 1).Draw(t, "has"))}
		for range rapid.IntRange(0, 3).Draw(t, "defects") {
			x, y := rapid.IntRange(0, b.Length-1).Draw(t, "x"), rapid.IntRange(0, b.Width-1).Draw(t, "y")
			b.Defects = append(b.Defects, Defect{x, y, rapid.IntRange(1, min(2, b.Length-x)).Draw(t, "dx"),
				rapid.IntRange(1, min(2, b.Width-y)).Draw(t, "dy"), rapid.SampledFrom([]Face{Top, Bottom, Both}).Draw(t, "face")})
		}
		in.Boards = append(in.Boards, b)
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "parts") {
		in.Parts = append(in.Parts, Part{
			ID: i, Length: rapid.IntRange(1, 5).Draw(t, "part length"), Width: rapid.IntRange(1, 4).Draw(t, "part width"),
			Value: rapid.IntRange(1, 9).Draw(t, "value"), Max: rapid.IntRange(1, 2).Draw(t, "max"),
			Faces: rapid.IntRange(0, 2).Draw(t, "faces"), Needs: uint64(rapid.IntRange(0, 1).Draw(t, "needs")),
		})
	}
	return in
}

// TestTinyAgainstBruteForce compares plans with every plan there is: kerfs at
// edges, cuts through defects, strips that do not touch, parts of equal width
// mixed in a strip, segments, faces.
func TestTinyAgainstBruteForce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := tinyInstance(t)
		plan, err := Solve(context.Background(), in, Options{Workers: 1})
		require.NoError(t, err)
		require.NoError(t, Check(in, plan))
		best, possible := brute(in)
		if !possible {
			require.Equal(t, Infeasible, plan.Status)
			return
		}
		require.Equal(t, best, plan.Value)
		require.Equal(t, Optimal, plan.Status)
	})
}

// TestTinyGuillotine compares free guillotine patterns of one board, copies
// without limit, with every one there is.
func TestTinyGuillotine(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := tinyInstance(t)
		in.Pattern, in.Objective, in.Boards = Guillotine, MaxValue, in.Boards[:1]
		in.Boards[0].Length, in.Boards[0].Width = min(in.Boards[0].Length, 6), min(in.Boards[0].Width, 4)
		b := &in.Boards[0]
		for i := range b.Defects {
			d := &b.Defects[i]
			d.X, d.Y = min(d.X, b.Length-d.DX), min(d.Y, b.Width-d.DY)
		}
		for i := range in.Parts {
			p := &in.Parts[i]
			p.Max, p.Length = Unlimited, max(p.Length, 2)
			p.Width = max(p.Width, 1+i%2)
		}
		plan := exact(t, in)
		best, _ := brute(in)
		require.Equal(t, best, plan.Value)
	})
}
