package grade

import (
	"fmt"

	"skepwood/analytics/wood"
)

// maxNails bounds rows and nails across: a pattern is a handful of nails.
const maxNails = 50

// NailRows is a quick pattern: rows of nails across the board, the first and
// last a distance in from the ends and the others spread evenly between, as
// deck boards of a three-stringer pallet carry them. "Nail rows 2 in from each
// end and in the middle, 3 across" is
// NailRows{Rows: 3, Across: 3, FromEnd: 2 * wood.Inch}.
type NailRows struct {
	// Rows is the number of rows, 1 to 50. One row lies FromEnd from the left
	// end.
	Rows int
	// Across is the number of nails in a row, 1 to 50. A single nail lies
	// FromEdge from the near edge, or in the middle where that is 0.
	Across int
	// FromEnd is the distance from each end to the middle of its row.
	FromEnd wood.Length
	// FromEdge is the distance from each edge to the middle of the outer
	// nails; 0 spreads a row so that each nail has an equal share of the width.
	FromEdge wood.Length
	// Size is the side of the square noted for each nail; 0 means 1/4 in: a
	// pallet nail's hole with the crushed wood round it (common practice, no
	// source).
	Size wood.Length
	// Face is where they show; "" means Both.
	Face Face
	// Metal says that the nails are still in.
	Metal bool
}

// Defects returns the pattern's nail holes on a board of the given size, row by
// row from the left end, each row from the near edge. A nail whose square
// reaches over an edge is cut off there. A pattern that does not fit the board
// is ErrPattern.
func (p NailRows) Defects(b Board) ([]Defect, error) {
	if p.Size == 0 {
		p.Size = wood.Inch / 4
	}
	if p.Face == "" {
		p.Face = Both
	}
	if err := p.check(b); err != nil {
		return nil, err
	}
	out := make([]Defect, 0, p.Rows*p.Across)
	for _, x := range spread(p.Rows, p.FromEnd, b.Length) {
		for _, y := range p.across(b.Width) {
			r := Rect{X: x - p.Size/2, Y: y - p.Size/2, DX: p.Size, DY: p.Size}.Intersect(b.Rect())
			if r.Empty() {
				continue
			}
			out = append(out, Defect{Kind: NailHole, Face: p.Face, X: r.X, Y: r.Y, DX: r.DX, DY: r.DY, Metal: p.Metal})
		}
	}
	return out, nil
}

// across returns the middles of the nails of one row.
func (p NailRows) across(width wood.Length) []wood.Length {
	if p.FromEdge > 0 {
		return spread(p.Across, p.FromEdge, width)
	}
	n := wood.Length(p.Across)
	out := make([]wood.Length, p.Across)
	for i := range out {
		out[i] = width * (2*wood.Length(i) + 1) / (2 * n)
	}
	return out
}

// spread returns n places from start to room-start, evenly, ends included; a
// single place is start.
func spread(n int, start, room wood.Length) []wood.Length {
	out := make([]wood.Length, n)
	for i := range out {
		out[i] = start
		if n > 1 {
			out[i] += (room - 2*start) * wood.Length(i) / wood.Length(n-1)
		}
	}
	return out
}

// check refuses what does not fit the board.
func (p NailRows) check(b Board) error {
	if err := b.Validate(); err != nil {
		return err
	}
	fault := func(field, problem, remedy string) error {
		return &Error{ErrPattern, -1, field, problem, remedy}
	}
	switch {
	case p.Rows < 1 || p.Rows > maxNails:
		return fault("rows", fmt.Sprintf("are %d", p.Rows), "give 1 to 50")
	case p.Across < 1 || p.Across > maxNails:
		return fault("across", fmt.Sprintf("is %d", p.Across), "give 1 to 50")
	case p.Face != Top && p.Face != Bottom && p.Face != Both:
		return fault("face", fmt.Sprintf("is %.40q", string(p.Face)), "use top, bottom or both")
	case p.Size < 0 || p.Size > min(b.Width, b.Length):
		return fault("size", fmt.Sprintf("is %s", spoken(p.Size)), "give the side of a nail's square, smaller than the board")
	case p.FromEnd < 0 || p.FromEnd > b.Length || (p.Rows > 1 && p.FromEnd > b.Length/2):
		return fault("from_end", fmt.Sprintf("is %s on a board %s long", spoken(p.FromEnd), spoken(b.Length)), "measure from the nearer end")
	case p.FromEdge < 0 || p.FromEdge > b.Width || (p.Across > 1 && p.FromEdge > b.Width/2):
		return fault("from_edge", fmt.Sprintf("is %s on a board %s wide", spoken(p.FromEdge), spoken(b.Width)), "measure from the nearer edge")
	default:
		return nil
	}
}
