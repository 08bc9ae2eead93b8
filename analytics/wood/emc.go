package wood

import "math"

// Sources of the formulas, for showing beside a result.
const (
	SourceEMC = "Hailwood-Horrobin two-hydrate equation, Wood Handbook (FPL-GTR-190) eq. 4-5 in SI units; " +
		"coefficients by Simpson 1973"
	SourceMagnus       = "Magnus formula over water, WMO-No. 8 (Guide to Instruments), annex 4.B"
	SourcePsychrometer = "psychrometric formula for a ventilated wet bulb, Glossary of Meteorology (AMS): " +
		"e = es(tw) - 0.000660 (1 + 0.00115 tw) p (t - tw); es by the Magnus formula of WMO-No. 8"
)

// Limits of EMC. The published table spans 30 to 210 °F and 5 to 95 %; the
// equation itself misbehaves below about -37 °C, where K2 turns negative.
const (
	emcColdest, emcHottest = -30, 110
	emcTableCold           = (30.0 - 32) / 1.8
	emcTableHot            = (210.0 - 32) / 1.8
	emcTableDry            = 5.0
	emcTableHumid          = 95.0
)

// EMC returns the equilibrium moisture content, in percent of oven-dry mass,
// of wood that has long lain in air of temperature t and relative humidity rh
// percent: the two-hydrate equation of Hailwood and Horrobin (1946) with the
// coefficients of Simpson (1973), Wood Handbook eq. 4-5, SI form.
//
// It keeps within 0.06 of the handbook's table 4-2 (30 to 210 °F, 5 to 95 %).
// The handbook treats it as good for any species; real wood shows hysteresis
// of about a percent, and liquid water is outside it. t must lie between -30
// and 110 °C and rh between 0 and 100, else the error is ErrRange; see
// EMCExtrapolated for where the table ends.
func EMC(t Celsius, rh float64) (float64, error) {
	if err := checkAir(t, rh); err != nil {
		return 0, err
	}
	return newSorption(t).at(rh / 100), nil
}

// EMCExtrapolated reports whether EMC at these values goes beyond the
// published table, so that a caller can say so.
func EMCExtrapolated(t Celsius, rh float64) bool {
	// One tenth of a degree covers the rounding of the table's Celsius column.
	return float64(t) < emcTableCold-0.1 || float64(t) > emcTableHot+0.1 || rh < emcTableDry || rh > emcTableHumid
}

// HumidityAt returns the relative humidity, in percent, at which wood of
// temperature t neither gains nor loses water at moisture content mc percent:
// the inverse of EMC, within 1e-9. mc beyond the EMC at 100 % humidity has no
// such humidity and is ErrRange.
func HumidityAt(t Celsius, mc float64) (float64, error) {
	if err := checkAir(t, 50); err != nil {
		return 0, err
	}
	s := newSorption(t)
	if err := within("equilibrium moisture content", mc, 0, s.at(1), " %"); err != nil {
		return 0, err
	}
	// EMC rises strictly with humidity, so halving the interval until the
	// floats are neighbours finds the one crossing.
	lo, hi := 0.0, 1.0
	for {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if s.at(mid) < mc {
			lo = mid
		} else {
			hi = mid
		}
	}
	if math.Abs(s.at(lo)-mc) < math.Abs(s.at(hi)-mc) {
		return 100 * lo, nil
	}
	return 100 * hi, nil
}

func checkAir(t Celsius, rh float64) error {
	if err := within("temperature", float64(t), emcColdest, emcHottest, " °C"); err != nil {
		return err
	}
	return within("relative humidity", rh, 0, 100, " %")
}

// sorption is the equation's four coefficients at one temperature.
type sorption struct{ w, k, k1, k2 float64 }

func newSorption(t Celsius) sorption {
	x := float64(t)
	return sorption{
		w:  349 + 1.29*x + 0.0135*x*x,
		k:  0.805 + 0.000736*x - 0.00000273*x*x,
		k1: 6.27 - 0.00938*x - 0.000303*x*x,
		k2: 1.91 + 0.0407*x - 0.000293*x*x,
	}
}

// at evaluates the equation at relative humidity h, a fraction.
func (s sorption) at(h float64) float64 {
	kh := s.k * h
	first, second := s.k1*kh, s.k1*s.k2*kh*kh
	return 1800 / s.w * (kh/(1-kh) + (first+2*second)/(1+first+second))
}
