package yield

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// testDrives are trips to sources of two kinds; the last source was never seen.
func testDrives(n []int, hits []int) *drives {
	d := &drives{start: []int{0}, kinds: 2, today: 2}
	for i := range n {
		d.kind = append(d.kind, i%2)
		for j := range n[i] {
			d.hit, d.w = append(d.hit, j < hits[i]), append(d.w, 1)
			d.t = append(d.t, float64(j)/10)
		}
		d.start = append(d.start, len(d.hit))
	}
	return d
}

// TestTally checks the sums of logs against log-gamma functions, with a source of
// more trips than the table holds.
func TestTally(t *testing.T) {
	t.Parallel()
	var tl tally
	all := []seen{{n: 5, k: 3}, {n: 1, k: 0}, {n: 0}, {n: 64, k: 64}, {n: 300, k: 120}}
	for _, s := range all {
		tl.add(s)
	}
	for _, c := range []struct{ m, kappa float64 }{{0.3, 2}, {0.9, 40}} {
		want := 0.0
		for _, s := range all {
			want += rise(c.m*c.kappa, s.k) + rise((1-c.m)*c.kappa, s.n-s.k) - rise(c.kappa, s.n)
		}
		require.InDelta(t, want, tl.log(c.m, c.kappa, tl.ofTrips(c.kappa)), 1e-9)
	}
}

// TestChancesQuadrature compares the nodes with a quadrature on 300 × 300.
func TestChancesQuadrature(t *testing.T) {
	t.Parallel()
	n, hits := []int{4, 2, 6, 1, 0}, []int{4, 1, 3, 0, 0}
	c := fitChances(testDrives(n, hits), bringsPrior, false)
	const many = 300
	for i := range n {
		var logs, p, p2 []float64
		for a := range many {
			m := (float64(a) + 0.5) / many
			for b := range many {
				kappa := math.Exp(math.Log(leastLikeness) + (float64(b)+0.5)/many*math.Log(mostLikeness/leastLikeness))
				log := (bringsPrior.mean*bringsPrior.trips-1)*math.Log(m) + ((1-bringsPrior.mean)*bringsPrior.trips-1)*math.Log(1-m)
				for j := range n {
					k := float64(hits[j])
					log += rise(m*kappa, k) + rise((1-m)*kappa, float64(n[j])-k) - rise(kappa, float64(n[j]))
				}
				x := m*kappa + float64(hits[i])
				total := kappa + float64(n[i])
				logs, p, p2 = append(logs, log), append(p, x/total), append(p2, x/total*(x+1)/(total+1))
			}
		}
		normalise(logs)
		var mean, square float64
		for k, w := range logs {
			mean += w * p[k]
			square += w * p2[k]
		}
		var got chance
		got.add(&c.book, 1, fadedTrips{float64(n[i]), float64(hits[i])})
		require.InDelta(t, mean, got.p, 0.004, "source %d", i)
		require.InEpsilon(t, math.Sqrt(square-mean*mean), math.Sqrt(got.variance()), 0.03, "source %d", i)
	}
}

// TestKindsOfChances lets kinds differ only where the book shows that they do.
func TestKindsOfChances(t *testing.T) {
	t.Parallel()
	alike := fitChances(testDrives([]int{6, 6, 6, 6, 6, 6}, []int{4, 5, 5, 4, 4, 5}), bringsPrior, true)
	unlike := fitChances(testDrives([]int{6, 6, 6, 6, 6, 6}, []int{6, 1, 6, 0, 5, 1}), bringsPrior, true)
	require.Less(t, alike.split, 0.5)
	require.Greater(t, unlike.split, 0.95)
	require.Greater(t, unlike.at(0).p, 0.8)
	require.Less(t, unlike.at(1).p, 0.35)
}

// TestFadingChances finds sources that change and leaves alone those that do not.
func TestFadingChances(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(8, 2))
	build := func(changes bool) *chances {
		d := &drives{start: []int{0}, kinds: 1}
		for range 12 {
			d.kind = append(d.kind, 0)
			p := 0.2 + 0.6*r.Float64()
			for j := range 40 {
				if changes && j%10 == 0 {
					p = 0.05 + 0.9*float64(r.IntN(2))
				}
				d.hit, d.w, d.t = append(d.hit, r.Float64() < p), append(d.w, 1), append(d.t, float64(j)*0.1)
			}
			d.start = append(d.start, len(d.hit))
		}
		d.today = 4
		return fitChances(d, bringsPrior, false)
	}
	require.Less(t, build(true).steady, 0.01)
	require.Greater(t, build(false).steady, 0.6)
}

// TestPartsOfTrips counts a miss that is half sure as the square root of its chance,
// alike in the tally and when trips are foretold one by one.
func TestPartsOfTrips(t *testing.T) {
	t.Parallel()
	d := testDrives([]int{4}, []int{3})
	d.w[3] = 0.5
	const m, kappa = 0.8, 6.0
	var whole tally
	whole.add(seen{n: 3.5, k: 3})
	want := 0.0
	for j := range 3 {
		want += math.Log((m*kappa + float64(j)) / (kappa + float64(j)))
	}
	want += 0.5 * math.Log((1-m)*kappa/(kappa+3))
	require.InDelta(t, want, whole.log(m, kappa, whole.ofTrips(kappa)), 1e-12)
	kept := &keeping{trip: []float64{1, 1, 1, 1}, today: []float64{1}}
	require.InDelta(t, want, d.foretell(0, fadedTrips{n: kappa, k: m * kappa}, kept.trip), 1e-12)
	require.Equal(t, fadedTrips{n: 3.5, k: 3}, d.fade(0, kept))
}
