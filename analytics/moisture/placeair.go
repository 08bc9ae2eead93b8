package moisture

import (
	"fmt"
	"math"
	"time"

	"skepwood/analytics/wood"
)

// MonthAir is the air of one month at a place: the mean of its records, or a
// usual mean that somebody looked up.
type MonthAir struct {
	Month time.Month
	// First and Last bound the recorded days; both zero for a usual mean, which
	// then speaks for every year.
	First, Last time.Time
	// Days is how many days have records, 0 for a usual mean.
	Days int
	// TempC and RH are the means, °C and percent.
	TempC, RH float64
	// EMC is the mean equilibrium moisture of the records in percent; NaN for a
	// usual mean, where it is worked out from TempC and RH.
	EMC float64
}

// Usual reports whether m is a mean somebody looked up, not one of records.
func (m MonthAir) Usual() bool { return m.Days == 0 }

// moisture is the month's equilibrium moisture.
func (m MonthAir) moisture() (float64, error) {
	if !math.IsNaN(m.EMC) {
		return m.EMC, nil
	}
	return wood.EMC(wood.Celsius(m.TempC), m.RH)
}

// LoggerMonths sums the records of a logger up by calendar month, days weighing
// alike however often they were recorded; rows must be in order of time, as
// ParseLogger leaves them. The moisture is the mean of the moisture of every
// record, not the moisture of the mean, because the curve bends. Errors are
// those of wood.EMC and name the line.
func LoggerMonths(rows []LoggerRow) ([]MonthAir, error) {
	var out []MonthAir
	for i := 0; i < len(rows); {
		first := rows[i].At
		var n, temp, rh, emc float64
		// A day's mean first, so that a day of minutes and a day of hours weigh
		// alike.
		for day := dayOf(first); i < len(rows) && dayOf(rows[i].At) == day; i++ {
			e, err := wood.EMC(wood.Celsius(rows[i].TempC), rows[i].RH)
			if err != nil {
				return nil, fmt.Errorf("line %d: %w", rows[i].Line, err)
			}
			n, temp, rh, emc = n+1, temp+rows[i].TempC, rh+rows[i].RH, emc+e
		}
		year, month, _ := first.Date()
		if len(out) == 0 || out[len(out)-1].Month != month || out[len(out)-1].First.Year() != year {
			out = append(out, MonthAir{Month: month, First: first})
		}
		m := &out[len(out)-1]
		m.Days, m.Last = m.Days+1, first
		m.TempC, m.RH, m.EMC = m.TempC+temp/n, m.RH+rh/n, m.EMC+emc/n
	}
	for i := range out {
		days := float64(out[i].Days)
		out[i].TempC, out[i].RH, out[i].EMC = out[i].TempC/days, out[i].RH/days, out[i].EMC/days
	}
	return out, nil
}

// PlaceAir is the air of a place with what each month rests on.
type PlaceAir struct {
	Climate Climate
	// Days is how many recorded days each month has.
	Days [12]int
	// Usual says which months rest on a usual mean, Filled which have nothing
	// and take the mean of the nearest.
	Usual, Filled [12]bool
}

// AirOfPlace works out the climate of a place from what is known of its months.
// A month with seven recorded days or more, in all years together, is the mean
// of its records; else the mean of the usual figures given for it; else that of
// the nearest months. The climate's SD is raised with the number of months
// filled in so. Without one usable month the error is ErrLogger; a temperature
// or humidity that no air has is refused with the month.
func AirOfPlace(months []MonthAir) (PlaceAir, error) {
	var out PlaceAir
	var recorded, usual [12]float64
	var usuals [12]int
	for _, m := range months {
		if m.Month < time.January || m.Month > time.December {
			return PlaceAir{}, bad("month", float64(m.Month), ErrSetting, "give 1 to 12")
		}
		emc, err := m.moisture()
		if err != nil {
			return PlaceAir{}, fmt.Errorf("%s: %w", m.Month, err)
		}
		i := m.Month - 1
		if m.Usual() {
			usual[i], usuals[i] = usual[i]+emc, usuals[i]+1
			continue
		}
		recorded[i] += emc * float64(m.Days)
		out.Days[i] += m.Days
	}
	missing := 0
	for i := range 12 {
		switch {
		case out.Days[i] >= fewDays:
			out.Climate.EMC[i] = recorded[i] / float64(out.Days[i])
		case usuals[i] > 0:
			out.Climate.EMC[i], out.Usual[i] = usual[i]/float64(usuals[i]), true
		default:
			out.Filled[i] = true
			missing++
		}
	}
	if missing == 12 {
		return PlaceAir{}, fmt.Errorf("air of the place: %w: no month has %d recorded days or a usual mean", ErrLogger, fewDays)
	}
	nearest := LoggerClimate{Climate: out.Climate, Filled: out.Filled}
	for i := range 12 {
		if out.Filled[i] {
			out.Climate.EMC[i] = nearestMonths(nearest, i)
		}
	}
	out.Climate.SD = filledSD(missing)
	out.Climate.Source, out.Climate.Status = out.source(), StatusDerived
	return out, nil
}

// source says what the months rest on.
func (p *PlaceAir) source() string {
	records, usual := 0, 0
	for i := range 12 {
		switch {
		case p.Usual[i]:
			usual++
		case !p.Filled[i]:
			records++
		}
	}
	switch {
	case usual == 0:
		return "own records of the place, " + wood.SourceEMC
	case records == 0:
		return "monthly means written down for the place, " + wood.SourceEMC
	}
	return fmt.Sprintf("own records of the place for %d months, monthly means written down for %d, %s", records, usual, wood.SourceEMC)
}

// filledSD is the doubt about a climate with some months filled in: half a year
// of them raises it by two fifths; our judgement.
func filledSD(missing int) float64 { return defaultClimateSD * math.Sqrt(1+float64(missing)/6) }
