package db

import (
	"fmt"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// check refuses pieces that no saw can make of the board.
func (c BoardCut) check(b Board) FieldErrors {
	fault := func(field, value, problem, remedy string) FieldErrors {
		return FieldErrors{{Field: field, Value: clip(value), Problem: problem, Remedy: remedy}}
	}
	switch {
	case b.Struck():
		return fault("board", b.Code, "is struck through", "restore it first")
	case b.State != "rack":
		return fault("board", b.Code, "is no longer on the rack", "cut one that is")
	case len(c.Pieces) == 0:
		return fault("pieces", "", "are missing", "say what the board becomes")
	case len(c.Pieces) > maxCutPieces:
		return fault("pieces", fmt.Sprint(len(c.Pieces)), fmt.Sprintf("are more than %d", maxCutPieces), "cut the board in two first")
	case c.RipKerf < 0 || c.CrosscutKerf < 0:
		return fault("kerf", "", "is below zero", "measure the cut that the blade makes")
	}
	var faults FieldErrors
	for i, p := range c.Pieces {
		if f := c.checkPiece(b, p, i); f != nil {
			faults = append(faults, f)
			continue
		}
		for j, q := range c.Pieces[:i] {
			if !c.apart(p.Rect, q.Rect) {
				faults = append(faults, pieceFault(p, i, fmt.Sprintf("lies less than a saw cut from piece %d", j+1), "move it by the kerf, or leave it out"))
				break
			}
		}
	}
	return faults
}

// checkPiece refuses a piece that is not of this board, or all of it: a child
// like its parent would be the same wood under two codes.
func (c BoardCut) checkPiece(b Board, p BoardPiece, i int) *FieldError {
	// No coordinate of a piece may be so large that adding two of them wraps.
	for _, v := range [4]wood.Length{p.X, p.Y, p.DX, p.DY} {
		if v < 0 || v > wood.MaxLength {
			return pieceFault(p, i, "is not on the board", "measure from the left end and the near edge")
		}
	}
	whole := grade.Board{Length: b.Length, Width: b.Width}.Rect()
	switch {
	case p.Empty():
		return pieceFault(p, i, "has no size", "give its length and width")
	case !whole.Contains(p.Rect):
		return pieceFault(p, i, fmt.Sprintf("reaches off the board, which is %s wide and %s long", exactLength(b.Width), exactLength(b.Length)), "make it smaller, or count the kerf once less")
	case p.DX < c.least && p.DX < b.Length:
		return pieceFault(p, i, "is shorter than "+exactLength(c.least), "leave it out: it is waste")
	case p.Thickness < 0 || p.Thickness > b.Thickness:
		return pieceFault(p, i, "is thicker than the board", "leave the thickness out, or give what is left of it")
	case p.Rect == whole && (p.Thickness == 0 || p.Thickness == b.Thickness):
		return pieceFault(p, i, "is the whole board, so nothing would be cut", "make it smaller, or leave the board as it is")
	case p.State != "" && p.State != "rack" && p.State != "built" && p.State != "broken" && p.State != "gone":
		return pieceFault(p, i, "has the state "+clip(p.State), "use rack, built, broken or gone")
	default:
		return nil
	}
}

// apart reports whether a saw could have parted two pieces.
func (c BoardCut) apart(p, q grade.Rect) bool {
	return p.X >= q.Right()+c.CrosscutKerf || q.X >= p.Right()+c.CrosscutKerf ||
		p.Y >= q.Far()+c.RipKerf || q.Y >= p.Far()+c.RipKerf
}

func pieceFault(p BoardPiece, i int, problem, remedy string) *FieldError {
	return &FieldError{
		Field: "pieces", Value: fmt.Sprintf("%s × %s", exactLength(p.DY), exactLength(p.DX)),
		Problem: fmt.Sprintf("piece %d %s", i+1, problem), Remedy: remedy,
	}
}
