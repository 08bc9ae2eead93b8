package grade

import (
	"errors"
	"fmt"
	"slices"

	"skepwood/analytics/wood"
)

// MaxDefects is the greatest number of defects a board may carry. A pallet
// board has some dozens; more than this is a slip of a pattern.
const MaxDefects = 1000

// Validate returns nil for a board that can be, else an error that joins one
// *Error for each fault of its size and of each defect. Defects may overlap
// and lie anywhere on the board; they may not reach off it, have no size, or
// be of an unknown kind or face. A board without usable size is reported alone,
// because nothing can be said of defects on it.
func (b Board) Validate() error {
	var faults []error
	for _, m := range []struct {
		field string
		v     wood.Length
	}{{"thickness", b.Thickness}, {"width", b.Width}, {"length", b.Length}} {
		if fault := checkSide(ErrBoard, -1, m.field, m.v); fault != nil {
			faults = append(faults, fault)
		}
	}
	if len(faults) > 0 {
		return errors.Join(faults...)
	}
	if n := len(b.Defects); n > MaxDefects {
		return &Error{ErrBoard, -1, "defects", fmt.Sprintf("are %d", n), fmt.Sprintf("note at most %d; mark a spoiled stretch as one rectangle", MaxDefects)}
	}
	for i, d := range b.Defects {
		faults = append(faults, b.defectFaults(i, d)...)
	}
	return errors.Join(faults...)
}

// checkSide refuses a side that no piece of wood has.
func checkSide(of error, index int, field string, v wood.Length) error {
	switch {
	case v <= 0:
		return &Error{of, index, field, fmt.Sprintf("is %v", v), "give a size above zero"}
	case v > wood.MaxLength:
		return &Error{of, index, field, fmt.Sprintf("is %v", v), "check the number and its unit: at most 100 m"}
	default:
		return nil
	}
}

// defectFaults lists what is wrong with one defect. Place is judged only
// where the size makes sense, so that no fault is told twice.
func (b Board) defectFaults(i int, d Defect) []error {
	var faults []error
	add := func(field, problem, remedy string) {
		faults = append(faults, &Error{ErrDefect, i, field, problem, remedy})
	}
	if !slices.Contains(Kinds(), d.Kind) {
		add("kind", fmt.Sprintf("is %.40q", string(d.Kind)), "use nail_hole, knot, split, check, wane, decay, stain or insect_hole")
	}
	if d.Face != Top && d.Face != Bottom && d.Face != Both {
		add("face", fmt.Sprintf("is %.40q", string(d.Face)), "use top, bottom or both")
	}
	b.placeFaults(d, add)
	switch {
	case d.Depth < 0:
		add("depth", fmt.Sprintf("is %v", d.Depth), "measure from the face down, or leave it out")
	case d.Depth > b.Thickness:
		add("depth", fmt.Sprintf("is %v in a board %v thick", d.Depth, b.Thickness), "a defect that goes through has face both")
	case d.Face == Both && d.Depth > 0 && d.Depth < b.Thickness:
		add("depth", fmt.Sprintf("is %v though it shows on both faces", d.Depth), "leave it out, or note one defect for each face")
	}
	return faults
}

// placeFaults tells add what is wrong with a defect's size and place.
func (b Board) placeFaults(d Defect, add func(field, problem, remedy string)) {
	for _, m := range []struct {
		place, size string
		at, span    wood.Length
		room        wood.Length
		end, remedy string
	}{
		{"x", "dx", d.X, d.DX, b.Length, "the right end", "measure from the left end"},
		{"y", "dy", d.Y, d.DY, b.Width, "the far edge", "measure from the near edge"},
	} {
		switch {
		case m.span <= 0:
			add(m.size, fmt.Sprintf("is %v", m.span), "give a size above zero; a nail hole is about 1/4 in")
		case m.span > m.room:
			add(m.size, fmt.Sprintf("is %v on a board of %v", m.span, m.room), "check the size and its unit")
		case m.at < 0:
			add(m.place, fmt.Sprintf("is %v", m.at), m.remedy)
		case m.at > m.room-m.span:
			add(m.place, fmt.Sprintf("puts it past %s, at %v of %v", m.end, m.at+min(m.span, wood.MaxLength), m.room), m.remedy)
		}
	}
}
