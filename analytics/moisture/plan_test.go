package moisture_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/moisture"
)

func readStats(t testing.TB, name string, into any) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/stats/" + name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, into))
}

func TestFixedProbesAgreesWithR(t *testing.T) {
	t.Parallel()
	var file struct {
		Cases []struct {
			Lot, Bad, Accept, Probe int
			Conf                    float64
		}
		Infinite []struct {
			P, Conf float64
			N       int
		}
	}
	readStats(t, "acceptance.json", &file)
	require.NotEmpty(t, file.Cases)
	require.NotEmpty(t, file.Infinite)
	for _, c := range file.Cases {
		got, err := moisture.FixedProbes(c.Lot, c.Bad, c.Accept, c.Conf)
		require.NoError(t, err)
		require.Equal(t, c.Probe, got, "%+v", c)
	}
	for _, c := range file.Infinite {
		got, err := moisture.FixedProbesInfinite(c.P, 0, c.Conf)
		require.NoError(t, err)
		require.Equal(t, c.N, got, "%+v", c)
	}
}

func TestIntervalsAgreeWithR(t *testing.T) {
	t.Parallel()
	var file struct {
		Cases []struct {
			X, N     int
			Wilson   [2]float64
			Exact    [2]float64 `json:"clopper_pearson"`
			Jeffreys [2]float64
		}
	}
	readStats(t, "binomial_intervals.json", &file)
	require.NotEmpty(t, file.Cases)
	for _, c := range file.Cases {
		for name, pair := range map[string]struct {
			f    func(x, n int, confidence float64) (moisture.Interval, error)
			want [2]float64
		}{"wilson": {moisture.Wilson, c.Wilson}, "exact": {moisture.ClopperPearson, c.Exact}, "jeffreys": {moisture.Jeffreys, c.Jeffreys}} {
			got, err := pair.f(c.X, c.N, 0.95)
			require.NoError(t, err)
			require.InDelta(t, pair.want[0], got.Low, 1e-10, name)
			require.InDelta(t, pair.want[1], got.High, 1e-10, name)
		}
	}
}

// exactPass is the hypergeometric distribution function in exact fractions.
func exactPass(lot, bad, probes, accept int) float64 {
	sum := new(big.Int)
	for x := 0; x <= accept; x++ {
		if x > bad || probes-x > lot-bad || probes-x < 0 {
			continue
		}
		term := new(big.Int).Binomial(int64(bad), int64(x))
		sum.Add(sum, term.Mul(term, new(big.Int).Binomial(int64(lot-bad), int64(probes-x))))
	}
	v, _ := new(big.Rat).SetFrac(sum, new(big.Int).Binomial(int64(lot), int64(probes))).Float64()
	return v
}

func TestFixedPlanHoldsItsRisksAndIsSmallest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.IntRange(1, 150).Draw(t, "lot")
		bad := rapid.IntRange(1, lot).Draw(t, "bad")
		accept := rapid.IntRange(0, bad-1).Draw(t, "accept")
		confidence := rapid.Float64Range(0.5, 0.99).Draw(t, "confidence")
		n, err := moisture.FixedProbes(lot, bad, accept, confidence)
		require.NoError(t, err)
		require.LessOrEqual(t, exactPass(lot, bad, n, accept), 1-confidence+1e-11)
		if n > accept+1 {
			require.Greater(t, exactPass(lot, bad, n-1, accept), 1-confidence-1e-11)
		}
	})
}

func TestSequentialHoldsItsRisks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := moisture.PlanInput{
			Boards:     rapid.IntRange(1, 120).Draw(t, "boards"),
			Share:      rapid.Float64Range(0, 0.5).Draw(t, "share"),
			Confidence: rapid.Float64Range(0.6, 0.97).Draw(t, "confidence"),
		}
		p, err := moisture.NewPlan(in)
		if err != nil {
			require.ErrorIs(t, err, moisture.ErrSetting)
			return
		}
		s := p.Sequential
		require.LessOrEqual(t, s.PassRisk, 1-in.Confidence+1e-9)
		require.LessOrEqual(t, s.FailRisk, 1-in.Confidence+1e-9)
		last := 0.0
		for wet := in.Boards; wet >= 0; wet-- {
			pass, mean, err := s.Outcome(wet)
			require.NoError(t, err)
			require.GreaterOrEqual(t, pass, last-1e-9, "fewer wet boards never pass less often")
			require.LessOrEqual(t, mean, float64(len(s.Stages))+1e-9)
			last = pass
		}
		require.InDelta(t, 1, last, 1e-9, "a stack without a wet board passes")
	})
}

// TestSequentialSavesProbes is the calibration of sequential probing: at the
// same two risks it takes at most 0.7 of the fixed plan's probes, averaged over
// good and bad stacks.
func TestSequentialSavesProbes(t *testing.T) {
	t.Parallel()
	for _, in := range []moisture.PlanInput{
		{Boards: 40, Share: 0.20, Confidence: 0.80},
		{Boards: 50, Share: 0.10, Confidence: 0.90},
		{Boards: 100, Share: 0.10, Confidence: 0.90},
		{Boards: 200, Share: 0.10, Confidence: 0.95},
		{Boards: 500, Share: 0.05, Confidence: 0.95},
	} {
		p, err := moisture.NewPlan(in)
		require.NoError(t, err)
		fixed := float64(p.Fixed.Probes)
		good, bad := p.Sequential.MeanGood/fixed, p.Sequential.MeanBad/fixed
		t.Logf("%d boards, share %.2f, confidence %.2f: fixed %d, sequential %.1f (good, %.2f) and %.1f (bad, %.2f), average %.3f",
			in.Boards, in.Share, in.Confidence, p.Fixed.Probes, p.Sequential.MeanGood, good, p.Sequential.MeanBad, bad, (good+bad)/2)
		require.LessOrEqual(t, (good+bad)/2, 0.7)
		require.LessOrEqual(t, p.Sequential.PassRisk, 1-in.Confidence+1e-9)
		require.LessOrEqual(t, p.Sequential.FailRisk, 1-in.Confidence+1e-9)
	}
}

// TestOutcomeAgreesWithDrawing draws boards one after another by the stages.
func TestOutcomeAgreesWithDrawing(t *testing.T) {
	t.Parallel()
	p, err := moisture.NewPlan(moisture.PlanInput{Boards: 60, Share: 0.15, Confidence: 0.9})
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(1, 2))
	const trials = 20000
	for _, wet := range []int{0, 3, p.Bad, 20} {
		passed, probes := 0, 0
		for range trials {
			order := r.Perm(60)
			seen := 0
			for _, s := range p.Sequential.Stages {
				if order[s.Probes-1] < wet {
					seen++
				}
				if seen <= s.PassAt || seen >= s.FailAt {
					probes += s.Probes
					if seen <= s.PassAt {
						passed++
					}
					break
				}
			}
		}
		pass, mean, err := p.Sequential.Outcome(wet)
		require.NoError(t, err)
		require.InDelta(t, pass, float64(passed)/trials, 5*math.Sqrt(pass*(1-pass)/trials)+1e-9)
		require.InDelta(t, mean, float64(probes)/trials, 0.35)
	}
}

func TestPlanRefuses(t *testing.T) {
	t.Parallel()
	for _, in := range []moisture.PlanInput{
		{Boards: 0, Share: 0.1, Confidence: 0.9},
		{Boards: 10, Share: 1, Confidence: 0.9},
		{Boards: 10, Share: 0.1, Confidence: 1},
		{Boards: 10, Share: math.NaN(), Confidence: 0.9},
		{Boards: 10, Share: 0.1, Confidence: 0.9, GoodShare: 0.2},
		{Boards: 1 << 30, Share: 0.1, Confidence: 0.9},
	} {
		_, err := moisture.NewPlan(in)
		require.ErrorIs(t, err, moisture.ErrSetting, "%+v", in)
	}
	_, err := moisture.FixedProbes(10, 2, 2, 0.9)
	require.ErrorIs(t, err, moisture.ErrPlan)
	_, err = moisture.Wilson(3, 2, 0.95)
	require.ErrorIs(t, err, moisture.ErrSetting)
}

func TestBeliefAgreesWithCounting(t *testing.T) {
	t.Parallel()
	// With a flat belief every number of wet boards is equally likely, so 4 or
	// fewer of 9 has chance 5/10.
	got, err := moisture.Belief{Wet: 1, Dry: 1}.ChanceWithin(9, 4, 0, 0)
	require.NoError(t, err)
	require.InDelta(t, 0.5, got, 1e-12)
	// All probed: certainty either way.
	for wet, want := range map[int]float64{1: 1, 2: 0} {
		got, err = moisture.Belief{}.ChanceWithin(5, 1, 5, wet)
		require.NoError(t, err)
		require.InDelta(t, want, got, 1e-12)
	}
	belief, err := moisture.BeliefFrom([]moisture.Earlier{{Probed: 10, Wet: 0, Weight: 0.5}})
	require.NoError(t, err)
	require.Equal(t, moisture.Belief{Wet: 0.5, Dry: 5.5}, belief)
	fresh, err := moisture.Belief{}.DryProbesNeeded(50, 5, 0, 0, 0.9)
	require.NoError(t, err)
	experienced, err := belief.DryProbesNeeded(50, 5, 0, 0, 0.9)
	require.NoError(t, err)
	require.Less(t, experienced, fresh, "a dry history saves probes")
	hopeless, err := belief.DryProbesNeeded(50, 5, 8, 6, 0.9)
	require.NoError(t, err)
	require.Equal(t, -1, hopeless)
	_, err = moisture.BeliefFrom([]moisture.Earlier{{Probed: 1, Wet: 2}})
	require.ErrorIs(t, err, moisture.ErrSetting)
}

func TestChooseTakesFromEveryLotAndWhatDriesLast(t *testing.T) {
	t.Parallel()
	var boards []moisture.Candidate
	for i := range 30 {
		boards = append(boards, moisture.Candidate{
			BoardID: fmt.Sprint(i), LotID: []string{"A", "B", "C"}[i%3], ThicknessMM: 20 + float64(i%7), Layer: 1 + i/3,
		})
	}
	picks, err := moisture.Choose(boards, 12, 7)
	require.NoError(t, err)
	require.Len(t, picks, 12)
	again, err := moisture.Choose(boards, 12, 7)
	require.NoError(t, err)
	require.Equal(t, picks, again)
	lots, ids, reasons := map[int]int{}, map[string]bool{}, map[string]int{}
	for _, p := range picks {
		var i int
		_, err := fmt.Sscan(p.BoardID, &i)
		require.NoError(t, err)
		lots[i%3]++
		ids[p.BoardID] = true
		reasons[p.Reason]++
	}
	require.Equal(t, map[int]int{0: 4, 1: 4, 2: 4}, lots)
	require.Len(t, ids, 12, "no board twice")
	for _, reason := range []string{"the thickest of its lot", "the middle of the stack, where air moves least",
		"the bottom of the stack, nearest the ground", "the top of the stack, where rain comes in"} {
		require.Equal(t, 3, reasons[reason], reason)
	}
	_, err = moisture.Choose(boards, 31, 7)
	require.ErrorIs(t, err, moisture.ErrSetting)
}

func TestTurnsAreWhereTheRuleChanges(t *testing.T) {
	t.Parallel()
	p, err := moisture.NewPlan(moisture.PlanInput{Boards: 100, Share: 0.1, Confidence: 0.9})
	require.NoError(t, err)
	turns := p.Sequential.Turns()
	require.NotEmpty(t, turns)
	require.Less(t, len(turns), len(p.Sequential.Stages)/2, "a person can read them")
	// Following the turns decides like following the stages.
	for _, s := range p.Sequential.Stages {
		last := moisture.Stage{PassAt: -1, FailAt: 1 << 30}
		for _, turn := range turns {
			if turn.Probes <= s.Probes {
				last = turn
			}
		}
		require.Equal(t, s.PassAt, last.PassAt)
		for x := 0; x <= s.Probes; x++ {
			require.Equal(t, x >= s.FailAt, x >= last.FailAt, "%d of %d", x, s.Probes)
		}
	}
}
