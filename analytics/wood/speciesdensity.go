package wood

import (
	"fmt"
)

// Gravity is the specific gravity of a species with what it rests on.
type Gravity struct {
	// Basic is on green volume.
	Basic float64
	// Shrinkage in volume that goes with it; zero means that none was measured.
	Shrinkage VolumetricShrinkage
	// From says which figure of the table it comes from.
	From string
	// Status is the weakest status that went in.
	Status Status
}

// Gravity returns the species' specific gravity: the tabled basic one, else
// computed back from the one at 12 %, else from the density at 12 %. With none
// of them the error is ErrUnknown.
func (s Species) Gravity() (Gravity, error) {
	g := Gravity{}
	shrink := s.volumetric()
	g.Shrinkage = VolumetricShrinkage(shrink.Mid())
	at12, from := s.SG12, "specific gravity at 12 %"
	switch {
	case s.BasicSG.Known():
		g.Basic, g.From, g.Status = s.BasicSG.Mid(), "basic specific gravity", s.BasicSG.Status
		return g.with(shrink), nil
	case !at12.Known() && s.Density12.Known():
		d := s.Density12
		at12, from = Value{d.Low / 1120, d.High / 1120, d.Status}, "density at 12 %"
	case !at12.Known():
		return g, fmt.Errorf("density of %s is %w: no published value was found", s.CommonName, ErrUnknown)
	}
	basic, err := BasicFrom(at12.Mid(), 12, g.Shrinkage)
	g.Basic, g.From, g.Status = basic, from, Weakest(at12.Status, Derived)
	return g.with(shrink), err
}

// with takes the status of a measured shrinkage into that of g.
func (g Gravity) with(shrink Value) Gravity {
	if shrink.Known() {
		g.Status = Weakest(g.Status, shrink.Status)
	}
	return g
}

// volumetric returns the shrinkage in volume from green to oven-dry. Sources
// that stop at 12 % are carried on to oven-dry along eq. 4-7.
func (s Species) volumetric() Value {
	v := s.Volumetric
	if v.Known() && s.ShrunkTo > 0 {
		f := 1 / dryness(s.ShrunkTo)
		return Value{v.Low * f, v.High * f, Weakest(v.Status, Derived)}
	}
	return v
}

// At returns the specific gravity at moisture content mc percent; see
// SpecificGravity.
func (g Gravity) At(mc float64) (float64, error) { return SpecificGravity(g.Basic, mc, g.Shrinkage) }

// Density returns the density at moisture content mc percent, water included.
// mc beyond MaxMC of the wood is ErrRange.
func (g Gravity) Density(mc float64) (Density, error) {
	sg, err := g.At(mc)
	if err != nil {
		return 0, err
	}
	most, err := MaxMC(g.Basic)
	if err != nil {
		return 0, err
	}
	if err := within("moisture content", mc, 0, most, " %"); err != nil {
		return 0, hint(err, "wood this dense cannot hold more water")
	}
	return DensityOf(sg, mc)
}

// Density returns the density of the species at moisture content mc percent,
// water included. It is that of the species' mean; single trees differ by
// about SGVariation. Unknown species give ErrUnknown, impossible moisture
// ErrRange.
func (s Species) Density(mc float64) (Density, error) {
	g, err := s.Gravity()
	if err != nil {
		return 0, err
	}
	return g.Density(mc)
}

// BoardMass returns what a board of volume v weighs at moisture content mc
// percent; v is that at mc too. Errors are those of Density.
func (s Species) BoardMass(v Volume, mc float64) (Mass, error) {
	d, err := s.Density(mc)
	if err != nil {
		return 0, err
	}
	return Mass(float64(d) * float64(v)), nil
}
