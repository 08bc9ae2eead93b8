package cut

// CutKind says which saw makes a cut.
type CutKind string

// The two kinds of cut.
const (
	// RipCut runs along the grain; its fence distance is a width.
	RipCut CutKind = "rip"
	// CrossCut runs across the grain; its stop distance is a length.
	CrossCut CutKind = "crosscut"
)

// Step is one saw cut of a board, in the order in which it is made. Fence is
// the size, in ticks, of the piece that the cut frees on the fence side. X, Y,
// DX, DY is the piece being cut, on the board, before the cut; At is the x of
// a crosscut or the y of a rip where the kerf begins. Part is the part freed
// by the cut, or -1 when the freed piece is cut again or is waste; Waste says
// which of the two.
type Step struct {
	Board, Copy  int
	Stage        int
	Kind         CutKind
	Fence        int
	X, Y, DX, DY int
	At           int
	Part         int
	Waste        bool
}

// Setup is one saw set to one distance and the cuts made with it.
type Setup struct {
	Stage int
	Kind  CutKind
	Fence int
	Steps []Step
}

// Sheet lists every cut of a plan, grouped so that the fence moves least.
// Moves counts the fence settings of the groups and BoardOrder what they would
// be if each board were cut to the end before the next is fetched; the saving
// is the difference.
type Sheet struct {
	Setups     []Setup
	Moves      int
	BoardOrder int
}
