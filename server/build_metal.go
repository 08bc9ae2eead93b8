package server

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// metalCuts says of each board, by its code, which cuts meet metal that is
// marked on it, trimming cuts too. The planner moves cuts off metal where the
// board has room; these are left.
func (c *cutter) metalCuts(sheet cut.Sheet) map[string][]string {
	out := map[string][]string{}
	for _, l := range c.boards {
		for _, end := range l.trims(c.doc.Shop.Rules.CrosscutKerf) {
			for _, d := range l.Defects {
				if d.Metal && d.Meets(end.kerf) {
					out[l.Code] = append(out[l.Code], "the cut that squares its "+end.name+" end")
					break
				}
			}
		}
	}
	for _, setup := range sheet.Setups {
		for _, s := range setup.Steps {
			l := c.boards[s.Board]
			_, kerf, _ := c.parts(s)
			for _, d := range l.Defects {
				if d.Metal && d.Meets(kerf) {
					out[l.Code] = append(out[l.Code], c.metalCut(s, kerf, d))
				}
			}
		}
	}
	return out
}

// metalCut says where a cut meets metal.
func (c *cutter) metalCut(s cut.Step, kerf db.LayoutRect, d db.LayoutDefect) string {
	if s.Kind == cut.RipCut {
		return fmt.Sprintf("the rip %s from the near edge, at the metal %s from the left end", sawText(c.env, kerf.Y), sawText(c.env, d.X))
	}
	return fmt.Sprintf("the crosscut %s from the left end, at the metal %s from the near edge", sawText(c.env, kerf.X), sawText(c.env, d.Y))
}

// trimEnd is one end of a board that is squared first.
type trimEnd struct {
	name string
	off  wood.Length
	kerf db.LayoutRect
}

// trims lists the ends of a board that something comes off.
func (l *layoutView) trims(kerf wood.Length) []trimEnd {
	var out []trimEnd
	if t := l.TrimStart; t > 0 {
		out = append(out, trimEnd{"left", t, db.LayoutRect{X: max(0, t-kerf), DX: min(kerf, t), DY: l.Width}})
	}
	if t := l.TrimEnd; t > 0 {
		out = append(out, trimEnd{"right", t, db.LayoutRect{X: l.Length - t, DX: min(kerf, t), DY: l.Width}})
	}
	return out
}

// sheetTrim is an amount that comes off the ends of some boards.
type sheetTrim struct {
	Off, From string
	Boards    []sheetTrimBoard
}

// sheetTrimBoard is a board of it; Metal says that the cut meets metal.
type sheetTrimBoard struct {
	Code  string
	Metal bool
}

// trimGroups lists what comes off which ends, boards alike together, the most
// boards first.
func trimGroups(env db.Env, layouts []layoutView, kerf wood.Length) []sheetTrim {
	var out []sheetTrim
	put := func(off wood.Length, from, code string, metal bool) {
		at := slices.IndexFunc(out, func(t sheetTrim) bool { return t.Off == sawText(env, off) && t.From == from })
		if at < 0 {
			at = len(out)
			out = append(out, sheetTrim{Off: sawText(env, off), From: from})
		}
		out[at].Boards = append(out[at].Boards, sheetTrimBoard{code, metal})
	}
	for i := range layouts {
		l := &layouts[i]
		ends := l.trims(kerf)
		metal := func(e trimEnd) bool {
			return slices.ContainsFunc(l.Defects, func(d db.LayoutDefect) bool { return d.Metal && d.Meets(e.kerf) })
		}
		if len(ends) == 2 && ends[0].off == ends[1].off {
			put(ends[0].off, "each end", l.Code, metal(ends[0]) || metal(ends[1]))
			continue
		}
		for _, e := range ends {
			put(e.off, "the "+e.name+" end", l.Code, metal(e))
		}
	}
	for i := range out {
		slices.SortStableFunc(out[i].Boards, func(a, b sheetTrimBoard) int { return byNumber(a.Code, b.Code) })
	}
	slices.SortStableFunc(out, func(a, b sheetTrim) int { return cmp.Compare(len(b.Boards), len(a.Boards)) })
	return out
}

// pullFirst says what to do about cuts that meet metal.
const pullFirst = "Pull it, sweep again, and strike it on the board's map before the blade comes near; then “plan the rest again” may find a better cut. What cannot be pulled is not cut: say that the board was rejected and plan the rest again."

// metalWords joins the cuts of one board.
func metalWords(cuts []string) string {
	return "Metal in the cut: " + strings.Join(cuts, "; ") + ". " + pullFirst
}
