package grade_test

import (
	"errors"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// requireBlanks checks a plan's geometry on its own: on the board, clear by the
// part's need, a kerf apart, each a part of the list.
func requireBlanks(t require.TestingT, b grade.Board, opts grade.UsableOptions, u grade.Usable) {
	volume := wood.Volume(0)
	for i, k := range u.Blanks {
		require.GreaterOrEqual(t, k.X, opts.EndTrim)
		require.GreaterOrEqual(t, k.Y, opts.EdgeTrim)
		require.LessOrEqual(t, k.Right(), b.Length-opts.EndTrim)
		require.LessOrEqual(t, k.Far(), b.Width-opts.EdgeTrim)
		at := slices.IndexFunc(opts.Parts, func(p grade.Part) bool { return p.Kit == k.Kit && p.Part == k.Part })
		require.GreaterOrEqual(t, at, 0, "no such part: %v", k)
		p := opts.Parts[at]
		require.Equal(t, p.Rough.Length, k.DX)
		require.LessOrEqual(t, p.Finished.Thickness+opts.PlaneAllowance, b.Thickness)
		if !p.Glue || k.DY < opts.MinGlue {
			require.Equal(t, p.Rough.Width, k.DY)
		}
		require.LessOrEqual(t, k.DY, p.Rough.Width)
		if opts.Zone == grade.Outside {
			require.Equal(t, grade.Outside, p.Zone)
		}
		requireClear(t, b, opts, k, p.Faces)
		for _, o := range u.Blanks[i+1:] {
			apartX := o.X >= k.Right()+opts.CrosscutKerf || k.X >= o.Right()+opts.CrosscutKerf
			apartY := o.Y >= k.Far()+opts.RipKerf || k.Y >= o.Far()+opts.RipKerf
			require.True(t, apartX || apartY, "%v and %v are not a kerf apart", k, o)
		}
		volume += wood.VolumeOf(b.Thickness, k.DY, k.DX)
	}
	require.InDelta(t, float64(volume), float64(u.Clear), 1e-12)
	require.GreaterOrEqual(t, float64(u.Bound), float64(u.Clear)*(1-1e-12))
	require.LessOrEqual(t, float64(u.Bound), float64(u.Gross)*(1+1e-12))
}

// requireClear checks one blank against the defects.
func requireClear(t require.TestingT, b grade.Board, opts grade.UsableOptions, k grade.Blank, faces int) {
	clear := map[grade.Face]bool{grade.Top: true, grade.Bottom: true}
	for _, d := range b.Defects {
		r := d.Rect()
		if d.Metal {
			r = r.Grow(opts.Clearance)
		}
		if !r.Overlaps(k.Rect) {
			continue
		}
		require.False(t, b.Through(d) || d.Metal || d.Kind == grade.Decay, "%v lies on %v", k, d)
		clear[d.Face] = false
	}
	n := 0
	for _, ok := range clear {
		if ok {
			n++
		}
	}
	require.GreaterOrEqual(t, n, faces)
}

// shortParts are a few parts small enough to try every plan of a small board.
func shortParts() []grade.Part {
	size := func(w, l int) grade.Size {
		return grade.Size{Thickness: inch / 2, Width: wood.Length(w) * inch, Length: wood.Length(l) * inch}
	}
	part := func(name string, w, l, faces int, glue bool, zone grade.Zone) grade.Part {
		return grade.Part{Kit: "kit", Part: name, Count: 1, Finished: size(w, l), Rough: size(w, l), Faces: faces, Glue: glue, Zone: zone}
	}
	return []grade.Part{
		part("slat", 2, 3, 1, false, grade.Inside), part("panel", 5, 4, 1, true, grade.Inside),
		part("rail", 3, 7, 0, false, grade.Outside), part("bar", 1, 5, 2, false, grade.Inside),
	}
}

// bestRip tries every strip at every whole inch and every crosscut in it.
func bestRip(b grade.Board, opts grade.UsableOptions) int {
	wide, long := int(b.Width/inch), int(b.Length/inch)
	kerfY, kerfX := int(opts.RipKerf/inch), int(opts.CrosscutKerf/inch)
	spoils := func(x0, x1, y0, y1, faces int) bool {
		r := in(x0, y0, x1-x0, y1-y0)
		clear := map[grade.Face]bool{grade.Top: true, grade.Bottom: true}
		for _, d := range b.Defects {
			if !d.Rect().Overlaps(r) {
				continue
			}
			if d.Face == grade.Both || d.Kind == grade.Decay {
				return true
			}
			clear[d.Face] = false
		}
		have := 0
		for _, ok := range clear {
			if ok {
				have++
			}
		}
		return have < faces
	}
	fill := func(y0, y1 int) int {
		best := make([]int, long+1+kerfX)
		for x := range long + 1 + kerfX {
			if x > 0 {
				best[x] = best[x-1]
			}
			for _, p := range opts.Parts {
				l, w := int(p.Rough.Length/inch), int(p.Rough.Width/inch)
				from := x - kerfX - l
				fits := w == y1-y0 || (p.Glue && y1-y0 <= w && wood.Length(y1-y0)*inch >= opts.MinGlue)
				if fits && from >= 0 && !spoils(from, from+l, y0, y1, p.Faces) {
					best[x] = max(best[x], best[from]+l)
				}
			}
		}
		return best[long+kerfX]
	}
	most := make([]int, wide+1+kerfY)
	for y := range wide + 1 + kerfY {
		if y > 0 {
			most[y] = most[y-1]
		}
		for y0 := 0; y0 < y-kerfY; y0++ {
			most[y] = max(most[y], most[y0]+(y-kerfY-y0)*fill(y0, y-kerfY))
		}
	}
	return most[wide+kerfY]
}

// TestUsableAgainstExhaustion compares with every plan in whole inches. All
// sizes are whole inches, so no plan with other cuts is better but for strips
// of glued parts, whose fractions can only help: the figure may be above, never
// below.
func TestUsableAgainstExhaustion(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := grade.Board{
			Thickness: inch / 2, Width: wood.Length(rapid.IntRange(1, 8).Draw(t, "width")) * inch,
			Length: wood.Length(rapid.IntRange(2, 24).Draw(t, "length")) * inch,
		}
		for range rapid.IntRange(0, 4).Draw(t, "defects") {
			x, y := rapid.IntRange(0, int(b.Length/inch)-1).Draw(t, "x"), rapid.IntRange(0, int(b.Width/inch)-1).Draw(t, "y")
			f := rapid.SampledFrom([]grade.Face{grade.Top, grade.Bottom, grade.Both}).Draw(t, "face")
			k := rapid.SampledFrom([]grade.Kind{grade.Knot, grade.Decay}).Draw(t, "kind")
			b.Defects = append(b.Defects, face(f, k, x, y, 1, 1))
		}
		opts := grade.UsableOptions{Parts: shortParts(), MinGlue: 2 * inch}
		if rapid.Bool().Draw(t, "kerf") {
			opts.RipKerf, opts.CrosscutKerf = inch, inch
		}
		u, err := grade.UsableVolume(b, opts)
		require.NoError(t, err)
		requireBlanks(t, b, opts, u)
		want := float64(bestRip(b, opts)) * 0.5 * float64(wood.CubicInch)
		require.GreaterOrEqual(t, float64(u.Clear), want*(1-1e-9))
		if b.Width < 4*inch {
			// Too narrow for two strips of which one is glued up and wider
			// than it need be: whole inches suffice.
			require.InDelta(t, want, float64(u.Clear), 1e-12)
		}
	})
}

// houseBoard draws a board as anyBoard, at least 1/2 in thick.
func houseBoard(t *rapid.T) grade.Board {
	b := anyBoard(t, 8)
	b.Thickness = max(b.Thickness, inch/2)
	return b
}

func TestUsableProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := houseBoard(t)
		opts := grade.HouseOptions()
		opts.Parts = grade.Parts()
		opts.Zone = rapid.SampledFrom([]grade.Zone{"", grade.Inside, grade.Outside}).Draw(t, "zone")
		u, err := grade.UsableVolume(b, opts)
		require.NoError(t, err)
		requireBlanks(t, b, opts, u)
		require.Equal(t, b.Known(), u.Known)

		for name, turned := range map[string]grade.Board{"rolled": b.Roll(), "tumbled": b.Tumble(), "swung": b.Swing()} {
			again, err := grade.UsableVolume(turned, opts)
			require.NoError(t, err)
			require.InDelta(t, float64(u.Clear), float64(again.Clear), 1e-9, "%s", name)
		}
		more := b
		more.Defects = append(slices.Clone(b.Defects), anyDefect(t, b))
		worse, err := grade.UsableVolume(more, opts)
		require.NoError(t, err)
		require.LessOrEqual(t, float64(worse.Clear), float64(u.Clear)*(1+1e-12), "a defect raised the volume")

		thick := opts
		thick.RipKerf, thick.CrosscutKerf = opts.RipKerf*2, opts.CrosscutKerf*2
		wide, err := grade.UsableVolume(b, thick)
		require.NoError(t, err)
		require.LessOrEqual(t, float64(wide.Clear), float64(u.Clear)*(1+1e-12), "kerf raised the volume")

		fewer := opts
		fewer.Parts = opts.Parts[:1+rapid.IntRange(0, len(opts.Parts)-1).Draw(t, "parts")]
		less, err := grade.UsableVolume(b, fewer)
		require.NoError(t, err)
		require.LessOrEqual(t, float64(less.Clear), float64(u.Clear)*(1+1e-12), "fewer parts raised the volume")
	})
}

// TestUsableByHand takes boards whose best plan can be seen.
func TestUsableByHand(t *testing.T) {
	t.Parallel()
	cubic := func(thick, wide, long float64) float64 { return thick * wide * long * float64(wood.CubicInch) }
	for name, c := range map[string]struct {
		b     grade.Board
		zone  grade.Zone
		clear float64
	}{
		// 20 1/8 + 17 1/4 + 10 in and two kerfs fill 47 5/8 of 48 in; every one
		// may be glued up from 5 1/2 in.
		"5 1/2 in board, no defects": {grade.Board{Thickness: 3 * inch / 4, Width: 11 * inch / 2, Length: 48 * inch}, "", cubic(.75, 5.5, 47.375)},
		"too thin for anything":      {grade.Board{Thickness: inch / 4, Width: 6 * inch, Length: 48 * inch}, "", 0},
		"too short for anything":     {grade.Board{Thickness: 3 * inch / 4, Width: 6 * inch, Length: 6 * inch}, "", 0},
		// Outside wood makes end cleats (2 x 17 1/4) and braces (3 3/4 x 23 and
		// 25 3/4): on 5 1/2 in one strip of 3 3/4 in; 25 3/4 in of 30 in.
		"outside wood": {grade.Board{Thickness: 3 * inch / 4, Width: 4 * inch, Length: 30 * inch}, grade.Outside, cubic(.75, 3.75, 25.75)},
		// A rotten stripe along the middle leaves two strips of 2 1/2 in.
		"rotten stripe": {grade.Board{Thickness: 3 * inch / 4, Width: 6 * inch, Length: 24 * inch, Defects: []grade.Defect{
			{Kind: grade.Decay, Face: grade.Top, X: 0, Y: 5 * inch / 2, DX: 24 * inch, DY: inch},
		}}, "", 2 * cubic(.75, 2.5, 23)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			opts := grade.HouseOptions()
			opts.Zone = c.zone
			u, err := grade.UsableVolume(c.b, opts)
			require.NoError(t, err)
			require.InDelta(t, c.clear, float64(u.Clear), 1e-12)
			require.InDelta(t, c.clear/float64(u.Gross), u.Share, 1e-9)
		})
	}
}

// TestUsableFaces puts a knot on one face of a strip that only one part fits.
func TestUsableFaces(t *testing.T) {
	t.Parallel()
	for need, want := range map[int][2]bool{0: {true, true}, 1: {true, false}, 2: {false, false}} {
		size := grade.Size{Thickness: inch, Width: 4 * inch, Length: 20 * inch}
		p := grade.Part{Kit: "k", Part: "p", Count: 1, Finished: size, Rough: size, Zone: grade.Inside, Faces: need}
		b := grade.Board{Thickness: inch, Width: 4 * inch, Length: 20 * inch}
		b.Defects = []grade.Defect{face(grade.Top, grade.Knot, 5, 1, 1, 1)}
		one, err := grade.UsableVolume(b, grade.UsableOptions{Parts: []grade.Part{p}})
		require.NoError(t, err)
		b.Defects = append(b.Defects, face(grade.Bottom, grade.Knot, 9, 1, 1, 1))
		two, err := grade.UsableVolume(b, grade.UsableOptions{Parts: []grade.Part{p}})
		require.NoError(t, err)
		require.Equal(t, want, [2]bool{one.Clear > 0, two.Clear > 0}, "%d clear faces", need)
	}
}

func TestUsableRefuses(t *testing.T) {
	t.Parallel()
	b := grade.Board{Thickness: inch, Width: 4 * inch, Length: 20 * inch}
	size := grade.Size{Thickness: inch, Width: inch, Length: inch}
	good := grade.Part{Count: 1, Finished: size, Rough: size, Zone: grade.Inside}
	with := func(change func(*grade.Part)) grade.UsableOptions {
		p := good
		change(&p)
		return grade.UsableOptions{Parts: []grade.Part{good, p}}
	}
	for name, o := range map[string]grade.UsableOptions{
		"kerf below zero":     {RipKerf: -1},
		"kerf of 2 m":         {CrosscutKerf: 2 * wood.Metre},
		"unknown zone":        {Zone: "hold"},
		"too many parts":      {Parts: make([]grade.Part, 201)},
		"part without size":   with(func(p *grade.Part) { p.Finished.Width = 0 }),
		"rough below its end": with(func(p *grade.Part) { p.Rough.Length-- }),
		"three faces":         with(func(p *grade.Part) { p.Faces = 3 }),
		"no count":            with(func(p *grade.Part) { p.Count = 0 }),
		"part without zone":   with(func(p *grade.Part) { p.Zone = "" }),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := grade.UsableVolume(b, o)
			require.ErrorIs(t, err, grade.ErrOption)
			var fault *grade.Error
			require.True(t, errors.As(err, &fault))
			require.NotEmpty(t, fault.Remedy)
		})
	}
	_, err := grade.UsableVolume(grade.Board{}, grade.HouseOptions())
	require.ErrorIs(t, err, grade.ErrBoard)
	none, err := grade.UsableVolume(b, grade.UsableOptions{Parts: []grade.Part{}})
	require.NoError(t, err)
	require.Zero(t, none.Clear)
}
