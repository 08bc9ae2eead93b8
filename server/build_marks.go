package server

import (
	"fmt"
	"slices"
	"strings"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// fallsOn is what a defect does to a cut: its words before and after where it
// lies, such as "the blade meets a knot, " and "", and those places.
type fallsOn struct {
	before, one, many string
	count             int
	at                []string
}

// marks says where defects fall that a cut meets, or that lie in what it frees,
// alike ones together. Places count from the left end and near edge of the piece
// that lies on the saw. metal says that the cut itself meets metal.
func (c *cutter) marks(s cut.Step, freed, kerf, rest db.LayoutRect) (words []string, metal bool) {
	var all []fallsOn
	whole := c.rect(s.Board, s.X, s.Y, s.DX, s.DY)
	for _, d := range c.boards[s.Board].Defects {
		m := c.markOf(d, s, freed, kerf, rest)
		if m.before == "" {
			continue
		}
		hit := d.Meets(kerf)
		metal = metal || hit && d.Metal
		at := slices.IndexFunc(all, func(o fallsOn) bool { return o.before == m.before && o.one == m.one })
		if at < 0 {
			at = len(all)
			all = append(all, m)
		}
		if d.Kind != "wane" { // a taper is a staircase of them, and one wedge on the wood
			all[at].count++
		}
		if place := sawText(c.env, placeOn(s.Kind, d.LayoutRect, whole)); hit && !slices.Contains(all[at].at, place) {
			all[at].at = append(all[at].at, place)
		}
	}
	for _, m := range all {
		words = append(words, m.words(s.Kind))
	}
	return words, metal
}

// placeOn is where a defect begins along a cut, from the end or edge of the
// piece that is cut.
func placeOn(kind cut.CutKind, d, piece db.LayoutRect) wood.Length {
	if kind == cut.RipCut {
		return max(0, d.X-piece.X)
	}
	return max(0, d.Y-piece.Y)
}

// words joins the places of a mark, or counts defects that have none.
func (m fallsOn) words(kind cut.CutKind) string {
	side := "its left end"
	if kind == cut.CrossCut {
		side = "its near edge"
	}
	switch {
	case len(m.at) == 1 && strings.HasPrefix(m.at[0], "0 "):
		return m.before + ", at " + side + m.one
	case len(m.at) > 0:
		return m.before + ", " + listed(m.at) + " from " + side + m.one
	case m.count > 1:
		return fmt.Sprintf("%d × %s %s", m.count, m.before, m.many)
	default:
		return m.before + " " + m.one
	}
}

// listed joins words as a person does: "a, b and c".
func listed(words []string) string {
	n := len(words) - 1
	if n < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n], ", ") + " and " + words[n]
}

// markOf says what a defect does to a cut; before is empty where it does
// nothing.
func (c *cutter) markOf(d db.LayoutDefect, s cut.Step, freed, kerf, rest db.LayoutRect) fallsOn {
	what := d.Words()
	if d.Face != "both" {
		what += " on the " + d.Face + " face"
	}
	offcut := func(r db.LayoutRect) bool { return d.Meets(r) && slices.Contains(c.boards[s.Board].Offcuts, r) }
	switch {
	case d.Meets(kerf) && d.Metal:
		return fallsOn{before: "METAL in the cut", one: ": pull it first"}
	case d.Meets(kerf):
		return fallsOn{before: "the blade meets a " + what}
	case d.Metal && (offcut(freed) || offcut(rest)):
		return fallsOn{before: what + ", metal,", one: "stays in the offcut", many: "stay in the offcut"}
	case offcut(freed), offcut(rest):
		return fallsOn{before: what, one: "stays in the offcut", many: "stay in the offcut"}
	case s.Waste && d.Metal && d.Meets(freed):
		return fallsOn{before: what + ", metal,", one: "goes with the waste", many: "go with the waste"}
	case s.Waste && d.Meets(freed):
		return fallsOn{before: what, one: "goes with the waste", many: "go with the waste"}
	case s.Part >= 0 && d.Meets(freed), s.Rest >= 0 && d.Meets(rest):
		return fallsOn{before: what, one: "stays on the blank: turn that face away", many: "stay on the blank: turn that face away"}
	}
	return fallsOn{}
}
