package cut

import (
	"cmp"
	"slices"

	"skepwood/analytics/wood"
)

// Need is the least thickness, width and length of a board that a part can
// come from, allowances counted in and ends not trimmed. Inside says that the
// board's verdict must allow inside parts.
type Need struct {
	Thickness, Width, Length wood.Length
	Inside                   bool
}

// serves reports whether a board is large and good enough.
func (n *Need) serves(b Need) bool {
	return b.Thickness >= n.Thickness && b.Width >= n.Width && b.Length >= n.Length && (b.Inside || !n.Inside)
}

// Look goes once through a rack that is too large to plan with and chooses, by
// turns, the boards to look at more closely. A board's turn is its place among
// those that serve a thickness asked for, at the thickness where it comes
// first; the early turns are chosen. So each of k thicknesses has at least
// limit/k of the boards that serve it, or all there are. Its memory is bounded
// by limit times the number of thicknesses, however many boards there are.
type Look struct {
	limit  int
	needs  []lookNeeds // thinnest first
	taken  []turn
	boards int
	serve  int
}

// lookNeeds are the needs of one thickness and how many boards served them.
type lookNeeds struct {
	thickness wood.Length
	needs     []Need
	turns     int
}

// turn is a board, by its place in the rack, and the turn it has.
type turn struct{ board, turn int }

// NewLook prepares to choose at most limit boards for the needs.
func NewLook(needs []Need, limit int) *Look {
	l := &Look{limit: limit}
	for _, n := range needs {
		at, known := slices.BinarySearchFunc(l.needs, n, func(a lookNeeds, b Need) int { return cmp.Compare(a.thickness, b.Thickness) })
		if !known {
			l.needs = slices.Insert(l.needs, at, lookNeeds{thickness: n.Thickness})
		}
		l.needs[at].needs = append(l.needs[at].needs, n)
	}
	return l
}

// Thinnest returns the least thickness that any part needs, 0 without parts.
func (l *Look) Thinnest() wood.Length {
	if len(l.needs) == 0 {
		return 0
	}
	return l.needs[0].thickness
}

// Take takes the next board, which is what has: boards must come thinnest
// first, and those of one thickness in the order in which they are to have
// their turns. It reports whether the board serves any part.
func (l *Look) Take(has Need) bool {
	first, serves := l.limit, false
	for i := range l.needs {
		n := &l.needs[i]
		if n.thickness > has.Thickness {
			break
		}
		if serves && n.turns >= l.limit {
			continue // no turn is left, and that it serves is known
		}
		if slices.ContainsFunc(n.needs, func(need Need) bool { return need.serves(has) }) {
			serves = true
			first = min(first, n.turns)
			n.turns++
		}
	}
	if first < l.limit {
		l.taken = append(l.taken, turn{l.boards, first})
	}
	if serves {
		l.serve++
	}
	l.boards++
	return serves
}

// Serving returns how many boards served a part.
func (l *Look) Serving() int { return l.serve }

// Kept reports whether the board taken last may be among those chosen.
func (l *Look) Kept() bool { return len(l.taken) > 0 && l.taken[len(l.taken)-1].board == l.boards-1 }

// Chosen returns the boards chosen as places in the order of Take, ascending.
func (l *Look) Chosen() []int {
	list := slices.Clone(l.taken)
	slices.SortStableFunc(list, func(a, b turn) int { return cmp.Compare(a.turn, b.turn) })
	out := make([]int, 0, min(l.limit, len(list)))
	for _, t := range list[:min(l.limit, len(list))] {
		out = append(out, t.board)
	}
	slices.Sort(out)
	return out
}
