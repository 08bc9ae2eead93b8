package cut

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkBoard prices single boards exactly: 400 x 46 ticks, 40 part sizes,
// 5 defects, at prices that change from round to round, on one processor.
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
			b.ResetTimer()
			for i := range b.N {
				if i%len(p.kinds) == 0 {
					for j, it := range p.items {
						gain[j] = it.worth * (0.6 + float64((i/len(p.kinds)*13+j*29)%40)/100)
					}
					e.prepare(gain)
				}
				w.best(i % len(p.kinds))
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "boards/s")
		})
	}
}

// against solves in within limit and reports the plan's value as a ratio to
// the greedy baseline's, found in the same process.
func against(b *testing.B, in Instance, limit time.Duration) Plan {
	b.Helper()
	base, err := Greedy(in)
	require.NoError(b, err)
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	plan, err := Solve(ctx, in, Options{})
	require.NoError(b, err)
	b.ReportMetric(float64(plan.Value)/max(1, float64(base.Value)), "ratio-to-greedy")
	b.ReportMetric(100*plan.Gap, "%gap")
	return plan
}

// BenchmarkReference solves the reference cases, whole files at a time, and
// reports the slowest case.
func BenchmarkReference(b *testing.B) {
	for _, name := range []string{"solved", "defect_plates", "gcut", "twostage_public", "one_dimensional"} {
		b.Run(name, func(b *testing.B) {
			cases, best := cutting(b, name+".json")
			worst := time.Duration(0)
			for range b.N {
				for i, c := range cases {
					start := time.Now()
					plan := solved(b, c.Instance, 20*time.Second)
					worst = max(worst, time.Since(start))
					require.Equal(b, best[i], plan.Value)
				}
			}
			b.ReportMetric(worst.Seconds(), "s-slowest")
		})
	}
}

// BenchmarkBatch plans large batches in 5 seconds each, or in 60 with
// SKEPWOOD_FULL=1.
func BenchmarkBatch(b *testing.B) {
	limit := 5 * time.Second
	if os.Getenv("SKEPWOOD_FULL") == "1" {
		limit = time.Minute
	}
	cases, _ := cutting(b, "large.json")
	batch := []Instance{cases[0].Instance}
	for i, r := range []recipe{
		{Rip2, MaxValue, 200, 24, 400, 46, 8, 1.0}, {Rip2, MaxValue, 400, 40, 400, 46, 8, 1.2},
		{Crosscut2, MaxValue, 200, 24, 400, 46, 8, 1.0}, {Crosscut2, MaxValue, 400, 40, 400, 46, 8, 1.2},
		{Rip3, MaxValue, 40, 20, 400, 46, 8, 1.3}, {Crosscut3, MaxValue, 40, 20, 400, 46, 8, 1.3},
		{Rip2, MinBoardCost, 250, 30, 400, 46, 8, 0.5},
	} {
		batch = append(batch, generate(r, uint64(i)))
	}
	for _, in := range batch {
		b.Run(fmt.Sprintf("%s/%s", in.ID, limit), func(b *testing.B) {
			for range b.N {
				against(b, in, limit)
			}
		})
	}
}

// BenchmarkReplan loses one board of the reference batch: time as a share of
// the first plan's, and what the new plan's gap is.
func BenchmarkReplan(b *testing.B) {
	cases, _ := cutting(b, "large.json")
	in := cases[0].Instance
	start := time.Now()
	first := solved(b, in, 5*time.Second)
	whole := time.Since(start)
	b.ResetTimer()
	for i := range b.N {
		_, plan, _, err := Replan(context.Background(), in, first, Change{Lost: [][2]int{{i % len(in.Boards), 0}}}, Options{})
		require.NoError(b, err)
		b.ReportMetric(100*plan.Gap, "%gap")
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/whole.Seconds(), "ratio-to-first-plan-time")
}
