package moisture

import (
	"math"

	"skepwood/analytics/wood"
)

// maxPercent is more water than wood of packaging can hold: at a basic
// specific gravity of 0.2 the cell-wall formula gives 435 %.
const maxPercent = 400

// Correct says what a reading means: percent of oven-dry mass with its standard
// deviation, every step with its source. Temperature is corrected before
// species, as the resistance table's report directs (from memory).
//
// Readings that cannot be are refused with an *InputError: percent outside 0 to
// 400, megohms not above zero, a wood temperature that can only be in another
// unit, a dry mass above the wet one, an unknown method or species.
func Correct(r Reading) (Corrected, error) { return CorrectWith(r, Options{}) }

// CorrectWith is Correct for a meter and a guessed species; see Options.
func CorrectWith(r Reading, o Options) (Corrected, error) {
	steps := make([]Step, 0, 5)
	return correct(&r, &o, &steps)
}

// CorrectQuick is CorrectWith without the list of steps and without memory
// allocation, for imports of hundreds of thousands of readings. The figures are
// the same, because it is the same function.
func CorrectQuick(r *Reading, o *Options) (Corrected, error) { return correct(r, o, nil) }

// correct dispatches on the method; steps may be nil.
func correct(r *Reading, o *Options, steps *[]Step) (Corrected, error) {
	if err := checkReading(r); err != nil {
		return Corrected{}, err
	}
	var c Corrected
	var err error
	switch r.Method {
	case MethodPin:
		c, err = correctPin(r, o, steps)
	case MethodOhm:
		c, err = correctOhm(r, o, steps)
	case MethodPinless:
		c, err = correctPinless(r, o, steps)
	default:
		c, err = correctMasses(r, steps)
	}
	if err != nil {
		return Corrected{}, err
	}
	if steps != nil {
		c.Steps = *steps
	}
	return c, nil
}

// checkReading refuses what no correction can make sense of.
func checkReading(r *Reading) error {
	switch {
	case !r.Method.Known():
		return bad("method "+string(r.Method), r.Raw, ErrMethod, "use pin, ohm, pinless, ovendry or sample")
	case math.IsNaN(r.Raw) || math.IsInf(r.Raw, 0):
		return bad("reading", r.Raw, ErrNotFinite, "write the number the instrument shows")
	case r.Method == MethodOhm && r.Raw <= 0:
		return bad("resistance", r.Raw, ErrResistance, "write megohms; an open circuit is no reading")
	case r.Method != MethodOhm && !(r.Raw >= 0 && r.Raw <= maxPercent):
		return bad("percent", r.Raw, ErrPercent, "write percent of oven-dry mass; megohms need the method ohm")
	}
	if r.WoodTempC != nil {
		if err := checkTemperature(*r.WoodTempC); err != nil {
			return err
		}
	}
	if r.Species != "" {
		if _, known := relativeOf(r.Species); !known {
			return bad("species "+r.Species, r.Raw, ErrSpecies, "leave the species empty when it is not in the table")
		}
	}
	return nil
}

// Wood outdoors is between these temperatures in °C; beyond them the number is
// in another unit or the wood is in a kiln, where the corrections do not hold.
const coldestWood, hottestWood = -40, 60

// checkTemperature names the unit that would make sense.
func checkTemperature(c float64) error {
	switch {
	case math.IsNaN(c) || math.IsInf(c, 0):
		return bad("wood temperature", c, ErrNotFinite, "leave it empty when it was not measured")
	case c > 200 && c < 350:
		return bad("wood temperature", c, ErrTemperatureUnit, "it looks like kelvins: subtract 273.15")
	case c > hottestWood || c < coldestWood:
		return bad("wood temperature", c, ErrTemperatureUnit, "it looks like °F: write (F - 32)/1.8 °C, or °F with its unit")
	}
	return nil
}

// correction carries a value through the steps; the variances of what readings
// of a kind share and of the single spot add up.
type correction struct {
	value        float64
	shared, spot float64 // variances
	steps        *[]Step
}

// step notes one step; without a list it only moves on.
func (c *correction) step(name string, after float64, source, status, note string) {
	if c.steps != nil {
		*c.steps = append(*c.steps, Step{
			Name: name, Before: c.value, After: after, Unit: "%", Source: source, Status: status, Note: note,
		})
	}
	c.value = after
}

// within closes a correction: inside low to high it is a number, outside it is
// not.
func (c *correction) within(low, high float64) Corrected {
	out := Corrected{Percent: c.value, SD: math.Sqrt(c.shared + c.spot), Shared: math.Sqrt(c.shared), Range: RangeIn}
	switch {
	// No number beyond the limits: a made-up one would be averaged later.
	case c.value < low:
		out = Corrected{Percent: math.NaN(), SD: math.NaN(), Range: RangeBelow, Bound: low}
	case c.value > high:
		out = Corrected{Percent: math.NaN(), SD: math.NaN(), Range: RangeAbove, Bound: high}
	}
	return out
}

// The spread of single readings about the moisture of the spot. Lot accuracy is
// published (meter table, lot_accuracy): the mean of corrected readings of a
// uniform lot is within 1 % of the truth, taken here as two standard
// deviations. The rest are common practice without a source.
const (
	lotSD      = 0.5  // shared by all readings of a meter
	spotPart   = 0.05 // of the moisture: pins meet rays, checks, sapwood
	spotLeast  = 0.5
	pinlessSD  = 2.0 // shared, uncorrected density
	unknownC   = 8.0 // spread of wood temperature when nobody measured it, °C
	knownC     = 1.5 // error of a measured one
	doubtOfFit = 0.15
)

// correctPin corrects a percent-reading resistance meter.
func correctPin(r *Reading, o *Options, steps *[]Step) (Corrected, error) {
	c := correction{value: r.Raw, steps: steps}
	// Back to the Douglas-fir scale, then temperature, then species.
	done, err := meterSetting(&c, r)
	if err != nil {
		return Corrected{}, err
	}
	temperature(&c, r, o, meterReference)
	if done {
		c.step("species", at(&scales()[r.Species].toTrue, c.value), sourceJames, StatusDerived,
			"the meter was set to this species")
		c.shared += tableDoubt
	} else {
		species(&c, r, o)
	}
	return c.finishMeter(), nil
}

// finishMeter adds what every electric reading has and closes it.
func (c *correction) finishMeter() Corrected {
	spot := max(spotLeast, spotPart*c.value)
	c.spot += spot * spot
	c.shared += lotSD * lotSD
	c.step("range", c.value, "Wood handbook (FPL-GTR-190) ch. 13", StatusRead,
		"resistance tells moisture only between about 6 % and fibre saturation, 30 %")
	return c.within(LowLimit, HighLimit)
}

// meterSetting brings a meter that was set to a species back to the
// Douglas-fir scale, so that temperature can be corrected first. It reports
// whether the setting is the board's own species.
func meterSetting(c *correction, r *Reading) (same bool, err error) {
	if r.Setting == "" {
		return false, nil
	}
	s, known := scales()[r.Setting]
	if !known {
		// The reading is kept, with the disagreement of all species as doubt: a
		// meter's own group number says nothing without its manual.
		spread := at(&scales()[""].spread, c.value)
		c.shared += spread * spread
		c.step("meter setting", c.value, "", StatusNotFound,
			"this setting is not a species of the table: taken as the Douglas-fir scale, with more doubt")
		return false, nil
	}
	c.step("meter setting", at(&s.toScale, c.value), sourceJames, StatusDerived, "back to the Douglas-fir scale")
	return r.Setting == r.Species, nil
}

// correctOhm reads megohms by the resistance table.
func correctOhm(r *Reading, o *Options, steps *[]Step) (Corrected, error) {
	megohms := r.Raw
	note := "two pairs of needles 1 1/4 in apart along the grain, driven 5/16 in, wood at 26.7 °C; " +
		"one pair of nails reads drier, so choose that setting"
	if r.Setting == SettingOnePair {
		megohms /= 2
		note = "one pair of nails has about twice the resistance of the table's two pairs (two equal paths side by side)"
	}
	c := correction{value: referenceScale().mcAt(math.Log(megohms)), steps: steps}
	if steps != nil {
		*steps = append(*steps, Step{
			Name: "resistance table", Before: r.Raw, After: c.value, Unit: "megohm",
			Source: sourceJames, Status: StatusMemory, Note: note,
		})
	}
	c.shared += nailDoubt
	temperature(&c, r, o, tableReference)
	species(&c, r, o)
	return c.finishMeter(), nil
}

// nailDoubt is the variance, in % MC squared, that nails instead of needles and
// an ohmmeter instead of a meter add: common practice, no source.
const nailDoubt = 0.7 * 0.7

// correctPinless leaves the number alone: no density correction for dielectric
// meters has been located, so it says so and doubts it more.
func correctPinless(r *Reading, o *Options, steps *[]Step) (Corrected, error) {
	c := correction{value: r.Raw, steps: steps}
	note := "no published density correction was located: the meter's own number stands"
	if g, ok := basicGravity(r.Species, o.Guess); ok {
		// A dielectric meter weighs the water in a volume, so wood of another
		// density than the meter's assumption (commonly 0.5) misreads in that
		// proportion. Half of it goes into the doubt, none into the number.
		half := c.value * (0.5/g - 1) / 2
		c.shared += half * half
	}
	c.shared += pinlessSD * pinlessSD
	c.spot = 1
	c.step("density", c.value, "", StatusNotFound, note)
	return c.within(LowLimit, HighLimit), nil
}

// correctMasses works out MethodOvenDry and MethodSample.
func correctMasses(r *Reading, steps *[]Step) (Corrected, error) {
	c := correction{value: r.Raw, steps: steps}
	source, name := wood.SourceOvenDry, "oven-dry masses"
	c.spot = 0.3 * 0.3 // what is left of water when the mass has settled; common practice, no source
	if r.Method == MethodSample {
		source, name = wood.SourceKilnSample, "sample piece"
		c.shared = 1 // the end sections stand for the whole piece; common practice, no source
	}
	if r.WetGrams != nil || r.DryGrams != nil {
		percent, err := fromMasses(r.WetGrams, r.DryGrams)
		if err != nil {
			return Corrected{}, err
		}
		c.value = percent
		// Both masses to half a gram.
		perGram := 100 / *r.DryGrams
		c.spot += perGram * perGram * (0.25 + 0.25*(1+percent/100)*(1+percent/100)) / 3
	}
	c.step(name, c.value, source, StatusChecked, "")
	return c.within(0, maxPercent), nil
}

// fromMasses is 100 (wet - dry)/dry with named refusals.
func fromMasses(wet, dry *float64) (float64, error) {
	if wet == nil || dry == nil {
		return 0, bad("mass", math.NaN(), ErrMass, "give both the wet and the dry mass")
	}
	switch {
	case !(*wet > 0) || math.IsInf(*wet, 0):
		return 0, bad("wet mass", *wet, ErrMass, "weigh the piece in grams")
	case !(*dry > 0):
		return 0, bad("dry mass", *dry, ErrMass, "weigh the piece in grams")
	case *dry > *wet:
		return 0, bad("dry mass", *dry, ErrMassOrder, "are the two masses swapped, or in different units?")
	}
	percent := 100 * (*wet - *dry) / *dry
	if percent > maxPercent {
		return 0, bad("percent from the masses", percent, ErrPercent, "are both masses in the same unit?")
	}
	return percent, nil
}
