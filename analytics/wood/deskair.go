package wood

import (
	"errors"
	"fmt"
)

// ErrQuestion is returned, wrapped, by the desk calculators (AskAir,
// AskDensity, AskResize, AskBoardFeet, AskOvenDry) when too little or too much
// was given to answer. The message says what to give.
var ErrQuestion = errors.New("cannot be answered")

// AirQuestion asks how dry wood becomes in some air, or which air keeps wood as
// dry as it is. Exactly one of the four pointers is given.
type AirQuestion struct {
	Temperature Celsius
	// Humidity is relative humidity in percent.
	Humidity *float64
	// WetBulb and DewPoint are other ways to know it; the air pressure in hPa
	// goes with the wet bulb, 0 meaning sea level.
	WetBulb, DewPoint *Celsius
	PressureHPa       float64
	// Moisture is the moisture content, in percent, that the air shall keep.
	Moisture *float64
}

// AirAnswer pairs an air with the moisture content that wood takes in it.
type AirAnswer struct {
	TemperatureC    float64 `json:"temperature_c"`
	HumidityPercent float64 `json:"humidity_percent"`
	MoisturePercent float64 `json:"moisture_percent"`
	// From says what was given: "humidity", "wet bulb", "dew point" or
	// "moisture".
	From string `json:"from"`
	// Extrapolated says that the air lies outside the published table.
	Extrapolated bool     `json:"extrapolated"`
	Sources      []string `json:"sources"`
}

// AskAir answers q by EMC, HumidityAt, WetBulb.Humidity and
// HumidityFromDewPoint and fails as they do; anything but exactly one given
// pointer is ErrQuestion.
func AskAir(q AirQuestion) (AirAnswer, error) {
	given := 0
	for _, yes := range []bool{q.Humidity != nil, q.WetBulb != nil, q.DewPoint != nil, q.Moisture != nil} {
		if yes {
			given++
		}
	}
	if given != 1 {
		return AirAnswer{}, fmt.Errorf("the air %w: give exactly one of humidity, wet bulb, dew point and moisture", ErrQuestion)
	}
	a := AirAnswer{TemperatureC: float64(q.Temperature), Sources: []string{SourceEMC}}
	var err error
	switch {
	case q.Moisture != nil:
		a.From, a.MoisturePercent = "moisture", *q.Moisture
		a.HumidityPercent, err = HumidityAt(q.Temperature, *q.Moisture)
	case q.WetBulb != nil:
		a.From, a.Sources = "wet bulb", append(a.Sources, SourcePsychrometer)
		a.HumidityPercent, err = WetBulb{Dry: q.Temperature, Wet: *q.WetBulb, PressureHPa: q.PressureHPa}.Humidity()
	case q.DewPoint != nil:
		a.From, a.Sources = "dew point", append(a.Sources, SourceMagnus)
		a.HumidityPercent, err = HumidityFromDewPoint(q.Temperature, *q.DewPoint)
	default:
		a.From, a.HumidityPercent = "humidity", *q.Humidity
	}
	if err == nil && q.Moisture == nil {
		a.MoisturePercent, err = EMC(q.Temperature, a.HumidityPercent)
	}
	if err != nil {
		return AirAnswer{}, err
	}
	a.Extrapolated = EMCExtrapolated(q.Temperature, a.HumidityPercent)
	return a, nil
}
