package cut

import (
	"context"
	"math"
	"slices"

	"skepwood/analytics/wood"
)

// LeaveStock looks for a plan that makes no less than p, a fresh MostValue plan
// for s, and leaves more of the wood, and returns the one of greater
// [Shop.Worth]. Parts come first: no wood is worth a part that was asked for.
// With a rate, what p could not make in full is planned anew with offcuts and
// whole boards counted beside the parts; then what p makes is planned from the
// least wood. The bound stays p's, which is about the parts. p
// comes back where nothing better is found before ctx is done. Errors match
// ErrInstance or ErrPlan.
func LeaveStock(ctx context.Context, s Shop, p ShopPlan, opts Options) (ShopPlan, error) {
	g, err := s.gridderOf(p)
	if err != nil {
		return p, err
	}
	if p.Instance.Objective != MaxValue {
		return p, nil
	}
	g.setThick()
	asks := make([]Instance, 0, 2)
	least, all := g.leastWood(p)
	if counted, ok := g.counted(p); ok && !all {
		asks = append(asks, counted)
	}
	asks = append(asks, least)
	best := p
	for len(asks) > 0 && ctx.Err() == nil {
		found, err := Solve(ctx, asks[0], opts)
		if err != nil {
			return p, err
		}
		other, err := g.finish(p.Instance, partsOnly(p, found), nil)
		if err != nil {
			return p, err
		}
		was, is := s.Worth(best), s.Worth(other)
		if other.Plan.Value >= best.Plan.Value && (is > was+1e-9 || is > was-1e-9 && other.Stock < best.Stock-1e-12) {
			best = other
		}
		asks = asks[1:]
	}
	return best, nil
}

// leastWood is the instance that makes what the plan makes from the least wood,
// and whether that is all that is wanted.
func (g *gridder) leastWood(p ShopPlan) (in Instance, all bool) {
	in = p.Instance
	in.Objective, in.Boards, in.Parts = MinBoardCost, slices.Clone(in.Boards), slices.Clone(in.Parts)
	all = true
	for i, n := range p.Plan.Made(p.Instance) {
		all = all && (n >= in.Parts[i].Max || in.Parts[i].Value == 0)
		in.Parts[i].Max = n
	}
	most := 0.0
	for _, b := range g.s.Boards {
		most = max(most, volume(b.Thickness, b.Length, b.Width))
	}
	for i := range in.Boards {
		b := g.s.Boards[g.from[i]]
		in.Boards[i].Cost = max(1, int(math.Round(10_000*volume(b.Thickness, b.Length, b.Width)/most)))
	}
	return in, all
}

// partsFirst is how much more than itself a part counts beside wood to keep.
const partsFirst = 20

// counted is the instance in which wood to keep counts beside the parts: an
// offcut by the part it is thick enough for, so that it is worth no more than
// what it will be.
func (g *gridder) counted(p ShopPlan) (Instance, bool) {
	r := g.s.Rules
	in := p.Instance
	if r.OffcutRate <= 0 || r.OffcutLength == 0 || r.OffcutWidth == 0 {
		return in, false
	}
	in.Parts = slices.Clone(in.Parts)
	for i := range in.Parts {
		in.Parts[i].Value = min(in.Parts[i].Value*partsFirst, maxMoney)
	}
	thick := g.thick
	if len(thick) == 0 {
		g.addOffcuts(&in, batchSteps, func(l, w int) int { return g.offcutValue(0, l, w) })
		return in, true
	}
	for t, least := range thick {
		from := len(in.Parts)
		whole := in.Parts
		in.Parts = slices.Clone(whole[:g.wants])
		g.addOffcuts(&in, batchSteps, func(l, w int) int {
			return g.offcutValue(least+r.PlaneAllowance, l, w)
		})
		more := in.Parts[g.wants:]
		in.Parts = whole
		for i, part := range more {
			part.ID, part.Needs = from+i, 2<<t
			in.Parts = append(in.Parts, part)
		}
	}
	return in, true
}

// offcutValue is what a clear offcut of so many ticks is worth.
func (g *gridder) offcutValue(thick wood.Length, l, w int) int {
	return int(math.Round(g.s.Rules.OffcutRate * volume(thick, g.grid.Along(l), g.grid.Across(w))))
}

// partsOnly is what a plan for another objective comes to for the instance of
// p: its parts, no more of each than wanted.
func partsOnly(p ShopPlan, found Plan) Plan {
	in := p.Instance
	out := Plan{Status: Bounded, Bound: p.Plan.Bound, Prices: p.Plan.Prices}
	made := make([]int, len(in.Parts))
	for _, pl := range found.Placements {
		if pl.Part < len(in.Parts) && made[pl.Part] < in.Parts[pl.Part].Max {
			made[pl.Part]++
			out.Placements = append(out.Placements, pl)
			out.Value += in.Parts[pl.Part].Value
		}
	}
	for i, part := range in.Parts {
		if lacks := part.Min - made[i]; lacks > 0 {
			if out.Missing == nil {
				out.Missing = make([]int, len(in.Parts))
			}
			out.Missing[i], out.Status = lacks, Short
		}
	}
	if out.Missing == nil && out.Value == out.Bound {
		out.Status = Optimal
	}
	out.Gap = gapOf(out.Value, out.Bound)
	dropIdle(in, &out)
	return out
}
