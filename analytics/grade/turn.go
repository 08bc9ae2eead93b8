package grade

import "slices"

// Roll returns the board turned over about its long axis, the way a board is
// rolled over towards oneself: the ends stay where they are, the near edge
// becomes the far one, top and bottom change places.
func (b Board) Roll() Board { return b.turned(false, true, true) }

// Tumble returns the board turned over end for end: the edges stay where they
// are, left and right end change places, and so do top and bottom.
func (b Board) Tumble() Board { return b.turned(true, false, true) }

// Swing returns the board swung round end for end with the same face up: left
// and right end change places, and so do the near and the far edge.
func (b Board) Swing() Board { return b.turned(true, true, false) }

// Drawn turns a rectangle of the board's own frame into what is seen on the
// given face with the board rolled over for the bottom, and back: it is its
// own inverse. On the top face nothing changes.
func (b Board) Drawn(f Face, r Rect) Rect {
	if f == Bottom {
		r.Y = b.Width - r.Far()
	}
	return r
}

// turned returns a copy with ends, edges and faces exchanged as asked.
func (b Board) turned(ends, edges, faces bool) Board {
	b.Defects = slices.Clone(b.Defects)
	for i := range b.Defects {
		d := &b.Defects[i]
		if ends {
			d.X = b.Length - d.X - d.DX
		}
		if edges {
			d.Y = b.Width - d.Y - d.DY
		}
		if faces {
			d.Face = d.Face.Other()
		}
	}
	return b
}

// Other returns the opposite face; Both stays Both.
func (f Face) Other() Face {
	switch f {
	case Top:
		return Bottom
	case Bottom:
		return Top
	default:
		return f
	}
}
