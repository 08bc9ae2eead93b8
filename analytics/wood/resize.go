package wood

import (
	"errors"
	"fmt"
	"math"
)

// Sources of the formulas, for showing beside a result.
const (
	SourceCoefficient = "Wood Handbook (FPL-GTR-190) eq. 13-2, 6 to 14 %: change = size x C x (to - from)"
	SourceShrinkage   = "Wood Handbook (FPL-GTR-190) eq. 13-3 (expression from memory): " +
		"change = size x (to - from)/(100 F/S - F + from)"
	SourceLumber = "Green 1989 (FPL-RP-489), 8 to 19 %: shrinkage = 6.031 - 0.215 M in width, 5.062 - 0.181 M in thickness"
)

// Grain is how the growth rings lie in a board's end.
type Grain string

// In a flat-sawn board the rings run along the width, which then moves
// tangentially; in a quarter-sawn one they run along the thickness. Unknown
// grain is anything between.
const (
	FlatSawn     Grain = "flat"
	QuarterSawn  Grain = "quarter"
	UnknownGrain Grain = "unknown"
)

// Across is the side of a board that is measured.
type Across string

// The two sides across the grain. Length hardly moves: 0.1 to 0.2 % from green
// to oven-dry in normal wood.
const (
	AcrossWidth     Across = "width"
	AcrossThickness Across = "thickness"
)

// ErrGrain is returned, wrapped, for a grain or a side that is not one of the
// words above.
var ErrGrain = errors.New("unknown grain")

// Change is a change of moisture of one side of a board.
type Change struct {
	// Size is the side as it measures at moisture content From.
	Size Length
	// Across is the side, empty for the width; Grain empty is UnknownGrain.
	Across Across
	Grain  Grain
	// From and To are moisture contents in percent.
	From, To float64
}

// Resized is what a side measures after a change of moisture.
type Resized struct {
	// Low and High bound the new size. They differ where the grain is unknown
	// or the coefficient is published as a range; they say nothing of the
	// spread between single boards.
	Low, High Length
	// Worst is the bound that is further from the old size.
	Worst Length
	// Source is the formula that was used, for showing.
	Source string
	// Status is the weakest status of the figures that went in.
	Status Status
	// Capped says that a moisture content above saturation was taken as
	// saturation, because wood does not move above it.
	Capped bool
}

// Resize returns what a side of a board of this wood measures after a change of
// moisture: Wood Handbook eq. 13-2 with the coefficient where both moisture
// contents lie between 6 and 14 %, else eq. 13-3 with the shrinkage. The
// handbook warns that boards are seldom truly flat- or quarter-sawn, so that
// width moves less than this and thickness more. Moisture contents must lie
// between 0 and 400 % and the size between 0 and MaxLength, else ErrRange; a
// grain or side that is not known is ErrGrain.
func (m Movement) Resize(c Change) (Resized, error) {
	return m.resize(c, func(size Length, factor float64) float64 { return float64(size) * factor })
}

// CutTo returns the size to cut now, at moisture content From, so that the side
// measures c.Size at To: the inverse of Resize, on the same terms. Cut to High
// where it must not come out too small.
func (m Movement) CutTo(c Change) (Resized, error) {
	return m.resize(c, func(size Length, factor float64) float64 { return float64(size) / factor })
}

func (m Movement) resize(c Change, apply func(Length, float64) float64) (Resized, error) {
	directions, err := m.directions(c.Across, c.Grain)
	if err != nil {
		return Resized{}, err
	}
	for _, err := range []error{
		checkMC("moisture content before", c.From), checkMC("moisture content after", c.To),
		within("size", c.Size.Millimetres(), 0, MaxLength.Millimetres(), " mm"),
	} {
		if err != nil {
			return Resized{}, err
		}
	}
	from, to := min(c.From, m.Saturation), min(c.To, m.Saturation)
	r := Resized{Low: math.MaxInt64, Capped: from != c.From || to != c.To, Source: SourceShrinkage}
	byCoefficient := inCoefficientRange(from) && inCoefficientRange(to)
	if byCoefficient {
		r.Source = SourceCoefficient
	}
	for _, d := range directions {
		v, factor := d.Shrinkage, func(s float64) float64 { return shrinkageFactor(s, m.Saturation, from, to) }
		if byCoefficient {
			v, factor = d.Coefficient, func(coef float64) float64 { return coefficientFactor(coef, from, to) }
		}
		r.Status = Weakest(r.Status, v.Status)
		for _, x := range []float64{v.Low, v.High} {
			size := Length(math.Round(apply(c.Size, factor(x))))
			r.Low, r.High = min(r.Low, size), max(r.High, size)
		}
	}
	r.Worst = r.Low
	if r.High-c.Size > c.Size-r.Low {
		r.Worst = r.High
	}
	return r, nil
}

// directions returns in which directions of the wood a side moves: one where
// the grain is known, both where it is not.
func (m Movement) directions(a Across, g Grain) ([]Direction, error) {
	if a != "" && a != AcrossWidth && a != AcrossThickness {
		return nil, fmt.Errorf("%w: side %.20q is neither width nor thickness", ErrGrain, a)
	}
	switch g {
	case "", UnknownGrain:
		return []Direction{m.Radial, m.Tangential}, nil
	case FlatSawn, QuarterSawn:
		if (g == FlatSawn) == (a != AcrossThickness) {
			return []Direction{m.Tangential}, nil
		}
		return []Direction{m.Radial}, nil
	}
	return nil, fmt.Errorf("%w %.20q: use flat, quarter or unknown", ErrGrain, g)
}

func inCoefficientRange(mc float64) bool { return mc >= 6 && mc <= 14 }

// coefficientFactor is new size over old by eq. 13-2.
func coefficientFactor(coefficient, from, to float64) float64 { return 1 + coefficient*(to-from) }

// shrinkageFactor is new size over old by eq. 13-3, where saturation stands for
// the equation's 30.
func shrinkageFactor(shrinkage, saturation, from, to float64) float64 {
	return 1 + (to-from)/(100*saturation/shrinkage-saturation+from)
}

// ChangeByCoefficient returns by how much a side of the given size changes when
// moisture goes from one percent to another: size × coefficient × (to - from),
// Wood Handbook eq. 13-2. The equation is meant for 6 to 14 %; this function
// does not judge its input.
func ChangeByCoefficient(size Length, coefficient, from, to float64) Length {
	return Length(math.Round(float64(size) * (coefficientFactor(coefficient, from, to) - 1)))
}

// ChangeByShrinkage returns the same by eq. 13-3 from the green-to-oven-dry
// shrinkage in percent, with saturation in place of the equation's 30. Neither
// moisture content may be above saturation; this function does not judge its
// input.
func ChangeByShrinkage(size Length, shrinkage, saturation, from, to float64) Length {
	return Length(math.Round(float64(size) * (shrinkageFactor(shrinkage, saturation, from, to) - 1)))
}

// LumberShrinkage returns by how many percent of its green size dressed 2 in
// softwood lumber of most species (not redwood or cedars) has shrunk at
// moisture content mc percent: Green 1989, FPL-RP-489. mc must lie between 8
// and 19, else ErrRange.
func LumberShrinkage(mc float64) (width, thickness float64, err error) {
	if err := within("moisture content", mc, 8, 19, " %"); err != nil {
		return 0, 0, err
	}
	return 6.031 - 0.215*mc, 5.062 - 0.181*mc, nil
}

// ResizeLumber returns what a side of such lumber measures after a change of
// moisture, by the ratio of what is left of the green size: (100 - S2)/(100 -
// S1). Moisture contents must lie between 8 and 19 %, else ErrRange; the grain
// is not asked for, since the equations are means over lumber as it comes.
func ResizeLumber(c Change) (Length, error) {
	w1, t1, err := LumberShrinkage(c.From)
	if err != nil {
		return 0, err
	}
	w2, t2, err := LumberShrinkage(c.To)
	if err != nil {
		return 0, err
	}
	if err := within("size", c.Size.Millimetres(), 0, MaxLength.Millimetres(), " mm"); err != nil {
		return 0, err
	}
	s1, s2 := w1, w2
	if c.Across == AcrossThickness {
		s1, s2 = t1, t2
	}
	return Length(math.Round(float64(c.Size) * (100 - s2) / (100 - s1))), nil
}
