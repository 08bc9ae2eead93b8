package charts

import "time"

// Worth is the log's value and cost up to a moment, both summed from the
// start.
type Worth struct {
	When        time.Time
	Value, Cost float64
}

// CumulativeValue shows the log's value against its cost over time as steps.
type CumulativeValue struct {
	// Title is the heading; "" means "Value won against cost".
	Title string
	// Unit stands at the axis: "USD".
	Unit string
	// Points may be in any order.
	Points []Worth
}

// Trip is one drive.
type Trip struct {
	When  time.Time
	Value float64
	// Empty says that nothing came home, Estimated that the value is the
	// keeper's estimate.
	Empty, Estimated bool
}

// Trips shows one source's drives over time.
type Trips struct {
	// Title is the heading; "" means "Drives over time".
	Title string
	// Unit stands at the axis: "board feet".
	Unit  string
	Trips []Trip
	// Mean is drawn as a line with its 90 % interval; nil draws none.
	Mean *Interval
}

// Moisture is one reading.
type Moisture struct {
	When    time.Time
	Percent float64
	// Below and Above say that the meter only said "less" or "more".
	Below, Above bool
}

// Forecast is a day of the drying curve: the median and the 90 % band.
type Forecast struct {
	When           time.Time
	Median, Lo, Hi float64
	// EMC is the equilibrium the wood dries towards on that day; NaN leaves a
	// gap.
	EMC float64
}

// DryingCurve shows readings, the curve through them, its band, and what the
// wood dries towards.
type DryingCurve struct {
	// Title is the heading; "" means "Drying".
	Title    string
	Readings []Moisture
	Curve    []Forecast
	// Target is the moisture wanted, with its label; nil draws none.
	Target *Mark
	// ReadyFrom and ReadyTo bound the days on which the target is reached
	// with 90 %; both zero draws none.
	ReadyFrom, ReadyTo time.Time
}

// PIT shows how well forecasts were calibrated: the probability integral
// transform of what happened under what was forecast, which is even from 0 to
// 1 when the forecasts were honest (Dawid 1984, Journal of the Royal
// Statistical Society A 147:278-292).
type PIT struct {
	// Title is the heading; "" means "How forecasts met the readings".
	Title string
	// Values lie from 0 to 1.
	Values []float64
	// Bins is the number of bars, 2 to 50; 0 means 10.
	Bins int
}
