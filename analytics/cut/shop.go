package cut

import "skepwood/analytics/wood"

// ShopDefect is a defect in shop lengths. Metal marks a nail, staple or wire,
// round which the rules' Clearance is kept.
type ShopDefect struct {
	X, Y, DX, DY wood.Length
	Face         Face
	Metal        bool
}

// ShopBoard is a board as the shop knows it: measured size, what lies on it,
// how much of each end is dirty and comes off first, whether its verdict
// allows inside parts. The rules' EndTrim comes off beside the dirty ends,
// unless the board has OwnEnds: then they are all that comes off. Thickness 0
// means not to be compared. Cost is in any integer unit, for one copy; Count 0
// means one.
type ShopBoard struct {
	Code                     string
	Thickness, Length, Width wood.Length
	Cost                     int
	Count                    int
	Defects                  []ShopDefect
	DirtyStart, DirtyEnd     wood.Length
	OwnEnds                  bool `json:",omitempty"`
	Inside                   bool
}

// ShopPart is a part as the shop wants it, at its finished size; Rules add the
// allowances. Thickness 0 means not to be compared. Inside parts come only
// from boards that are Inside.
type ShopPart struct {
	Code                     string
	Thickness, Length, Width wood.Length
	Value                    int
	Min, Max                 int
	Faces                    int
	Inside                   bool
}

// ShopObjective says what a shop plan is for.
type ShopObjective string

// The objectives of the bench.
const (
	// MostValue makes the greatest total value from the boards.
	MostValue ShopObjective = "most_value"
	// CheapestBoards makes at least Max of each part from boards of the least
	// total cost; with all costs equal, from the fewest boards.
	CheapestBoards ShopObjective = "cheapest_boards"
	// ShortFirst makes at least Max of each part and clears the rack of short
	// stuff: a board counts as its area times its length, so that two boards
	// of half the length go before one of the whole.
	ShortFirst ShopObjective = "short_first"
)

// Rules are the shop's saws, allowances and habits. The zero value of each
// length means none.
type Rules struct {
	Pattern   Pattern
	Objective ShopObjective
	// RipKerf and CrosscutKerf are the two saws' kerfs.
	RipKerf, CrosscutKerf wood.Length
	// EndTrim comes off both ends of every board, beside its dirty ends; see
	// [ShopBoard].
	EndTrim wood.Length
	// LengthAllowance, JointAllowance (width) and PlaneAllowance (thickness)
	// are added to every part.
	LengthAllowance, JointAllowance, PlaneAllowance wood.Length
	// Clearance is kept on every side of metal.
	Clearance wood.Length
	// OffcutLength and OffcutWidth are the smallest offcut worth keeping.
	// OffcutRate is what a cubic metre of kept offcut, or of a board that stays
	// whole, is worth in the unit of part values; of wood whose thickness is
	// not compared it is a square metre. A rate of 0 keeps offcuts without
	// planning for them.
	OffcutLength, OffcutWidth wood.Length
	OffcutRate                float64
	// MaxTicks bounds the grid along and across the largest board; 0 means
	// 4096 along and 1024 across.
	MaxTicks int
}

// Shop is a cutting problem in shop lengths.
type Shop struct {
	Rules  Rules
	Boards []ShopBoard
	Parts  []ShopPart
}

// Grid turns ticks into shop lengths, X along the grain and Y across it. Exact
// says that every size was a whole number of ticks, so that nothing was
// rounded.
type Grid struct {
	X, Y  wood.Length
	Exact bool
}

// Along returns the length of n ticks along the grain.
func (g Grid) Along(n int) wood.Length { return wood.Length(n) * g.X }

// Across returns the length of n ticks across the grain.
func (g Grid) Across(n int) wood.Length { return wood.Length(n) * g.Y }

// Piece is a rectangle on a board in shop lengths from the board's low corner,
// dirty ends counted in. Code is the part's code, "" for an offcut.
type Piece struct {
	Code         string
	X, Y, DX, DY wood.Length
}

// BoardPlan is what becomes of one copy of a board.
type BoardPlan struct {
	Board, Copy int
	Pieces      []Piece
	// Offcuts are clear of parts and at least as large as the rules ask.
	Offcuts []Piece
}

// ShopPlan is a plan in shop lengths. Instance, Grid and Plan are what was
// solved: its boards are those of the shop that are long enough once trimmed,
// by FromBoard; its parts are those of the shop. Missing counts the copies asked for and not made, by part
// of the shop; nil for none. OffcutValue is what is clear of the kept offcuts
// by the rules' rate; it is no part of Plan's value and bound, which are about the
// parts. The areas, in square metres, are over the boards used and add up:
// Stock = PartArea + OffcutArea + KerfArea + WasteArea.
type ShopPlan struct {
	Instance  Instance
	Grid      Grid
	Plan      Plan
	FromBoard []int
	Boards    []BoardPlan
	Missing   []int

	OffcutValue                                      int `json:",omitempty"`
	Stock, PartArea, OffcutArea, KerfArea, WasteArea float64
}
