package moisture

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Belief is what is thought about the share of wet boards in a stack before it
// is probed: a Beta(Wet, Dry) distribution, which counts like that many boards
// already seen. The zero value is that
// of Jeffreys, half a wet and half a dry board.
type Belief struct{ Wet, Dry float64 }

// jeffreysBelief counts like half a wet and half a dry board: next to nothing.
var jeffreysBelief = Belief{0.5, 0.5}

// Earlier is an earlier probing of the same stack, or of one like it.
type Earlier struct {
	Probed, Wet int
	// Weight is how much one of its boards counts against one of today: 1 for
	// another part of the same probing, less for a stack that has dried since.
	Weight float64
}

// BeliefFrom adds earlier probings to Jeffreys' belief, each with its weight.
// The choice of weights is the caller's: a half for the same stack a week ago
// is common practice without a source. Counts or weights that cannot be are
// ErrSetting.
func BeliefFrom(earlier []Earlier) (Belief, error) {
	b := jeffreysBelief
	for i, e := range earlier {
		if e.Wet < 0 || e.Wet > e.Probed || !(e.Weight >= 0 && e.Weight <= 1) {
			return Belief{}, &InputError{"earlier probing", i, float64(e.Wet), ErrSetting, "give no more wet boards than probed ones and a weight from 0 to 1"}
		}
		b.Wet += e.Weight * float64(e.Wet)
		b.Dry += e.Weight * float64(e.Probed-e.Wet)
	}
	return b, nil
}

// ChanceWithin returns the probability that no more than allowed of a stack's
// boards are wet, after probing some of them: the rest follow the
// beta-binomial distribution, exactly.
func (b Belief) ChanceWithin(boards, allowed, probed, wet int) (float64, error) {
	if boards < 1 || boards > maxPlanBoards || probed < 0 || probed > boards || wet < 0 || wet > probed {
		return 0, bad("number of boards", float64(boards), ErrSetting, "give no more probed boards than there are and no more wet ones than probed")
	}
	if b == (Belief{}) {
		b = jeffreysBelief
	}
	if !(b.Wet > 0 && b.Dry > 0) || math.IsInf(b.Wet+b.Dry, 1) {
		return 0, bad("belief", b.Wet, ErrSetting, "both counts must be above zero")
	}
	return betaBinomialCDF(allowed-wet, boards-probed, b.Wet+float64(wet), b.Dry+float64(probed-wet)), nil
}

// DryProbesNeeded returns how many more dry probes, none of them wet, would
// make the chance at least confidence; -1 when even all the boards would not.
func (b Belief) DryProbesNeeded(boards, allowed, probed, wet int, confidence float64) (int, error) {
	if err := checkConfidence(confidence); err != nil {
		return 0, err
	}
	for more := 0; probed+more <= boards; more++ {
		chance, err := b.ChanceWithin(boards, allowed, probed+more, wet)
		if err != nil {
			return 0, err
		}
		if chance >= confidence-roundingSlack {
			return more, nil
		}
	}
	if _, err := b.ChanceWithin(boards, allowed, probed, wet); err != nil {
		return 0, err
	}
	return -1, nil
}

// betaBinomialCDF is the probability of at most x of n under Beta(a, b).
func betaBinomialCDF(x, n int, a, b float64) float64 {
	if x < 0 {
		return 0
	}
	if x >= n {
		return 1
	}
	var sum float64
	base := mathext.Lbeta(a, b)
	for k := 0; k <= x; k++ {
		sum += math.Exp(logChoose(n, k) + mathext.Lbeta(float64(k)+a, float64(n-k)+b) - base)
	}
	return min(sum, 1)
}
