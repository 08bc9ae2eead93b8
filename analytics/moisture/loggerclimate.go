package moisture

import (
	"fmt"
	"time"

	"skepwood/analytics/wood"
)

// LoggerClimate is the climate of a place from its own records.
type LoggerClimate struct {
	Climate Climate
	// Days is how many days of each month have records.
	Days [12]int
	// Filled says which months have none and take the mean of the nearest.
	Filled [12]bool
}

// fewDays is how many recorded days a month needs to speak for itself.
const fewDays = 7

// ClimateFrom averages the equilibrium moisture (wood.EMC) of every record by
// month: the mean of the moisture, not the moisture of the mean, because the
// curve bends. Days weigh alike however often they were recorded. Months with
// fewer than seven recorded days take the mean of the nearest months that have
// them, and the climate's SD is raised with their number. Without one month of
// seven days the error is ErrLogger.
func ClimateFrom(rows []LoggerRow) (LoggerClimate, error) {
	var out LoggerClimate
	var sum [12]float64
	for i := 0; i < len(rows); {
		day, n, mean := dayOf(rows[i].At), 0.0, 0.0
		// A day's mean first, so that a day of minutes and a day of hours weigh
		// alike.
		for ; i < len(rows) && dayOf(rows[i].At) == day; i++ {
			emc, err := wood.EMC(wood.Celsius(rows[i].TempC), rows[i].RH)
			if err != nil {
				return LoggerClimate{}, fmt.Errorf("line %d: %w", rows[i].Line, err)
			}
			mean, n = mean+emc, n+1
		}
		month := rows[i-1].At.Month() - 1
		sum[month] += mean / n
		out.Days[month]++
	}
	// Months of a few days only are no mean of the month.
	missing := 0
	for m := range 12 {
		if out.Days[m] < fewDays {
			out.Filled[m] = true
			missing++
			continue
		}
		out.Climate.EMC[m] = sum[m] / float64(out.Days[m])
	}
	if missing == 12 {
		return out, fmt.Errorf("climate of the place: %w: no month has %d recorded days", ErrLogger, fewDays)
	}
	for m := range 12 {
		if out.Filled[m] {
			out.Climate.EMC[m] = nearestMonths(out, m)
		}
	}
	out.Climate.SD = filledSD(missing)
	out.Climate.Source = "own records, " + wood.SourceEMC
	out.Climate.Status = StatusDerived
	return out, nil
}

// nearestMonths is the mean of the nearest recorded months before and after.
func nearestMonths(c LoggerClimate, m int) float64 {
	for off := 1; off <= 6; off++ {
		before, after := (m+12-off)%12, (m+off)%12
		switch {
		case !c.Filled[before] && !c.Filled[after]:
			return (c.Climate.EMC[before] + c.Climate.EMC[after]) / 2
		case !c.Filled[before]:
			return c.Climate.EMC[before]
		case !c.Filled[after]:
			return c.Climate.EMC[after]
		}
	}
	return 0 // cannot be: one month at least has records
}

// dayOf is the calendar day of t in its own zone.
func dayOf(t time.Time) [3]int {
	y, m, d := t.Date()
	return [3]int{y, int(m), d}
}
