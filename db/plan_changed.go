package db

import (
	"fmt"
	"slices"
	"strings"

	"skepwood/analytics/cut"
)

// words says what changed against the old plan.
func (r *replanning) words(d cut.Diff, next *PlanDocument) string {
	var out []string
	for _, l := range r.layouts {
		if l.State == LayoutOtherwise || l.State == LayoutBroken || l.State == LayoutRejected {
			line := l.Code + " " + l.StateWords()
			if l.Said != "" {
				line += ": " + l.Said
			}
			out = append(out, line)
		}
	}
	out = append(out, r.gone()...)
	out = append(out, r.joined(next)...)
	out = append(out, r.turns(d, next)...)
	var more, fewer []string
	for i, p := range r.doc.Parts {
		if n := d.More[i]; n > 0 {
			more = append(more, fmt.Sprintf("%d × %s", n, p.Name()))
		}
		if n := d.Fewer[i]; n > 0 {
			fewer = append(fewer, fmt.Sprintf("%d × %s", n, p.Name()))
		}
	}
	if len(more) > 0 {
		out = append(out, "more: "+strings.Join(more, ", "))
	}
	if len(fewer) > 0 {
		out = append(out, "fewer: "+strings.Join(fewer, ", "))
	}
	text := strings.Join(slices.Clip(out), "\n")
	if runes := []rune(text); len(runes) > 10000 {
		text = string(runes[:9999]) + "…"
	}
	return text
}

// gone names the boards that were still to be cut and are on the rack no more.
func (r *replanning) gone() []string {
	var codes []string
	for i := range r.layouts {
		if l := &r.layouts[i]; l.Open() && l.BoardState != "rack" {
			codes = append(codes, l.Code)
		}
	}
	if codes == nil {
		return nil
	}
	return []string{"no longer on the rack: " + someOf(codes)}
}

// turns says which boards stay as they were planned, and which come, go or are
// cut in another way.
func (r *replanning) turns(d cut.Diff, next *PlanDocument) []string {
	before, after := map[int]bool{}, map[int]bool{}
	for _, pl := range r.doc.Cut.Plan.Placements {
		before[r.doc.Cut.FromBoard[pl.Board]] = true
	}
	for _, b := range next.Cut.Boards {
		after[b.Board] = true
	}
	var other, come, leave []string
	for _, at := range d.Changed {
		i := next.Cut.FromBoard[at[0]]
		code := r.shop.Boards[i].Code
		switch {
		case before[i] && after[i]:
			other = append(other, code)
		case after[i]:
			come = append(come, code)
		default:
			leave = append(leave, code)
		}
	}
	out := []string{plural(len(d.Kept), "board stays", "boards stay") + " as before"}
	for _, one := range []struct {
		words string
		codes []string
	}{{"planned otherwise: ", other}, {"now cut too: ", come}, {"not cut any more: ", leave}} {
		if len(one.codes) > 0 {
			out = append(out, one.words+someOf(one.codes))
		}
	}
	return out
}

// someOf lists codes, at most [excludedCodes] of them.
func someOf(codes []string) string {
	if n := len(codes) - excludedCodes; n > 0 {
		return strings.Join(codes[:excludedCodes], ", ") + fmt.Sprintf(" and %d more", n)
	}
	return strings.Join(codes, ", ")
}

// joined says which boards came to the plan, and which could not stay.
func (r *replanning) joined(next *PlanDocument) []string {
	var out, lost []string
	for _, e := range r.stock.Excluded {
		words := plural(e.Count, "board", "boards")
		if e.Count == len(e.Codes) {
			words = strings.Join(e.Codes, ", ")
		}
		lost = append(lost, fmt.Sprintf("%s (%s)", words, e.Why))
	}
	if len(lost) > 0 {
		out = append(out, "may not be used any more: "+strings.Join(lost, ", "))
	}
	own := len(r.doc.Shop.Boards)
	if r.renewed > 0 {
		var codes []string
		for _, b := range r.boards[own : own+r.renewed] {
			codes = append(codes, b.Code)
		}
		out = append(out, "taken as they are now, since they were corrected after the plan was made: "+strings.Join(codes, ", "))
	}
	if r.more == nil {
		return out
	}
	var used []string
	for _, b := range next.Cut.Boards {
		if b.Board >= own+r.renewed {
			used = append(used, r.boards[b.Board].Code)
		}
	}
	line := plural(r.further, "further board was offered", "further boards were offered")
	switch {
	case r.further == 0:
		line = "no further board may be used"
	case len(used) == 0:
		line += ", none is used"
	default:
		line += ", used: " + strings.Join(used, ", ")
	}
	return append(out, line)
}
