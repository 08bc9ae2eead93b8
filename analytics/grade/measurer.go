package grade

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"skepwood/analytics/wood"
)

// maxUsableParts bounds the parts of a measurer.
const maxUsableParts = 200

// Measurer finds usable volumes of many boards for one set of options. It may
// be used by several goroutines at once.
type Measurer struct {
	opts UsableOptions
	// benches hold the menus for boards from a thickness upwards, thinnest
	// first.
	benches []*bench
}

// NewMeasurer prepares to measure boards. Faults are ErrOption.
func NewMeasurer(opts UsableOptions) (*Measurer, error) {
	if opts.Parts == nil {
		opts.Parts = Parts()
	}
	if err := opts.check(); err != nil {
		return nil, err
	}
	m := &Measurer{opts: opts}
	var thicknesses []wood.Length
	for _, p := range opts.Parts {
		if opts.admits(p) {
			thicknesses = append(thicknesses, p.Finished.Thickness+opts.PlaneAllowance)
		}
	}
	slices.Sort(thicknesses)
	for _, t := range slices.Compact(thicknesses) {
		m.benches = append(m.benches, newBench(opts, t))
	}
	return m, nil
}

// admits reports whether wood of the options' zone may become the part.
func (o UsableOptions) admits(p Part) bool { return o.Zone != Outside || p.Zone == Outside }

// check refuses options out of range.
func (o UsableOptions) check() error {
	for _, f := range []struct {
		name string
		v    wood.Length
	}{
		{"rip_kerf", o.RipKerf}, {"crosscut_kerf", o.CrosscutKerf}, {"end_trim", o.EndTrim}, {"edge_trim", o.EdgeTrim},
		{"clearance", o.Clearance}, {"plane_allowance", o.PlaneAllowance}, {"min_glue", o.MinGlue},
	} {
		if f.v < 0 || f.v > wood.Metre {
			return &Error{ErrOption, -1, f.name, fmt.Sprintf("is %v", f.v), "give 0 to 1 m"}
		}
	}
	switch o.Zone {
	case "", Inside, Outside:
	default:
		return &Error{ErrOption, -1, "zone", fmt.Sprintf("is %.40q", string(o.Zone)), "use inside, outside or none"}
	}
	if len(o.Parts) > maxUsableParts {
		return &Error{ErrOption, -1, "parts", fmt.Sprintf("are %d", len(o.Parts)), fmt.Sprintf("give at most %d", maxUsableParts)}
	}
	for i, p := range o.Parts {
		if err := p.check(i); err != nil {
			return err
		}
	}
	return nil
}

// Usable returns the greatest clear volume of a board in blanks. Faults are
// ErrBoard and ErrDefect.
//
// The board is ripped along its full length into strips, and each strip is
// crosscut into blanks as wide as it. A part that is not glued up needs a strip
// of its own width; a part that is may come from any strip between MinGlue and
// its width. Along a strip the best cut is exact. Across the board the edges of
// strips lie on a scale of at most 1/32 in for boards up to 16 in wide, so that
// two boards alike give the same figure and a further defect never gives more;
// over all cuts on that scale the plan is the best one: the same as that of the
// cutting plans (package cut, pattern rip2) for parts worth their area, as a
// test shows on random boards.
func (m *Measurer) Usable(b Board) (Usable, error) {
	if err := b.Validate(); err != nil {
		return Usable{}, err
	}
	u := Usable{Gross: b.Volume(), Known: b.Known()}
	bench := m.benchFor(b.Thickness)
	wide := b.Width - 2*m.opts.EdgeTrim
	long := b.Length - 2*m.opts.EndTrim
	if bench == nil || wide <= 0 || long <= 0 {
		return u, nil
	}
	r := newRipping(bench, m.faces(b), long, wide)
	r.plan()
	u.Blanks = r.blanks()
	for _, k := range u.Blanks {
		u.Clear += wood.VolumeOf(b.Thickness, k.DY, k.DX)
	}
	u.Bound = max(u.Clear, min(u.Gross, wood.Volume(b.Thickness.Metres()*r.bound())))
	u.Share = min(1, float64(u.Clear/u.Gross))
	return u, nil
}

// benchFor returns the menus for a board, nil when it is too thin for any.
func (m *Measurer) benchFor(thickness wood.Length) *bench {
	var found *bench
	for _, b := range m.benches {
		if b.thickness <= thickness {
			found = b
		}
	}
	return found
}

// bench is what boards of a thickness can become.
type bench struct {
	opts      UsableOptions
	thickness wood.Length
	parts     []Part
	// widths are the widths of parts: the strips that exact parts need and
	// the steps at which glued parts drop out, narrowest first.
	widths []wood.Length
	// exact[i] is the menu of a strip widths[i] wide; loose[i] that of a strip
	// wider than widths[i-1] and at most widths[i].
	exact, loose []*menu
	// free[i] holds every length of parts that the first i widths and gluing
	// admit, for the bound.
	free []*menu
}

func newBench(opts UsableOptions, thickness wood.Length) *bench {
	b := &bench{opts: opts, thickness: thickness}
	for _, p := range opts.Parts {
		if opts.admits(p) && p.Finished.Thickness+opts.PlaneAllowance <= thickness {
			b.parts = append(b.parts, p)
			b.widths = append(b.widths, p.Rough.Width)
		}
	}
	slices.Sort(b.widths)
	b.widths = slices.Compact(b.widths)
	for _, w := range b.widths {
		b.exact = append(b.exact, b.newMenu(func(p Part) bool { return p.Rough.Width == w || (p.Glue && p.Rough.Width >= w && w >= opts.MinGlue) }))
		b.loose = append(b.loose, b.newMenu(func(p Part) bool { return p.Glue && p.Rough.Width >= w }))
	}
	for i := range len(b.widths) + 1 {
		b.free = append(b.free, b.newMenu(func(p Part) bool { return p.Glue || slices.Contains(b.widths[:i], p.Rough.Width) }))
	}
	return b
}

// freest returns the menu of all lengths that a board of a width could give.
func (b *bench) freest(width wood.Length) *menu {
	i, found := slices.BinarySearch(b.widths, width)
	if found {
		i++
	}
	return b.free[i]
}

// item is a length to crosscut and how many faces must be clear there.
type item struct {
	length wood.Length
	faces  int
	part   int
}

// menu is the lengths that a strip may be crosscut to, the longest first, each
// with the least need for clear faces.
type menu struct {
	items []item
	kerf  wood.Length
	// packings is how best to fill a clear stretch, built when first needed.
	packings func() *packings
}

// newMenu gathers the parts that a strip admits. Of equal lengths the one that
// asks for fewer clear faces stands for all.
func (b *bench) newMenu(admits func(Part) bool) *menu {
	m := &menu{kerf: b.opts.CrosscutKerf}
	for i, p := range b.parts {
		if admits(p) {
			m.items = append(m.items, item{p.Rough.Length, p.Faces, i})
		}
	}
	slices.SortStableFunc(m.items, func(x, y item) int {
		return cmp.Or(cmp.Compare(y.length, x.length), cmp.Compare(x.faces, y.faces))
	})
	m.items = slices.CompactFunc(m.items, func(x, y item) bool { return x.length == y.length })
	m.packings = sync.OnceValue(func() *packings { return newPackings(m, usualLength) })
	return m
}
