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

// mostExtra bounds the boards of one size that are looked at.
const mostExtra = 60

// extra finds the smallest set of usual boards that would make what the plan
// lacks. The boards are taken to be clear and fit for inside parts. What no
// usual board makes is named, and the boards are those for the rest.
func (d *PlanDocument) extra(ctx context.Context) (*ExtraBoards, error) {
	out, lacks, err := d.extraFor(ctx, nil)
	if err != nil || lacks == nil {
		return out, err
	}
	named := out.Lacks
	rest, _, err := d.extraFor(ctx, lacks)
	if err != nil {
		return nil, err
	}
	rest.Lacks = named
	return rest, nil
}

// extraFor does that without some copies of each part; it returns the copies
// that no boards make, nil for none.
func (d *PlanDocument) extraFor(ctx context.Context, without []int) (*ExtraBoards, []int, error) {
	shop, own := d.Shop, len(d.Shop.Boards)
	shop.Rules.Objective = cut.CheapestBoards
	shop.Boards, shop.Parts = slices.Clone(shop.Boards), slices.Clone(shop.Parts)
	for i, n := range without {
		shop.Parts[i].Max = max(0, shop.Parts[i].Max-n)
	}
	var sizes []wood.Section
	for _, u := range usualSizes {
		actual, err := wood.ActualOf(wood.Section{Thickness: u.thick, Width: u.wide}, wood.Dry)
		if err != nil {
			return nil, nil, err
		}
		sizes = append(sizes, actual)
		shop.Boards = append(shop.Boards, cut.ShopBoard{Thickness: actual.Thickness, Length: u.of, Width: actual.Width, Cost: 1, Count: mostExtra, Inside: true})
	}
	in, _, err := shop.Instance()
	if err != nil {
		return nil, nil, err
	}
	mine, spare, which := in, []cut.Board(nil), []int(nil)
	mine.Boards = nil
	for _, b := range in.Boards {
		if b.ID < own {
			mine.Boards = append(mine.Boards, b)
		} else {
			spare, which = append(spare, b), append(which, b.ID-own)
		}
	}
	timed, cancel := context.WithTimeout(ctx, extraTime)
	defer cancel()
	found, err := cut.Shortage(timed, mine, spare, cut.Options{})
	if err != nil {
		return nil, nil, err
	}
	out := &ExtraBoards{Proven: found.Proven, Boards: []ExtraBoard{}}
	if found.Boards == nil {
		for i, n := range found.Plan.Missing {
			if n > 0 && i < len(d.Parts) {
				out.Lacks = append(out.Lacks, fmt.Sprintf("%d × %s", n, d.Parts[i].Name()))
			}
		}
		return out, found.Plan.Missing[:len(d.Parts)], nil
	}
	counts := make([]int, len(usualSizes))
	for _, b := range found.Boards {
		counts[which[b]]++
	}
	for i, n := range counts {
		if n > 0 {
			out.Boards = append(out.Boards, ExtraBoard{usualSizes[i].name, n, sizes[i].Thickness, sizes[i].Width, usualSizes[i].of})
		}
	}
	return out, nil, nil
}
