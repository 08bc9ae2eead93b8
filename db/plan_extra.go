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
// lacks. The boards are taken to be clear and fit for inside parts.
func (d *PlanDocument) extra(ctx context.Context) (*ExtraBoards, error) {
	shop, own := d.Shop, len(d.Shop.Boards)
	shop.Rules.Objective = cut.CheapestBoards
	shop.Boards = slices.Clone(shop.Boards)
	var sizes []wood.Section
	for _, u := range usualSizes {
		actual, err := wood.ActualOf(wood.Section{Thickness: u.thick, Width: u.wide}, wood.Dry)
		if err != nil {
			return nil, err
		}
		sizes = append(sizes, actual)
		shop.Boards = append(shop.Boards, cut.ShopBoard{Thickness: actual.Thickness, Length: u.of, Width: actual.Width, Cost: 1, Count: mostExtra, Inside: true})
	}
	in, _, err := shop.Instance()
	if err != nil {
		return nil, err
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
		return nil, err
	}
	out := &ExtraBoards{Proven: found.Proven, Boards: []ExtraBoard{}}
	if found.Boards == nil {
		for i, n := range found.Plan.Missing {
			if n > 0 && i < len(d.Parts) {
				out.Lacks = append(out.Lacks, fmt.Sprintf("%d × %s", n, d.Parts[i].Name()))
			}
		}
		return out, nil
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
	return out, nil
}
