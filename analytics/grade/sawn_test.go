package grade_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// TestCommonRipsFitExactly holds rips that are common practice, no source: with
// a kerf of 1/8 in a 5 1/2 in board gives 2 1/4, 2 1/4 and 3/4 in with nothing
// left, and 3 1/2, 3/4 and 3/4 in leave 1/4 in after two cuts.
func TestCommonRipsFitExactly(t *testing.T) {
	t.Parallel()
	b := grade.Board{Thickness: inch * 3 / 4, Width: inch * 11 / 2, Length: 4 * wood.Foot}
	got, err := grade.Ripped(b, inch/8, inch*9/4, inch*9/4, inch*3/4)
	require.NoError(t, err)
	require.Equal(t, []grade.Rect{
		{DX: b.Length, DY: inch * 9 / 4},
		{Y: inch * 19 / 8, DX: b.Length, DY: inch * 9 / 4},
		{Y: inch * 19 / 4, DX: b.Length, DY: inch * 3 / 4},
	}, got)
	require.Equal(t, b.Width, got[2].Far(), "nothing is left")

	got, err = grade.Ripped(b, inch/8, inch*7/2, inch*3/4, inch*3/4)
	require.NoError(t, err)
	require.Len(t, got, 4, "the third cut parts what is left")
	require.Equal(t, inch/4, b.Width-got[2].Far(), "1/4 in after two cuts")
	require.Equal(t, inch/8, got[3].DY, "and 1/8 in after the third")
}

func TestSawnPiecesAndKerfAreTheBoard(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := grade.Board{Thickness: inch, Width: wood.Length(rapid.IntRange(1, 1000).Draw(t, "width")) * wood.Millimetre, Length: wood.Length(rapid.IntRange(1, 4000).Draw(t, "length")) * wood.Millimetre}
		kerf := wood.Length(rapid.IntRange(0, 6).Draw(t, "kerf")) * wood.Millimetre / 2
		cut, room := grade.Crosscut, b.Length
		rip := rapid.Bool().Draw(t, "rip")
		if rip {
			cut, room = grade.Ripped, b.Width
		}
		var sizes []wood.Length
		for range rapid.IntRange(1, 6).Draw(t, "pieces") {
			sizes = append(sizes, wood.Length(rapid.IntRange(1, 900).Draw(t, "size"))*wood.Millimetre)
		}
		pieces, err := cut(b, kerf, sizes...)
		if err != nil {
			require.ErrorIs(t, err, grade.ErrOption)
			return
		}
		sum := wood.Length(0)
		for i, p := range pieces {
			require.True(t, b.Rect().Contains(p))
			side, other := p.DX, p.DY == b.Width
			if rip {
				side, other = p.DY, p.DX == b.Length
			}
			require.True(t, other, "one side is the board's")
			if i < len(sizes) {
				require.Equal(t, sizes[i], side)
			}
			sum += side
			for _, q := range pieces[:i] {
				require.False(t, p.Overlaps(q))
			}
		}
		lost := room - sum
		require.LessOrEqual(t, lost, kerf*wood.Length(len(sizes)), "only saw cuts are lost")
		require.GreaterOrEqual(t, lost, kerf*wood.Length(len(sizes)-1))
	})
}

func TestWrongSawCuts(t *testing.T) {
	t.Parallel()
	b := grade.Board{Thickness: inch, Width: 4 * inch, Length: 40 * inch}
	for name, c := range map[string]struct {
		kerf  wood.Length
		sizes []wood.Length
		says  string
	}{
		"no size":         {0, nil, "is given 0 times"},
		"zero":            {0, []wood.Length{inch, 0}, "bad option 2: width is 0"},
		"kerf below zero": {-1, []wood.Length{inch}, "kerf is"},
		"kerf as wide":    {4 * inch, []wood.Length{inch}, "less than the board"},
		"too much":        {inch / 8, []wood.Length{2 * inch, 2 * inch}, "where 1 7/8 in is left of 4 in"},
		"no room":         {inch, []wood.Length{3 * inch, inch}, "where 0 in is left"},
		"the whole width": {inch / 8, []wood.Length{4 * inch}, "bad option 1: width is the whole 4 in, so nothing would be cut"},
		"many":            {0, make([]wood.Length, 201), "is given 201 times"},
	} {
		_, err := grade.Ripped(b, c.kerf, c.sizes...)
		require.ErrorIs(t, err, grade.ErrOption, name)
		require.ErrorContains(t, err, c.says, name)
	}
	_, err := grade.Crosscut(b, 0, 40*inch)
	require.ErrorContains(t, err, "length is the whole 40 in, so nothing would be cut")
	less, err := grade.Ripped(b, inch/8, 4*inch-1)
	require.NoError(t, err, "the blade takes the rest of the edge")
	require.Len(t, less, 1)
	_, err = grade.Crosscut(grade.Board{}, 0, inch)
	require.ErrorIs(t, err, grade.ErrBoard)
}

// TestTaperCoversTheWedge looks at every place along tapering boards: the wood
// that is missing there is marked, and not much more.
func TestTaperCoversTheWedge(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		wide := wood.Length(rapid.IntRange(20, 400).Draw(t, "wide")) * wood.Millimetre
		narrow := wood.Length(rapid.IntRange(10, int(wide/wood.Millimetre)).Draw(t, "narrow")) * wood.Millimetre
		b := grade.Board{Thickness: wood.Millimetre, Width: wide, Length: wood.Length(rapid.IntRange(100, 3000).Draw(t, "length")) * wood.Millimetre}
		left, right := wide, narrow
		turned := rapid.Bool().Draw(t, "turned")
		if turned {
			left, right = narrow, wide
		}
		defects, err := grade.Taper(b, left, right)
		require.NoError(t, err)
		b.Defects = defects
		require.NoError(t, b.Validate())
		step := float64(wide-narrow) / 8
		for i := range 97 {
			x := b.Length * wood.Length(i) / 97
			missing := float64(wide) - float64(left) - float64(right-left)*float64(x)/float64(b.Length)
			marked := wood.Length(0)
			for _, d := range defects {
				if d.X <= x && x < d.X+d.DX {
					require.Equal(t, grade.Both, d.Face)
					require.Equal(t, b.Width, d.Y+d.DY, "along the far edge")
					marked = max(marked, d.DY)
				}
			}
			require.GreaterOrEqual(t, float64(marked), missing-2)
			require.LessOrEqual(t, float64(marked), missing+step+2)
		}
		u, err := grade.UsableVolume(b, grade.HouseOptions())
		require.NoError(t, err)
		b.Defects = nil
		whole, err := grade.UsableVolume(b, grade.HouseOptions())
		require.NoError(t, err)
		require.LessOrEqual(t, float64(u.Clear), float64(whole.Clear)*(1+1e-12))
	})
	b := grade.Board{Thickness: inch, Width: 6 * inch, Length: 40 * inch}
	none, err := grade.Taper(b, 6*inch, 6*inch)
	require.NoError(t, err)
	require.Empty(t, none, "parallel edges lack nothing")
	for _, w := range [][2]wood.Length{{0, 6 * inch}, {6 * inch, 7 * inch}, {5 * inch, 5 * inch}} {
		_, err := grade.Taper(b, w[0], w[1])
		require.ErrorIs(t, err, grade.ErrBoard)
	}
}

func TestEdgeWane(t *testing.T) {
	t.Parallel()
	b := grade.Board{Thickness: inch, Width: 6 * inch, Length: 40 * inch}
	got, err := grade.EdgeWane{Width: inch, Length: 10 * inch, FromRight: true}.Defects(b)
	require.NoError(t, err)
	require.Equal(t, []grade.Defect{{Kind: grade.Wane, Face: grade.Both, X: 30 * inch, Y: 5 * inch, DX: 10 * inch, DY: inch}}, got)
	got, err = grade.EdgeWane{Width: inch}.Defects(b)
	require.NoError(t, err)
	require.Equal(t, grade.Rect{Y: 5 * inch, DX: 40 * inch, DY: inch}, got[0].Rect())
	for _, w := range []grade.EdgeWane{{}, {Width: 6 * inch}, {Width: -1}, {Width: inch, Length: -1}, {Width: inch, Length: 41 * inch}} {
		_, err := w.Defects(b)
		require.ErrorIs(t, err, grade.ErrPattern)
	}
	_, err = grade.EdgeWane{Width: inch}.Defects(grade.Board{})
	require.ErrorIs(t, err, grade.ErrBoard)
}

func TestParseSizes(t *testing.T) {
	t.Parallel()
	got, err := grade.ParseSizes(" 2 1/4, 57 mm;3/4 in + 1\n2,, ", wood.UnitInch)
	require.NoError(t, err)
	require.Equal(t, []wood.Length{inch * 9 / 4, 57 * wood.Millimetre, inch * 3 / 4, inch, 2 * inch}, got)
	for text, says := range map[string]string{"": "are missing", " , ;": "are missing", "2, wide": "bad option 2: sizes", strings.Repeat("1,", 3000): "6000 characters"} {
		_, err := grade.ParseSizes(text, wood.UnitInch)
		require.ErrorIs(t, err, grade.ErrOption)
		require.ErrorContains(t, err, says)
	}
}

// FuzzParseSizes looks for a text that panics, or whose sizes a board takes
// though they do not fit it.
func FuzzParseSizes(f *testing.F) {
	for _, seed := range []string{"2 1/4, 2 1/4, 3/4", "57 mm;57", "1+1+1", "5 1/2\n", "-1", "1e9 m", "½"} {
		f.Add(seed)
	}
	b := grade.Board{Thickness: inch, Width: 11 * inch / 2, Length: 4 * wood.Foot}
	f.Fuzz(func(t *testing.T, text string) {
		sizes, err := grade.ParseSizes(text, wood.UnitMillimetre)
		if err != nil {
			require.ErrorIs(t, err, grade.ErrOption)
			return
		}
		pieces, err := grade.Ripped(b, inch/8, sizes...)
		if err != nil {
			return
		}
		for i, p := range pieces {
			require.True(t, b.Rect().Contains(p))
			if i < len(sizes) {
				require.Equal(t, sizes[i], p.DY)
			}
		}
	})
}
