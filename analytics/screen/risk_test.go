package screen

import (
	"encoding/json"
	"fmt"
	"math/bits"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// day is a day of fetching.
func day(n int) time.Time { return time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, n) }

// lots gives one lot a day, the k-th never when pattern has an x there.
func lots(pattern string) []Outcome {
	var out []Outcome
	for i, c := range pattern {
		v := Inside
		if c == 'x' {
			v = Never
		}
		out = append(out, Outcome{At: day(i), Verdict: v})
	}
	return out
}

// TestWilson compares with Newcombe 1998, Stat. Med. 17:857-872, table I.
func TestWilson(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("testdata/binomial_intervals.json")
	require.NoError(t, err)
	var file struct {
		Cases []struct {
			X, N   int
			Wilson [2]float64
		}
	}
	require.NoError(t, json.Unmarshal(text, &file))
	require.NotEmpty(t, file.Cases)
	for _, c := range file.Cases {
		low, high := wilson(c.X, c.N)
		require.InDelta(t, c.Wilson[0], low, 1e-10)
		require.InDelta(t, c.Wilson[1], high, 1e-10)
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10_000).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		low, high := wilson(x, n)
		p := float64(x) / float64(n)
		require.True(t, 0 <= low && low <= p && p <= high && high <= 1)
	})
}

// TestRankSumAgainstEveryOrder compares the recursion with counting all orders.
func TestRankSumAgainstEveryOrder(t *testing.T) {
	t.Parallel()
	for n := 2; n <= 12; n++ {
		for k := 1; k < n; k++ {
			tail := rankSumTail(n, k)
			counts, all := make([]int, len(tail)), 0
			for set := range uint(1) << n {
				if bits.OnesCount(set) != k {
					continue
				}
				sum := 0
				for i := range n {
					if set&(1<<i) != 0 {
						sum += i + 1
					}
				}
				all++
				for s := 0; s <= sum; s++ {
					counts[s]++
				}
			}
			for s, c := range counts {
				require.InDelta(t, float64(c)/float64(all), tail[s], 1e-12, "n=%d k=%d s=%d", n, k, s)
			}
		}
	}
}

// TestRankSumPublished compares with the critical values of the rank sum for
// samples of 5 and 5: the upper tail is 0.048 from 36, 0.028 from 37 and 0.016
// from 38 (Hollander and Wolfe, Nonparametric Statistical Methods, 1973, table
// A.5; from memory, and recounted by hand: 12, 7 and 4 of 252 orders).
func TestRankSumPublished(t *testing.T) {
	t.Parallel()
	tail := rankSumTail(10, 5)
	require.InDelta(t, 12.0/252, tail[36], 1e-12)
	require.InDelta(t, 7.0/252, tail[37], 1e-12)
	require.InDelta(t, 4.0/252, tail[38], 1e-12)
}

// TestFalseAlarmIsExact flags every order of good and bad days and compares the
// share flagged with the chance of a false alarm that each result states.
func TestFalseAlarmIsExact(t *testing.T) {
	t.Parallel()
	const n = 11
	for k := 1; k < n; k++ {
		flagged, all, stated := 0, 0, 0.0
		for set := range uint(1) << n {
			if bits.OnesCount(set) != k {
				continue
			}
			days := make([]bool, n)
			for i := range days {
				days[i] = set&(1<<i) != 0
			}
			r := rise(days, 0.05)
			all++
			stated = r.FalseAlarm
			if r.Risen {
				flagged++
			}
		}
		require.InDelta(t, float64(flagged)/float64(all), stated, 1e-12, "k=%d", k)
		require.LessOrEqual(t, stated, 0.05)
	}
}

func TestRiskTrend(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		pattern string
		risen   bool
		text    string
	}{
		{"", false, "No lots that may be taken yet"},
		{"ooooo", false, "No bad day in 5"},
		{"xxxx", false, "Every one of 4 days"},
		{"ox", false, "too few days"},
		{"oooooooooxxx", true, "risk has risen"},
		{"xxxooooooooo", false, "no rise shown"},
		{"oxoxoxoxoxox", false, "no rise shown"},
	} {
		r, err := RiskTrend(lots(c.pattern), RiskOptions{})
		require.NoError(t, err)
		require.Equal(t, c.risen, r.Trend.Risen, c.pattern)
		require.Contains(t, r.Trend.Text, c.text)
		require.NotEmpty(t, r.Trend.Test)
	}
	r, err := RiskTrend(lots("oooooooooxxx"), RiskOptions{})
	require.NoError(t, err)
	require.InDelta(t, 1.0/220, r.Trend.P, 1e-12) // one order of C(12,3)
	require.Equal(t, Share{Verdict: Never, Count: 3, Of: 12, Low: r.Shares[3].Low, High: r.Shares[3].High}, r.Shares[3])
	require.InDelta(t, 0.0889, r.Shares[3].Low, 5e-4)
	require.InDelta(t, 0.5323, r.Shares[3].High, 5e-4)
}

// TestRiskCountsDays checks that many alike lots of one day count once, that
// order does not matter, and that old days beyond the window are left out.
func TestRiskCountsDays(t *testing.T) {
	t.Parallel()
	one := lots("oooooooooxxx")
	many := append([]Outcome{}, one...)
	for range 20 {
		many = append(many, Outcome{At: day(0).Add(time.Hour), Verdict: Inside}, Outcome{At: day(11), Verdict: Hold})
	}
	a, err := RiskTrend(one, RiskOptions{})
	require.NoError(t, err)
	b, err := RiskTrend(many, RiskOptions{})
	require.NoError(t, err)
	require.Equal(t, a.Trend, b.Trend)
	backwards := append([]Outcome{}, many...)
	for i, j := 0, len(backwards)-1; i < j; i, j = i+1, j-1 {
		backwards[i], backwards[j] = backwards[j], backwards[i]
	}
	c, err := RiskTrend(backwards, RiskOptions{})
	require.NoError(t, err)
	require.Equal(t, b, c)
	d, err := RiskTrend(one, RiskOptions{Days: 3})
	require.NoError(t, err)
	require.Equal(t, 3, d.Trend.Days)
	require.False(t, d.Trend.Risen)
}

func TestRiskTrendErrors(t *testing.T) {
	t.Parallel()
	_, err := RiskTrend([]Outcome{{Verdict: Inside}}, RiskOptions{})
	require.ErrorIs(t, err, ErrNoDate)
	_, err = RiskTrend([]Outcome{{At: day(1), Verdict: "fine"}}, RiskOptions{})
	require.ErrorIs(t, err, ErrUnknownVerdict)
	for _, o := range []RiskOptions{{Alpha: -1}, {Alpha: 0.5}, {Days: 1}, {Days: 1000}} {
		_, err = RiskTrend(nil, o)
		require.ErrorIs(t, err, ErrBadSetting)
	}
	nan := RiskOptions{}
	nan.Alpha = nan.Alpha / nan.Alpha
	_, err = RiskTrend(nil, nan)
	require.ErrorIs(t, err, ErrBadSetting)
}

// BenchmarkRiskTrend works out a source of 60 days, the default window.
func BenchmarkRiskTrend(b *testing.B) {
	var source []Outcome
	for i := range 60 {
		v := Inside
		if i%3 == 0 {
			v = Hold
		}
		source = append(source, Outcome{At: day(i), Verdict: v})
	}
	for b.Loop() {
		if _, err := RiskTrend(source, RiskOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleRiskTrend() {
	var source []Outcome
	for i, v := range []Verdict{Inside, Inside, Inside, Inside, Inside, Hold, Never, Hold} {
		source = append(source, Outcome{At: day(i), Verdict: v})
	}
	r, _ := RiskTrend(source, RiskOptions{})
	fmt.Printf("%d of %d days, p = %.3f, risen: %v\n", r.Trend.BadDays, r.Trend.Days, r.Trend.P, r.Trend.Risen)
	// Output: 3 of 8 days, p = 0.018, risen: true
}

// TestWhatIsNotOursIsCountedApart checks a source whose every lot carries good
// marks and an owner's name: nothing of it may be taken, so nothing is inside.
func TestWhatIsNotOursIsCountedApart(t *testing.T) {
	t.Parallel()
	all := lots("..........")
	for i := range all {
		all[i].Stopped = true
	}
	risk, err := RiskTrend(all, RiskOptions{})
	require.NoError(t, err)
	require.Empty(t, risk.Shares)
	require.Equal(t, [2]int{10, 10}, [2]int{risk.Stopped.Count, risk.Stopped.Of})
	require.Equal(t, 0, risk.Trend.Days)
	all[0].Stopped, all[1].Stopped, all[1].Verdict, all[2].Verdict = false, false, Hold, Never
	risk, err = RiskTrend(all, RiskOptions{})
	require.NoError(t, err)
	require.Equal(t, [2]int{8, 10}, [2]int{risk.Stopped.Count, risk.Stopped.Of})
	require.Equal(t, []int{1, 0, 1, 0}, []int{risk.Shares[0].Count, risk.Shares[1].Count, risk.Shares[2].Count, risk.Shares[3].Count})
	require.Equal(t, [2]int{2, 2}, [2]int{risk.Shares[0].Of, risk.Trend.Days})
	low, high := wilson(8, 10)
	require.Equal(t, [2]float64{low, high}, [2]float64{risk.Stopped.Low, risk.Stopped.High})
	none, err := RiskTrend(nil, RiskOptions{})
	require.NoError(t, err)
	require.Equal(t, Share{}, none.Stopped)
}
