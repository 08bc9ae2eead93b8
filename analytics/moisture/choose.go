package moisture

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
)

// Candidate is a board that could be probed.
type Candidate struct {
	BoardID, LotID string
	ThicknessMM    float64 // 0 when unknown
	// Layer counts from the bottom of the stack, 1 and up; 0 when unknown.
	Layer int
	// Edge says that the board lies at the outside of its layer.
	Edge bool
}

// Pick is a board to probe and why.
type Pick struct{ BoardID, Reason string }

// Choose names n boards to probe: some from every lot, in proportion; of each
// lot first the thickest, then the middle of the stack (both dry last), then
// its bottom and top, and the rest by lot. The plans' risks hold for boards
// drawn blindly; choosing those that dry last first can only make a wet stack
// fail more often, so it errs on the safe side. seed makes the draw repeatable:
// derive it from the stack and the day. n below 1 or above the number of
// candidates is ErrSetting.
func Choose(candidates []Candidate, n int, seed uint64) ([]Pick, error) {
	if n < 1 || n > len(candidates) {
		return nil, bad("number of boards to probe", float64(n), ErrSetting, fmt.Sprintf("give 1 to %d", len(candidates)))
	}
	// Shuffling once makes every later "first of equals" a fair draw.
	shuffled := slices.Clone(candidates)
	r := rand.New(rand.NewPCG(seed, 0))
	r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	lots := make(map[string][]Candidate)
	var names []string
	for _, c := range shuffled {
		if _, seen := lots[c.LotID]; !seen {
			names = append(names, c.LotID)
		}
		lots[c.LotID] = append(lots[c.LotID], c)
	}
	// Larger lots first: where there are fewer probes than lots, the lots
	// that fill the stack are the ones that speak for it.
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(len(lots[b]), len(lots[a])) })
	height := 0
	for _, c := range candidates {
		height = max(height, c.Layer)
	}
	shares := allot(names, lots, n)
	var out []Pick
	for _, name := range names {
		out = append(out, pickFrom(lots[name], shares[name], height)...)
	}
	return out, nil
}

// allot shares n probes among the lots: one each while they last, the rest in
// proportion to their boards, largest remainders first.
func allot(names []string, lots map[string][]Candidate, n int) map[string]int {
	out := make(map[string]int, len(names))
	for _, name := range names[:min(n, len(names))] {
		out[name] = 1
		n--
	}
	for ; n > 0; n-- {
		// Some lot has boards left, because n is at most their number.
		best, most := "", -1.0
		for _, name := range names {
			boards := len(lots[name])
			if out[name] >= boards {
				continue
			}
			// The next seat goes where boards per probe are most (d'Hondt).
			if per := float64(boards) / float64(out[name]+1); per > most {
				best, most = name, per
			}
		}
		out[best]++
	}
	return out
}

// pickFrom takes n boards of one lot: one for each reason in turn, then the
// shuffled rest.
func pickFrom(boards []Candidate, n, height int) []Pick {
	var out []Pick
	left := slices.Clone(boards)
	for _, rule := range pickRules(height) {
		if len(out) == n {
			return out
		}
		// A rule finds nobody where the keeper noted no thickness or layer.
		i := rule.best(left)
		if i < 0 {
			continue
		}
		out = append(out, Pick{left[i].BoardID, rule.reason})
		left = slices.Delete(left, i, i+1)
	}
	for _, c := range left {
		if len(out) == n {
			break
		}
		out = append(out, Pick{c.BoardID, "drawn blindly from its lot"})
	}
	return out
}

// pickRule prefers the board of the highest score; scores of zero or less do
// not qualify.
type pickRule struct {
	reason string
	score  func(Candidate) float64
}

func pickRules(height int) []pickRule {
	return []pickRule{
		{"the thickest of its lot", func(c Candidate) float64 { return c.ThicknessMM }},
		{"the middle of the stack, where air moves least", func(c Candidate) float64 {
			if c.Layer == 0 || c.Edge {
				return 0
			}
			// Counting down from the middle, never below zero.
			middle := float64(height+1) / 2
			return float64(height) - max(middle-float64(c.Layer), float64(c.Layer)-middle)
		}},
		{"the bottom of the stack, nearest the ground", func(c Candidate) float64 {
			if c.Layer == 0 {
				return 0
			}
			return float64(height+1) - float64(c.Layer)
		}},
		{"the top of the stack, where rain comes in", func(c Candidate) float64 { return float64(c.Layer) }},
	}
}

// best returns the index of the highest positive score, -1 for none; the first
// of equals, which the shuffle has put in a random order.
func (r pickRule) best(boards []Candidate) int {
	best, top := -1, 0.0
	for i, c := range boards {
		if s := r.score(c); s > top {
			best, top = i, s
		}
	}
	return best
}
