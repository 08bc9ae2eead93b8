package cut

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// box is a placed part as the checker sees it: a rectangle and its part.
type box struct {
	x, y, dx, dy int
	part         int
}

// Check reports whether plan can be cut from in as its pattern says: parts on
// their boards, off defects by their faces, in guillotine stages with their
// kerfs, in no greater numbers than the instance allows; and whether Value,
// Bound, Gap, Missing and Status are what the placements make them. It shares
// no code with the solver. Errors match ErrPlan.
func Check(in Instance, plan Plan) error {
	if err := checkPlaces(in, plan.Placements); err != nil {
		return err
	}
	byCopy := map[[2]int][]box{}
	for _, p := range plan.Placements {
		part := in.Parts[p.Part]
		key := [2]int{p.Board, p.Copy}
		byCopy[key] = append(byCopy[key], box{p.X, p.Y, part.Length, part.Width, p.Part})
	}
	for key, boxes := range byCopy {
		if err := checkBoard(in, key[0], boxes); err != nil {
			return err
		}
	}
	if err := checkCounts(in, plan); err != nil {
		return err
	}
	return checkClaims(in, plan, byCopy)
}

// checkPlaces reports indices that name nothing.
func checkPlaces(in Instance, placements []Placement) error {
	for _, p := range placements {
		switch {
		case p.Board < 0 || p.Board >= len(in.Boards):
			return &PlanError{-1, -1, fmt.Sprintf("placement on board %d of %d", p.Board, len(in.Boards))}
		case p.Part < 0 || p.Part >= len(in.Parts):
			return &PlanError{p.Board, -1, fmt.Sprintf("placement of part %d of %d", p.Part, len(in.Parts))}
		case p.Copy < 0 || p.Copy >= max(1, in.Boards[p.Board].Count):
			return &PlanError{p.Board, p.Part, fmt.Sprintf("copy %d of a board that is there %d times",
				p.Copy, max(1, in.Boards[p.Board].Count))}
		}
	}
	return nil
}

// checkBoard checks the geometry of one copy of a board.
func checkBoard(in Instance, board int, boxes []box) error {
	b := in.Boards[board]
	area := 0
	for _, bx := range boxes {
		if bx.x < 0 || bx.y < 0 || bx.x+bx.dx > b.Length || bx.y+bx.dy > b.Width {
			return &PlanError{board, bx.part, fmt.Sprintf("reaches off the board at %d,%d", bx.x, bx.y)}
		}
		if in.Parts[bx.part].Needs&^b.Has != 0 {
			return &PlanError{board, bx.part, "the board has not all that the part needs"}
		}
		if d, hit := onDefect(b, in.Parts[bx.part], bx); hit {
			return &PlanError{board, bx.part, fmt.Sprintf("at %d,%d lies on defect %d", bx.x, bx.y, d)}
		}
		area += bx.dx * bx.dy
	}
	if area > b.Length*b.Width {
		return &PlanError{board, -1, fmt.Sprintf("parts cover %d of %d square ticks", area, b.Length*b.Width)}
	}
	if !cuttable(in.Pattern, in.Kerf, boxes) {
		return &PlanError{board, -1, fmt.Sprintf("parts cannot be freed by %s cuts with their kerf", in.Pattern)}
	}
	return nil
}

// onDefect finds a defect that the part may not lie on. With one clear face
// asked for, top defects spoil only the top: the part is refused when both
// faces are spoilt.
func onDefect(b Board, part Part, bx box) (int, bool) {
	top, bottom := -1, -1
	for i, d := range b.Defects {
		if bx.x >= d.X+d.DX || d.X >= bx.x+bx.dx || bx.y >= d.Y+d.DY || d.Y >= bx.y+bx.dy {
			continue
		}
		switch d.Face {
		case Top:
			top = i
		case Bottom:
			bottom = i
		default:
			return i, true
		}
	}
	switch {
	case part.Faces >= 2 && top >= 0:
		return top, true
	case part.Faces >= 2 && bottom >= 0, part.Faces == 1 && top >= 0 && bottom >= 0:
		return bottom, true
	}
	return -1, false
}

// cuttable reports whether boxes come free in the stages of the pattern.
func cuttable(p Pattern, k Kerf, boxes []box) bool {
	gapX, gapY := k.Crosscut, k.Rip
	switch p {
	case Crosscut2, Crosscut3, Crosscut2Trim:
		turned := make([]box, len(boxes))
		for i, b := range boxes {
			turned[i] = box{b.y, b.x, b.dy, b.dx, b.part}
		}
		boxes, gapX, gapY = turned, k.Rip, k.Crosscut
	}
	switch p {
	case Rip2, Crosscut2:
		return everyLayer(boxes, gapY, func(strip []box) bool {
			return sameWidth(strip) && everyColumn(strip, gapX, func(c []box) bool { return len(c) == 1 })
		})
	case Rip2Trim, Crosscut2Trim:
		return everyLayer(boxes, gapY, func(strip []box) bool {
			return onOneEdge(strip) && everyColumn(strip, gapX, func(c []box) bool { return len(c) == 1 })
		})
	case Rip3, Crosscut3:
		return everyLayer(boxes, gapY, func(strip []box) bool {
			return everyColumn(strip, gapX, func(segment []box) bool {
				return sameLength(segment) && everyLayer(segment, gapY, func(c []box) bool { return len(c) == 1 })
			})
		})
	case Guillotine:
		return freeStages(boxes, gapX, gapY)
	}
	return false
}

// everyLayer parts boxes by rips wherever a kerf fits between what lies below
// and above, which is the finest parting, and reports whether ok holds for
// every layer. The finest is the easiest: what a cut inside a layer can free,
// it can free in a part of the layer.
func everyLayer(boxes []box, gap int, ok func([]box) bool) bool {
	slices.SortFunc(boxes, func(a, b box) int { return cmp.Or(a.y-b.y, a.x-b.x) })
	for from := 0; from < len(boxes); {
		end, to := boxes[from].y+boxes[from].dy, from+1
		for to < len(boxes) && boxes[to].y < end+gap {
			end = max(end, boxes[to].y+boxes[to].dy)
			to++
		}
		if !ok(slices.Clone(boxes[from:to])) {
			return false
		}
		from = to
	}
	return true
}

// everyColumn is everyLayer for crosscuts.
func everyColumn(boxes []box, gap int, ok func([]box) bool) bool {
	slices.SortFunc(boxes, func(a, b box) int { return cmp.Or(a.x-b.x, a.y-b.y) })
	for from := 0; from < len(boxes); {
		end, to := boxes[from].x+boxes[from].dx, from+1
		for to < len(boxes) && boxes[to].x < end+gap {
			end = max(end, boxes[to].x+boxes[to].dx)
			to++
		}
		if !ok(slices.Clone(boxes[from:to])) {
			return false
		}
		from = to
	}
	return true
}

// sameWidth reports whether all boxes fill one strip exactly.
func sameWidth(boxes []box) bool {
	return !slices.ContainsFunc(boxes, func(b box) bool { return b.y != boxes[0].y || b.dy != boxes[0].dy })
}

// sameLength reports whether all boxes fill one segment exactly.
func sameLength(boxes []box) bool {
	return !slices.ContainsFunc(boxes, func(b box) bool { return b.x != boxes[0].x || b.dx != boxes[0].dx })
}

// onOneEdge reports whether every box lies against the low edge of the strip.
func onOneEdge(boxes []box) bool {
	return !slices.ContainsFunc(boxes, func(b box) bool { return b.y != boxes[0].y })
}

// freeStages reports whether boxes come free by cuts in any number of stages.
func freeStages(boxes []box, gapX, gapY int) bool {
	if len(boxes) <= 1 {
		return true
	}
	whole := len(boxes)
	split := false
	inner := func(next func([]box) bool) func([]box) bool {
		return func(piece []box) bool {
			if len(piece) == whole {
				return true
			}
			split = true
			return next(piece)
		}
	}
	recurse := func(piece []box) bool { return freeStages(piece, gapX, gapY) }
	if !everyLayer(boxes, gapY, inner(recurse)) {
		return false
	}
	if split {
		return true
	}
	return everyColumn(boxes, gapX, inner(recurse)) && split
}

// checkCounts reports parts made too often, and Missing where it is wrong.
func checkCounts(in Instance, plan Plan) error {
	made := make([]int, len(in.Parts))
	for _, p := range plan.Placements {
		made[p.Part]++
	}
	for i, part := range in.Parts {
		want := part.Min
		if in.Objective == MinBoardCost {
			want = part.Max
		} else if made[i] > part.Max {
			return &PlanError{-1, i, fmt.Sprintf("made %d times, at most %d are wanted", made[i], part.Max)}
		}
		lacks := 0
		if plan.Missing != nil {
			lacks = plan.Missing[i]
		}
		if lacks != max(0, want-made[i]) {
			return &PlanError{-1, i, fmt.Sprintf("made %d of %d wanted but said to lack %d", made[i], want, lacks)}
		}
	}
	return nil
}

// checkClaims recomputes Value and compares Bound, Gap and Status with it.
func checkClaims(in Instance, plan Plan, byCopy map[[2]int][]box) error {
	value := 0
	if in.Objective == MinBoardCost {
		for key := range byCopy {
			value += in.Boards[key[0]].Cost
		}
	} else {
		for _, p := range plan.Placements {
			value += in.Parts[p.Part].Value
		}
	}
	short := plan.Missing != nil
	gap := math.Abs(float64(plan.Value-plan.Bound)) / math.Max(1, math.Abs(float64(plan.Value)))
	fault := ""
	switch {
	case value != plan.Value:
		fault = fmt.Sprintf("value %d claimed, %d found", plan.Value, value)
	case short != (plan.Status == Short || plan.Status == Infeasible):
		fault = fmt.Sprintf("status %s with missing parts %v", plan.Status, plan.Missing)
	case !short && in.Objective == MinBoardCost && plan.Bound > value,
		!short && in.Objective != MinBoardCost && plan.Bound < value:
		fault = fmt.Sprintf("bound %d on the wrong side of value %d", plan.Bound, value)
	case plan.Status == Optimal && plan.Bound != plan.Value:
		fault = fmt.Sprintf("called optimal with value %d and bound %d", plan.Value, plan.Bound)
	case math.Abs(gap-plan.Gap) > 1e-9:
		fault = fmt.Sprintf("gap %g claimed, %g found", plan.Gap, gap)
	}
	if fault != "" {
		return &PlanError{-1, -1, fault}
	}
	return nil
}
