package grade

import (
	"slices"
	"sort"

	"skepwood/analytics/wood"
)

// walk crosscuts one strip whose clear stretches do not stand alone, from the left
// end: a dynamic programme over where the next piece may begin. Any plan can be
// pushed to the left until each piece touches the cut before it or a defect
// that spoils it, so only these beginnings count; and of two beginnings the
// earlier one is no worse, so only those with more behind them are kept.
type walk struct {
	menu *menu
	// clear holds the stretches where what goes through, the top, the bottom,
	// and both faces are clear.
	clear [4][]stretch
	// grain is the scale on which beginnings are kept, so that odd sizes do
	// not multiply them without end.
	grain wood.Length
	stops []stop
	taken []taking
}

// maxGrains bounds the beginnings along a strip.
const maxGrains = 1 << 13

// stop is a beginning with the length filled behind it; last is the piece
// there, as a place in taken, -1 for none.
type stop struct {
	at, filled wood.Length
	last       int32
}

// taking is a piece taken after another.
type taking struct {
	cutPiece
	before int32
}

// walker returns the strips' walk set to one strip. It is used again for each,
// since a board has many strips.
func (s *strips) walker(m *menu, y0, y1 wood.Length) *walk {
	w := &s.walk
	fine := wood.Inch / 64
	w.menu, w.grain = m, fine*(1+s.length/(fine*maxGrains))
	for i, rects := range [4][]Rect{s.faces.both, s.faces.top, s.faces.bottom, s.faces.any} {
		w.clear[i] = s.clearStretches(w.clear[i][:0], rects, y0, y1)
	}
	return w
}

// run returns the last stop of the best plan. With hopeful beginnings are
// rounded down instead of up, which fills no less than any plan can.
func (w *walk) run(hopeful bool) stop {
	w.stops, w.taken = append(w.stops[:0], stop{last: -1}), w.taken[:0]
	for i := 0; i < len(w.stops); i++ {
		s := w.stops[i]
		for _, it := range w.menu.items {
			from, ok := w.earliest(s.at, it)
			if !ok {
				continue
			}
			at := from + it.length + w.menu.kerf
			if !hopeful {
				at += w.grain - 1
			}
			at -= at % w.grain
			// Rounding down must still get ahead.
			at = max(at, s.at+1)
			w.insert(stop{at: at, filled: s.filled + it.length}, taking{cutPiece{from, it}, s.last})
		}
	}
	return w.stops[len(w.stops)-1]
}

// insert keeps the stops in order of place, each with more filled than all
// before it.
func (w *walk) insert(s stop, t taking) {
	i := sort.Search(len(w.stops), func(i int) bool { return w.stops[i].at > s.at })
	if w.stops[i-1].filled >= s.filled {
		return
	}
	if w.stops[i-1].at == s.at {
		i--
	}
	j := i
	for j < len(w.stops) && w.stops[j].filled <= s.filled {
		j++
	}
	s.last = int32(len(w.taken))
	w.taken = append(w.taken, t)
	w.stops = slices.Replace(w.stops, i, j, s)
}

// earliest returns the first place from x on where the item is clear.
func (w *walk) earliest(x wood.Length, it item) (wood.Length, bool) {
	switch it.faces {
	case 0:
		return earliest(w.clear[0], x, it.length)
	case 1:
		top, ok := earliest(w.clear[1], x, it.length)
		if bottom, found := earliest(w.clear[2], x, it.length); found && (!ok || bottom < top) {
			return bottom, true
		}
		return top, ok
	default:
		return earliest(w.clear[3], x, it.length)
	}
}

// earliest returns the first place from x on where a stretch holds the length.
func earliest(stretches []stretch, x, length wood.Length) (wood.Length, bool) {
	for _, c := range stretches {
		if from := max(c.from, x); c.to-from >= length {
			return from, true
		}
	}
	return 0, false
}

// pieces lists the pieces up to a stop, from the left end.
func (w *walk) pieces(s stop) []cutPiece {
	var out []cutPiece
	for i := s.last; i >= 0; i = w.taken[i].before {
		out = append(out, w.taken[i].cutPiece)
	}
	slices.Reverse(out)
	return out
}
