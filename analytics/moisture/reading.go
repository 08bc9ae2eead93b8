package moisture

import (
	"encoding/json"
	"math"
	"time"
)

// Method is how a reading was taken.
type Method string

// The methods a reading can be taken with.
const (
	// MethodPin is a resistance meter with two or four pins, showing percent.
	MethodPin Method = "pin"
	// MethodOhm is a plain ohmmeter between pins or nails, showing megohms.
	MethodOhm Method = "ohm"
	// MethodPinless is a dielectric meter laid on the face, showing percent.
	MethodPinless Method = "pinless"
	// MethodOvenDry is two masses of a piece, before and after the oven.
	MethodOvenDry Method = "ovendry"
	// MethodSample is the mass of a tracked sample piece against its calculated
	// oven-dry mass.
	MethodSample Method = "sample"
)

// Methods lists every method, the ones most used first.
func Methods() []Method {
	return []Method{MethodPin, MethodOhm, MethodPinless, MethodOvenDry, MethodSample}
}

// Known reports whether m is one of the methods of this package.
func (m Method) Known() bool {
	switch m {
	case MethodPin, MethodOhm, MethodPinless, MethodOvenDry, MethodSample:
		return true
	}
	return false
}

// Reading is one moisture reading as it was taken, before any correction.
type Reading struct {
	ID      string
	BoardID string
	At      time.Time
	// Raw is percent of oven-dry mass as the meter showed it, 0 to 400, or
	// megohms for MethodOhm. For MethodOvenDry and MethodSample it is the
	// percentage worked out from the masses, and is ignored when both masses
	// are given.
	Raw    float64
	Method Method
	// WoodTempC is the temperature of the wood, not of the air; nil when nobody
	// measured it.
	WoodTempC *float64
	// Setting is the species the meter was set to: a species id, or "" for the
	// Douglas-fir scale that most meters have. For MethodOhm, SettingOnePair
	// says that one pair of nails stood in for the two pairs of the table.
	Setting string
	// Species is the species id of the board, or "" when it is unknown.
	Species string
	Place   string // where on the board: "middle", "end", "butt"…
	// WetGrams is the mass as found, DryGrams the oven-dry mass (MethodOvenDry)
	// or the calculated oven-dry mass (MethodSample, see wood.Sample). Both
	// or neither.
	WetGrams, DryGrams *float64
}

// SettingOnePair is the Setting of a MethodOhm reading taken between two nails
// instead of the two pairs of needles of the published table.
const SettingOnePair = "one pair"

// What the instrument could say about the moisture (Corrected.Range).
const (
	// RangeIn means that Percent is a number.
	RangeIn = "in"
	// RangeBelow means drier than the method can tell; Bound is the limit.
	RangeBelow = "below"
	// RangeAbove means wetter than the method can tell; Bound is the limit.
	RangeAbove = "above"
)

// How well a figure is known; every Step and every table row carries one.
const (
	StatusChecked  = "checked"   // two sources agree
	StatusRead     = "read"      // read on one page
	StatusDerived  = "derived"   // computed from the tables here
	StatusMemory   = "memory"    // recalled, no page seen: "from memory"
	StatusNotFound = "not_found" // no usable value located
	StatusCommon   = "common"    // common practice, no source
)

// Step is one correction: what it is called, the value before and after it,
// and where it comes from.
type Step struct {
	Name   string  `json:"name"`
	Before float64 `json:"before"`
	After  float64 `json:"after"`
	Unit   string  `json:"unit"` // of Before; After is always percent
	Source string  `json:"source"`
	Status string  `json:"status"`
	Note   string  `json:"note,omitempty"`
}

// Corrected is what a reading means: percent of oven-dry mass.
type Corrected struct {
	// Percent is NaN unless Range is RangeIn: below and above its range an
	// instrument has no number to give.
	Percent float64
	// SD is the standard deviation of Percent as a statement about the spot
	// that was read, NaN unless Range is RangeIn.
	SD float64
	// Shared is the part of SD that readings of the same species with the same
	// meter have in common, so that averaging them does not make it smaller.
	Shared float64
	Range  string
	// Bound is the limit passed when Range is RangeBelow or RangeAbove, else 0.
	Bound float64
	Steps []Step
}

// Known reports whether c holds a number.
func (c Corrected) Known() bool { return c.Range == RangeIn }

// MarshalJSON writes percent and sd as null where there is no number, because
// JSON has no NaN and a zero would be read as bone dry.
func (c Corrected) MarshalJSON() ([]byte, error) {
	out := struct {
		Percent *float64 `json:"percent"`
		SD      *float64 `json:"sd"`
		Range   string   `json:"range"`
		Bound   *float64 `json:"bound,omitempty"`
		Steps   []Step   `json:"steps"`
	}{Range: c.Range, Steps: c.Steps}
	if c.Known() && !math.IsNaN(c.Percent) {
		out.Percent, out.SD = &c.Percent, &c.SD
	} else if c.Bound != 0 {
		out.Bound = &c.Bound
	}
	return json.Marshal(out)
}

// SpeciesShare is a species id with its probability; "" is something else
// than the species of the table.
type SpeciesShare struct {
	ID string
	P  float64
}

// Options tells Correct about the meter and about an unknown species. The zero
// value is a meter without temperature compensation and nothing known.
type Options struct {
	// Compensated says that the meter itself corrects for wood temperature.
	Compensated bool
	// Guess is averaged over when the reading's Species is "": the result is
	// the mean over the species and its SD includes their disagreement.
	Guess []SpeciesShare
}
