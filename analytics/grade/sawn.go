package grade

import (
	"errors"
	"fmt"
	"strings"

	"skepwood/analytics/wood"
)

// maxSawn bounds the pieces of one list of cuts.
const maxSawn = 200

// Ripped returns the strips that a board gives when they are ripped off one
// after the other from the near edge, a kerf between neighbours: widths 2 1/4,
// 2 1/4 and 3/4 in with a kerf of 1/8 in are 5 1/2 in of board and nothing is
// left. What is left past the last strip and one kerf more is the last
// rectangle, unless it is nothing. A strip as wide as the board is refused, since
// nothing is cut then. Faults are ErrBoard and ErrOption, with Index the strip's
// place.
func Ripped(b Board, kerf wood.Length, widths ...wood.Length) ([]Rect, error) {
	spans, err := b.sawn(kerf, b.Width, "width", widths)
	if err != nil {
		return nil, err
	}
	out := make([]Rect, len(spans))
	for i, s := range spans {
		out[i] = Rect{Y: s.from, DX: b.Length, DY: s.to - s.from}
	}
	return out, nil
}

// Crosscut returns the pieces that a board gives when lengths are cut off one
// after the other from the left end; see [Ripped].
func Crosscut(b Board, kerf wood.Length, lengths ...wood.Length) ([]Rect, error) {
	spans, err := b.sawn(kerf, b.Length, "length", lengths)
	if err != nil {
		return nil, err
	}
	out := make([]Rect, len(spans))
	for i, s := range spans {
		out[i] = Rect{X: s.from, DX: s.to - s.from, DY: b.Width}
	}
	return out, nil
}

// maxSizesText bounds the text of a list of sizes.
const maxSizesText = 4000

// ParseSizes reads a list of sizes as people write them for a saw: lengths with
// a comma, a semicolon, a plus or a line between them; a number without a unit
// is in the given one. Empty places are skipped. Faults are ErrOption, with
// Index the size's place and Field "sizes".
func ParseSizes(text string, unit wood.Unit) ([]wood.Length, error) {
	if len(text) > maxSizesText {
		return nil, &Error{ErrOption, -1, "sizes", fmt.Sprintf("are a text of %d characters", len(text)), fmt.Sprintf("give at most %d sizes", maxSawn)}
	}
	var out []wood.Length
	for _, one := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",;+\n\r", r) }) {
		if one = strings.TrimSpace(one); one == "" {
			continue
		}
		l, err := wood.ParseLength(one, unit)
		if err != nil {
			return nil, &Error{ErrOption, len(out), "sizes", notALength(err), "write them like 2 1/4, 2 1/4, 3/4"}
		}
		out = append(out, l)
	}
	if len(out) == 0 {
		return nil, &Error{ErrOption, -1, "sizes", "are missing", "write them like 2 1/4, 2 1/4, 3/4"}
	}
	return out, nil
}

// notALength says why a text is no length; the remedy stands elsewhere.
func notALength(err error) string {
	var wrong *wood.LengthError
	if errors.As(err, &wrong) {
		return fmt.Sprintf("is %q: %s", wrong.Input, wrong.Reason)
	}
	return err.Error()
}

// sawn divides one side of a board. All sums are of whole nanometres, so that a
// fit is exact.
func (b Board) sawn(kerf, room wood.Length, field string, sizes []wood.Length) ([]stretch, error) {
	if err := b.Validate(); err != nil {
		return nil, err
	}
	switch {
	case kerf < 0 || kerf >= room:
		return nil, &Error{ErrOption, -1, "kerf", fmt.Sprintf("is %s", spoken(kerf)), "measure the cut the blade makes: 0 or more, and less than the board"}
	case len(sizes) == 0 || len(sizes) > maxSawn:
		return nil, &Error{ErrOption, -1, field, fmt.Sprintf("is given %d times", len(sizes)), fmt.Sprintf("give 1 to %d sizes", maxSawn)}
	}
	if sizes[0] == room {
		return nil, &Error{ErrOption, 0, field, fmt.Sprintf("is the whole %s, so nothing would be cut", spoken(room)), "give a smaller size, or leave the board as it is"}
	}
	var out []stretch
	at := wood.Length(0)
	for i, size := range sizes {
		if size <= 0 {
			return nil, &Error{ErrOption, i, field, fmt.Sprintf("is %s", spoken(size)), "give a size above zero"}
		}
		if size > room-at {
			return nil, &Error{ErrOption, i, field, fmt.Sprintf("is %s where %s is left of %s", spoken(size), spoken(max(0, room-at)), spoken(room)), "leave it out, or make it smaller; each cut takes its kerf"}
		}
		out = append(out, stretch{at, at + size})
		at += size + kerf
	}
	if at < room {
		out = append(out, stretch{at, room})
	}
	return out, nil
}

// spoken prints a length for a message: in inches where it is a whole number of
// sixty-fourths, in millimetres where it is not.
func spoken(l wood.Length) string {
	if l%(wood.Inch/64) == 0 {
		return l.Format(wood.UnitInch)
	}
	return l.Format(wood.UnitMillimetre)
}
