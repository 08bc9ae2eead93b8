package moisture

import (
	"fmt"
	"math"
	"time"

	"skepwood/analytics/wood"
)

// Climate is the air a stack stands in, month by month.
type Climate struct {
	// EMC is the equilibrium moisture of each month in percent, January first.
	EMC [12]float64
	// Rate is the drying speed of each month relative to the year's mean; all
	// zeros means the same all year. See SeasonUpperMidwest.
	Rate [12]float64
	// SD is the standard deviation of the doubt about EMC as a whole, percent:
	// the place may be damper than its weather station.
	SD float64
	// Source and Status say where the figures come from.
	Source, Status string
	// Earlier is the air of other places the stack stood in before, oldest
	// first; what stands above is that of the last place.
	Earlier []Spell
}

// Spell is the air a stack stood in until it was moved.
type Spell struct {
	// Until is when it was moved away.
	Until time.Time
	// Climate is the air of that place; an Earlier of its own is not looked at.
	Climate Climate
}

// at is the climate in force at t.
func (c *Climate) at(t time.Time) *Climate {
	for i := range c.Earlier {
		if t.Before(c.Earlier[i].Until) {
			return &c.Earlier[i].Climate
		}
	}
	return c
}

// defaultClimateSD is the doubt about an equilibrium moisture worked out from
// temperature and humidity: sorption hysteresis alone is about a percent (Wood
// handbook ch. 4 calls its table a middle curve; from memory).
const defaultClimateSD = 1.0

// ConstantClimate is air with one equilibrium moisture all year, percent with
// standard deviation sd.
func ConstantClimate(emc, sd float64) Climate {
	c := Climate{SD: sd, Source: "typed in", Status: StatusCommon}
	for m := range c.EMC {
		c.EMC[m] = emc
	}
	return c
}

// MonthlyClimate works out the equilibrium moisture of twelve months from mean
// temperature (°C) and relative humidity (percent), by wood.EMC; errors name
// the month.
func MonthlyClimate(tempC, rh [12]float64) (Climate, error) {
	c := Climate{SD: defaultClimateSD, Source: wood.SourceEMC, Status: string(wood.Checked)}
	for m := range 12 {
		emc, err := wood.EMC(wood.Celsius(tempC[m]), rh[m])
		if err != nil {
			return Climate{}, fmt.Errorf("%s: %w", time.Month(m+1), err)
		}
		c.EMC[m] = emc
	}
	return c, nil
}

// At returns the equilibrium moisture at t, percent, in t's own zone and in the
// place the stack stood in then.
func (c Climate) At(t time.Time) float64 { return c.at(t).EMC[t.Month()-1] }

// Lowest returns the driest month's equilibrium moisture where the stack stands
// last, percent: what it can reach at best.
func (c Climate) Lowest() float64 {
	low := c.EMC[0]
	for _, e := range c.EMC {
		low = min(low, e)
	}
	return low
}

// Uniform reports whether the climate is the same all year and the stack never
// was elsewhere.
func (c Climate) Uniform() bool {
	if len(c.Earlier) > 0 {
		return false
	}
	for m := range 12 {
		if c.EMC[m] != c.EMC[0] || c.Rate[m] != c.Rate[0] {
			return false
		}
	}
	return true
}

// check refuses what no air can be.
func (c Climate) check() error {
	if !(c.SD >= 0) || c.SD > 10 {
		return bad("doubt about the equilibrium moisture", c.SD, ErrSetting, "give a standard deviation from 0 to 10 %")
	}
	for m := range 12 {
		if !(c.EMC[m] >= 0 && c.EMC[m] <= wood.FibreSaturation) {
			return bad("equilibrium moisture", c.EMC[m], ErrSetting, "give percent between 0 and fibre saturation, 30")
		}
		if !(c.Rate[m] >= 0 && c.Rate[m] <= 20) {
			return bad("drying speed of a month", c.Rate[m], ErrSetting, "give it relative to the year's mean, 0 to 20")
		}
	}
	for i, s := range c.Earlier {
		if s.Until.IsZero() || i > 0 && !s.Until.After(c.Earlier[i-1].Until) {
			return &InputError{"day of a move", i, 0, ErrNoTime, "give the moves' days, each after the one before"}
		}
		alone := s.Climate
		alone.Earlier = nil
		if err := alone.check(); err != nil {
			return err
		}
	}
	return nil
}

// rateOf is the relative drying speed in month m, 1 when none are given.
func (c *Climate) rateOf(m time.Month) float64 {
	if c.Rate == ([12]float64{}) {
		return 1
	}
	return c.Rate[m-1]
}

// segment is a stretch of time in which the air stays the same.
type segment struct {
	from, to float64 // days since the start
	emc      float64
	rate     float64
}

// segments cuts the time from start into months, up to days, and where the
// stack was moved; a climate that is the same all year is one endless segment.
func (c *Climate) segments(start time.Time, days float64) []segment {
	if c.Uniform() {
		return []segment{{0, math.Inf(1), c.EMC[0], c.rateOf(time.January)}}
	}
	var out []segment
	dayOf := func(t time.Time) float64 { return t.Sub(start).Hours() / 24 }
	from := 0.0
	for month := time.Date(start.Year(), start.Month(), 1, 0, 0, 0, 0, start.Location()); from < days; month = month.AddDate(0, 1, 0) {
		end := dayOf(month.AddDate(0, 1, 0))
		add := func(air *Climate, to float64) {
			if to = min(to, end); to > from {
				out = append(out, segment{from, to, air.EMC[month.Month()-1], air.rateOf(month.Month())})
				from = to
			}
		}
		for i := range c.Earlier {
			add(&c.Earlier[i].Climate, dayOf(c.Earlier[i].Until))
		}
		add(c, end)
	}
	return out
}
