package wood

import "math"

// Coefficients of the Magnus formula over water, WMO-No. 8 annex 4.B: read in
// two independent transcriptions.
const (
	magnusPressure = 6.112  // hPa
	magnusFactor   = 17.62  // 1
	magnusOffset   = 243.12 // °C
	magnusColdest  = -45    // °C
	magnusHottest  = 60     // °C
)

// StandardPressure is the air pressure at sea level in hPa, used where none is
// given.
const StandardPressure = 1013.25

// SaturationPressure returns the vapour pressure, in hPa, of air saturated over
// liquid water at t, by the Magnus formula of WMO-No. 8 annex 4.B. t must lie
// between -45 and 60 °C, where the formula is stated, else ErrRange. Below
// freezing it is still over (supercooled) water, which is what humidity is
// reckoned against by the same guide.
func SaturationPressure(t Celsius) (float64, error) {
	if err := within("temperature", float64(t), magnusColdest, magnusHottest, " °C"); err != nil {
		return 0, err
	}
	return magnus(t), nil
}

func magnus(t Celsius) float64 {
	return magnusPressure * math.Exp(magnusFactor*float64(t)/(magnusOffset+float64(t)))
}

// HumidityFromDewPoint returns the relative humidity, in percent, of air at t
// whose dew point is dew, by the Magnus formula. Both must lie between -45 and
// 60 °C and the dew point cannot be above the air's temperature, else ErrRange.
func HumidityFromDewPoint(t, dew Celsius) (float64, error) {
	saturated, err := SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	if err := within("dew point", float64(dew), magnusColdest, float64(t), " °C"); err != nil {
		return 0, err
	}
	// At equality the quotient can round to just above 1.
	return min(100, 100*magnus(dew)/saturated), nil
}

// DewPoint returns the temperature at which air of temperature t and relative
// humidity rh percent begins to give off dew: the inverse of
// HumidityFromDewPoint. rh must be above 0 and at most 100 and the dew point
// not below -45 °C, else ErrRange.
func DewPoint(t Celsius, rh float64) (Celsius, error) {
	saturated, err := SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	driest := 100 * magnus(magnusColdest) / saturated
	if err := within("relative humidity", rh, driest, 100, " %"); err != nil {
		return 0, err
	}
	x := math.Log(rh / 100 * saturated / magnusPressure)
	return Celsius(magnusOffset * x / (magnusFactor - x)), nil
}

// WetBulb is a pair of thermometers, one of them under a wet wick in moving
// air. PressureHPa is the air pressure at the place, not reduced to sea level;
// 0 means StandardPressure.
type WetBulb struct {
	Dry, Wet    Celsius
	PressureHPa float64
}

// Humidity returns the relative humidity, in percent, by the psychrometric
// formula for a ventilated bulb: e = es(tw) - 6.60e-4 (1 + 0.00115 tw) p
// (t - tw), Glossary of Meteorology (American Meteorological Society), with
// the saturation pressures of SaturationPressure. In still air the wick stays
// too warm and the result comes out too humid.
//
// The dry bulb must lie between 1 and 60 °C and the wet one between 1 °C and
// the dry one (below, it depends on whether the wick is ice or water; ASTM
// E337 stops there as well), the pressure between 500 and 1100 hPa, else
// ErrRange. A wet bulb so low that the air would be drier than dry is ErrRange
// too.
func (b WetBulb) Humidity() (float64, error) {
	pressure := b.PressureHPa
	if pressure == 0 {
		pressure = StandardPressure
	}
	for _, err := range []error{
		within("dry bulb", float64(b.Dry), 1, magnusHottest, " °C"),
		within("wet bulb", float64(b.Wet), 1, float64(b.Dry), " °C"),
		within("air pressure", pressure, 500, 1100, " hPa"),
	} {
		if err != nil {
			return 0, err
		}
	}
	e := b.vapour(b.Wet, pressure)
	if e < 0 {
		return 0, &RangeError{
			What: "wet bulb", Value: float64(b.Wet), Low: float64(b.driest(pressure)), High: float64(b.Dry), Unit: " °C",
			Hint: "the air would be drier than dry: check both thermometers",
		}
	}
	return min(100, 100*e/magnus(b.Dry)), nil
}

// vapour returns the vapour pressure if the wet bulb stood at wet.
func (b WetBulb) vapour(wet Celsius, pressure float64) float64 {
	const coefficient, slope = 6.60e-4, 0.00115
	return magnus(wet) - coefficient*(1+slope*float64(wet))*pressure*float64(b.Dry-wet)
}

// driest returns the lowest wet bulb that the dry one allows, to a thousandth
// of a degree; vapour rises with the wet bulb.
func (b WetBulb) driest(pressure float64) Celsius {
	lo, hi := b.Wet, b.Dry
	for hi-lo > 0.001 {
		mid := (lo + hi) / 2
		if b.vapour(mid, pressure) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
