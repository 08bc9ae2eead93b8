package wood

import "fmt"

// DensityQuestion asks what wood weighs: a species at a moisture content, or a
// board on the scales, or both to compare them.
type DensityQuestion struct {
	// Species is a name as FindSpecies reads it; it may be empty when Mass is
	// given.
	Species string
	// MC is the moisture content in percent.
	MC float64
	// Mass of the board, 0 if it was not weighed.
	Mass Mass
	// Thickness, Width and Length of the board; all or none. A mass needs them.
	Thickness, Width, Length Length
}

// DensityAnswer is what is known of the wood. Fields about the board are zero
// where no board was given, those about the species where none was.
type DensityAnswer struct {
	MoisturePercent float64 `json:"moisture_percent"`
	// Weighed says that the figures are the board's own, not the species' mean.
	Weighed bool `json:"weighed"`
	// Density is mass over volume with the water in it, SpecificGravity oven-dry
	// mass over that volume, BasicGravity over green volume, each over water.
	DensityKgM3     float64 `json:"density_kg_m3"`
	SpecificGravity float64 `json:"specific_gravity"`
	BasicGravity    float64 `json:"basic_specific_gravity"`
	MaxMC           float64 `json:"max_moisture_percent"`

	MassKg    float64 `json:"mass_kg,omitempty"`
	OvenDryKg float64 `json:"oven_dry_kg,omitempty"`
	VolumeM3  float64 `json:"volume_m3,omitempty"`

	Species        string `json:"species,omitempty"`
	ScientificName string `json:"scientific_name,omitempty"`
	// SpeciesDensityKgM3 is the species' mean where a board was weighed.
	SpeciesDensityKgM3 float64 `json:"species_density_kg_m3,omitempty"`
	// Figure and Status say which tabled figure was used and how well it is
	// known.
	Figure  string   `json:"figure,omitempty"`
	Status  Status   `json:"status,omitempty"`
	Sources []string `json:"sources"`
}

// AskDensity answers q by Species.Gravity and Weighed.Result and fails as they
// and FindSpecies do; too little to answer is ErrQuestion.
func AskDensity(q DensityQuestion) (DensityAnswer, error) {
	sides := 0
	for _, l := range []Length{q.Thickness, q.Width, q.Length} {
		if l != 0 {
			sides++
		}
	}
	switch {
	case sides != 0 && sides != 3:
		return DensityAnswer{}, fmt.Errorf("the board %w: give thickness, width and length, or none of them", ErrQuestion)
	case q.Mass != 0 && sides == 0:
		return DensityAnswer{}, fmt.Errorf("a mass alone %w: give thickness, width and length too", ErrQuestion)
	case q.Mass == 0 && q.Species == "":
		return DensityAnswer{}, fmt.Errorf("density %w: give a species, or the mass and size of a board", ErrQuestion)
	}
	a := DensityAnswer{MoisturePercent: q.MC, Sources: []string{SourceDensity, SourceMaxMC}}
	var shrinkage VolumetricShrinkage
	if q.Species != "" {
		g, err := a.species(q)
		if err != nil {
			return DensityAnswer{}, err
		}
		shrinkage = g.Shrinkage
	}
	volume := VolumeOf(q.Thickness, q.Width, q.Length)
	a.VolumeM3 = float64(volume)
	if q.Mass != 0 {
		return a.weighed(q, shrinkage)
	}
	a.MassKg = a.DensityKgM3 * float64(volume)
	a.OvenDryKg = a.MassKg / (1 + q.MC/100)
	return a, nil
}

// species fills in the figures of the species' mean.
func (a *DensityAnswer) species(q DensityQuestion) (Gravity, error) {
	s, err := FindSpecies(q.Species)
	if err != nil {
		return Gravity{}, err
	}
	g, err := s.Gravity()
	if err != nil {
		return Gravity{}, err
	}
	d, err := g.Density(q.MC)
	if err != nil {
		return Gravity{}, err
	}
	a.Species, a.ScientificName, a.Figure, a.Status = s.CommonName, s.ScientificName, g.From, g.Status
	a.DensityKgM3, a.BasicGravity = float64(d), g.Basic
	if a.SpecificGravity, err = g.At(q.MC); err != nil {
		return Gravity{}, err
	}
	if a.MaxMC, err = MaxMC(g.Basic); err != nil {
		return Gravity{}, err
	}
	a.Sources = append(a.Sources, Citations(s.Source)...)
	return g, nil
}

// weighed puts the board's own figures in place of the species' mean.
func (a DensityAnswer) weighed(q DensityQuestion, s VolumetricShrinkage) (DensityAnswer, error) {
	w := Weighed{Mass: q.Mass, Thickness: q.Thickness, Width: q.Width, Length: q.Length, MC: q.MC, Shrinkage: s}
	r, err := w.Result()
	if err != nil {
		return DensityAnswer{}, err
	}
	a.Weighed, a.SpeciesDensityKgM3 = true, a.DensityKgM3
	a.DensityKgM3, a.SpecificGravity, a.BasicGravity = float64(r.Density), r.SG, r.Basic
	a.MaxMC, a.MassKg, a.OvenDryKg = r.MaxMC, float64(q.Mass), float64(r.OvenDry)
	return a, nil
}
