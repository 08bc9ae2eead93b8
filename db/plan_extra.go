package db

import (
	"context"
	"fmt"
	"slices"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
)

// usualSize is a board that a lumber yard has, by its nominal size.
type usualSize struct {
	name            string
	thick, wide, of wood.Length // nominal, and the length
}

// usualSizes are the boards that are looked through for what a plan lacks:
// nominal softwood sizes (PS 20), dressed dry, 8 ft long. Which a yard has is
// common practice, no source.
var usualSizes = []usualSize{
	{"1×4, 8 ft", wood.Inch, 4 * wood.Inch, 8 * wood.Foot}, {"1×6, 8 ft", wood.Inch, 6 * wood.Inch, 8 * wood.Foot},
	{"1×8, 8 ft", wood.Inch, 8 * wood.Inch, 8 * wood.Foot}, {"1×12, 8 ft", wood.Inch, 12 * wood.Inch, 8 * wood.Foot},
	{"5/4×6, 8 ft", wood.Inch * 5 / 4, 6 * wood.Inch, 8 * wood.Foot}, {"5/4×12, 8 ft", wood.Inch * 5 / 4, 12 * wood.Inch, 8 * wood.Foot},
	{"2×4, 8 ft", 2 * wood.Inch, 4 * wood.Inch, 8 * wood.Foot}, {"2×6, 8 ft", 2 * wood.Inch, 6 * wood.Inch, 8 * wood.Foot},
	{"4×4, 8 ft", 4 * wood.Inch, 4 * wood.Inch, 8 * wood.Foot},
}

// extra finds the smallest set of usual boards that would make what the plan
// lacks. The boards are taken to be clear and fit for inside parts. What no
// usual board makes is named, and the boards are those for the rest; Unknown
// says that none were found for it in time.
func (d *PlanDocument) extra(ctx context.Context) (*ExtraBoards, error) {
	shop, sizes, err := d.withUsual()
	if err != nil {
		return nil, err
	}
	in, _, err := shop.Instance()
	if err != nil {
		return nil, err
	}
	mine, spare, which := in, []cut.Board(nil), []int(nil)
	mine.Boards = nil
	for _, b := range in.Boards {
		if b.ID < len(d.Shop.Boards) {
			mine.Boards = append(mine.Boards, b)
		} else {
			spare, which = append(spare, b), append(which, b.ID-len(d.Shop.Boards))
		}
	}
	out := &ExtraBoards{Boards: []ExtraBoard{}, Lacks: d.takeUnfit(&mine, spare)}
	timed, cancel := context.WithTimeout(ctx, extraTime)
	defer cancel()
	found, err := cut.Shortage(timed, mine, spare, cut.Options{})
	if err != nil {
		return nil, err
	}
	out.Proven, out.Unknown = found.Proven || len(out.Lacks) == 0 && d.needsOne(len(found.Boards)), found.Boards == nil
	counts := make([]int, len(usualSizes))
	for _, b := range found.Boards {
		counts[which[b]]++
	}
	for i, n := range counts {
		if n > 0 {
			out.Boards = append(out.Boards, ExtraBoard{usualSizes[i].name, n, sizes[i].Thickness, sizes[i].Width, usualSizes[i].of})
		}
	}
	return out, nil
}

// extraAfresh finds usual boards for what the plan lacks, all of it from them:
// boards of a plan that is half cut are not planned once more for it. So no set
// of several is proven to be the smallest.
func (d *PlanDocument) extraAfresh(ctx context.Context) error {
	lacks := d.Missing()
	if slices.Max(lacks) == 0 {
		return nil
	}
	alone := PlanDocument{Parts: d.Parts, Shop: cut.Shop{Rules: d.Shop.Rules, Parts: slices.Clone(d.Shop.Parts)}}
	for i := range alone.Shop.Parts {
		alone.Shop.Parts[i].Max = lacks[i]
	}
	if err := alone.solve(ctx); err != nil {
		return err
	}
	if d.Extra = alone.Extra; d.Extra != nil {
		n := 0
		for _, b := range d.Extra.Boards {
			n += b.Count
		}
		d.Extra.Proven = len(d.Extra.Lacks) == 0 && d.needsOne(n)
	}
	return nil
}

// needsOne reports whether one board more is proven to be the fewest, since the
// plan's own boards are proven not to make everything.
func (d *PlanDocument) needsOne(boards int) bool {
	status := d.Cut.Plan.Status
	return boards == 1 && (status == cut.Optimal || status == cut.Infeasible)
}

// takeUnfit takes out of in the copies that the plan lacks of parts that no
// spare board is large enough for, and names them.
func (d *PlanDocument) takeUnfit(in *cut.Instance, spare []cut.Board) (names []string) {
	in.Parts = slices.Clone(in.Parts)
	for i, n := range d.Missing() {
		part := &in.Parts[i]
		fits := func(b cut.Board) bool {
			return part.Length <= b.Length && part.Width <= b.Width && part.Needs&^b.Has == 0
		}
		if n > 0 && !slices.ContainsFunc(spare, fits) {
			part.Max -= n
			names = append(names, fmt.Sprintf("%d × %s", n, d.Parts[i].Name()))
		}
	}
	return names
}

// withUsual is the shop with usual boards beside its own, as many of each size
// as the plan lacks copies: each copy needs at most one, since what the plan
// makes stays as it is.
func (d *PlanDocument) withUsual() (shop cut.Shop, sizes []wood.Section, err error) {
	shop = d.Shop
	shop.Rules.Objective = cut.CheapestBoards
	shop.Boards = slices.Clone(shop.Boards)
	most := 0
	for _, n := range d.Missing() {
		most += n
	}
	for _, u := range usualSizes {
		actual, err := wood.ActualOf(wood.Section{Thickness: u.thick, Width: u.wide}, wood.Dry)
		if err != nil {
			return shop, nil, err
		}
		sizes = append(sizes, actual)
		shop.Boards = append(shop.Boards, cut.ShopBoard{Thickness: actual.Thickness, Length: u.of, Width: actual.Width, Cost: 1, Count: most, Inside: true})
	}
	return shop, sizes, nil
}
