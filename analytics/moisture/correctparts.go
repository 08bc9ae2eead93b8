package moisture

import (
	"math"
	"sync"

	"skepwood/analytics/wood"
)

// Sources as shown beside a step.
const (
	sourceJames = "James 1988, Electric moisture meters for wood (FPL-GTR-6) Table 1, from memory"
	sourcePfaff = "Pfaff and Garrahan 1986, Forest Products Journal 36(3):28-30, formula as recalled, no page seen; " +
		"within 0.6 % of the Wood handbook's rule from 5 to 35 °C"
)

// tableDoubt is the variance, in % MC squared, of a species row that nobody
// could compare with the report: half a percent, our judgement.
const tableDoubt = 0.5 * 0.5

// Temperatures at which a scale needs no correction, °C.
const (
	// meterReference says that the formula's own zero applies; see
	// TemperatureCorrected.
	meterReference = -1000
	// tableReference is the temperature of the resistance table, 80 °F.
	tableReference = 26.7
)

// TemperatureCorrected returns the percentage a resistance meter on the
// Douglas-fir scale would have shown at its reference temperature, for the
// reading r percent of wood at c °C: Pfaff and Garrahan 1986,
//
//	(r + 0.567 - 0.0260 c + 0.000051 c²) / (0.881 × 1.0056^c)
//
// The formula was recalled, not read. It changes nothing at about 22.7 °C and
// keeps within 0.6 of the Wood handbook's rule (0.5 % per 5.6 °C) for readings
// of 10 to 15 % from 5 to 35 °C; unlike the rule it grows with moisture.
func TemperatureCorrected(r, c float64) float64 {
	// 1.0056^c, written with Exp because that is what Pow would come down to.
	const ln = 0.005584379247 // ln 1.0056
	return (r + 0.567 - 0.0260*c + 0.000051*c*c) / (0.881 * math.Exp(ln*c))
}

// HandbookTemperatureRule returns the percentage by the Wood handbook's rule:
// add 0.5 % per 5.6 °C colder than the reference, take as much away when
// warmer. It is printed beside the formula as a second opinion.
func HandbookTemperatureRule(r, c, reference float64) float64 { return r + 0.5*(reference-c)/5.6 }

// temperature corrects for the wood's temperature, on the Douglas-fir scale.
func temperature(c *correction, r *Reading, o *Options, reference float64) {
	// Per degree, at this moisture: the same sensitivity turns the doubt about
	// the temperature into doubt about the moisture.
	slope := (TemperatureCorrected(c.value, 18) - TemperatureCorrected(c.value, 28)) / 10
	switch {
	case o.Compensated && r.Method == MethodPin:
		c.spot += square(slope * knownC)
		c.step("wood temperature", c.value, "", StatusCommon, "the meter corrects for temperature itself")
	case r.WoodTempC == nil:
		c.shared += square(slope * unknownC)
		c.step("wood temperature", c.value, "", StatusNotFound, "not measured: no correction, more doubt")
	default:
		after := TemperatureCorrected(c.value, *r.WoodTempC)
		if reference != meterReference {
			// The table's own temperature is not the formula's zero: what the
			// formula would do there is taken off again.
			after += c.value - TemperatureCorrected(c.value, reference)
		}
		c.spot += square(slope * knownC)
		c.shared += square(doubtOfFit * (after - c.value))
		c.step("wood temperature", after, sourcePfaff, StatusMemory, "")
	}
}

// species corrects from the Douglas-fir scale to the board's species, or to
// the average of the species it may be.
func species(c *correction, r *Reading, o *Options) {
	switch {
	case r.Species != "":
		s := scales()[r.Species]
		note, status := "the table's own row", StatusDerived
		doubt := tableDoubt
		switch s.relation {
		case RelationKin:
			note = "no row of its own: its nearest relatives stand in"
		case RelationGroup:
			note = "no row of its own: the mean of all softwoods or all hardwoods stands in"
		}
		c.shared += doubt + square(at(&s.spread, c.value))
		c.step("species", at(&s.toTrue, c.value), sourceJames, status, note)
	case len(o.Guess) > 0:
		mean, variance := averageSpecies(c.value, o.Guess)
		c.shared += tableDoubt + variance
		c.step("species", mean, sourceJames, StatusDerived, "averaged over the species it may be")
	default:
		any := scales()[""]
		c.shared += tableDoubt + square(at(&any.spread, c.value))
		c.step("species", at(&any.toTrue, c.value), sourceJames, StatusDerived,
			"species unknown: the mean of all rows of the table, with their disagreement as doubt")
	}
}

// averageSpecies returns mean and variance of the true moisture over a guess:
// the spread within each species' stand-ins plus that between the species.
// Shares need not add up to one; ids that are not in the table count as any
// wood.
func averageSpecies(reading float64, guess []SpeciesShare) (mean, variance float64) {
	var total, sum, second float64
	for _, g := range guess {
		s, known := scales()[g.ID]
		if !known {
			s = scales()[""]
		}
		v := at(&s.toTrue, reading)
		total, sum = total+g.P, sum+g.P*v
		second += g.P * (v*v + square(at(&s.spread, reading)))
	}
	if !(total > 0) {
		any := scales()[""]
		return at(&any.toTrue, reading), square(at(&any.spread, reading))
	}
	mean = sum / total
	return mean, max(0, second/total-mean*mean)
}

// basicGravity is the species' basic specific gravity, or the mean over a
// guess of those that are known.
func basicGravity(id string, guess []SpeciesShare) (float64, bool) {
	if id != "" {
		g, ok := gravities()[id]
		return g, ok
	}
	var total, sum float64
	for _, s := range guess {
		if g, ok := gravities()[s.ID]; ok {
			total, sum = total+s.P, sum+s.P*g
		}
	}
	return sum / total, total > 0
}

// gravities holds the basic specific gravity of every species that has one.
var gravities = sync.OnceValue(func() map[string]float64 {
	out := make(map[string]float64)
	for _, s := range wood.AllSpecies() {
		if g, err := s.Gravity(); err == nil {
			out[s.ID] = g.Basic
		}
	}
	return out
})

// referenceScale is the Douglas-fir row of the resistance table.
var referenceScale = sync.OnceValue(func() resistanceRow { return resistanceRows()[referenceRow] })

func square(x float64) float64 { return x * x }
