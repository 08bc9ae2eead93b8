package grade

import (
	"cmp"
	"slices"

	"skepwood/analytics/wood"
)

// stretch is an interval along the board.
type stretch struct{ from, to wood.Length }

// faceMap is what spoils blanks of a board, by how many faces must be clear:
// any defect spoils two clear faces; one clear face may be the top or the
// bottom; what goes through, decay and metal spoil every blank. Rectangles are
// measured from the trimmed corner and ordered by x.
type faceMap struct {
	any, top, bottom, both []Rect
	// apart says that all of them are the same and that each is at least a saw
	// cut long, so that the stretches between them can be filled one by one.
	apart bool
}

// faces maps a board.
func (m *Measurer) faces(b Board) faceMap {
	var f faceMap
	narrow := false
	add := func(to *[]Rect, r Rect) { *to = append(*to, r) }
	for _, d := range b.Defects {
		r := d.Rect()
		if d.Metal {
			r = r.Grow(m.opts.Clearance)
		}
		narrow = narrow || r.DX < m.opts.CrosscutKerf
		r.X -= m.opts.EndTrim
		r.Y -= m.opts.EdgeTrim
		through := b.Through(d) || d.Metal || d.Kind == Decay
		add(&f.any, r)
		if through {
			add(&f.both, r)
		}
		if through || d.Face == Top {
			add(&f.top, r)
		}
		if through || d.Face == Bottom {
			add(&f.bottom, r)
		}
	}
	for _, list := range []*[]Rect{&f.any, &f.top, &f.bottom, &f.both} {
		slices.SortStableFunc(*list, func(a, b Rect) int { return cmp.Compare(a.X, b.X) })
	}
	f.apart = len(f.any) == len(f.both) && !narrow
	return f
}

// cutPiece is a piece along a strip.
type cutPiece struct {
	from wood.Length
	item item
}

// strips crosscuts strips of one board.
type strips struct {
	faces  faceMap
	length wood.Length
	// long holds the packings of a board longer than usual.
	long map[*menu]*packings
	walk walk
	// clear is room for the stretches of one strip.
	clear []stretch
}

func (s *strips) packings(m *menu) *packings {
	if s.length <= usualLength {
		return m.packings()
	}
	p, ok := s.long[m]
	if !ok {
		p = newPackings(m, s.length)
		s.long[m] = p
	}
	return p
}

// clearStretches appends the stretches of a strip from y0 to y1 that no
// rectangle reaches into.
func (s *strips) clearStretches(out []stretch, rects []Rect, y0, y1 wood.Length) []stretch {
	at := wood.Length(0)
	for _, r := range rects {
		if r.Y >= y1 || r.Far() <= y0 {
			continue
		}
		if r.X > at {
			out = append(out, stretch{at, min(r.X, s.length)})
		}
		at = max(at, r.Right())
		if at >= s.length {
			return out
		}
	}
	return append(out, stretch{at, s.length})
}

// walked reports whether a strip must be walked piece by piece: its faces are
// spoiled differently, a defect is shorter than a saw cut, or the sizes are too odd for a table of packings.
func (s *strips) walked(m *menu) bool { return !s.faces.apart || !s.packings(m).exact }

// most returns the greatest length of a strip that a menu fills; with hopeful a
// length that no filling exceeds.
func (s *strips) most(m *menu, y0, y1 wood.Length, hopeful bool) wood.Length {
	if s.walked(m) {
		return s.walker(m, y0, y1).run(hopeful).filled
	}
	p, total := s.packings(m), wood.Length(0)
	s.clear = s.clearStretches(s.clear[:0], s.faces.any, y0, y1)
	for _, c := range s.clear {
		total += p.most(c.to - c.from)
	}
	return total
}

// pieces lists the pieces that fill a strip best, from the left end.
func (s *strips) pieces(m *menu, y0, y1 wood.Length) []cutPiece {
	if s.walked(m) {
		w := s.walker(m, y0, y1)
		return w.pieces(w.run(false))
	}
	p := s.packings(m)
	var out []cutPiece
	for _, c := range s.clearStretches(nil, s.faces.any, y0, y1) {
		at := c.from
		for _, k := range p.items(c.to - c.from) {
			out = append(out, cutPiece{at, m.items[k]})
			at += m.items[k].length + m.kerf
		}
	}
	return out
}
