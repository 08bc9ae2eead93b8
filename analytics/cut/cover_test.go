package cut

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// coverCase is a small search with what is left to make.
type coverCase struct {
	c    cover
	left []int32
}

// drawCover makes up two or three boards with a few patterns each, for up to
// four items.
func drawCover(t *rapid.T) coverCase {
	items := rapid.IntRange(1, 4).Draw(t, "items")
	k := coverCase{c: cover{nodes: 1_000_000, stop: func() bool { return false }}}
	for range items {
		gain := rapid.Float64Range(1, 20).Draw(t, "gain")
		k.c.gain = append(k.c.gain, gain)
		k.c.price = append(k.c.price, rapid.SampledFrom([]float64{0, 5, 1000}).Draw(t, "price"))
		k.left = append(k.left, int32(rapid.IntRange(0, 4).Draw(t, "left")))
	}
	for b := range rapid.IntRange(1, 3).Draw(t, "boards") {
		idle := rapid.SampledFrom([]float64{0, 0, 3, 30}).Draw(t, "idle")
		k.c.idle = append(k.c.idle, idle)
		cost := rapid.Float64Range(0, 10).Draw(t, "cost")
		for range rapid.IntRange(1, 4).Draw(t, "patterns") {
			pt := &pattern{}
			gains := 0.0
			for it := range items {
				if n := rapid.IntRange(0, 3).Draw(t, "n"); n > 0 {
					pt.items, pt.n = append(pt.items, int32(it)), append(pt.n, int32(n))
					gains += k.c.gain[it] * float64(n)
				}
			}
			// What a board's best pattern gains is what it loses whole and
			// its cost; no pattern gains more.
			if full := idle + cost; len(pt.items) > 0 {
				k.c.options = append(k.c.options, coverOption{int32(b), max(0, full-gains), max(full, gains), pt})
			}
		}
	}
	k.c.budget = rapid.Float64Range(1, 200).Draw(t, "budget")
	return k
}

// loses returns what a choice of options loses in all.
func (k coverCase) loses(chosen []int32) float64 {
	left := append([]int32(nil), k.left...)
	sum := 0.0
	whole := append([]float64(nil), k.c.idle...)
	for _, at := range chosen {
		if at < 0 {
			continue
		}
		o := k.c.options[at]
		sum += o.loss
		whole[o.board] = 0
		for j, it := range o.pt.items {
			kept := min(left[it], o.pt.n[j])
			left[it] -= kept
			sum += k.c.gain[it] * float64(o.pt.n[j]-kept)
		}
	}
	for it, n := range left {
		sum += k.c.price[it] * float64(n)
	}
	for _, v := range whole {
		sum += v
	}
	return sum
}

// least tries every choice of one pattern or none for each board.
func (k coverCase) least(board int, chosen []int32) float64 {
	if board == len(k.c.idle) {
		return k.loses(chosen)
	}
	best := k.least(board+1, chosen)
	for i, o := range k.c.options {
		if int(o.board) == board {
			best = min(best, k.least(board+1, append(chosen[:len(chosen):len(chosen)], int32(i))))
		}
	}
	return best
}

// TestCoverFindsTheLeastLoss compares the search with every choice there is.
// Boards that make nothing of what is wanted may stay whole at their price,
// which the search counts and enumeration does too.
func TestCoverFindsTheLeastLoss(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawCover(t)
		budget, least := k.c.budget, k.least(0, nil)
		found := k.c.run(k.left)
		if math.Abs(least-budget) < 1e-3 {
			return // either answer is right
		}
		if least > budget {
			require.Nil(t, found, "no choice loses less than %g, the least %g", budget, least)
			return
		}
		require.NotNil(t, found, "a choice loses %g, less than %g", least, budget)
		require.InDelta(t, least, k.loses(found), 1e-5)
	})
}
