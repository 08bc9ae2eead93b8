package server

import (
	"cmp"
	"slices"
	"strings"
)

// sheetPlace is a place and the boards to fetch from it.
type sheetPlace struct {
	// Place is empty where nobody said where the boards lie.
	Place string
	Codes []string
}

// Text lists the codes.
func (p sheetPlace) Text() string { return strings.Join(p.Codes, ", ") }

// fetchList gathers boards by where they lie, places by name and in whatever
// case, boards of no known place last.
func fetchList(layouts []layoutView) []sheetPlace {
	var out []sheetPlace
	for i := range layouts {
		l := &layouts[i]
		at := slices.IndexFunc(out, func(p sheetPlace) bool { return strings.EqualFold(p.Place, l.Place) })
		if at < 0 {
			at = len(out)
			out = append(out, sheetPlace{Place: l.Place})
		}
		out[at].Codes = append(out[at].Codes, l.Code)
	}
	for i := range out {
		slices.SortFunc(out[i].Codes, byNumber)
	}
	slices.SortStableFunc(out, func(a, b sheetPlace) int {
		if (a.Place == "") != (b.Place == "") {
			return cmp.Compare(len(b.Place), len(a.Place))
		}
		return cmp.Compare(strings.ToLower(a.Place), strings.ToLower(b.Place))
	})
	return out
}
