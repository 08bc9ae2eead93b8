package cut

import (
	"cmp"
	"slices"

	"skepwood/analytics/wood"
)

// Serves reports whether a part, with its allowances, can come from a board as
// far as thickness, verdict, and width and length once trimmed say. Defects are
// not looked at, so that a board that serves may still give nothing; one that
// does not serve never gives the part.
func (r Rules) Serves(b ShopBoard, p ShopPart) bool {
	start, end := r.Trims(b)
	thick := b.Thickness == 0 || p.Thickness == 0 || b.Thickness >= p.Thickness+r.PlaneAllowance
	return thick && (b.Inside || !p.Inside) && b.Width >= p.Width+r.JointAllowance && b.Length-start-end >= p.Length+r.LengthAllowance
}

// Pick chooses at most limit boards to plan with, so that no thickness asked
// for is crowded out by another. Boards are picked by turns: each thickness of
// the parts has its turn, its part sizes have that turn one after the other, and
// a turn takes, of the boards that serve the part and are not picked yet, the
// one that wastes least thickness, and of those the first by code. So each of k
// thicknesses has at least limit/k of the boards that serve it, or all there
// are. Both lists are indexes of s.Boards, ascending: picked, and those that
// serve no part at all. Which boards are picked does not depend on the order of
// boards and parts while codes are unique. A board of thickness 0 is not
// compared and goes first.
func (s Shop) Pick(limit int) (picked, useless []int) {
	order := s.byThickness()
	var turns [][]int
	for _, sizes := range s.sizes() {
		var queues [][]int
		for _, part := range sizes {
			queues = append(queues, s.serving(order, part))
		}
		turns = append(turns, byTurns(queues))
	}
	all := byTurns(turns)
	serves := make([]bool, len(s.Boards))
	for _, b := range all {
		serves[b] = true
	}
	for b := range s.Boards {
		if !serves[b] {
			useless = append(useless, b)
		}
	}
	picked = slices.Clone(all[:min(max(0, limit), len(all))])
	slices.Sort(picked)
	return picked, useless
}

// byThickness lists the boards, thinnest first, then by code.
func (s Shop) byThickness() []int {
	order := make([]int, len(s.Boards))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &s.Boards[i], &s.Boards[j]
		return cmp.Or(cmp.Compare(a.Thickness, b.Thickness), cmp.Compare(a.Code, b.Code))
	})
	return order
}

// sizes lists the parts of each thickness, those that are alike to a board
// once: thickest first, then widest, longest, and inside before outside.
func (s Shop) sizes() [][]ShopPart {
	type size struct {
		thickness, width, length wood.Length
		inside                   bool
	}
	seen := map[size]bool{}
	by := map[wood.Length][]ShopPart{}
	var thick []wood.Length
	for _, p := range s.Parts {
		is := size{p.Thickness, p.Width, p.Length, p.Inside}
		if seen[is] {
			continue
		}
		seen[is] = true
		if by[p.Thickness] == nil {
			thick = append(thick, p.Thickness)
		}
		by[p.Thickness] = append(by[p.Thickness], p)
	}
	slices.Sort(thick)
	slices.Reverse(thick)
	var out [][]ShopPart
	for _, t := range thick {
		slices.SortFunc(by[t], func(a, b ShopPart) int {
			return cmp.Or(cmp.Compare(b.Width, a.Width), cmp.Compare(b.Length, a.Length), compareInside(a, b))
		})
		out = append(out, by[t])
	}
	return out
}

// compareInside puts an inside part before one for outside.
func compareInside(a, b ShopPart) int {
	switch {
	case a.Inside == b.Inside:
		return 0
	case a.Inside:
		return -1
	}
	return 1
}

// serving lists, in that order, the boards that serve a part.
func (s Shop) serving(order []int, p ShopPart) []int {
	var out []int
	for _, b := range order {
		if s.Rules.Serves(s.Boards[b], p) {
			out = append(out, b)
		}
	}
	return out
}

// byTurns makes one queue of several: each in turn gives its first that none
// has given yet, until all are empty.
func byTurns(queues [][]int) []int {
	var out []int
	given := map[int]bool{}
	for len(queues) > 0 {
		var left [][]int
		for _, q := range queues {
			for len(q) > 0 && given[q[0]] {
				q = q[1:]
			}
			if len(q) == 0 {
				continue
			}
			given[q[0]] = true
			out, left = append(out, q[0]), append(left, q[1:])
		}
		queues = left
	}
	return out
}
