package grade

import (
	"sync"

	"skepwood/analytics/wood"
)

// UsableOptions say what counts as usable. HouseOptions gives the usual ones;
// the zero value has the house's parts, no kerf and no allowance.
type UsableOptions struct {
	// Parts are the parts whose blanks count, at most 200; nil means the
	// house's.
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
// length already holds. The kerf is that of common table-saw blades; the other
// figures are common practice, no source.
func HouseOptions() UsableOptions {
	return UsableOptions{
		RipKerf: wood.Inch / 8, CrosscutKerf: wood.Inch / 8,
		Clearance: DefaultClearance,
		MinGlue:   wood.Inch * 3 / 2,
	}
}

// Blank is a clear piece for a part. A piece that fits several parts names the
// first of them in the list.
type Blank struct {
	Kit, Part string
	Rect
}

// Usable is the clear volume of a board in blanks.
type Usable struct {
	// Gross is the whole board at its actual size, Clear the blanks at the
	// board's thickness. Bound is proven: no ripping plan has more.
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
// and ErrOption. For many boards with options of one's own a Measurer is
// faster.
func UsableVolume(b Board, opts UsableOptions) (Usable, error) {
	m, err := measurerFor(opts)
	if err != nil {
		return Usable{}, err
	}
	return m.Usable(b)
}

// The house's measurers are built once, since yields ask for them board by
// board.
var (
	houseMeasurer   = sync.OnceValues(func() (*Measurer, error) { return NewMeasurer(HouseOptions()) })
	outsideMeasurer = sync.OnceValues(func() (*Measurer, error) {
		opts := HouseOptions()
		opts.Zone = Outside
		return NewMeasurer(opts)
	})
)

func measurerFor(opts UsableOptions) (*Measurer, error) {
	house := HouseOptions()
	house.Zone = opts.Zone
	if opts.Parts != nil || !opts.sameAllowances(house) {
		return NewMeasurer(opts)
	}
	switch opts.Zone {
	case "", Inside:
		return houseMeasurer()
	case Outside:
		return outsideMeasurer()
	default:
		return NewMeasurer(opts)
	}
}

// sameAllowances compares all but the parts.
func (o UsableOptions) sameAllowances(p UsableOptions) bool {
	return o.Zone == p.Zone && o.RipKerf == p.RipKerf && o.CrosscutKerf == p.CrosscutKerf && o.EndTrim == p.EndTrim &&
		o.EdgeTrim == p.EdgeTrim && o.Clearance == p.Clearance && o.PlaneAllowance == p.PlaneAllowance && o.MinGlue == p.MinGlue
}
