package screen

import (
	"cmp"
	"fmt"
	"slices"
)

// Judged is a lot or board with the verdict it had or would have.
type Judged struct {
	ID      string  `json:"id"`
	Verdict Verdict `json:"verdict"`
}

// Move is the lots that go from one verdict to another.
type Move struct {
	From Verdict `json:"from"`
	To   Verdict `json:"to"`
	// IDs are the lots that move, sorted.
	IDs []string `json:"ids"`
}

// Diff says which lots move between verdicts when a policy or a rule version
// changes: the most severe new verdict first, then by old verdict. Lots that
// stay, and lots found in one list only, are left out. Of entries with the same
// id the last one counts.
func Diff(before, after []Judged) []Move {
	was := make(map[string]Verdict, len(before))
	for _, b := range before {
		was[b.ID] = b.Verdict
	}
	will := make(map[string]Verdict, len(after))
	for _, a := range after {
		will[a.ID] = a.Verdict
	}
	moved := map[[2]Verdict][]string{}
	for id, to := range will {
		if from, ok := was[id]; ok && from != to {
			moved[[2]Verdict{from, to}] = append(moved[[2]Verdict{from, to}], id)
		}
	}
	moves := make([]Move, 0, len(moved))
	for pair, ids := range moved {
		slices.Sort(ids)
		moves = append(moves, Move{From: pair[0], To: pair[1], IDs: ids})
	}
	slices.SortFunc(moves, func(a, b Move) int {
		return cmp.Or(
			cmp.Compare(b.To.Severity(), a.To.Severity()), cmp.Compare(b.From.Severity(), a.From.Severity()),
			cmp.Compare(a.To, b.To), cmp.Compare(a.From, b.From))
	})
	return moves
}

// Sentence says the move in words: "14 lots would move from outside to never".
func (m Move) Sentence() string {
	if len(m.IDs) == 1 {
		return fmt.Sprintf("1 lot would move from %s to %s", m.From, m.To)
	}
	return fmt.Sprintf("%d lots would move from %s to %s", len(m.IDs), m.From, m.To)
}
