package wood

// FibreSaturation is the moisture content, in percent, at which shrinkage
// begins: the 30 % that the Wood Handbook assumes for most species.
const FibreSaturation = 30.0

// SGVariation is the coefficient of variation of specific gravity within a
// species, about 0.10: Wood Handbook table 5-6, from memory.
const SGVariation = 0.10

// cellWallSG is the specific gravity of the cell wall itself (Wood Handbook
// chapter 4, from memory): what is not wall can hold water.
const cellWallSG = 1.54

// shrinkPerSG is the volumetric shrinkage, as a fraction per unit of basic
// specific gravity, where none was measured: S0 = 26.5 Gb percent, Wood
// Handbook eq. 4-11 (from memory).
const shrinkPerSG = 0.265

// Limits of basic specific gravity: balsa lies near 0.1 and the heaviest woods
// near 1.1, so what falls outside is a wrong mass, size or unit.
const minSG, maxSG = 0.08, 1.20

// Sources of the formulas, for showing beside a result.
const (
	SourceDensity = "Wood Handbook (FPL-GTR-190) eq. 4-10 and 4-12: Gx = Gb/(1 - Sx/100), " +
		"density = 1000 Gx (1 + M/100) kg/m3"
	SourceMaxMC = "Wood Handbook (FPL-GTR-190) chapter 4: 100 (1.54 - Gb)/(1.54 Gb), from memory"
)

// VolumetricShrinkage is the shrinkage in volume from green to oven-dry, in
// percent of the green volume. Zero means that none was measured; 26.5 times
// the basic specific gravity then stands in for it (Wood Handbook eq. 4-11).
type VolumetricShrinkage float64

// at returns the shrinkage from green to moisture content mc as a fraction:
// Sx = S0 (30 - x)/30, Wood Handbook eq. 4-7, none above fibre saturation.
func (s VolumetricShrinkage) at(basic, mc float64) float64 {
	total := float64(s) / 100
	if s == 0 {
		total = shrinkPerSG * basic
	}
	return total * dryness(mc)
}

// dryness is how far mc lies below fibre saturation, 1 at oven-dry.
func dryness(mc float64) float64 { return max(0, 1-mc/FibreSaturation) }

func (s VolumetricShrinkage) check() error {
	return within("volumetric shrinkage", float64(s), 0, 40, " %")
}

// SpecificGravity returns the specific gravity at moisture content mc percent,
// that is oven-dry mass over the volume at mc, of wood whose basic specific
// gravity (oven-dry mass over green volume) is basic: Wood Handbook eq. 4-10
// with 4-7 and 4-11, together Gx = Gb/(1 - 0.265 Gb (1 - x/30)) where the
// shrinkage is not given. basic must lie between 0.08 and 1.2 and mc between 0
// and 400, else ErrRange.
func SpecificGravity(basic, mc float64, s VolumetricShrinkage) (float64, error) {
	for _, err := range []error{
		within("basic specific gravity", basic, minSG, maxSG, ""),
		checkMC("moisture content", mc),
		s.check(),
	} {
		if err != nil {
			return 0, err
		}
	}
	return basic / (1 - s.at(basic, mc)), nil
}

// BasicFrom returns the basic specific gravity of wood whose specific gravity
// at moisture content mc percent is sg: the inverse of SpecificGravity, Gb =
// Gx/(1 + 0.265 Gx (1 - x/30)) where the shrinkage is not given. A result
// outside 0.08 to 1.2 is no wood and is ErrRange.
func BasicFrom(sg, mc float64, s VolumetricShrinkage) (float64, error) {
	if err := checkMC("moisture content", mc); err != nil {
		return 0, err
	}
	if err := s.check(); err != nil {
		return 0, err
	}
	basic := sg * (1 - float64(s)/100*dryness(mc))
	if s == 0 {
		basic = sg / (1 + shrinkPerSG*sg*dryness(mc))
	}
	if err := within("basic specific gravity", basic, minSG, maxSG, ""); err != nil {
		return 0, err
	}
	return basic, nil
}

// DensityOf returns the density of wood of specific gravity sg at moisture
// content mc percent, water included: Wood Handbook eq. 4-12, 1000 kg/m³ × sg ×
// (1 + mc/100). sg is that at mc; it must lie between 0.08 and 1.54 and mc
// between 0 and 400, else ErrRange.
func DensityOf(sg, mc float64) (Density, error) {
	if err := within("specific gravity", sg, minSG, cellWallSG, ""); err != nil {
		return 0, err
	}
	if err := checkMC("moisture content", mc); err != nil {
		return 0, err
	}
	return Density(1000 * sg * (1 + mc/100)), nil
}

// MaxMC returns the moisture content, in percent, of wood whose every cell is
// full of water: 100 (1.54 - Gb)/(1.54 Gb), Wood Handbook chapter 4 (from
// memory). basic must lie between 0.08 and 1.2, else ErrRange.
func MaxMC(basic float64) (float64, error) {
	if err := within("basic specific gravity", basic, minSG, maxSG, ""); err != nil {
		return 0, err
	}
	return 100 * (cellWallSG - basic) / (cellWallSG * basic), nil
}

// Weighed is a rectangular board on the scales: its mass and size as they are
// at moisture content MC percent, and its shrinkage where that is known.
type Weighed struct {
	Mass                     Mass
	Thickness, Width, Length Length
	MC                       float64
	Shrinkage                VolumetricShrinkage
}

// WeighedResult is what the scales tell about a board.
type WeighedResult struct {
	// Density is mass over volume as weighed.
	Density Density
	// SG is the specific gravity at the board's moisture, Basic that on green
	// volume, Dry12 that at 12 %.
	SG, Basic, SG12 float64
	// OvenDry is the mass without water.
	OvenDry Mass
	// MaxMC is the most water the wood could hold, in percent.
	MaxMC float64
}

// Result returns density and specific gravity of the board: Gx = mass/(volume
// × 1000 × (1 + x/100)), then BasicFrom. What cannot be wood, or wetter than
// wood can be, is ErrRange: usually a wrong unit.
func (w Weighed) Result() (WeighedResult, error) {
	for _, err := range []error{
		above("thickness", w.Thickness.Millimetres(), MaxLength.Millimetres(), " mm"),
		above("width", w.Width.Millimetres(), MaxLength.Millimetres(), " mm"),
		above("length", w.Length.Millimetres(), MaxLength.Millimetres(), " mm"),
		checkMass("mass", w.Mass), checkMC("moisture content", w.MC),
	} {
		if err != nil {
			return WeighedResult{}, err
		}
	}
	volume := VolumeOf(w.Thickness, w.Width, w.Length)
	dry := float64(w.Mass) / (1 + w.MC/100)
	r := WeighedResult{Density: Density(float64(w.Mass) / float64(volume)), OvenDry: Mass(dry)}
	r.SG = dry / (1000 * float64(volume))
	var err error
	if r.Basic, err = BasicFrom(r.SG, w.MC, w.Shrinkage); err != nil {
		return WeighedResult{}, hint(err, "check mass, size and their units")
	}
	if r.MaxMC, err = MaxMC(r.Basic); err != nil {
		return WeighedResult{}, err
	}
	if err := within("moisture content", w.MC, 0, r.MaxMC, " %"); err != nil {
		return WeighedResult{}, hint(err, "wood this dense cannot hold more water")
	}
	r.SG12, err = SpecificGravity(r.Basic, 12, w.Shrinkage)
	return r, err
}
