package wood

import "math"

// Sources of the formulas, for showing beside a result.
const (
	SourceOvenDry = "ASTM D4442: 100 (wet - dry)/dry, dried at 103 +/- 2 C until the loss over 3 h is no more " +
		"than twice the balance's sensitivity (method A)"
	SourceKilnSample = "sample-board method of the Dry Kiln Operator's Manual (Agriculture Handbook 188): " +
		"oven-dry mass = 100 x mass/(100 + section MC)"
)

// OvenDryMC returns the moisture content, in percent of oven-dry mass, of a
// piece that weighed wet and then, oven-dry, dry: ASTM D4442. It can exceed
// 100. Creosote and other oils boil off and are counted as water; resin a
// little. Masses must be above zero and dry no more than wet, else ErrRange.
func OvenDryMC(wet, dry Mass) (float64, error) {
	if err := checkMass("wet mass", wet); err != nil {
		return 0, err
	}
	if err := above("oven-dry mass", dry.Grams(), wet.Grams(), " g"); err != nil {
		return 0, hint(err, "the dry piece cannot weigh more than the wet one: are the two swapped?")
	}
	mc := 100 * float64(wet-dry) / float64(dry)
	if err := checkMC("moisture content", mc); err != nil {
		return 0, hint(err, "check the unit of both masses")
	}
	return mc, nil
}

func checkMass(what string, m Mass) error {
	return above(what, m.Grams(), maxMass.Grams(), " g")
}

// WetBasis returns the water in percent of the total mass of wood at moisture
// content mc percent of oven-dry mass: 100 mc/(100 + mc). Fuel and pulp are
// traded so. mc must lie between 0 and 400, else ErrRange.
func WetBasis(mc float64) (float64, error) {
	if err := checkMC("moisture content", mc); err != nil {
		return 0, err
	}
	return 100 * mc / (100 + mc), nil
}

// FromWetBasis returns the moisture content, in percent of oven-dry mass, of
// wood that is wb percent water by total mass: the inverse of WetBasis. wb must
// lie between 0 and 80, else ErrRange.
func FromWetBasis(wb float64) (float64, error) {
	if err := within("wet-basis moisture", wb, 0, 80, " %"); err != nil {
		return 0, err
	}
	return 100 * wb / (100 - wb), nil
}

// Sample is a tracked sample piece, the kiln-sample method: sections of 1 in
// along the grain are cut from both ends and oven-dried, the piece between
// them is weighed at once and then put into the stack.
type Sample struct {
	// Mass is that of the piece when the sections were cut.
	Mass Mass
	// SectionMC are the moisture contents of the sections, in percent; their
	// mean stands for the piece.
	SectionMC []float64
}

// OvenDry returns the calculated oven-dry mass of the piece: 100 ×
// mass/(100 + mean of the sections). At least one section is needed, each
// between 0 and 400 %, else ErrRange.
func (s Sample) OvenDry() (Mass, error) {
	if err := checkMass("mass of the sample piece", s.Mass); err != nil {
		return 0, err
	}
	if len(s.SectionMC) == 0 {
		return 0, &RangeError{What: "number of sections", Above: true, Hint: "two, one from each end, are usual"}
	}
	var sum float64
	for _, mc := range s.SectionMC {
		if err := checkMC("moisture content of a section", mc); err != nil {
			return 0, err
		}
		sum += mc
	}
	return s.Mass * Mass(100/(100+sum/float64(len(s.SectionMC)))), nil
}

// MC returns the moisture content, in percent, of the piece when it weighs
// now: 100 (now/oven-dry - 1). A piece lighter than its calculated oven-dry
// mass has lost wood or its sections misled; that is ErrRange.
func (s Sample) MC(now Mass) (float64, error) {
	dry, err := s.OvenDry()
	if err != nil {
		return 0, err
	}
	if err := within("mass of the sample piece", now.Grams(), dry.Grams(), maxMass.Grams(), " g"); err != nil {
		return 0, hint(err, "below its calculated oven-dry mass: has a corner broken off, or were the sections wetter than the piece?")
	}
	mc := 100 * (float64(now)/float64(dry) - 1)
	if err := checkMC("moisture content", mc); err != nil {
		return 0, hint(err, "check the unit of both masses")
	}
	return mc, nil
}

// SagRadius returns the radius of the circle through the two ends and the
// middle of a bowed, crooked or cupped piece whose largest gap under a straight
// line of length chord is sag: chord²/(8 sag) + sag/2, plane geometry. Both
// must be above zero and sag no more than half the chord, else ErrRange; a
// radius beyond MaxLength is not an error.
func SagRadius(sag, chord Length) (Length, error) {
	if err := above("chord", chord.Millimetres(), MaxLength.Millimetres(), " mm"); err != nil {
		return 0, err
	}
	if err := above("sag", sag.Millimetres(), chord.Millimetres()/2, " mm"); err != nil {
		return 0, err
	}
	nm := float64(chord)*float64(chord)/(8*float64(sag)) + float64(sag)/2
	// The straightest measurable piece would overflow; what is that straight
	// has no radius worth telling apart.
	return Length(min(nm, float64(math.MaxInt64/2))), nil
}
