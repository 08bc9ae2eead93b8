package server

import (
	"cmp"
	"encoding/json"
	"slices"
	"strings"

	"skepwood/analytics/cut"
	"skepwood/db"
)

// fewAlike is how many boards must be cut alike before the sheet tells their
// cuts once, with all their codes: two hundred boards of one lot, nailed alike,
// filled hundreds of pages.
const fewAlike = 4

// sheetBoard is a board on the sheet with what is written on its blanks; Alike
// are the codes of all boards of which the same is drawn, itself first, nil for
// one alone.
type sheetBoard struct {
	layoutView
	Alike []string
}

// cutAlike numbers the boards by how they are cut: those with one number have
// the same size, ends, blanks and offcuts, whatever defects they have. Boards
// with fewer than [fewAlike] of their kind have a number of their own.
func (c *cutter) cutAlike() error {
	count, kinds := map[string]int{}, map[int]string{}
	for board, l := range c.boards {
		d := l.LayoutDrawing
		d.Code, d.Verdict, d.Metal, d.Mapped, d.Defects = "", "", "", false, nil
		text, err := json.Marshal(d)
		if err != nil {
			return err
		}
		kinds[board] = string(text)
		count[string(text)]++
	}
	boards := make([]int, 0, len(kinds))
	for board := range kinds {
		boards = append(boards, board)
	}
	slices.Sort(boards)
	c.alike = map[int]int{}
	first := map[string]int{}
	for n, board := range boards {
		c.alike[board] = n
		if kind := kinds[board]; count[kind] >= fewAlike {
			if _, seen := first[kind]; !seen {
				first[kind] = n
			}
			c.alike[board] = first[kind]
		}
	}
	return nil
}

// rows puts the cuts of a setting in words, those of boards that are cut alike
// and meet the same defects in one row. The cuts of each board keep their order:
// the first of all boards of a kind come before the second.
func (c *cutter) rows(steps []cut.Step) []sheetCut {
	type row struct {
		kind, order int
		marks       string
		cut         sheetCut
	}
	var rows []row
	order := map[int]int{}
	for _, s := range steps {
		one := c.cut(s)
		r := row{c.alike[s.Board], order[s.Board], strings.Join(one.Marks, "\x1f"), one}
		order[s.Board]++
		code := c.boards[s.Board].Code
		at := slices.IndexFunc(rows, func(o row) bool { return o.kind == r.kind && o.order == r.order && o.marks == r.marks })
		if at < 0 {
			r.cut.Codes = []string{code}
			rows = append(rows, r)
			continue
		}
		if both := &rows[at].cut; len(both.Codes) == 1 {
			both.forEach(both.Codes[0])
		}
		rows[at].cut.Codes = append(rows[at].cut.Codes, code)
	}
	slices.SortStableFunc(rows, func(a, b row) int { return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.order, b.order)) })
	out := make([]sheetCut, len(rows))
	for i, r := range rows {
		if out[i] = r.cut; len(r.cut.Codes) == 1 {
			out[i].Codes = nil
		}
		slices.SortFunc(out[i].Codes, byNumber)
	}
	return out
}

// manyAlike is from how many codes on their list may go on on the next page.
const manyAlike = 40

// Few reports whether the codes stay together on paper.
func (s sheetCut) Few() bool { return len(s.Codes) < manyAlike }

// Few does the same for boards that are drawn alike.
func (s sheetBoard) Few() bool { return len(s.Alike) < manyAlike }

// forEach takes the code of the one board out of a cut's words.
func (s *sheetCut) forEach(code string) {
	s.Piece = "each " + strings.TrimSpace(strings.TrimPrefix(s.Piece, code))
	if s.Piece == "each " {
		s.Piece = "each board"
	}
	s.Frees, s.Rest = strings.ReplaceAll(s.Frees, code+"/", "/"), strings.ReplaceAll(s.Rest, code+"/", "/")
}

// byNumber compares codes as they are looked for on a rack: lot by lot, board 9
// before board 10.
func byNumber(a, b string) int {
	lotA, _, _ := strings.Cut(a, "-")
	lotB, _, _ := strings.Cut(b, "-")
	return cmp.Or(cmp.Compare(lotA, lotB), cmp.Compare(len(a), len(b)), cmp.Compare(a, b))
}

// drawnAlike gathers boards of which the very same is drawn, defects too.
func drawnAlike(layouts []layoutView) ([]sheetBoard, error) {
	var out []sheetBoard
	at := map[string]int{}
	codes := map[string][]string{}
	keys := make([]string, len(layouts))
	for i := range layouts {
		d := layouts[i].LayoutDrawing
		d.Code = ""
		text, err := json.Marshal(struct {
			Drawing db.LayoutDrawing
			Caution []string
		}{d, layouts[i].Caution})
		if err != nil {
			return nil, err
		}
		keys[i] = string(text)
		codes[keys[i]] = append(codes[keys[i]], layouts[i].Code)
	}
	for i, l := range layouts {
		key := keys[i]
		_, seen := at[key]
		switch {
		case len(codes[key]) < fewAlike:
			out = append(out, sheetBoard{layoutView: l})
		case !seen:
			at[key] = i
			slices.SortFunc(codes[key], byNumber)
			out = append(out, sheetBoard{l, codes[key]})
		}
	}
	return out, nil
}
