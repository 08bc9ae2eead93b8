package cut

import (
	"context"
	"fmt"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The benchmarks below measure what is promised of the planner, one for each
// promise. Run them with -benchtime 1x -count 3 and take the median; each
// prints its worst case beside the mean and a ratio to the greedy baseline or
// another one that is named.

// full reports whether long measurements are wanted.
func full() bool { return os.Getenv("SKEPWOOD_FULL") == "1" }

// BenchmarkBoard prices single boards exactly: 400 x 46 ticks, 40 part sizes,
// 5 defects, at prices that change from round to round, on one processor. The
// ratio is of what the patterns gain to what greedy ones gain.
func BenchmarkBoard(b *testing.B) {
	for _, pattern := range []Pattern{Rip2, Crosscut2, Rip3} {
		b.Run(string(pattern), func(b *testing.B) {
			in := generate(recipe{pattern, MaxValue, 200, 40, 400, 46, 5, 1}, 1)
			for i := range in.Boards {
				in.Boards[i].Length, in.Boards[i].Width = 400, 46
				if len(in.Boards[i].Defects) > 5 {
					in.Boards[i].Defects = in.Boards[i].Defects[:5]
				}
			}
			p := newProblem(in, 1)
			e := newEngine(p)
			w := e.worker()
			gain := make([]float64, len(p.items))
			best := 0.0
			b.ResetTimer()
			for i := range b.N {
				if i%len(p.kinds) == 0 {
					for j, it := range p.items {
						gain[j] = it.worth * (0.6 + float64((i/len(p.kinds)*13+j*29)%40)/100)
					}
					e.prepare(gain)
				}
				got, _ := w.best(i % len(p.kinds))
				best += got
			}
			b.StopTimer()
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "boards/s")
			greedy := 0.0
			order := make([]int, len(p.items))
			for j := range order {
				order[j] = j
			}
			for i := range b.N {
				left := make([]int32, len(p.items))
				for j, it := range p.items {
					left[j] = int32(min(it.want, 1000))
				}
				for _, bt := range p.fill(i%len(p.kinds), order, left).bits {
					greedy += gain[bt.item]
				}
			}
			b.ReportMetric(best/max(1, greedy), "ratio-to-greedy")
		})
	}
}

// measured is what one plan took and reached.
type measured struct {
	plan    Plan
	seconds float64
	ratio   float64 // of its value to the greedy plan's
}

// measure plans within limit, and greedily in the same process.
func measure(b *testing.B, in Instance, limit time.Duration) measured {
	b.Helper()
	base, err := Greedy(in)
	require.NoError(b, err)
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	start := time.Now()
	plan, err := Solve(ctx, in, Options{})
	took := time.Since(start)
	require.NoError(b, err)
	require.NoError(b, Check(in, plan))
	return measured{plan, took.Seconds(), float64(plan.Value) / max(1, float64(base.Value))}
}

// summary gathers mean and worst.
type summary struct {
	n, ratio, seconds, slowest, gap, widest float64
	unproven                                float64
}

// add takes in one measurement.
func (s *summary) add(m measured) {
	s.n++
	s.ratio += m.ratio
	s.seconds += m.seconds
	s.slowest = max(s.slowest, m.seconds)
	s.gap += 100 * m.plan.Gap
	s.widest = max(s.widest, 100*m.plan.Gap)
	if m.plan.Status != Optimal {
		s.unproven++
	}
}

// report prints it.
func (s *summary) report(b *testing.B) {
	b.Helper()
	b.ReportMetric(s.ratio/s.n, "ratio-to-greedy")
	b.ReportMetric(s.seconds/s.n, "s-mean")
	b.ReportMetric(s.slowest, "s-slowest")
	b.ReportMetric(s.gap/s.n, "%gap-mean")
	b.ReportMetric(s.widest, "%gap-worst")
	b.ReportMetric(s.unproven, "unproven")
}

// BenchmarkReference solves the reference cases, one file after the other.
// Every case must reach the known best value.
func BenchmarkReference(b *testing.B) {
	for _, name := range []string{"solved", "defect_plates", "gcut", "twostage_public", "one_dimensional"} {
		b.Run(name, func(b *testing.B) {
			cases, best := cutting(b, name+".json")
			var sum summary
			for range b.N {
				for i, c := range cases {
					m := measure(b, c.Instance, 20*time.Second)
					require.Equal(b, best[i], m.plan.Value)
					sum.add(m)
				}
			}
			sum.report(b)
			b.ReportMetric(sum.seconds/float64(b.N), "s-all")
		})
	}
}

// batches plans each instance within limit and reports each, then all.
func batches(b *testing.B, limit time.Duration, list []Instance) {
	b.Helper()
	var all summary
	for _, in := range list {
		b.Run(fmt.Sprintf("%s/%s", in.ID, limit), func(b *testing.B) {
			var sum summary
			for range b.N {
				m := measure(b, in, limit)
				sum.add(m)
				all.add(m)
			}
			sum.report(b)
		})
	}
	b.Logf("%d plans of %s: gap %.4f %% mean, %.4f %% worst", int(all.n), limit, all.gap/max(1, all.n), all.widest)
}

// generated makes up one instance for each recipe and seed.
func generated(seeds uint64, recipes ...recipe) []Instance {
	var list []Instance
	for i, r := range recipes {
		for seed := range seeds {
			list = append(list, generate(r, uint64(i)+100*seed))
		}
	}
	return list
}

// batchTime is 5 seconds or, for long measurements, a minute.
func batchTime() time.Duration {
	if full() {
		return time.Minute
	}
	return 5 * time.Second
}

// BenchmarkBatch plans the reference batch of 120 boards and generated ones of
// 200 to 400 boards for most value, in 5 seconds each, or in 60 with
// SKEPWOOD_FULL=1.
func BenchmarkBatch(b *testing.B) {
	cases, _ := cutting(b, "large.json")
	batches(b, batchTime(), append([]Instance{cases[0].Instance}, generated(2,
		recipe{Rip2, MaxValue, 200, 24, 400, 46, 8, 1.0}, recipe{Rip2, MaxValue, 400, 40, 400, 46, 8, 1.2},
		recipe{Crosscut2, MaxValue, 200, 24, 400, 46, 8, 1.0}, recipe{Crosscut2, MaxValue, 400, 40, 400, 46, 8, 1.2})...))
}

// BenchmarkCheapest plans batches for boards of least cost, in the time of
// BenchmarkBatch.
func BenchmarkCheapest(b *testing.B) {
	batches(b, batchTime(), generated(2, recipe{Rip2, MinBoardCost, 250, 30, 400, 46, 8, 0.5},
		recipe{Crosscut2, MinBoardCost, 200, 24, 400, 46, 8, 0.5}))
}

// BenchmarkThreeStage plans batches of 40 boards cut in three stages, for
// value and for cost, in 30 seconds each.
func BenchmarkThreeStage(b *testing.B) {
	batches(b, 30*time.Second, generated(1,
		recipe{Rip3, MaxValue, 40, 20, 400, 46, 8, 1.3}, recipe{Crosscut3, MaxValue, 40, 20, 400, 46, 8, 1.3},
		recipe{Rip3, MaxValue, 40, 20, 400, 46, 8, 0.8}, recipe{Crosscut3, MaxValue, 40, 20, 400, 46, 8, 0.8},
		recipe{Rip3, MinBoardCost, 40, 20, 400, 46, 8, 0.5}, recipe{Crosscut3, MinBoardCost, 40, 20, 400, 46, 8, 0.5}))
}

// BenchmarkReplan loses one board of the reference batch at a time: the
// longest and mean time as a share of the first plan's 5 seconds, and how much
// less the new plan is worth than one made afresh in 5 seconds, in percent.
func BenchmarkReplan(b *testing.B) {
	cases, _ := cutting(b, "large.json")
	in := cases[0].Instance
	start := time.Now()
	first := solved(b, in, 5*time.Second)
	whole := time.Since(start).Seconds()
	b.ResetTimer()
	n, sum, longest, lost := 0.0, 0.0, 0.0, 0.0
	for range b.N {
		for board := 5; board < len(in.Boards); board += len(in.Boards) / 5 {
			start := time.Now()
			_, plan, _, err := Replan(context.Background(), in, first, Change{Lost: [][2]int{{board, 0}}}, Options{})
			took := time.Since(start).Seconds() / whole
			require.NoError(b, err)
			n, sum, longest = n+1, sum+took, max(longest, took)
			rest := in
			rest.Boards = append(append([]Board(nil), in.Boards[:board]...), in.Boards[board+1:]...)
			afresh := solved(b, rest, 5*time.Second)
			lost = max(lost, 100*float64(afresh.Value-plan.Value)/float64(afresh.Value))
		}
	}
	b.ReportMetric(sum/n, "ratio-to-first-plan-time")
	b.ReportMetric(longest, "ratio-to-first-plan-time-worst")
	b.ReportMetric(lost, "%lost-worst")
}

// BenchmarkCancel takes the context away at some points of large plans and
// reports how long Solve still takes.
func BenchmarkCancel(b *testing.B) {
	for _, r := range []recipe{
		{Rip2, MaxValue, 400, 40, 400, 46, 8, 1.2}, {Crosscut2, MinBoardCost, 500, 60, 400, 46, 6, 0.5},
		{Rip3, MaxValue, 60, 30, 400, 46, 8, 0.8}, {Guillotine, MaxValue, 3, 30, 400, 200, 8, 0.8},
		{Rip2, MaxValue, 10_000, 500, 400, 46, 6, 0.9},
	} {
		in := generate(r, 1)
		b.Run(in.ID, func(b *testing.B) {
			worst, sum, n := 0.0, 0.0, 0.0
			for range b.N {
				for _, limit := range []time.Duration{time.Millisecond, 30 * time.Millisecond, 300 * time.Millisecond, 2 * time.Second} {
					ctx, cancel := context.WithTimeout(context.Background(), limit)
					_, err := Solve(ctx, in, Options{})
					end, _ := ctx.Deadline()
					late := float64(time.Since(end).Microseconds()) / 1000
					cancel()
					require.NoError(b, err)
					worst, sum, n = max(worst, late), sum+max(0, late), n+1
				}
			}
			b.ReportMetric(worst, "ms-late-worst")
			b.ReportMetric(sum/n, "ms-late-mean")
		})
	}
}

// BenchmarkMany plans 10,000 boards and 500 part sizes in 20 seconds and
// reports the memory that the process took from the system, in all and beyond
// what it had before.
func BenchmarkMany(b *testing.B) {
	in := generate(recipe{Rip2, MaxValue, 10_000, 500, 400, 46, 6, 0.9}, 1)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for range b.N {
		m := measure(b, in, 20*time.Second)
		runtime.ReadMemStats(&after)
		b.ReportMetric(100*m.plan.Gap, "%gap")
		b.ReportMetric(m.ratio, "ratio-to-greedy")
		b.ReportMetric(float64(after.Sys)/1e6, "MB-of-system")
		b.ReportMetric(float64(after.Sys-before.Sys)/1e6, "MB-beyond-instance")
	}
}

// BenchmarkManySizes plans few boards and many part sizes in 20 seconds: wood
// is plenty, so that hardly any pattern is worse than another. It reports the
// greatest heap in use on the way, also as a ratio to what a table would take
// that counts every item for each partial pattern of two kinds at once.
func BenchmarkManySizes(b *testing.B) {
	for _, r := range []recipe{{Rip2, MaxValue, 50, 200, 400, 46, 6, 0.9}, {Rip2, MaxValue, 25, 100, 400, 46, 6, 0.9}} {
		in := generate(r, 1)
		b.Run(in.ID, func(b *testing.B) {
			for range b.N {
				done := make(chan struct{})
				peak := make(chan uint64)
				go func() { peak <- peakHeap(done) }()
				m := measure(b, in, 20*time.Second)
				close(done)
				most := float64(<-peak)
				b.ReportMetric(100*m.plan.Gap, "%gap")
				b.ReportMetric(m.ratio, "ratio-to-greedy")
				b.ReportMetric(most/1e6, "MB-heap")
				b.ReportMetric(most/float64(2*effort/r.boards*r.parts*2), "ratio-to-count-tables")
			}
		})
	}
}

// peakHeap watches the heap in use until done and returns the most it was, in
// bytes.
func peakHeap(done chan struct{}) (most uint64) {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-done:
			return most
		case <-tick.C:
			var now runtime.MemStats
			runtime.ReadMemStats(&now)
			most = max(most, now.HeapInuse)
		}
	}
}
