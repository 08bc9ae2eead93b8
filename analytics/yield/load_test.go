package yield_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// withLoads gives every stop of a round four equally likely loads, one of them
// nothing, around its means.
func withLoads(r *rand.Rand, q yield.Round) yield.Round {
	for i := range q.Stops {
		s := &q.Stops[i]
		loads := make([]yield.Load, 4)
		var volume, value, minutes float64
		for k := range loads[1:] {
			v := math.Exp(r.NormFloat64())
			loads[k+1] = yield.Load{Volume: v, Value: v * (0.5 + r.Float64()), ShopMinutes: v}
			volume, value, minutes = volume+v/4, value+loads[k+1].Value/4, minutes+v/4
		}
		for k := range loads {
			loads[k].Chance = 0.25
			loads[k].Volume *= s.Volume / volume
			loads[k].Value *= s.Value / value
			loads[k].ShopMinutes *= s.ShopMinutes / minutes
		}
		s.Loads, s.SD = loads, 0
	}
	return q
}

// everyDay calls visit with each of the 4ⁿ days of equally likely loads.
func everyDay(stops []yield.Stop, day []yield.Load, visit func([]yield.Load)) {
	if len(day) == len(stops) {
		visit(day)
		return
	}
	for _, l := range stops[len(day)].Loads {
		everyDay(stops, append(day, l), visit)
	}
}

// meanLoadValue is the mean worth of what fits, by trying every order of
// filling on every day.
func meanLoadValue(q yield.Round, order []int) float64 {
	chosen := make([]yield.Stop, len(order))
	all := make([]int, len(order))
	for k, i := range order {
		chosen[k], all[k] = q.Stops[i], k
	}
	var sum, n float64
	everyDay(chosen, nil, func(day []yield.Load) {
		real := q
		real.Stops = make([]yield.Stop, len(day))
		for k, l := range day {
			real.Stops[k] = yield.Stop{Volume: l.Volume, Value: l.Value, ShopMinutes: l.ShopMinutes}
		}
		sum += loadValue(real, all, q.Vehicle)
		n++
	})
	return sum / n
}

// TestRoundCountsWhatDoesNotFit compares with all days there can be: loads that
// fit on average do not fit every day.
func TestRoundCountsWhatDoesNotFit(t *testing.T) {
	t.Parallel()
	lost, driven := false, 0
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(56, seed))
		q := withLoads(r, randomRound(r, 4))
		q.Vehicle, q.Hours, q.Mile = 0.3, 12, 5
		plan, err := yield.PlanRound(q)
		require.NoError(t, err)
		order := make([]int, len(plan.Stops))
		var roomy float64
		for k, s := range plan.Stops {
			order[k] = s.Index
			roomy += q.Stops[s.Index].Value - q.Hour/60*q.Stops[s.Index].ShopMinutes
		}
		if len(order) == 0 {
			continue // not worth it in that world
		}
		driven++
		var cash float64
		for _, i := range order {
			cash += q.Stops[i].Cash
		}
		costs := q.Mile*plan.Miles + q.Hour*plan.Minutes/60 + cash
		want := meanLoadValue(q, order) - costs
		require.InDelta(t, want, plan.Net.Mean, 0.006*roomy, "seed %d", seed)
		lost = lost || plan.Net.Mean < roomy-costs-0.05*roomy
		require.LessOrEqual(t, plan.Volume, q.Vehicle*(1+1e-9))
		most := -costs // no day nets more than the vehicle full of the dearest load
		dearest := 0.0
		for _, i := range order {
			for _, l := range q.Stops[i].Loads[1:] {
				dearest = max(dearest, (l.Value-q.Hour/60*l.ShopMinutes)/l.Volume)
			}
		}
		require.LessOrEqual(t, plan.Net.Most.High, most+dearest*q.Vehicle+0.02*roomy)
		require.LessOrEqual(t, plan.Net.Most.Low, plan.Net.Half.Low)
		require.LessOrEqual(t, plan.Net.Half.High, plan.Net.Most.High)

		big := q
		big.Vehicle = 1e6
		none := q
		none.Vehicle = 0
		one, err := yield.PlanRound(big)
		require.NoError(t, err)
		other, err := yield.PlanRound(none)
		require.NoError(t, err)
		require.InDelta(t, other.Net.Mean, one.Net.Mean, 1e-6, "room enough is no limit")
		require.GreaterOrEqual(t, one.Net.Mean, plan.Net.Mean-1e-9)
	}
	require.True(t, lost, "the vehicle matters somewhere")
	require.Greater(t, driven, 8)
}

// TestRoundOfTwelveIsExact tries every order of every set of twelve stops that the
// hours allow.
func TestRoundOfTwelveIsExact(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(57, seed))
		q := randomRound(r, 12)
		q.Hours, q.Vehicle = 4.2, 0.45*float64(seed%2)
		for i := range q.Stops { // long enough for five stops at most
			q.Stops[i].Minutes += 12
		}
		wood := map[int]float64{} // of a set, whatever the order
		best, tried := 0.0, 0
		var visit func(order []int, set int, miles, minutes, cash float64)
		visit = func(order []int, set int, miles, minutes, cash float64) {
			at := 0
			if len(order) > 0 {
				at = order[len(order)-1] + 1
				home := miles + q.Miles[at][0]
				if all := minutes + home/q.Speed*60; all <= q.Hours*60 {
					if _, known := wood[set]; !known {
						wood[set] = loadValue(q, order, q.Vehicle)
					}
					tried++
					best = math.Max(best, wood[set]-cash-q.Mile*home-q.Hour*all/60)
				}
			}
			for i := range q.Stops {
				way := miles + q.Miles[at][i+1]
				// Driving on only takes longer, so what is late already may be left.
				if late := minutes + q.Stops[i].Minutes; set&(1<<i) == 0 && late+way/q.Speed*60 <= q.Hours*60 {
					visit(append(order[:len(order):len(order)], i), set|1<<i, way, late, cash+q.Stops[i].Cash)
				}
			}
		}
		visit(nil, 0, 0, 0, 0)
		require.Greater(t, tried, 1000)
		plan, err := yield.PlanRound(q)
		require.NoError(t, err)
		require.True(t, plan.Exact)
		require.InDelta(t, best, plan.Net.Mean, 1e-6, "seed %d", seed)
		require.LessOrEqual(t, plan.Minutes, q.Hours*60*(1+1e-9))
	}
}

// TestStopAddsAsMuchAsItsLoads: where nothing else changes, a stop adds its load
// less what it costs, with the spread of that load alone.
func TestStopAddsAsMuchAsItsLoads(t *testing.T) {
	t.Parallel()
	q := yield.Round{Hours: 8, Miles: [][]float64{{0, 1, 1}, {1, 0, 1}, {1, 1, 0}}, Mile: 100, Stops: []yield.Stop{
		{ID: "a", Value: 3000, Volume: 0.3, Loads: []yield.Load{{Chance: 0.5}, {Chance: 0.5, Volume: 0.6, Value: 6000}}},
		{ID: "b", Value: 2000, Volume: 0.2, SD: 500},
	}}
	plan, err := yield.PlanRound(q)
	require.NoError(t, err)
	require.Len(t, plan.Stops, 2)
	for _, s := range plan.Stops {
		require.InDelta(t, s.Marginal, s.Adds.Mean, 1e-9)
		switch s.ID {
		case "a": // one mile more than without it; half of the time nothing comes
			require.InDelta(t, 2900, s.Adds.Mean, 1e-9)
			require.InDelta(t, -100, s.Adds.Most.Low, 10)
			require.InDelta(t, 5900, s.Adds.Most.High, 10)
			require.InDelta(t, 3000, s.Adds.SD, 10)
		case "b":
			require.InDelta(t, 500, s.Adds.SD, 1e-6)
			require.InDelta(t, 1900-1.6448536*500, s.Adds.Most.Low, 0.01)
		}
	}
	require.InDelta(t, math.Hypot(3000, 500), plan.Net.SD, 10)

	q.Stay = 4000
	plan, err = yield.PlanRound(q)
	require.NoError(t, err)
	require.Len(t, plan.Stops, 2, "4,700 are more")
	require.InDelta(t, 700, plan.Stops[0].Marginal, 1e-9, "without it the day is better spent at home")
	q.Stay = 5000
	plan, err = yield.PlanRound(q)
	require.NoError(t, err)
	require.Empty(t, plan.Stops)
	require.InDelta(t, 5000, plan.Net.Mean, 0)

	for name, loads := range map[string][]yield.Load{
		"half the chances": {{Chance: 0.5}}, "negative": {{Chance: 1, Volume: -1}}, "no number": {{Chance: 1, Value: math.NaN()}},
	} {
		q.Stops[0].Loads = loads
		_, err := yield.PlanRound(q)
		require.ErrorIs(t, err, yield.ErrRound, name)
		require.Contains(t, err.Error(), "chances that add up to 1", name)
	}
}

// TestLoadsOfAModel have the means of their stop, and no vehicle carries more
// than there is room for.
func TestLoadsOfAModel(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(58, 1))
	w := newWorld(r, worldOptions{sources: 6})
	v := w.visit(r)
	m := fit(t, v.pickups, options(w.prices, w.places()...))
	q := yield.Round{Hours: 10, Mile: m.Terms().Mile, Hour: m.Terms().Hour, Home: yield.Place{Lat: 40, Lon: -75}}
	for i, a := range m.Answers().Sources {
		s, err := m.Stop(a.SourceID)
		require.NoError(t, err)
		var chance, volume, value, square, minutes float64
		for _, l := range s.Loads {
			chance += l.Chance
			volume += l.Chance * l.Volume
			value += l.Chance * l.Value
			square += l.Chance * l.Value * l.Value
			minutes += l.Chance * l.ShopMinutes
		}
		require.InDelta(t, 1, chance, 1e-9)
		require.InEpsilon(t, s.Volume, volume, 1e-9)
		require.InEpsilon(t, s.Value, value, 1e-9)
		require.InDelta(t, s.ShopMinutes, minutes, 1e-9)
		require.InEpsilon(t, s.SD, math.Sqrt(square-value*value), 0.25, "the tails beyond the loads are cut off")
		s.Place = yield.Place{Lat: 40 + 0.03*float64(i), Lon: -75}
		q.Stops = append(q.Stops, s)
	}
	roomy, err := yield.PlanRound(q)
	require.NoError(t, err)
	q.Vehicle = roomy.Volume / 2
	tight, err := yield.PlanRound(q)
	require.NoError(t, err)
	require.Less(t, tight.Net.Mean, roomy.Net.Mean)
	require.LessOrEqual(t, tight.Volume, q.Vehicle)
	require.Less(t, tight.Net.Most.High, roomy.Net.Most.High)
}

// TestRoundOfOneStopIsTheNextTrip forecasts a drive to one place both ways: the round
// says what the answer says, empty drives in their tail counted alike.
func TestRoundOfOneStopIsTheNextTrip(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(59, seed))
		w := newWorld(r, worldOptions{sources: 6})
		v := w.visit(r)
		m := fit(t, v.pickups, options(prices(60, 256, 128, 0), w.places()...))
		for _, a := range m.Answers().Sources {
			s, err := m.Stop(a.SourceID)
			require.NoError(t, err)
			plan, err := yield.PlanRound(yield.Round{
				Hours: 24, Speed: 90, Mile: m.Terms().Mile, Stops: []yield.Stop{s}, Miles: [][]float64{{0, a.Miles / 2}, {a.Miles / 2, 0}},
			})
			require.NoError(t, err)
			if len(plan.Stops) == 0 {
				require.Less(t, a.Next.Mean, 0.0)
				continue
			}
			require.InEpsilon(t, a.Next.Mean, plan.Net.Mean, 1e-9)
			slack := 0.15 * a.Next.Most.Width()
			require.InDelta(t, a.Next.Most.Low, plan.Net.Most.Low, slack/4)
			require.InDelta(t, a.Next.Most.High, plan.Net.Most.High, slack)
			require.InDelta(t, a.Next.Half.Low, plan.Net.Half.Low, slack)
			require.InDelta(t, a.Next.Half.High, plan.Net.Half.High, slack)
		}
	}
}

// BenchmarkRoundWithLoads plans 12 stops of many loads for a small vehicle; the
// baseline is the same round of mean loads.
func BenchmarkRoundWithLoads(b *testing.B) {
	r := rand.New(rand.NewPCG(55, 1))
	q := randomRound(r, 12)
	q.Vehicle = 0.5
	const plans = 20
	start := time.Now()
	for range plans {
		_, err := yield.PlanRound(q)
		require.NoError(b, err)
	}
	plain := float64(time.Since(start).Nanoseconds()) / plans
	q = withLoads(r, q)
	b.ResetTimer()
	for b.Loop() {
		_, err := yield.PlanRound(q)
		require.NoError(b, err)
	}
	perOp := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
	b.ReportMetric(perOp/1e6, "ms")
	b.ReportMetric(perOp/plain, "ratio-to-mean-loads")
}
