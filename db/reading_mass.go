package db

import (
	"errors"
	"math"
	"strings"

	"skepwood/analytics/moisture"
)

// noRaw stands in a reading's raw value while nothing was typed for it.
var noRaw = math.Inf(-1)

// rawCodec is what an instrument showed, in a *float64; empty is left open for
// the masses to fill.
type rawCodec struct{ numberCodec }

func (c rawCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(*float64) = noRaw
		return nil
	}
	return c.numberCodec.parse(dst, text, env)
}

// weigh works the raw value out from the masses, where there are any.
func (r *Reading) weigh() *FieldError {
	if r.WetGrams == nil && r.DryGrams == nil {
		if math.IsInf(r.Raw, -1) {
			return &FieldError{Field: "raw", Problem: "is missing", Remedy: "write what the meter showed, for example 14.5, or both masses of a piece"}
		}
		return nil
	}
	if r.Method != moisture.MethodOvenDry && r.Method != moisture.MethodSample {
		return &FieldError{Field: "method", Value: string(r.Method), Problem: "takes no masses", Remedy: "choose oven-dry or tracked sample piece, or leave the masses empty"}
	}
	probe := r.Reading
	probe.Raw, probe.Species = 0, ""
	c, err := moisture.CorrectQuick(&probe, noGuess)
	var input *moisture.InputError
	switch {
	case err == nil:
		r.Raw = c.Percent
		return nil
	case r.WetGrams == nil:
		return &FieldError{Field: "mass", Problem: "is missing beside the oven-dry mass", Remedy: "give both masses"}
	case r.DryGrams == nil:
		return &FieldError{Field: "dry_mass", Problem: "is missing beside the mass now", Remedy: "give both masses"}
	case errors.Is(err, moisture.ErrMassOrder):
		return &FieldError{Field: "dry_mass", Value: printFloat(*r.DryGrams), Problem: "is above the mass now", Remedy: "are the two swapped, or in different units?"}
	case errors.Is(err, moisture.ErrPercent):
		return &FieldError{Field: "dry_mass", Value: printFloat(*r.DryGrams), Problem: "makes more water than wood can hold (400 percent of its dry mass)", Remedy: "are both masses in the same unit?"}
	case errors.As(err, &input) && strings.Contains(input.Field, "temperature"):
		return &FieldError{Field: "temperature", Problem: input.Err.Error(), Remedy: input.Help}
	default:
		return &FieldError{Field: "mass", Problem: err.Error(), Remedy: "weigh the piece"}
	}
}

// massCodec is a mass that may be missing, in grams in a **float64. A bare
// number is grams; kg, oz and lb say so.
type massCodec struct{}

// massUnits are the words that may stand behind a mass, in grams; pound and
// ounce are exact by the agreement of 1959.
var massUnits = []unitWord{{"kg", 1000}, {"lb", 453.59237}, {"oz", 28.349523125}, {"g", 1}}

func (massCodec) parse(dst any, text string, _ Env) *FieldError {
	if text == "" {
		*dst.(**float64) = nil
		return nil
	}
	lower, size := strings.ToLower(text), 1.0
	for _, u := range massUnits {
		if rest, ok := strings.CutSuffix(lower, u.word); ok {
			lower, size = strings.TrimSpace(rest), u.size
			break
		}
	}
	v, ok := parseFloat(lower)
	switch {
	case !ok:
		return fault("is not a mass", "write it like 412 g or 14.5 oz")
	case v <= 0 || v*size > 1e6:
		return fault("is not a mass that can be weighed here (above 0, at most 1000 kg)", "check the number and its unit")
	}
	grams := v * size
	*dst.(**float64) = &grams
	return nil
}

func (massCodec) print(src any, _ Env) string {
	v := *src.(**float64)
	if v == nil {
		return ""
	}
	return numberCodec{}.write(*v, Env{}) + " g"
}

// optionalWholeCodec is a whole number that may be missing, in a **int.
type optionalWholeCodec struct{ min, max int }

func (c optionalWholeCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(**int) = nil
		return nil
	}
	var v int
	if f := (wholeCodec{min: c.min, max: c.max}).parse(&v, text, env); f != nil {
		return f
	}
	*dst.(**int) = &v
	return nil
}

func (optionalWholeCodec) print(src any, env Env) string {
	v := *src.(**int)
	if v == nil {
		return ""
	}
	return wholeCodec{}.print(v, env)
}
