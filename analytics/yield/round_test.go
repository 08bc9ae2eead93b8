package yield_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/yield"
)

// bruteForce tries every order of every set; net is worked out from the words of
// the doc comments, apart from the package.
func bruteForce(r yield.Round) float64 {
	best := 0.0
	var visit func(order []int)
	visit = func(order []int) {
		if len(order) > 0 {
			if net, ok := netOf(r, order); ok {
				best = math.Max(best, net)
			}
		}
		for i := range r.Stops {
			used := false
			for _, o := range order {
				used = used || o == i
			}
			if !used {
				visit(append(append([]int(nil), order...), i))
			}
		}
	}
	visit(nil)
	return best
}

// netOf is the net of an order; loads that do not fit are filled from the dearest
// wood down, which is tried here by every greedy order of the stops.
func netOf(r yield.Round, order []int) (net float64, ok bool) {
	at, miles, minutes := 0, 0.0, 0.0
	for _, i := range order {
		miles += r.Miles[at][i+1]
		minutes += r.Stops[i].Minutes
		net -= r.Stops[i].Cash
		at = i + 1
	}
	miles += r.Miles[at][0]
	minutes += miles / r.Speed * 60
	if minutes > r.Hours*60 {
		return 0, false
	}
	net -= r.Mile*miles + r.Hour*minutes/60
	return net + loadValue(r, order, r.Vehicle), true
}

// loadValue is the most that loads worth so much can bring in the room left,
// by trying each stop's load as the next to fill.
func loadValue(r yield.Round, open []int, room float64) float64 {
	best := math.Inf(-1)
	if len(open) == 0 {
		return 0
	}
	for k, i := range open {
		s := r.Stops[i]
		share := 1.0
		if r.Vehicle > 0 && s.Volume > max(0, room) {
			share = max(0, room) / s.Volume
		}
		rest := append(append([]int(nil), open[:k]...), open[k+1:]...)
		value := share*(s.Value-r.Hour/60*s.ShopMinutes) + loadValue(r, rest, room-share*s.Volume)
		best = math.Max(best, value)
	}
	return best
}

func randomRound(r *rand.Rand, n int) yield.Round {
	q := yield.Round{Speed: 30, Hours: 1 + 5*r.Float64(), Mile: 70, Hour: 1000 * float64(r.IntN(2))}
	if r.IntN(2) == 0 {
		q.Vehicle = 0.2 + r.Float64()
	}
	for range n {
		q.Stops = append(q.Stops, yield.Stop{
			ID: "s", Value: 6000 * r.Float64(), SD: 2000, Cash: 300 * float64(r.IntN(2)), Volume: 0.05 + 0.4*r.Float64(),
			Minutes: 10 + 40*r.Float64(), ShopMinutes: 60 * r.Float64(),
		})
	}
	q.Miles = make([][]float64, n+1)
	for i := range q.Miles {
		q.Miles[i] = make([]float64, n+1)
		for j := range q.Miles[i] {
			if i != j {
				q.Miles[i][j] = 2 + 20*r.Float64() // one-way streets: not symmetric
			}
		}
	}
	return q
}

// TestRoundIsExact compares with trying everything.
func TestRoundIsExact(t *testing.T) {
	t.Parallel()
	for seed := range uint64(150) {
		r := rand.New(rand.NewPCG(50, seed))
		q := randomRound(r, 1+r.IntN(5))
		plan, err := yield.PlanRound(q)
		require.NoError(t, err)
		require.True(t, plan.Exact)
		require.InDelta(t, bruteForce(q), plan.Net.Mean, 1e-6, "seed %d", seed)
		for _, s := range plan.Stops {
			less := q
			less.Stops = append([]yield.Stop(nil), q.Stops...)
			less.Stops[s.Index].Minutes = 1e6 // no time for it
			without, err := yield.PlanRound(less)
			require.NoError(t, err)
			require.InDelta(t, plan.Net.Mean-without.Net.Mean, s.Marginal, 1e-6, "seed %d", seed)
			require.GreaterOrEqual(t, s.Marginal, -1e-9)
		}
	}
}

// TestRoundKeepsItsPromises checks hours, room and sums on more stops.
func TestRoundKeepsItsPromises(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 18).Draw(t, "stops")
		r := rand.New(rand.NewPCG(51, rapid.Uint64().Draw(t, "seed")))
		q := randomRound(r, n)
		plan, err := yield.PlanRound(q)
		if err != nil {
			t.Fatal(err)
		}
		if plan.Exact != (n <= yield.ExactStops) {
			t.Fatalf("exact is %v for %d stops", plan.Exact, n)
		}
		if plan.Minutes > q.Hours*60*(1+1e-9) || q.Vehicle > 0 && plan.Volume > q.Vehicle*(1+1e-9) {
			t.Fatalf("%v minutes of %v hours, %v of %v m3", plan.Minutes, q.Hours, plan.Volume, q.Vehicle)
		}
		order := make([]int, len(plan.Stops))
		for k, s := range plan.Stops {
			order[k] = s.Index
		}
		if len(order) > 0 {
			net, ok := netOf(q, order)
			if !ok || len(order) < 7 && math.Abs(net-plan.Net.Mean) > 1e-6 || net < -1e-9 {
				t.Fatalf("net %v, planned %v", net, plan.Net.Mean)
			}
		}
		for i := range q.Stops { // no single stop beats it
			if net, ok := netOf(q, []int{i}); ok && net > plan.Net.Mean+1e-6 {
				t.Fatalf("stop %d alone nets %v, the plan %v", i, net, plan.Net.Mean)
			}
		}
	})
}

// TestRoundOfManyStops stays close to exact plans where both can be had: the
// candidates of 20 stops, of which only 9 are worth a visit.
func TestRoundOfManyStops(t *testing.T) {
	t.Parallel()
	var found, best float64
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(52, seed))
		q := randomRound(r, 20)
		for i := 9; i < 20; i++ {
			q.Stops[i].Value = 1
		}
		plan, err := yield.PlanRound(q)
		require.NoError(t, err)
		require.False(t, plan.Exact)
		few := q
		few.Stops = q.Stops[:9]
		few.Miles = make([][]float64, 10)
		for i := range few.Miles {
			few.Miles[i] = q.Miles[i][:10]
		}
		exact, err := yield.PlanRound(few)
		require.NoError(t, err)
		found, best = found+plan.Net.Mean, best+exact.Net.Mean
	}
	require.Greater(t, found, 0.99*best)
}

// TestStraightMiles takes two places a degree of latitude apart: 60 nautical
// miles and a little, 69.09 statute miles on the mean sphere.
func TestStraightMiles(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 69.09, yield.StraightMiles(yield.Place{Lat: 40, Lon: -75}, yield.Place{Lat: 41, Lon: -75}), 0.01)
	require.Zero(t, yield.StraightMiles(yield.Place{Lat: 40, Lon: -75}, yield.Place{Lat: 40, Lon: -75}))
	// Half way round the earth: π times the radius.
	require.InDelta(t, math.Pi*3958.7613, yield.StraightMiles(yield.Place{}, yield.Place{Lon: 180}), 0.01)
	q := yield.Round{Hours: 8, Stops: []yield.Stop{{ID: "a", Value: 1e5, Place: yield.Place{Lat: 0.1}}}}
	plan, err := yield.PlanRound(q)
	require.NoError(t, err)
	require.InDelta(t, 2*6.909*yield.DefaultDetour, plan.Miles, 0.01)
	q.Detour = 2
	plan, err = yield.PlanRound(q)
	require.NoError(t, err)
	require.InDelta(t, 4*6.909, plan.Miles, 0.01)
}

func TestRoundRefuses(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*yield.Round){
		"no hours":          func(r *yield.Round) { r.Hours = 0 },
		"two days":          func(r *yield.Round) { r.Hours = 48 },
		"short cut":         func(r *yield.Round) { r.Detour = 0.5 },
		"speed":             func(r *yield.Round) { r.Speed = 300 },
		"vehicle":           func(r *yield.Round) { r.Vehicle = -1 },
		"mile":              func(r *yield.Round) { r.Mile = math.NaN() },
		"few rows":          func(r *yield.Round) { r.Miles = r.Miles[:2] },
		"short row":         func(r *yield.Round) { r.Miles[1] = r.Miles[1][:1] },
		"negative distance": func(r *yield.Round) { r.Miles[1][2] = -4 },
		"negative volume":   func(r *yield.Round) { r.Stops[0].Volume = -1 },
		"no number":         func(r *yield.Round) { r.Stops[0].Value = math.NaN() },
		"off the map":       func(r *yield.Round) { r.Miles, r.Stops[0].Place = nil, yield.Place{Lat: 95} },
		"too many":          func(r *yield.Round) { r.Stops = make([]yield.Stop, 201) },
	} {
		q := randomRound(rand.New(rand.NewPCG(53, 1)), 3)
		spoil(&q)
		_, err := yield.PlanRound(q)
		require.ErrorIs(t, err, yield.ErrRound, name)
		require.Greater(t, len(err.Error()), 25, "says what and what to do")
	}
}

// TestStopOfAModel plans a round from what the book says.
func TestStopOfAModel(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(54, 1))
	w := newWorld(r, worldOptions{sources: 6})
	v := w.visit(r)
	m := fit(t, v.pickups, options(w.prices, w.places()...))
	q := yield.Round{Hours: 6, Mile: m.Terms().Mile, Hour: m.Terms().Hour, Home: yield.Place{Lat: 40, Lon: -75}}
	for i, a := range m.Answers().Sources {
		s, err := m.Stop(a.SourceID)
		require.NoError(t, err)
		require.InEpsilon(t, a.Volume.Mean, s.Volume, 1e-9)
		// Driving alone is left to the round: the stop's value less its time, less the
		// miles of a drive of its own and their minutes, is the answer's net.
		require.Greater(t, s.Value-m.Terms().Hour/60*(s.Minutes+s.ShopMinutes), a.Expected.Mean)
		require.Greater(t, s.Skew, 0.0)
		s.Place = yield.Place{Lat: 40 + 0.03*float64(i), Lon: -75}
		q.Stops = append(q.Stops, s)
	}
	plan, err := yield.PlanRound(q)
	require.NoError(t, err)
	require.NotEmpty(t, plan.Stops)
	require.Greater(t, plan.Net.Most.High, plan.Net.Mean)
	require.Less(t, plan.Net.Most.Low, plan.Net.Mean)
}

// BenchmarkRound plans 12 stops exactly.
func BenchmarkRound(b *testing.B) {
	q := randomRound(rand.New(rand.NewPCG(55, 1)), 12)
	for b.Loop() {
		plan, err := yield.PlanRound(q)
		require.NoError(b, err)
		require.True(b, plan.Exact)
	}
}
