package cut

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/wood"
)

// nailedRack is a rack of boards full of metal, sizes in thirty-seconds of an
// inch, and small parts: what is slowest to arrange.
func nailedRack(seed uint64, boards, parts int, pattern Pattern) Shop {
	rng := rand.New(rand.NewPCG(seed, 1))
	in := wood.Inch
	between := func(lo, hi int) wood.Length { return wood.Length(lo+rng.IntN(hi-lo+1)) * in / 32 }
	s := Shop{Rules: Rules{
		Pattern: pattern, Objective: MostValue, RipKerf: in / 8, CrosscutKerf: in / 8, Clearance: in / 4, PlaneAllowance: in / 16,
		LengthAllowance: in / 8, JointAllowance: in / 16, OffcutLength: 12 * in, OffcutWidth: 3 * in / 2, OffcutRate: 250 / float64(wood.BoardFoot),
	}}
	for i := range boards {
		b := ShopBoard{Code: fmt.Sprint("B", i), Thickness: 7 * in / 8, Length: between(28*32, 60*32), Width: between(3*32, 8*32), Inside: true, OwnEnds: true, DirtyStart: in / 2, DirtyEnd: in / 2}
		for _, x := range []wood.Length{in, b.Length / 2, b.Length - in} {
			for range 15 {
				b.Defects = append(b.Defects, ShopDefect{X: x - in/4 + between(0, 16), Y: between(0, int(b.Width*32/in)-8), DX: in / 8, DY: in / 8, Face: Both, Metal: true})
			}
		}
		b.DirtyStart, b.DirtyEnd = s.Rules.ClearTrims(b)
		s.Boards = append(s.Boards, b)
	}
	for i := range parts {
		p := ShopPart{Code: fmt.Sprint("p", i), Thickness: 3 * in / 4, Length: between(3*32, 8*32), Width: between(12, 48), Max: 5 + rng.IntN(60)}
		p.Value = max(1, int(1000*wood.VolumeOf(p.Thickness, p.Width, p.Length).BoardFeet()))
		s.Parts = append(s.Parts, p)
	}
	return s
}

// BenchmarkSlide moves the cuts of 60 boards with 45 nails each off metal; the
// ratio is to planning those boards greedily.
func BenchmarkSlide(b *testing.B) {
	for _, pattern := range []Pattern{Rip2, Crosscut3, Guillotine} {
		b.Run(string(pattern), func(b *testing.B) {
			in, g, err := nailedRack(45, 60, 30, pattern).instance()
			require.NoError(b, err)
			began := time.Now()
			plan, err := Greedy(in)
			require.NoError(b, err)
			greedy := time.Since(began)
			b.ResetTimer()
			for range b.N {
				moved := plan
				moved.Placements = slices.Clone(plan.Placements)
				g.clearMetal(in, &moved, nil)
			}
			took := b.Elapsed() / time.Duration(b.N)
			b.ReportMetric(took.Seconds()/greedy.Seconds(), "ratio-to-greedy-plan")
			b.ReportMetric(took.Seconds()*1000, "ms")
		})
	}
}

// BenchmarkLeaveAndArrange gives wood to leave and boards to arrange a second
// each, on 300 boards with 45 nails each, and reports both together as a ratio
// to the time they were given.
func BenchmarkLeaveAndArrange(b *testing.B) {
	for _, pattern := range []Pattern{Rip2, Crosscut3, Rip3, Guillotine} {
		b.Run(string(pattern), func(b *testing.B) {
			s := nailedRack(1, 300, 20, pattern)
			p, err := PlanShop(b.Context(), s, Options{GapGoal: 1e-3})
			require.NoError(b, err)
			within := func(f func(context.Context, Shop, ShopPlan, Options) (ShopPlan, error), p ShopPlan) ShopPlan {
				ctx, cancel := context.WithTimeout(b.Context(), time.Second)
				defer cancel()
				out, err := f(ctx, s, p, Options{GapGoal: 1e-3})
				require.NoError(b, err)
				return out
			}
			b.ResetTimer()
			for range b.N {
				within(ArrangeShop, within(LeaveStock, p))
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/2, "ratio-to-time-given")
		})
	}
}

// TestLaneKnowsWhatKerfsCost compares what a lane works out ahead with what
// each kerf meets, and its chains with trying every place before.
func TestLaneKnowsWhatKerfsCost(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := func(name string, lo, hi int) int { return rapid.IntRange(lo, hi).Draw(t, name) }
		areas := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) area {
			return area{n("x", -3, 25), n("y", -3, 25), n("dx", 1, 6), n("dy", 1, 6)}
		}), 0, 6)
		m := &slider{in: Instance{Kerf: Kerf{n("rip", 0, 4), n("crosscut", 0, 4)}}, hazards: hazards{areas.Draw(t, "metal"), areas.Draw(t, "near")}}
		p := area{n("left", 0, 5), n("low", 0, 5), n("along", 1, 20), n("across", 1, 20)}
		kind := rapid.SampledFrom([]CutKind{RipCut, CrossCut}).Draw(t, "kind")
		l, _ := m.newLane(p, nil, kind)
		for at := l.low; at <= l.edge; at++ {
			require.Equal(t, m.cost(p.part(kind, at, at+l.kerf)), l.dust(at, l.kerf), "at %d", at)
		}

		long := n("long", 1, 4)
		var before []stand
		for at := l.low; at+long <= l.edge; at += n("step", 1, 3) {
			before = append(before, stand{at: at, cost: n("cost", 0, 3) * costNear, moved: n("moved", 0, 3)})
		}
		c := l.chainFrom(before, long)
		for at := l.low; at <= l.edge; at++ {
			want := stand{at: at, before: -1}
			for i, b := range before {
				over := b.at + long
				if at < over+l.kerf {
					continue
				}
				s := stand{at: at, cost: b.cost + l.dust(over, l.kerf) + l.below(over+l.kerf, at), moved: b.moved, before: i}
				if want.before < 0 || s.better(want) {
					want = s
				}
			}
			got, ok := c.to(at)
			require.Equal(t, want.before >= 0, ok)
			if ok {
				require.Equal(t, want, got)
			}
		}
	})
}

// TestFullBoardsAreNotArranged leaves boards alone whose waste makes no offcut.
func TestFullBoardsAreNotArranged(t *testing.T) {
	t.Parallel()
	g := &gridder{s: Shop{Rules: Rules{OffcutLength: 10 * wood.Centimetre, OffcutWidth: 3 * wood.Centimetre}}, grid: Grid{X: wood.Centimetre, Y: wood.Centimetre}}
	b := Board{Length: 50, Width: 10}
	require.True(t, g.mayLeave(b, []box{{0, 0, 47, 10, 0}}), "30 square ticks are left")
	require.False(t, g.mayLeave(b, []box{{0, 0, 47, 10, 0}, {48, 0, 1, 1, 0}}), "29 are left")
	g.s.Rules.OffcutLength = 0
	require.False(t, g.mayLeave(b, nil), "no offcut is kept")
}
