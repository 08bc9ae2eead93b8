package server_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	lumber "skepwood/analytics/wood"
	"skepwood/db"
)

// sawyer cuts boards by a printed sheet, knowing nothing but what it says: names
// of pieces, distances, edges.
type sawyer struct {
	t    testing.TB
	kerf lumber.Length
	// hand are the pieces in hand by name, got the blanks by code; places count
	// from the untrimmed board's left end and near edge.
	hand, got map[string]db.LayoutRect
	offcuts   int
}

// TestSheetIsSawn saws boards by their printed sheet, for every way the saws may
// go: each blank comes free once, of its size and where the plan drew it, and
// holds no defect that it must not.
func TestSheetIsSawn(t *testing.T) {
	t.Parallel()
	for _, pattern := range []string{"rip2", "crosscut2", "rip3", "crosscut3", "rip2trim", "crosscut2trim", "guillotine_free"} {
		t.Run(pattern, func(t *testing.T) {
			t.Parallel()
			b := setup(t, options{})
			codes := b.toSaw()
			p := b.asPlanned("want-0", "our rack", "count-0", "3", "pattern", pattern, "wet_why", "a test", "only", strings.Join(codes, " "), "plane_allowance", "1/8", "length_allowance", "1/2", "joint_allowance", "1/8")
			layouts := b.layoutsOf(p)
			s := &sawyer{t, lumber.Inch / 8, map[string]db.LayoutRect{}, map[string]db.LayoutRect{}, 0}
			for _, l := range layouts {
				s.hand[l.Code] = db.LayoutRect{DX: l.Length, DY: l.Width}
			}
			s.sheet(b.open(strings.Split(p.path, "?")[0] + "/sheet"))
			blanks, offcuts := 0, 0
			for _, l := range layouts {
				offcuts += len(l.Offcuts)
				for _, piece := range l.LayoutDrawing.Pieces {
					blanks++
					code := l.BlankCode(piece.N)
					require.Equal(t, piece.LayoutRect, s.got[code], code)
					for _, d := range l.Defects {
						require.False(t, d.Face == "both" && d.Meets(s.got[code]), "%s holds a %s", code, d.Kind)
					}
				}
			}
			require.Len(t, s.got, blanks)
			require.Equal(t, offcuts, s.offcuts)
			require.Greater(t, blanks, 15)
		})
	}
}

// toSaw is a book with boards of two sizes, five of them alike, knots on one
// face and through, nails pulled and not, an end that is dirtier, and three
// parts to make.
func (b *bench) toSaw() (codes []string) {
	b.Helper()
	lot := b.withWood().lot.Values["code"]
	add := func(values map[string]string, defects ...string) {
		values["lot"], values["thickness"], values["metal"], values["looked_over"] = lot, "1", "clean", "yes"
		board := b.add(db.Boards, values)
		codes = append(codes, board.Values["code"])
		for _, d := range defects {
			f := strings.Fields(d)
			b.add(db.Defects, map[string]string{"board": board.Values["code"], "kind": f[0], "face": f[1], "x": f[2], "y": f[3], "dx": f[4], "dy": f[5], "metal": f[6]})
		}
	}
	for range 5 {
		add(map[string]string{"width": "5 1/2", "length": "40"}, "nail_hole both 1.5 0.75 0.25 0.25 no", "nail_hole both 19.875 2.5 0.25 0.25 no")
	}
	add(map[string]string{"width": "7 1/4", "length": "50", "left_trim": "2"}, "knot both 20 3 1 1.5 no", "nail_hole both 33 1 0.25 0.25 yes", "stain top 41 4 2 1 no")
	add(map[string]string{"width": "3 1/2", "length": "47 1/2"}, "split both 0 1 3.5 0.25 no", "knot bottom 30 1 1 1 no")
	for part, size := range map[string][3]string{"side": {"4", "3", "19"}, "slat": {"5", "3/4", "15"}, "end": {"2", "2 1/4", "8"}} {
		b.add(db.OwnParts, map[string]string{"kit": "our rack", "part": part, "count": size[0], "thickness": "3/4", "width": size[1], "length": size[2], "zone": "inside"})
	}
	return codes
}

// length reads the distance that a text begins with.
func (s *sawyer) length(text string) lumber.Length {
	s.t.Helper()
	at := strings.Index(text, " in")
	require.Positive(s.t, at, text)
	l, err := lumber.ParseLength(text[:at+3], lumber.UnitInch)
	require.NoError(s.t, err)
	return l
}

// sheet squares the ends, then makes every cut in the order of the sheet.
func (s *sawyer) sheet(p *page) {
	s.t.Helper()
	for _, section := range p.all("section", "saw") {
		title := text(allIn(section, "h2", "")[0])
		if strings.HasPrefix(title, "First") {
			s.squares(section)
		}
		for _, table := range allIn(section, "table", "cuts") {
			fence := text(allIn(table, "p", "fence")[0])
			for _, row := range cutRows(table) {
				for _, code := range row.codes {
					s.cut(strings.Contains(title, "Rip saw"), s.length(fence), code, row.cells)
				}
			}
		}
	}
}

// squares takes the ends off.
func (s *sawyer) squares(section *html.Node) {
	for i, p := range allIn(section, "p", "fence") {
		off := s.length(strings.TrimPrefix(text(p), "Take off "))
		from := text(allIn(section, "p", "")[2*i+2])
		for _, li := range allIn(allIn(section, "ul", "tickrow")[i], "li", "") {
			code, _, _ := strings.Cut(text(li), " ")
			r := s.hand[code]
			if strings.Contains(from, "each end") || strings.Contains(from, "left end") {
				r.X, r.DX = r.X+off, r.DX-off
			}
			if strings.Contains(from, "each end") || strings.Contains(from, "right end") {
				r.DX -= off
			}
			s.hand[code] = r
		}
	}
}

// cutRow is a line of a setting; codes are the boards it is for, "" for the one
// that it names.
type cutRow struct{ cells, codes []string }

func cutRows(table *html.Node) (rows []cutRow) {
	for _, tr := range allIn(allIn(table, "tbody", "")[0], "tr", "") {
		if slices.Contains(strings.Fields(attr(tr, "class")), "each") {
			last := &rows[len(rows)-1]
			last.codes = nil
			for _, li := range allIn(tr, "li", "") {
				last.codes = append(last.codes, text(li))
			}
			continue
		}
		row := cutRow{codes: []string{""}}
		for c := range tr.ChildNodes() {
			if c.Type == html.ElementNode {
				row.cells = append(row.cells, text(c))
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// cut makes one cut: a distance from the edge that is named, a kerf beyond it.
func (s *sawyer) cut(rip bool, distance lumber.Length, code string, cells []string) {
	s.t.Helper()
	name := strings.TrimSpace(strings.NewReplacer("each board", code, "each", code).Replace(cells[1]))
	r, held := s.hand[name]
	require.True(s.t, held, "%s is not in hand: %v", name, s.hand)
	size := r.DX
	if rip {
		size = r.DY
	}
	low := strings.HasPrefix(cells[2], "near edge") || strings.HasPrefix(cells[2], "left end")
	require.True(s.t, low || strings.HasPrefix(cells[2], "far edge") || strings.HasPrefix(cells[2], "right end"), cells[2])
	require.LessOrEqual(s.t, distance, size, "%s: %v", name, cells)
	part := func(from, to lumber.Length) db.LayoutRect {
		if rip {
			return db.LayoutRect{X: r.X, Y: r.Y + from, DX: r.DX, DY: to - from}
		}
		return db.LayoutRect{X: r.X + from, Y: r.Y, DX: to - from, DY: r.DY}
	}
	board, _, _ := strings.Cut(name, " ")
	delete(s.hand, name)
	freed, left, named := strings.Cut(cells[3], "left: ")
	rest := part(min(size, distance+s.kerf), size)
	if low {
		s.put(board, strings.Trim(freed, "; "), part(0, distance))
	} else { // the edge is trimmed off, the rest lies against the fence
		require.Contains(s.t, []string{"", "the edge, trimmed"}, strings.Trim(freed, "; "), "%v", cells)
		rest = part(size-distance, size)
	}
	if named {
		s.put(board, left, rest)
	} else {
		s.hand[name] = rest
	}
}

// put names a piece that came free.
func (s *sawyer) put(board, name string, r db.LayoutRect) {
	s.t.Helper()
	letter, lettered := strings.CutPrefix(name, "piece ")
	switch {
	case name == "", name == "waste":
	case lettered:
		s.hand[board+" "+letter] = r
	case strings.HasPrefix(name, "offcut"):
		s.offcuts++
	default:
		code, _, _ := strings.Cut(name, " ")
		if strings.HasPrefix(code, "/") {
			code = board + code
		}
		require.NotContains(s.t, s.got, code, fmt.Sprintf("%s comes free twice", code))
		s.got[code] = r
	}
}
