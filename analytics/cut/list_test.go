package cut

import (
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// listed prepares an instance for listing at prices that leave each item about
// three quarters of its worth, more or less in turns.
func listed(in Instance) (*problem, engine, []float64) {
	p := newProblem(in, 1)
	p.stop = never
	e := newEngine(p)
	gain := make([]float64, len(p.items))
	for i, it := range p.items {
		gain[i] = it.worth * float64(60+i*13%31) / 100
	}
	e.prepare(gain)
	return p, e, gain
}

// stack is what some strips make and gain.
type stack struct {
	made []uint16
	gain float64
}

// stacks enumerates, without any bound or sharing, what can be made by stacking
// strips from height v on, each cut in one of its ways.
func stacks(b *boardLister, v int32, made []uint16, found map[string]stack) {
	gain := 0.0
	for it, n := range made {
		gain += b.gain[it] * float64(n)
	}
	found[fmt.Sprint(made)] = stack{made, gain}
	for i := range b.strips {
		s := &b.strips[i]
		if s.v < v {
			continue
		}
		for w := range s.ways {
			next := slices.Clone(made)
			for j, it := range s.ways[w].items {
				next[it] = min(next[it]+s.ways[w].n[j], b.caps[it])
			}
			stacks(b, s.to, next, found)
		}
	}
}

func TestListHoldsWhatEveryStackMakes(t *testing.T) {
	t.Parallel()
	for _, family := range []Pattern{Rip2, Crosscut2, Rip2Trim} {
		for seed := range uint64(4) {
			in := generate(recipe{family, MaxValue, 2, 6, 60, 20, 3, 0.8}, seed)
			p, e, gain := listed(in)
			w := e.worker()
			for k := range p.kinds {
				_, _ = w.best(k)
				l := e.lister(k, gain, 0)
				slack := 0.25 * l.best()
				list := l.list(slack, &quota{left: math.MaxInt, stop: never})
				found := map[string]stack{}
				stacks(l, 0, make([]uint16, len(p.items)), found)
				for i := range list {
					made := madeBy(&list[i], len(p.items))
					require.Contains(t, found, fmt.Sprint(made), in.ID)
					require.InDelta(t, l.best()-found[fmt.Sprint(made)].gain, list[i].loss, 1e-6, in.ID)
					for _, bt := range list[i].bits {
						made[bt.item]--
					}
					require.Equal(t, make([]uint16, len(p.items)), made, "%s: the pieces laid out are those counted", in.ID)
				}
				for _, f := range found {
					require.True(t, f.gain < l.best()-slack || slices.ContainsFunc(list, func(pt pattern) bool {
						return atLeast(madeBy(&pt, len(p.items)), f.made)
					}), "%s: %v gains %g and is not listed", in.ID, f.made, f.gain)
				}
			}
		}
	}
}

// atLeast reports whether a is nowhere less than b.
func atLeast(a, b []uint16) bool {
	for i, n := range b {
		if a[i] < n {
			return false
		}
	}
	return true
}

// madeBy counts what a pattern makes of each of n items.
func madeBy(pt *pattern, n int) []uint16 {
	made := make([]uint16, n)
	for i, it := range pt.items {
		made[it] = uint16(pt.n[i])
	}
	return made
}

func TestShortlistLeavesOutWhatIsCovered(t *testing.T) {
	t.Parallel()
	var s shortlist
	require.True(t, s.add([]int32{1, 65, 70}, []uint16{2, 1, 3}))
	require.False(t, s.add([]int32{1, 65, 70}, []uint16{2, 1, 3}), "the same")
	require.False(t, s.add([]int32{1, 70}, []uint16{1, 3}), "less of two")
	require.False(t, s.add(nil, nil), "nothing")
	require.True(t, s.add([]int32{1}, []uint16{3}), "more of one")
	require.True(t, s.add([]int32{6}, []uint16{1}), "another one that shares a bit with 70")
	require.True(t, s.add([]int32{1, 2, 65, 70}, []uint16{2, 1, 1, 3}), "one more")
	for i := range int32(fewEnough) {
		s.add([]int32{100 + i}, []uint16{1})
	}
	require.True(t, s.add([]int32{1}, []uint16{1}), "nothing is compared with more than enough")
}

func TestListKeepsTheBestOfTooMany(t *testing.T) {
	t.Parallel()
	in := generate(recipe{Rip2, MaxValue, 1, 30, 300, 46, 4, 20}, 3)
	p, e, gain := listed(in)
	whole := e.lister(0, gain, 0)
	slack := 0.15 * whole.best()
	all := whole.list(slack, &quota{left: math.MaxInt, stop: never})
	require.Greater(t, len(all), 100)
	require.True(t, math.IsInf(whole.beyond, 1))
	few := e.lister(0, gain, 0)
	few.most = 60
	list := few.list(slack, &quota{left: math.MaxInt, stop: p.stop})
	require.Equal(t, all[:60], list)
	require.InDelta(t, all[60].loss, few.beyond, 1e-9)
	none := e.lister(0, gain, 0)
	require.Empty(t, none.list(-1, &quota{left: math.MaxInt, stop: never}))
	require.True(t, math.IsInf(none.beyond, 1), "nothing within the slack is left out")
}

// manySizes is a rack of few boards and many part sizes, where wood is plenty
// for all, so that no copy is dear and hardly any pattern loses anything.
func manySizes() Instance { return generate(recipe{Rip2, MaxValue, 50, 200, 400, 46, 6, 0.9}, 1) }

// pooled fills a solver's pools at the prices that column generation finds.
func pooled(tb testing.TB, in Instance, loss float64) *solver {
	tb.Helper()
	first, _ := penalties(in)
	s := newSolver(in, Options{Workers: 2}, first, never)
	s.inc.greedy(never)
	s.e = newEngine(s.p)
	s.bounds()
	s.fillPools(loss * s.bound)
	return s
}

func TestTrimmedPoolsSayWhatTheyLack(t *testing.T) {
	t.Parallel()
	in := generate(recipe{Rip2, MaxValue, 12, 40, 300, 46, 5, 3}, 5)
	all := pooled(t, in, 0.002)
	s := pooled(t, in, 0.002)
	require.NotContains(t, all.pools.rich, true, "this test wants pools that hold everything")
	require.Equal(t, all.pools.at, s.pools.at)
	total := all.pools.size / 3
	require.Greater(t, total, fewOfKind*len(s.p.kinds))
	s.trimPools(total)
	require.LessOrEqual(t, s.pools.size, total)
	size, trimmed := 0, 0
	for k, list := range s.pools.at {
		size += len(list)
		if s.pools.rich[k] {
			trimmed++
			require.True(t, slices.IsSortedFunc(list, func(a, b pattern) int { return cmp.Compare(a.loss, b.loss) }))
		} else {
			require.Equal(t, all.pools.at[k], list)
		}
		under := s.under(k, s.d.best.raw[k]+s.p.kinds[k].cost)
		for _, pt := range all.pools.at[k] {
			if pt.loss+under <= s.pools.loss[k] {
				require.True(t, slices.ContainsFunc(list, func(o pattern) bool { return o.same(&pt) }),
					"kind %d: a pattern that loses %g is said to be there", k, pt.loss)
			}
		}
	}
	require.Equal(t, size, s.pools.size)
	require.Positive(t, trimmed)
}

func TestLevelOf(t *testing.T) {
	t.Parallel()
	lists := func(sizes ...int) (all [][]pattern) {
		for _, n := range sizes {
			all = append(all, make([]pattern, n))
		}
		return all
	}
	for _, c := range []struct {
		sizes       []int
		total, want int
	}{
		{[]int{5, 1, 9}, 15, math.MaxInt}, {[]int{5, 1, 9}, 14, 8}, {[]int{5, 1, 9}, 11, 5},
		{[]int{5, 1, 9}, 10, 4}, {[]int{5, 1, 9}, 2, 0}, {nil, 3, math.MaxInt},
	} {
		require.Equal(t, c.want, levelOf(lists(c.sizes...), c.total), "%v to %d", c.sizes, c.total)
	}
}

// listAll lists all kinds as one worker would and returns how many labels it
// made, how many patterns it found and how many bytes it asked for.
func listAll(in Instance) (labels, patterns int, bytes uint64) {
	p, e, gain := listed(in)
	w := e.worker()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for k := range p.kinds {
		best, _ := w.best(k)
		l := e.lister(k, gain, 0.9*best)
		l.most = mostOfKind
		patterns += len(l.list(0.1*best, &quota{left: effort / len(p.kinds), stop: never}))
		labels += int(l.labels.n)
	}
	runtime.ReadMemStats(&after)
	return labels, patterns, after.TotalAlloc - before.TotalAlloc
}

// TestListingNeedsNoTable holds what a listing asks for below what a table of
// counts would take that has a row for each label and a column for each item.
func TestListingNeedsNoTable(t *testing.T) { // not parallel: it counts what the process allocates
	in := manySizes()
	labels, _, bytes := listAll(in)
	require.Greater(t, labels, 100_000)
	require.Less(t, float64(bytes), 0.8*float64(labels*len(in.Parts)*2))
}

// BenchmarkListing lists the patterns of 50 boards with 200 part sizes. The
// ratio is of the bytes asked for to those of a table of counts for each label.
func BenchmarkListing(b *testing.B) {
	in := manySizes()
	var labels, patterns int
	var bytes uint64
	for range b.N {
		labels, patterns, bytes = listAll(in)
	}
	b.ReportMetric(float64(labels*b.N)/b.Elapsed().Seconds(), "labels/s")
	b.ReportMetric(float64(patterns), "patterns")
	b.ReportMetric(float64(bytes)/float64(labels*len(in.Parts)*2), "ratio-to-count-table")
}
