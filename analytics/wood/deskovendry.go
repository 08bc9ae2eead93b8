package wood

import "fmt"

// OvenDryQuestion asks for a moisture content: from a piece weighed wet and
// oven-dry (Wet, Dry), from a tracked sample piece (Sample, Now), or by
// converting between bases (MC or WetBasis). Exactly one of these is given.
type OvenDryQuestion struct {
	Wet, Dry Mass
	Sample   Sample
	Now      Mass
	// MC is in percent of oven-dry mass, WetBasis in percent of total mass.
	MC, WetBasis *float64
}

// OvenDryAnswer is a moisture content on both bases.
type OvenDryAnswer struct {
	// Method is "oven-dry", "sample piece" or "conversion".
	Method          string  `json:"method"`
	MoisturePercent float64 `json:"moisture_percent"`
	WetBasisPercent float64 `json:"wet_basis_percent"`
	// OvenDryKg is weighed, or calculated for a sample piece; zero for a
	// conversion.
	OvenDryKg float64  `json:"oven_dry_kg,omitempty"`
	Sources   []string `json:"sources"`
}

// SourceWetBasis names the conversion, for showing beside a result.
const SourceWetBasis = "wet basis = 100 M/(100 + M)"

// AskOvenDry answers q by OvenDryMC, Sample.MC, WetBasis and FromWetBasis and
// fails as they do; anything but exactly one way of asking is ErrQuestion.
func AskOvenDry(q OvenDryQuestion) (OvenDryAnswer, error) {
	weighed := q.Wet != 0 || q.Dry != 0
	sampled := q.Sample.Mass != 0 || len(q.Sample.SectionMC) > 0 || q.Now != 0
	given := 0
	for _, yes := range []bool{weighed, sampled, q.MC != nil, q.WetBasis != nil} {
		if yes {
			given++
		}
	}
	if given != 1 {
		return OvenDryAnswer{}, fmt.Errorf("moisture %w: give either a wet and a dry mass, or a sample piece "+
			"(its first mass, its sections and its mass now), or one percentage to convert", ErrQuestion)
	}
	a := OvenDryAnswer{Method: "conversion"}
	var err error
	switch {
	case weighed:
		a.Method, a.OvenDryKg, a.Sources = "oven-dry", float64(q.Dry), []string{SourceOvenDry}
		a.MoisturePercent, err = OvenDryMC(q.Wet, q.Dry)
	case sampled:
		var dry Mass
		a.Method, a.Sources = "sample piece", []string{SourceKilnSample}
		if dry, err = q.Sample.OvenDry(); err == nil {
			a.OvenDryKg = float64(dry)
			a.MoisturePercent, err = q.Sample.MC(q.Now)
		}
	case q.MC != nil:
		a.MoisturePercent = *q.MC
	default:
		a.MoisturePercent, err = FromWetBasis(*q.WetBasis)
	}
	if err == nil {
		a.WetBasisPercent, err = WetBasis(a.MoisturePercent)
	}
	if err != nil {
		return OvenDryAnswer{}, err
	}
	a.Sources = append(a.Sources, SourceWetBasis)
	return a, nil
}
