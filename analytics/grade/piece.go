package grade

import "fmt"

// Piece returns the board that is left of b when it is ripped and crosscut to a
// rectangle: its defects are those that reach into it, cut off at its edges and
// measured from its own corner. A rectangle that is not on the board or holds
// no wood is ErrBoard.
func (b Board) Piece(r Rect) (Board, error) {
	if err := b.Validate(); err != nil {
		return Board{}, err
	}
	if r.Empty() || !r.sane() || !b.Rect().Contains(r) {
		return Board{}, &Error{ErrBoard, -1, "piece", fmt.Sprintf("of %v by %v at %v, %v is not on a board of %v by %v", r.DX, r.DY, r.X, r.Y, b.Length, b.Width), "cut within the board"}
	}
	out := Board{Thickness: b.Thickness, Width: r.DY, Length: r.DX, Mapped: b.Known()}
	for _, d := range b.Defects {
		in := d.Rect().Intersect(r)
		if in.Empty() {
			continue
		}
		d.X, d.Y, d.DX, d.DY = in.X-r.X, in.Y-r.Y, in.DX, in.DY
		out.Defects = append(out.Defects, d)
	}
	return out, nil
}
