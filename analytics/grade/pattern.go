package grade

import "skepwood/analytics/wood"

// NailRows is a quick pattern: rows of nails across the board, the first and
// last a distance in from the ends and the others spread evenly between, as
// deck boards of a three-stringer pallet carry them. "Nail rows 2 in from each
// end and in the middle, 3 across" is
// NailRows{Rows: 3, Across: 3, FromEnd: 2 * wood.Inch}.
type NailRows struct {
	// Rows is the number of rows, 1 to 50. One row lies FromEnd from the left
	// end.
	Rows int
	// Across is the number of nails in a row, 1 to 50.
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
// row from the left end, each row from the near edge. A pattern that does not
// fit the board is ErrPattern.
func (p NailRows) Defects(b Board) ([]Defect, error) { return nil, nil }
