package grade

import (
	"fmt"

	"skepwood/analytics/wood"
)

// taperSteps is into how many rectangles a taper is cut. Eight of them call at
// most a sixteenth of the missing wedge missing too much along half a board.
const taperSteps = 8

// Taper returns the wood that a tapering board lacks, as wane that goes through
// along the far edge. The board's Width is that of its wider end; left and
// right are the widths at its ends, one of them the board's. The near edge is
// taken as straight, so lay the straight edge towards you.
//
// It is conservative: the wedge is covered by a staircase of rectangles, each
// as deep as the wedge at the narrower end of its stretch, so no blank reaches
// into wood that is not there. Faults are ErrBoard.
func Taper(b Board, left, right wood.Length) ([]Defect, error) {
	if err := b.Validate(); err != nil {
		return nil, err
	}
	for _, end := range []struct {
		field string
		width wood.Length
	}{{"left width", left}, {"right width", right}} {
		if end.width <= 0 || end.width > b.Width {
			return nil, &Error{ErrBoard, -1, end.field, fmt.Sprintf("is %s on a board of %s", spoken(end.width), spoken(b.Width)), "measure the width at both ends"}
		}
	}
	if max(left, right) != b.Width {
		return nil, &Error{ErrBoard, -1, "width", fmt.Sprintf("is %s and neither end is", spoken(b.Width)), "give the wider end as the board's width"}
	}
	lack := b.Width - min(left, right)
	var out []Defect
	for i := range wood.Length(taperSteps) {
		// Steps counted from the wider end; each begins where less is missing.
		from, to := b.Length*i/taperSteps, b.Length*(i+1)/taperSteps
		deep := (lack*(i+1) + taperSteps - 1) / taperSteps
		if deep == 0 || to == from {
			continue
		}
		r := Rect{X: from, Y: b.Width - deep, DX: to - from, DY: deep}
		if right == b.Width {
			r.X = b.Length - to
		}
		out = append(out, Defect{Kind: Wane, Face: Both, X: r.X, Y: r.Y, DX: r.DX, DY: r.DY})
	}
	return out, nil
}

// EdgeWane is bark or missing wood along the far edge of a board.
type EdgeWane struct {
	// Width is how far it comes in from the edge at its widest, on the face
	// that shows more of it.
	Width wood.Length
	// Length is how far it runs along the edge; 0 means the whole length.
	Length wood.Length
	// FromRight measures its run from the right end; else from the left.
	FromRight bool
}

// Defects returns the wane as one rectangle that goes through. It is
// conservative: wane is taken as deep as the board and as wide all along as at
// its widest. Faults are ErrPattern and those of the board.
func (w EdgeWane) Defects(b Board) ([]Defect, error) {
	if err := b.Validate(); err != nil {
		return nil, err
	}
	run := w.Length
	if run == 0 {
		run = b.Length
	}
	switch {
	case w.Width <= 0 || w.Width >= b.Width:
		return nil, &Error{ErrPattern, -1, "width", fmt.Sprintf("is %s on a board of %s", spoken(w.Width), spoken(b.Width)), "measure from the edge to where the face is whole; give the board's width without it if little is left"}
	case run < 0 || run > b.Length:
		return nil, &Error{ErrPattern, -1, "length", fmt.Sprintf("is %s on a board of %s", spoken(run), spoken(b.Length)), "measure from the end where it begins"}
	}
	d := Defect{Kind: Wane, Face: Both, Y: b.Width - w.Width, DX: run, DY: w.Width}
	if w.FromRight {
		d.X = b.Length - run
	}
	return []Defect{d}, nil
}
