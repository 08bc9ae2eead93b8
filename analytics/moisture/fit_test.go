package moisture_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/moisture"
)

// readings makes observations of the whole stack from days and percents.
func readings(days, percent []float64) []moisture.Obs {
	out := make([]moisture.Obs, len(days))
	for i := range out {
		out[i] = moisture.Obs{At: simStart.Add(time.Duration(days[i] * 24 * float64(time.Hour))), Percent: percent[i], SD: 0.8}
	}
	return out
}

// softInput is a softwood stack in air of 10 %.
func softInput(days, percent []float64) moisture.FitInput {
	return moisture.FitInput{
		Obs: readings(days, percent), Climate: moisture.ConstantClimate(10, 1),
		Prior: moisture.RatePrior{MeanLog: math.Log(0.03), SDLog: 0.5},
	}
}

func fit(t testing.TB, in moisture.FitInput) *moisture.Posterior {
	t.Helper()
	p, err := moisture.Fit(in)
	require.NoError(t, err)
	return p
}

func kinds(notices []moisture.Notice) []moisture.NoticeKind {
	out := []moisture.NoticeKind{}
	for _, n := range notices {
		out = append(out, n.Kind)
	}
	return out
}

func TestFitWithAWidePriorIsNearThePlainFit(t *testing.T) {
	t.Parallel()
	// drying.json: estimates and the 80 % profile-t interval of R nls. The
	// posterior knows the readings' error better than five readings tell, so
	// that its interval is the narrower one.
	for _, c := range dryingCases(t) {
		in := moisture.FitInput{Obs: readings(c.Days, c.Percent), Climate: moisture.ConstantClimate(c.EMC, 0),
			Prior: moisture.RatePrior{MeanLog: -4, SDLog: 2.5}}
		p := fit(t, in)
		require.InEpsilon(t, c.M0, p.M0.Mean, 0.005)
		require.InDelta(t, math.Log(c.K), p.LogRate.Mean, 0.2*c.SDLogK)
		d, err := p.Ready(c.Target)
		require.NoError(t, err)
		require.Equal(t, moisture.StateDates, d.State)
		require.InDelta(t, c.ReadyDay, days(p, d.Likely), 0.5)
		require.InDelta(t, c.ReadyInterval80[0], days(p, d.NotBefore), 1.5)
		require.InDelta(t, c.ReadyInterval80[1], days(p, d.By), 1.5)
		high, low := days(p, d.By)-days(p, d.Likely), days(p, d.Likely)-days(p, d.NotBefore)
		require.Greater(t, high, low, "not a symmetric interval")
	}
}

// TestPosteriorAgreesWithSampling compares the grid with importance sampling
// from the prior: two ways to the same integral, seasons and all.
func TestPosteriorAgreesWithSampling(t *testing.T) {
	t.Parallel()
	in := softInput([]float64{0, 9, 21, 40}, []float64{38, 31, 25.5, 19})
	in.Climate.EMC = [12]float64{15, 14, 13, 11, 10, 9.5, 9, 9.5, 11, 13, 14, 15}
	in.Climate.Rate = moisture.SeasonUpperMidwest()
	p := fit(t, in)
	r := rand.New(rand.NewPCG(5, 6))
	var total, logK, logK2, moistureSum float64
	at := simStart.AddDate(0, 3, 0)
	for range 30000 {
		sample := math.Log(0.03) + 0.5*r.NormFloat64()
		m0, shift, factor := 38+4*r.NormFloat64(), r.NormFloat64(), math.Exp(0.3*r.NormFloat64())
		// The proposal for M0 is narrower than the prior N(40, 30): undo it.
		logW := -square((m0-40)/30)/2 + square((m0-38)/4)/2
		for _, o := range in.Obs {
			z := (o.Percent - walk(in.Climate, math.Exp(sample), m0, shift, o.At)) / (0.8 * factor)
			logW += -z*z/2 - math.Log(factor)
		}
		w := math.Exp(logW)
		total, logK, logK2 = total+w, logK+w*sample, logK2+w*sample*sample
		moistureSum += w * walk(in.Climate, math.Exp(sample), m0, shift, at)
	}
	mean := logK / total
	require.InDelta(t, mean, p.LogRate.Mean, 0.02)
	require.InDelta(t, math.Sqrt(logK2/total-mean*mean), p.LogRate.SD, 0.02)
	require.InDelta(t, moistureSum/total, p.Moisture(at).Median, 0.15)
}

func square(x float64) float64 { return x * x }

// walk integrates the curve in steps of six hours, without the closed form.
func walk(c moisture.Climate, k, m0, shift float64, to time.Time) float64 {
	m := m0
	const step = 6.0 // hours
	for at := simStart; at.Before(to); at = at.Add(time.Duration(step * float64(time.Hour))) {
		month := at.Month() - 1
		h := min(step, to.Sub(at).Hours()) / 24
		m += (c.EMC[month] + shift - m) * -math.Expm1(-k*c.Rate[month]*h)
	}
	return m
}

func TestNeverAtThisHumidity(t *testing.T) {
	t.Parallel()
	in := softInput([]float64{0, 10, 20}, []float64{30, 25, 21})
	in.Climate = moisture.ConstantClimate(16, 0.5)
	d, err := fit(t, in).Ready(12)
	require.NoError(t, err)
	require.Equal(t, moisture.StateNever, d.State)
	require.True(t, d.Likely.IsZero())
	require.True(t, d.By.IsZero())
	require.Greater(t, d.PNever, 0.99)
	require.Contains(t, d.Text, "under a roof")
	// Close above the equilibrium: likely, but no date is sure.
	in.Climate = moisture.ConstantClimate(11.5, 1)
	d, err = fit(t, in).Ready(12)
	require.NoError(t, err)
	require.Equal(t, moisture.StateOpen, d.State)
	require.False(t, d.Likely.IsZero())
	require.True(t, d.By.IsZero())
}

func TestBadReadingsHaveNamedAnswers(t *testing.T) {
	t.Parallel()
	good := softInput([]float64{0, 7, 14}, []float64{30, 26, 23})
	for name, c := range map[string]struct {
		change func(*moisture.FitInput)
		want   error
	}{
		"none":          {func(in *moisture.FitInput) { in.Obs = nil }, moisture.ErrNoReadings},
		"below zero":    {func(in *moisture.FitInput) { in.Obs[1].Percent = -2 }, moisture.ErrPercent},
		"above 400":     {func(in *moisture.FitInput) { in.Obs[1].Percent = 500 }, moisture.ErrPercent},
		"not a number":  {func(in *moisture.FitInput) { in.Obs[1].Percent = math.NaN() }, moisture.ErrNotFinite},
		"no time":       {func(in *moisture.FitInput) { in.Obs[1].At = time.Time{} }, moisture.ErrNoTime},
		"future":        {func(in *moisture.FitInput) { in.Now = simStart.AddDate(0, 0, 10) }, moisture.ErrFuture},
		"no prior":      {func(in *moisture.FitInput) { in.Prior = moisture.RatePrior{} }, moisture.ErrSetting},
		"no such air":   {func(in *moisture.FitInput) { in.Climate.EMC[3] = 80 }, moisture.ErrSetting},
		"unknown range": {func(in *moisture.FitInput) { in.Obs[0].Range = "sideways" }, moisture.ErrSetting},
	} {
		in := good
		in.Obs = append([]moisture.Obs(nil), good.Obs...)
		c.change(&in)
		_, err := moisture.Fit(in)
		require.ErrorIs(t, err, c.want, name)
	}
	_, err := fit(t, good).Ready(-3)
	require.ErrorIs(t, err, moisture.ErrPercent)
}

func TestNoticesNameWhatIsOdd(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		days, percent []float64
		want          []moisture.NoticeKind
		visits        int
	}{
		"nothing odd":   {[]float64{0, 7, 14}, []float64{30, 26, 23}, []moisture.NoticeKind{}, 3},
		"one reading":   {[]float64{0}, []float64{30}, []moisture.NoticeKind{moisture.NoticeOneReading}, 1},
		"all equal":     {[]float64{0, 7, 14}, []float64{18, 18, 18}, []moisture.NoticeKind{moisture.NoticeAllEqual}, 3},
		"rain":          {[]float64{0, 7, 14, 21}, []float64{24, 20, 27, 24}, []moisture.NoticeKind{moisture.NoticeWetted}, 2},
		"rain today":    {[]float64{0, 7, 14}, []float64{24, 20, 27}, []moisture.NoticeKind{moisture.NoticeWetted, moisture.NoticeOneReading}, 1},
		"gaining":       {[]float64{0, 14}, []float64{6, 10.4}, []moisture.NoticeKind{moisture.NoticeGaining}, 2},
		"out of order":  {[]float64{14, 0, 7}, []float64{23, 30, 26}, []moisture.NoticeKind{moisture.NoticeOutOfOrder}, 3},
		"all in a hour": {[]float64{0, 0.01, 0.02}, []float64{23, 24, 22}, []moisture.NoticeKind{moisture.NoticeOneReading}, 1},
	} {
		p := fit(t, softInput(c.days, c.percent))
		require.Equal(t, c.want, kinds(p.Notices), name)
		require.Equal(t, c.visits, p.Visits, name)
	}
	same := softInput([]float64{0, 0, 9}, []float64{30, 31, 26})
	for i := range same.Obs {
		same.Obs[i].BoardID = "K7"
	}
	require.Equal(t, []moisture.NoticeKind{moisture.NoticeSameMinute}, kinds(fit(t, same).Notices))
}

func TestOrderOfReadingsDoesNotMatter(t *testing.T) {
	t.Parallel()
	one := fit(t, softInput([]float64{0, 7, 14, 30}, []float64{30, 26, 23, 17.5}))
	other := fit(t, softInput([]float64{30, 14, 0, 7}, []float64{17.5, 23, 30, 26}))
	require.InDelta(t, one.LogRate.Mean, other.LogRate.Mean, 1e-12)
	require.InDelta(t, one.M0.Mean, other.M0.Mean, 1e-12)
}

func TestLimitsAreEvidence(t *testing.T) {
	t.Parallel()
	// "Above 30 %" on the first day, then two numbers: the start lies above 30,
	// although no number says so.
	in := softInput([]float64{0, 20, 30}, []float64{0, 24, 20})
	in.Obs[0] = moisture.Obs{At: simStart, Percent: math.NaN(), Range: moisture.RangeAbove, Bound: 30}
	p := fit(t, in)
	require.Equal(t, []moisture.NoticeKind{moisture.NoticeAboveRange}, kinds(p.Notices))
	require.Greater(t, p.M0.Mean, 31.0)
	in.Obs = in.Obs[1:]
	without := fit(t, in)
	d1, err := p.Ready(13)
	require.NoError(t, err)
	d2, err := without.Ready(13)
	require.NoError(t, err)
	require.Equal(t, moisture.StateDates, d1.State)
	require.Less(t, d1.By.Sub(d1.NotBefore), d2.By.Sub(d2.NotBefore), "the limit narrows the dates")
}

func TestOneReadingRestsOnThePrior(t *testing.T) {
	t.Parallel()
	in := softInput([]float64{0}, []float64{28})
	p := fit(t, in)
	require.InDelta(t, in.Prior.MeanLog, p.LogRate.Mean, 0.01)
	require.InDelta(t, in.Prior.SDLog, p.LogRate.SD, 0.02)
	_, ok := p.RateLikelihood()
	require.False(t, ok)
	many := fit(t, softInput([]float64{0, 10, 20, 30}, []float64{28, 23.2, 19.8, 17.3}))
	rate, ok := many.RateLikelihood()
	require.True(t, ok)
	require.InDelta(t, math.Log(0.03), rate.Mean, 0.25)
}

func TestReadyDatesAreOrderedAndFollowTheTarget(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := math.Exp(rapid.Float64Range(-5, -2.5).Draw(t, "ln k"))
		emc := rapid.Float64Range(8, 14).Draw(t, "emc")
		m0 := rapid.Float64Range(16, 60).Draw(t, "m0")
		n := rapid.IntRange(1, 8).Draw(t, "readings")
		in := moisture.FitInput{Climate: moisture.ConstantClimate(emc, rapid.Float64Range(0, 1.5).Draw(t, "doubt")),
			Prior: moisture.RatePrior{MeanLog: -3.7, SDLog: 0.6}}
		if rapid.Bool().Draw(t, "seasons") {
			for m := range in.Climate.EMC {
				in.Climate.EMC[m] += 2 * math.Cos(float64(m)*math.Pi/6)
			}
			in.Climate.Rate = moisture.SeasonUpperMidwest()
		}
		for i := range n {
			day := 8 * float64(i)
			in.Obs = append(in.Obs, moisture.Obs{At: simStart.Add(time.Duration(day*24) * time.Hour),
				Percent: emc + (m0-emc)*math.Exp(-k*day) + rapid.Float64Range(-1, 1).Draw(t, "error"), SD: 1, Shared: 0.5})
		}
		p, err := moisture.Fit(in)
		require.NoError(t, err)
		var sum float64
		for _, g := range p.Grid() {
			sum += g.Weight
		}
		require.InDelta(t, 1, sum, 1e-9)
		target := rapid.Float64Range(7, 20).Draw(t, "target")
		d, err := p.Ready(target)
		require.NoError(t, err)
		easier, err := p.Ready(target + 1)
		require.NoError(t, err)
		never := math.Inf(1)
		at := func(x time.Time) float64 {
			if x.IsZero() {
				return never
			}
			return x.Sub(p.Start).Hours() / 24
		}
		require.LessOrEqual(t, at(d.NotBefore), at(d.Likely))
		require.LessOrEqual(t, at(d.Likely), at(d.By))
		require.LessOrEqual(t, at(easier.Likely), at(d.Likely)+0.02)
		require.GreaterOrEqual(t, d.PNever, 0.0)
		if !d.Likely.IsZero() {
			// The date is found to within seven minutes.
			require.GreaterOrEqual(t, p.Probability(target, d.Likely.Add(time.Minute)), 0.5-1e-6)
			if d.Likely.After(p.Start) {
				require.LessOrEqual(t, p.Probability(target, d.Likely.Add(-10*time.Minute)), 0.5+1e-6)
			}
		}
		for _, b := range p.Curve(p.Start, p.Start.AddDate(0, 4, 0), 5) {
			require.LessOrEqual(t, b.Low, b.Median)
			require.LessOrEqual(t, b.Median, b.High)
		}
		require.True(t, p.NextReading(d).After(p.Last))
	})
}

func TestMorningIsNotBeforeNoon(t *testing.T) {
	t.Parallel()
	// Boards read on one day are one visit; their scatter widens the error.
	in := softInput(nil, nil)
	for day := range 3 {
		for board := range 10 {
			in.Obs = append(in.Obs, moisture.Obs{At: simStart.AddDate(0, 0, 10*day).Add(time.Duration(board) * time.Minute),
				Percent: 30 - 4*float64(day) + float64(board%5-2)*2, SD: 0.8, BoardID: string(rune('A' + board))})
		}
	}
	p := fit(t, in)
	require.Equal(t, 3, p.Visits)
	require.InDelta(t, 30, p.M0.Mean, 0.8)
	require.Greater(t, p.M0.SD, 0.8/math.Sqrt(10), "boards differ by more than the meter's error")
}
