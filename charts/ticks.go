package charts

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/plot"
)

// scale is the range of an axis with its ticks.
type scale struct {
	min, max float64
	ticks    []plot.Tick
}

// Ticks returns the scale's ticks; it makes a scale a plot.Ticker.
func (s scale) Ticks(_, _ float64) []plot.Tick { return s.ticks }

// scaleOf returns a scale that holds low and high with round ticks, about n of
// them. Its ends are ticks, so that nothing drawn touches the picture's edge.
func scaleOf(low, high float64, n int) scale {
	if low > high {
		low, high = high, low
	}
	if high-low < 1e-9*math.Max(1, math.Abs(high)) {
		pad := math.Max(math.Abs(high)/10, 0.5)
		low, high = low-pad, high+pad
	}
	step := roundStep((high - low) / float64(max(n-1, 1)))
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	if step*math.Pow10(decimals) != math.Round(step*math.Pow10(decimals)) {
		decimals++
	}
	first, last := math.Floor(low/step+1e-9), math.Ceil(high/step-1e-9)
	s := scale{min: first * step, max: last * step}
	for k := first; k <= last; k++ {
		v := k * step
		s.ticks = append(s.ticks, plot.Tick{Value: v, Label: plain(v, min(decimals, 9))})
	}
	return s
}

// trimmed returns the scale cut down to low and high with a little room beyond
// them, so that what is drawn to the ends does not touch the picture's edge.
func (s scale) trimmed(low, high float64) scale {
	room := (high - low) / 30
	s.min, s.max = math.Max(s.min, low-room), math.Min(s.max, high+room)
	s.ticks = slices.DeleteFunc(slices.Clone(s.ticks), func(t plot.Tick) bool { return t.Value < s.min || t.Value > s.max })
	return s
}

// roundStep returns the least of 1, 2, 2.5 and 5 times a power of ten that is
// at least rough.
func roundStep(rough float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	for _, f := range []float64{1, 2, 2.5, 5, 10} {
		if step := f * power; step >= rough*(1-1e-9) {
			return step
		}
	}
	return 10 * power
}

// timeScale returns a scale of dates in their own zone with about n ticks.
func timeScale(from, to time.Time, n int) scale {
	if !to.After(from) {
		from, to = from.AddDate(0, 0, -1), to.AddDate(0, 0, 1)
	}
	s := scale{min: seconds(from), max: seconds(to)}
	// A time.Duration would end at 292 years.
	days := (s.max - s.min) / (24 * 60 * 60)
	for _, every := range []dateStep{
		{0, 1, "2 Jan"}, {0, 2, "2 Jan"}, {0, 7, "2 Jan"}, {0, 14, "2 Jan"}, {1, 0, monthLayout}, {2, 0, monthLayout}, {3, 0, monthLayout},
		{6, 0, monthLayout}, {12, 0, "2006"}, {24, 0, "2006"}, {60, 0, "2006"}, {120, 0, "2006"}, {600, 0, "2006"}, {3000, 0, "2006"}, {12000, 0, "2006"}, {60000, 0, "2006"},
	} {
		if days/float64(every.days+30*every.months) > float64(n) && every.months != 60000 {
			continue
		}
		s.ticks = every.ticks(from, to)
		if len(s.ticks) > 0 {
			return s
		}
		break
	}
	// No round date lies between: name the ends.
	s.ticks = []plot.Tick{{Value: s.min, Label: from.Format("2 Jan")}, {Value: s.max, Label: to.Format("2 Jan")}}
	return s
}

// monthLayout names months; the first and every January carry the year.
const monthLayout = "Jan"

// dateStep is a distance between round dates and how they are written.
type dateStep struct {
	months, days int
	layout       string
}

// ticks lists the round dates from one time to another.
func (d dateStep) ticks(from, to time.Time) []plot.Tick {
	at := time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, from.Location())
	if d.months > 0 {
		m := (from.Year()*12 + int(from.Month()) - 1) / d.months * d.months
		at = time.Date(m/12, time.Month(m%12+1), 1, 0, 0, 0, 0, from.Location())
	}
	var ticks []plot.Tick
	for ; !at.After(to) && len(ticks) < 100; at = at.AddDate(0, d.months, d.days) {
		if !at.Before(from) {
			as := d.layout
			if d.layout == monthLayout && (len(ticks) == 0 || at.Month() == time.January) {
				as = "Jan 2006"
			}
			ticks = append(ticks, plot.Tick{Value: seconds(at), Label: at.Format(as)})
		}
	}
	return ticks
}

// seconds turns a time into an axis value.
func seconds(t time.Time) float64 { return float64(t.Unix()) + float64(t.Nanosecond())/1e9 }
