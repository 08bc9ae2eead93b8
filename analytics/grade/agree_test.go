package grade_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/cut"
	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// tick is the step in which the random boards of these tests are drawn. Where
// every size, kerf and least width is a whole number of ticks, edges of strips
// on whole ticks lose nothing: with the order of strips given, their edges
// solve a linear programme of differences, whose vertices are whole.
const tick = inch / 2

// asCut writes the measuring of one board as a case for the cutting plans: a
// part that may be glued up stands once for every width of strip it may come
// from, each worth its area.
func asCut(b grade.Board, opts grade.UsableOptions, tick wood.Length) cut.Instance {
	ticks := func(l wood.Length) int { return int(l / tick) }
	in := cut.Instance{
		Pattern: cut.Rip2, Objective: cut.MaxValue, Kerf: cut.Kerf{Rip: ticks(opts.RipKerf), Crosscut: ticks(opts.CrosscutKerf)},
		Boards: []cut.Board{{Length: ticks(b.Length), Width: ticks(b.Width), Count: 1}},
	}
	for _, d := range b.Defects {
		r, face := d.Rect(), cut.Face(d.Face)
		if d.Metal {
			r = r.Grow(opts.Clearance).Intersect(b.Rect())
		}
		if d.Metal || d.Kind == grade.Decay {
			face = cut.Both
		}
		in.Boards[0].Defects = append(in.Boards[0].Defects, cut.Defect{X: ticks(r.X), Y: ticks(r.Y), DX: ticks(r.DX), DY: ticks(r.DY), Face: face})
	}
	for _, p := range opts.Parts {
		if opts.Zone == grade.Outside && p.Zone != grade.Outside || p.Finished.Thickness > b.Thickness {
			continue
		}
		least := p.Rough.Width
		if p.Glue {
			least = min(least, max(opts.MinGlue, tick))
		}
		for w := least; w <= p.Rough.Width; w += tick {
			in.Parts = append(in.Parts, cut.Part{
				ID: len(in.Parts), Length: ticks(p.Rough.Length), Width: ticks(w),
				Value: ticks(w) * ticks(p.Rough.Length), Max: cut.Unlimited, Faces: p.Faces,
			})
		}
	}
	return in
}

// drawCase draws a board and options for it.
func drawCase(t *rapid.T) (grade.Board, grade.UsableOptions) {
	draw := func(least, most int, what string) wood.Length {
		return tick * wood.Length(rapid.IntRange(least, most).Draw(t, what))
	}
	b := grade.Board{Thickness: inch, Width: draw(3, 30, "width"), Length: draw(8, 90, "length")}
	for i := range rapid.IntRange(0, 7).Draw(t, "defects") {
		d := grade.Defect{
			Kind:  rapid.SampledFrom(grade.Kinds()).Draw(t, "kind"),
			Face:  rapid.SampledFrom([]grade.Face{grade.Top, grade.Bottom, grade.Both}).Draw(t, "face"),
			DX:    min(b.Length, draw(1, 8, fmt.Sprint("dx", i))),
			DY:    min(b.Width, draw(1, 4, fmt.Sprint("dy", i))),
			Metal: rapid.IntRange(0, 4).Draw(t, "metal") == 0,
		}
		d.X = tick * wood.Length(rapid.IntRange(0, int((b.Length-d.DX)/tick)).Draw(t, "x"))
		d.Y = tick * wood.Length(rapid.IntRange(0, int((b.Width-d.DY)/tick)).Draw(t, "y"))
		b.Defects = append(b.Defects, d)
	}
	opts := grade.UsableOptions{
		RipKerf: draw(0, 2, "rip kerf"), CrosscutKerf: draw(0, 2, "crosscut kerf"), Clearance: draw(0, 2, "clearance"), MinGlue: draw(1, 4, "least glued"),
		Zone: rapid.SampledFrom([]grade.Zone{"", grade.Outside}).Draw(t, "zone"),
	}
	for i := range rapid.IntRange(1, 7).Draw(t, "parts") {
		size := grade.Size{Thickness: inch * wood.Length(rapid.IntRange(1, 3).Draw(t, "half inches")) / 2, Width: draw(1, 14, "part width"), Length: draw(3, 40, "part length")}
		opts.Parts = append(opts.Parts, grade.Part{
			Kit: "kit", Part: fmt.Sprint("part ", i), Count: 1, Finished: size, Rough: size,
			Zone:  rapid.SampledFrom([]grade.Zone{grade.Inside, grade.Outside}).Draw(t, "part zone"),
			Faces: rapid.IntRange(0, 2).Draw(t, "faces"), Glue: rapid.Bool().Draw(t, "glue"),
		})
	}
	return b, opts
}

// TestUsableVolumeIsTheCuttingPlans shows that usable volume and cutting plans
// are one figure: on random boards, with parts, kerfs, clear faces, clearance
// and gluing drawn at random, the ripping programme of this package and the
// exact board programme of the cutting plans find the same greatest area.
func TestUsableVolumeIsTheCuttingPlans(t *testing.T) {
	t.Parallel()
	some := 0
	rapid.Check(t, func(t *rapid.T) {
		b, opts := drawCase(t)
		u, err := grade.UsableVolume(b, opts)
		require.NoError(t, err)
		requireBlanks(t, b, opts, u)
		want := mostByCut(t, b, opts, tick)
		if want > 0 {
			some++
		}
		require.InDelta(t, float64(want), float64(u.Clear), 1e-12)
	})
	require.Positive(t, some, "some boards hold a part")
}

// mostByCut returns the greatest volume by the cutting plans' programme.
func mostByCut(t require.TestingT, b grade.Board, opts grade.UsableOptions, tick wood.Length) wood.Volume {
	in := asCut(b, opts, tick)
	if len(in.Parts) == 0 {
		return 0
	}
	plan, err := cut.Solve(context.Background(), in, cut.Options{Workers: 1})
	require.NoError(t, err)
	require.Equal(t, cut.Optimal, plan.Status)
	return wood.VolumeOf(b.Thickness, tick, tick) * wood.Volume(plan.Value)
}

// TestHouseFiguresAreTheCuttingPlans does the same with the house's own parts,
// saws and clearance, in sixteenths of an inch, on boards as pallets give them.
func TestHouseFiguresAreTheCuttingPlans(t *testing.T) {
	t.Parallel()
	const fine = inch / 16
	rng := rand.New(rand.NewPCG(7, 4))
	for i := range 12 {
		b := grade.Board{Thickness: inch * 7 / 8, Width: fine * wood.Length(56+rng.IntN(88)), Length: fine * wood.Length(480+rng.IntN(640))}
		nails, err := grade.NailRows{Rows: 3, Across: 2, FromEnd: 2 * inch, Metal: i%3 == 0}.Defects(b)
		require.NoError(t, err)
		for _, d := range nails {
			d.X, d.Y = d.X-d.X%fine, d.Y-d.Y%fine
			b.Defects = append(b.Defects, d)
		}
		for range rng.IntN(5) {
			b.Defects = append(b.Defects, grade.Defect{
				Kind: grade.Knot, Face: []grade.Face{grade.Top, grade.Bottom, grade.Both}[rng.IntN(3)],
				X: fine * wood.Length(rng.IntN(460)), Y: fine * wood.Length(rng.IntN(40)), DX: fine * 18, DY: fine * 14,
			})
		}
		opts := grade.HouseOptions()
		opts.Parts = grade.Parts()
		if i%2 == 1 {
			opts.Zone = grade.Outside
		}
		u, err := grade.UsableVolume(b, opts)
		require.NoError(t, err)
		require.InDelta(t, float64(mostByCut(t, b, opts, fine)), float64(u.Clear), 1e-12, "board %d", i)
	}
}
