package cut

import (
	"fmt"
	"math/rand/v2"
)

// recipe says what kind of instance to make up.
type recipe struct {
	pattern       Pattern
	objective     Objective
	boards, parts int
	// length and width are the greatest board sizes; boards are at least 60 %
	// as long and wide.
	length, width int
	defects       int // mean on each board
	// plenty is the wanted parts' area as a share of the boards'.
	plenty float64
}

// generate makes up an instance in the spirit of the reference cases: crate
// boards with nail rows near the ends and in the middle, splits that run in
// from an end, knots on one face; parts of a few widths and more lengths,
// valued by area with a spread.
func generate(r recipe, seed uint64) Instance {
	rng := rand.New(rand.NewPCG(seed, 2026))
	between := func(lo, hi int) int { return lo + rng.IntN(max(1, hi-lo+1)) }
	in := Instance{
		ID: fmt.Sprintf("%s-%s-%dx%d-%d", r.pattern, r.objective, r.boards, r.parts, seed), Pattern: r.pattern,
		Objective: r.objective, Kerf: Kerf{1, 1},
	}
	area := 0
	for i := range r.boards {
		b := Board{ID: i, Length: between(r.length*6/10, r.length), Width: between(r.width*6/10, r.width)}
		if rng.Float64() < 0.6 { // stock sizes
			b.Length = []int{r.length, r.length * 5 / 6, r.length * 2 / 3}[rng.IntN(3)]
			b.Width = []int{r.width * 2 / 3, r.width * 4 / 5, r.width}[rng.IntN(3)]
		}
		b.Cost = b.Length * b.Width * between(80, 120) / 1000
		for range between(r.defects/2, r.defects*3/2) {
			b.Defects = append(b.Defects, blemish(rng, b))
		}
		area += b.Length * b.Width
		in.Boards = append(in.Boards, b)
	}
	var widths, lengths []int
	for range 2 + r.parts/5 {
		widths = append(widths, between(max(2, r.width/7), r.width*6/10))
	}
	for range 2 + r.parts/2 {
		lengths = append(lengths, between(r.length/12, r.length/2))
	}
	made := map[[2]int]bool{}
	for i := range r.parts {
		p := Part{ID: i, Length: lengths[rng.IntN(len(lengths))], Width: widths[rng.IntN(len(widths))], Faces: rng.IntN(3)}
		if made[[2]int{p.Length, p.Width}] {
			p.Length = between(r.length/12, r.length/2)
		}
		made[[2]int{p.Length, p.Width}] = true
		p.Value = max(1, p.Length*p.Width*between(80, 130)/1000)
		share := r.plenty * float64(area) / float64(r.parts) * (0.5 + rng.Float64())
		p.Max = max(1, int(share/float64(p.Length*p.Width)))
		in.Parts = append(in.Parts, p)
	}
	return in
}

// blemish makes up one defect.
func blemish(rng *rand.Rand, b Board) Defect {
	d := Defect{DX: 2, DY: 2, Face: Both}
	switch rng.IntN(6) {
	case 0: // a split from an end
		d.DX, d.DY = 5+rng.IntN(max(1, b.Length/6)), 1
		if rng.IntN(2) == 0 {
			d.X = b.Length - d.DX
		}
	case 1, 2: // a knot
		d.DX, d.DY, d.Face = 2+rng.IntN(12), 2+rng.IntN(5), []Face{Top, Bottom}[rng.IntN(2)]
		d.X = rng.IntN(b.Length)
	default: // a nail of a row
		d.X = []int{2, b.Length / 2, b.Length - 4}[rng.IntN(3)] + rng.IntN(3)
	}
	d.DX, d.DY = min(d.DX, b.Length), min(d.DY, b.Width)
	d.X = max(0, min(d.X, b.Length-d.DX))
	d.Y = rng.IntN(b.Width - d.DY + 1)
	return d
}
