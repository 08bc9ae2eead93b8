package grade_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

func plank(ds ...grade.Defect) grade.Board {
	return grade.Board{Thickness: inch, Width: 6 * inch, Length: 48 * inch, Defects: ds}
}

func TestValidate(t *testing.T) {
	t.Parallel()
	nail := face(grade.Both, grade.NailHole, 2, 1, 1, 1)
	with := func(change func(*grade.Defect)) grade.Board {
		d := nail
		change(&d)
		return plank(nail, d)
	}
	for name, c := range map[string]struct {
		b     grade.Board
		of    error
		field string
		index int
	}{
		"no thickness":         {grade.Board{Width: inch, Length: inch}, grade.ErrBoard, "thickness", -1},
		"width below zero":     {grade.Board{Thickness: inch, Width: -inch, Length: inch}, grade.ErrBoard, "width", -1},
		"longer than 100 m":    {grade.Board{Thickness: inch, Width: inch, Length: wood.MaxLength + 1}, grade.ErrBoard, "length", -1},
		"too many defects":     {plank(make([]grade.Defect, grade.MaxDefects+1)...), grade.ErrBoard, "defects", -1},
		"unknown kind":         {with(func(d *grade.Defect) { d.Kind = "hole" }), grade.ErrDefect, "kind", 1},
		"unknown face":         {with(func(d *grade.Defect) { d.Face = "" }), grade.ErrDefect, "face", 1},
		"left of the end":      {with(func(d *grade.Defect) { d.X = -1 }), grade.ErrDefect, "x", 1},
		"past the right end":   {with(func(d *grade.Defect) { d.X = 47*inch + 1 }), grade.ErrDefect, "x", 1},
		"off the near edge":    {with(func(d *grade.Defect) { d.Y = -1 }), grade.ErrDefect, "y", 1},
		"off the far edge":     {with(func(d *grade.Defect) { d.Y = 5*inch + 1 }), grade.ErrDefect, "y", 1},
		"place overflows":      {with(func(d *grade.Defect) { d.X = math.MaxInt64 }), grade.ErrDefect, "x", 1},
		"no size along":        {with(func(d *grade.Defect) { d.DX = 0 }), grade.ErrDefect, "dx", 1},
		"no size across":       {with(func(d *grade.Defect) { d.DY = 0 }), grade.ErrDefect, "dy", 1},
		"size below zero":      {with(func(d *grade.Defect) { d.DX = -inch }), grade.ErrDefect, "dx", 1},
		"longer than board":    {with(func(d *grade.Defect) { d.DX = 49 * inch }), grade.ErrDefect, "dx", 1},
		"depth below zero":     {with(func(d *grade.Defect) { d.Depth = -1 }), grade.ErrDefect, "depth", 1},
		"deeper than board":    {with(func(d *grade.Defect) { d.Face, d.Depth = grade.Top, 2*inch }), grade.ErrDefect, "depth", 1},
		"through but not deep": {with(func(d *grade.Defect) { d.Depth = inch / 2 }), grade.ErrDefect, "depth", 1},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			err := c.b.Validate()
			require.ErrorIs(t, err, c.of)
			var fault *grade.Error
			require.True(t, errors.As(err, &fault))
			require.Equal(t, c.field, fault.Field)
			require.Equal(t, c.index, fault.Index)
			require.NotEmpty(t, fault.Remedy)
		})
	}
	overlapping := plank(nail, nail, face(grade.Top, grade.Knot, 0, 0, 48, 6))
	require.NoError(t, overlapping.Validate())
	require.NoError(t, plank().Validate())
}

// TestValidateTellsAll wants every fault of a form at once.
func TestValidateTellsAll(t *testing.T) {
	t.Parallel()
	err := plank(grade.Defect{Kind: "x", Face: "y", X: -1, Y: 7 * inch, DX: inch, DY: inch}).Validate()
	for _, word := range []string{"kind", "face", "x is", "far edge"} {
		require.ErrorContains(t, err, word)
	}
}

// TestTurns follows one defect as the board is turned in the hand.
func TestTurns(t *testing.T) {
	t.Parallel()
	b := plank(face(grade.Top, grade.Knot, 3, 1, 2, 1))
	for name, c := range map[string]struct {
		got  grade.Board
		want grade.Defect
	}{
		"rolled":  {b.Roll(), face(grade.Bottom, grade.Knot, 3, 4, 2, 1)},
		"tumbled": {b.Tumble(), face(grade.Bottom, grade.Knot, 43, 1, 2, 1)},
		"swung":   {b.Swing(), face(grade.Top, grade.Knot, 43, 4, 2, 1)},
	} {
		require.Equal(t, []grade.Defect{c.want}, c.got.Defects, name)
	}
	require.Equal(t, in(3, 1, 2, 1), b.Defects[0].Rect(), "turning must not change the board itself")
	require.Equal(t, in(3, 4, 2, 1), b.Drawn(grade.Bottom, in(3, 1, 2, 1)))
	require.Equal(t, in(3, 1, 2, 1), b.Drawn(grade.Top, in(3, 1, 2, 1)))
}

func TestTurnProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := anyBoard(t, 6)
		require.NoError(t, b.Validate())
		require.Equal(t, b, b.Roll().Roll())
		require.Equal(t, b, b.Tumble().Tumble())
		require.Equal(t, b, b.Swing().Swing())
		require.Equal(t, b.Swing(), b.Roll().Tumble())
		require.NoError(t, b.Roll().Validate())
		for _, d := range b.Defects {
			seen := b.Drawn(grade.Bottom, d.Rect())
			require.Equal(t, d.Rect(), b.Drawn(grade.Bottom, seen))
			require.True(t, b.Rect().Contains(seen))
		}
	})
}

func TestKeepouts(t *testing.T) {
	t.Parallel()
	nail := face(grade.Bottom, grade.NailHole, 0, 5, 1, 1)
	nail.Metal = true
	deep := face(grade.Top, grade.Check, 20, 0, 1, 1)
	deep.Depth = inch
	b := plank(nail, face(grade.Top, grade.Knot, 10, 0, 1, 1), deep)
	grown := grade.Rect{X: 0, Y: 5*inch - inch/4, DX: inch + inch/4, DY: inch + inch/4}
	require.Equal(t, []grade.Rect{grown, in(10, 0, 1, 1), in(20, 0, 1, 1)}, b.Keepouts(grade.Top, grade.DefaultClearance))
	require.Equal(t, []grade.Rect{grown, in(20, 0, 1, 1)}, b.Keepouts(grade.Bottom, grade.DefaultClearance))
	require.Len(t, b.Keepouts(grade.Both, 0), 3)
	require.Equal(t, b.Keepouts(grade.Both, 0), b.Keepouts(grade.Both, -inch))
}

// TestNailRows draws the pattern of a deck board: rows 2 in from each end and
// in the middle, 3 across.
func TestNailRows(t *testing.T) {
	t.Parallel()
	got, err := grade.NailRows{Rows: 3, Across: 3, FromEnd: 2 * inch, Size: inch / 2, Metal: true}.Defects(plank())
	require.NoError(t, err)
	require.Len(t, got, 9)
	for i, d := range got {
		middleX, middleY := d.X+d.DX/2, d.Y+d.DY/2
		require.Equal(t, []wood.Length{2 * inch, 24 * inch, 46 * inch}[i/3], middleX)
		require.Equal(t, wood.Length(2*(i%3)+1)*inch, middleY)
		require.Equal(t, grade.NailHole, d.Kind)
		require.Equal(t, grade.Both, d.Face)
		require.True(t, d.Metal)
	}
	edge, err := grade.NailRows{Rows: 1, Across: 2, FromEdge: inch, Size: inch}.Defects(plank())
	require.NoError(t, err)
	require.Equal(t, grade.Rect{X: 0, Y: inch / 2, DX: inch / 2, DY: inch}, edge[0].Rect(), "cut off at the end")
	require.Equal(t, 5*inch, edge[1].Y+inch/2)
}

func TestNailRowsRefuse(t *testing.T) {
	t.Parallel()
	good := grade.NailRows{Rows: 2, Across: 2, FromEnd: inch}
	for field, change := range map[string]func(*grade.NailRows){
		"rows":      func(p *grade.NailRows) { p.Rows = 0 },
		"across":    func(p *grade.NailRows) { p.Across = 51 },
		"face":      func(p *grade.NailRows) { p.Face = "side" },
		"size":      func(p *grade.NailRows) { p.Size = 7 * inch },
		"from_end":  func(p *grade.NailRows) { p.FromEnd = 25 * inch },
		"from_edge": func(p *grade.NailRows) { p.FromEdge = 4 * inch },
	} {
		p := good
		change(&p)
		_, err := p.Defects(plank())
		require.ErrorIs(t, err, grade.ErrPattern, field)
		require.ErrorContains(t, err, field)
	}
	_, err := good.Defects(grade.Board{})
	require.ErrorIs(t, err, grade.ErrBoard)
}

func TestNailRowsStayOnTheBoard(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := anyBoard(t, 0)
		p := grade.NailRows{
			Rows: rapid.IntRange(1, 50).Draw(t, "rows"), Across: rapid.IntRange(1, 50).Draw(t, "across"),
			FromEnd:  wood.Length(rapid.Int64Range(0, int64(b.Length/2)).Draw(t, "end")),
			FromEdge: wood.Length(rapid.Int64Range(0, int64(b.Width/2)).Draw(t, "edge")),
		}
		ds, err := p.Defects(b)
		require.NoError(t, err)
		b.Defects = ds[:min(len(ds), grade.MaxDefects)]
		require.NoError(t, b.Validate())
	})
}

// TestSurfaceMeasure takes examples 1 to 4 and 7 of the reference pack (Wengert
// 1998; 7 from memory of the illustrated guide) and the rule for halves.
func TestSurfaceMeasure(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		width, length wood.Length
		up, down      int
	}{
		"6 7/16 in x 10 ft 9 in":  {6*inch + 7*inch/16, 10*foot + 9*inch, 5, 5},
		"6 in x 8 ft":             {6 * inch, 8 * foot, 4, 4},
		"12 in x 8 ft":            {12 * inch, 8 * foot, 8, 8},
		"6 1/4 in x 8 ft":         {6*inch + inch/4, 8 * foot, 4, 4},
		"half: 9 in x 10 ft":      {9 * inch, 10 * foot, 8, 7},
		"a hair over the half":    {9*inch + 1, 10 * foot, 8, 8},
		"a hair under the half":   {9*inch - 1, 10 * foot, 7, 7},
		"odd inches do not count": {12 * inch, 9*foot - 1, 8, 8},
		"under a foot":            {12 * inch, foot - 1, 0, 0},
		"below zero":              {-12 * inch, 8 * foot, 0, 0},
		"100 m by 100 m":          {wood.MaxLength, wood.MaxLength, 107612, 107612},
	} {
		require.Equal(t, c.up, grade.SurfaceMeasure(c.width, c.length, grade.HalfUp), name)
		require.Equal(t, c.down, grade.SurfaceMeasure(c.width, c.length, grade.HalfDown), name)
	}
	half := grade.Board{Width: 9 * inch, Length: 10 * foot}
	whole := grade.Board{Width: 6 * inch, Length: 8 * foot}
	require.Equal(t, []int{8, 4, 7, 8}, grade.SurfaceMeasures([]grade.Board{half, whole, half, half}))
}

// TestBoardFeet takes examples 7 (from memory) and the rules of thickness.
func TestBoardFeet(t *testing.T) {
	t.Parallel()
	require.Equal(t, 8, grade.BoardFeet([]int{4}, 2*inch))
	require.Equal(t, 4, grade.BoardFeet([]int{4}, inch/2), "under one inch counts as one")
	require.Equal(t, 15, grade.BoardFeet([]int{4, 8}, inch+inch/4))
	require.Equal(t, 8, grade.BoardFeet([]int{5}, inch+inch/2), "7 1/2 goes up")
	require.Equal(t, 0, grade.BoardFeet(nil, inch))
}

func TestRectUnits(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 3, in(0, 0, 6, 6).Units(), 1e-12, "36 square inches are 3 units")
	require.Zero(t, grade.Rect{DX: -inch, DY: inch}.Units())
}

func TestPiece(t *testing.T) {
	t.Parallel()
	b := plank(face(grade.Top, grade.Knot, 10, 1, 4, 2), face(grade.Both, grade.Split, 40, 0, 8, 1))
	got, err := b.Piece(in(12, 2, 20, 4))
	require.NoError(t, err)
	require.Equal(t, grade.Board{Thickness: inch, Width: 4 * inch, Length: 20 * inch, Mapped: true,
		Defects: []grade.Defect{face(grade.Top, grade.Knot, 0, 0, 2, 1)}}, got)
	for name, r := range map[string]grade.Rect{
		"off the end": in(40, 0, 9, 1), "before the start": in(-1, 0, 5, 1), "no wood": in(3, 3, 0, 1),
		"overflow": {X: math.MaxInt64, DX: math.MaxInt64, DY: 1},
	} {
		_, err := b.Piece(r)
		require.ErrorIs(t, err, grade.ErrBoard, name)
	}
}

// TestPieceProperties cuts a board in two: nothing is lost but at the cut, and
// the halves together are no better than the whole.
func TestPieceProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := anyBoard(t, 6)
		at := eighths(rapid.IntRange(1, int(b.Length*8/inch)-1).Draw(t, "cut"))
		left, err := b.Piece(grade.Rect{DX: at, DY: b.Width})
		require.NoError(t, err)
		right, err := b.Piece(grade.Rect{X: at, DX: b.Length - at, DY: b.Width})
		require.NoError(t, err)
		require.NoError(t, left.Validate())
		require.NoError(t, right.Validate())
		require.GreaterOrEqual(t, len(left.Defects)+len(right.Defects), len(b.Defects))
		whole, err := grade.MaxCuttings(grade.Search{Area: b.Rect(), Keepouts: b.Keepouts(grade.Both, 0)})
		require.NoError(t, err)
		halves := 0.0
		for _, h := range []grade.Board{left, right} {
			c, err := grade.MaxCuttings(grade.Search{Area: h.Rect(), Keepouts: h.Keepouts(grade.Both, 0)})
			require.NoError(t, err)
			halves += c.Units
		}
		require.LessOrEqual(t, halves, whole.Bound+1e-6)
	})
}
