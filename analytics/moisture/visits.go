package moisture

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// visit is one visit to the stack with the meter: its readings averaged, or
// one reading that is only a limit.
type visit struct {
	day    float64 // days since the first visit
	value  float64
	sd     float64 // of the mean, without what is shared
	shared float64
	limit  int // -1 below value, +1 above value, 0 a number
	n      int
}

// visitGap ends a visit: readings within half a day belong together.
const visitGap = 12 * time.Hour

// defaultSD stands in for an observation without one, percent.
const defaultSD = 1.0

// checkObs refuses observations that cannot be, and dates after now; a zero now
// checks no dates.
func checkObs(obs []Obs, now time.Time) error {
	for i, o := range obs {
		switch {
		case o.At.IsZero():
			return &InputError{"time", i, 0, ErrNoTime, "say when it was taken"}
		case !now.IsZero() && o.At.After(now):
			return &InputError{"time", i, o.At.Sub(now).Hours() / 24, ErrFuture, "so many days from now: check the date"}
		case o.Known() && math.IsNaN(o.Percent):
			return &InputError{"percent", i, o.Percent, ErrNotFinite, "write the number the instrument shows"}
		case o.Known() && !(o.Percent >= 0 && o.Percent <= maxPercent):
			return &InputError{"percent", i, o.Percent, ErrPercent, "write percent of oven-dry mass"}
		case !o.Known() && o.Range != RangeBelow && o.Range != RangeAbove:
			return &InputError{"range " + o.Range, i, 0, ErrSetting, "use in, below or above"}
		case !(o.SD >= 0) && o.Known() || o.Shared < 0 || math.IsInf(o.SD, 0):
			return &InputError{"standard deviation", i, o.SD, ErrSetting, "give percent, 0 when unknown"}
		}
	}
	return nil
}

// groupVisits sorts and groups observations into visits, and says what it noticed.
func groupVisits(obs []Obs) (start time.Time, out []visit, notices []Notice) {
	byTime := func(a, b Obs) int { return a.At.Compare(b.At) }
	if !slices.IsSortedFunc(obs, byTime) {
		notices = append(notices, Notice{NoticeOutOfOrder, "The readings were not in order of time; they were sorted."})
		obs = slices.Clone(obs)
		slices.SortStableFunc(obs, byTime)
	}
	if n := sameMinute(obs); n > 0 {
		notices = append(notices, Notice{NoticeSameMinute,
			fmt.Sprintf("%d readings share board, place and minute with another; they were averaged.", n)})
	}
	// From here on the observations are in order of time.
	start = obs[0].At
	scatter := boardScatter(obs)
	for i := 0; i < len(obs); {
		j := i + 1
		// Half a day after the first, not after the last, so that hourly
		// readings of a whole week do not become one visit.
		for j < len(obs) && obs[j].At.Sub(obs[i].At) < visitGap {
			j++
		}
		out = append(out, meanVisit(obs[i:j], start, scatter))
		i = j
	}
	return start, out, append(notices, limitNotices(obs)...)
}

// sameMinute counts observations that repeat the spot and minute of an earlier
// one. Such a pair is one look at one spot, but averaging it is right as it
// stands: the visit mean weighs them alike.
func sameMinute(obs []Obs) int {
	type spot struct {
		board, place string
		minute       int64
	}
	seen := make(map[spot]bool, len(obs))
	repeated := 0
	for _, o := range obs {
		// Without a board nothing says that it is the same spot.
		if o.BoardID == "" {
			continue
		}
		s := spot{o.BoardID, o.Place, o.At.Unix() / 60}
		if seen[s] {
			repeated++
		}
		seen[s] = true
	}
	return repeated
}

// meanVisit averages the readings of one visit. A visit of limits only is a
// limit; among numbers each limit counts at its bound, the nearest that is
// certain.
func meanVisit(obs []Obs, start time.Time, scatter float64) visit {
	// The mean of the visit stands for the stack, its error shrinking with
	// the number of boards read.
	known := 0
	for _, o := range obs {
		if o.Known() {
			known++
		}
	}
	var sum, variance, shared, days float64
	for _, o := range obs {
		value, sd := o.Percent, o.SD
		if !o.Known() {
			value, sd = o.Bound, 0
		}
		if sd == 0 {
			sd = defaultSD
		}
		// What is shared does not average out and goes its own way; a floor
		// keeps a meter without any stated error from counting for ever.
		own := max(sd*sd-o.Shared*o.Shared, 0.01)
		sum, variance, shared = sum+value, variance+max(own, scatter), shared+o.Shared
		days += o.At.Sub(start).Hours() / 24
	}
	// The mean of the times, because a long round of readings has a middle.
	n := float64(len(obs))
	s := visit{day: days / n, value: sum / n, sd: math.Sqrt(variance) / n, shared: shared / n, n: len(obs)}
	if known == 0 {
		// Every reading was beyond the instrument: the visit is a limit.
		s.limit = 1
		if obs[0].Range == RangeBelow {
			s.limit = -1
		}
		s.sd = max(s.sd, defaultSD)
	}
	return s
}

// boardScatter estimates the variance of single readings about their visit's
// mean, from visits of several readings; zero when there are too few to tell.
// It is larger than a reading's own variance when the boards differ.
func boardScatter(obs []Obs) float64 {
	var squares float64
	freedom := 0
	for i := 0; i < len(obs); {
		j := i
		var sum, second, n float64
		for ; j < len(obs) && obs[j].At.Sub(obs[i].At) < visitGap; j++ {
			// Limits have no scatter to tell.
			if obs[j].Known() {
				sum, second, n = sum+obs[j].Percent, second+square(obs[j].Percent), n+1
			}
		}
		if n > 1 {
			squares += max(0, second-sum*sum/n)
			freedom += int(n) - 1
		}
		i = j
	}
	// Two or three readings tell nothing about a variance; the meter's own
	// error then stands alone.
	if freedom < 3 {
		return 0
	}
	return squares / float64(freedom)
}

// limitNotices says how many readings were beyond the instrument.
func limitNotices(obs []Obs) []Notice {
	below, above := 0, 0
	for _, o := range obs {
		switch o.Range {
		case RangeBelow:
			below++
		case RangeAbove:
			above++
		}
	}
	var out []Notice
	if below > 0 {
		out = append(out, Notice{NoticeBelowRange, fmt.Sprintf("%d readings are below what the instrument can tell; they count as a limit.", below)})
	}
	if above > 0 {
		out = append(out, Notice{NoticeAboveRange, fmt.Sprintf("%d readings are above what the instrument can tell; they count as a limit.", above)})
	}
	return out
}

// sinceRain drops the visits before the last wetting: a rise, beyond the
// readings' error, to a moisture that the air cannot explain. A rise toward the
// equilibrium from below is only noticed.
func sinceRain(s []visit, start time.Time, c *Climate) ([]visit, []Notice) {
	var notices []Notice
	// From the newest back: only the last wetting matters, because everything
	// before it dried a stack that is wet again.
	for i := len(s) - 1; i > 0; i-- {
		if s[i].limit != 0 || s[i-1].limit != 0 {
			continue
		}
		// A percent is forgiven, and the error of the difference: a sunny morning
		// and a damp evening differ by as much without any rain.
		rise := s[i].value - s[i-1].value
		if rise <= 1+2.5*math.Hypot(s[i].sd, s[i-1].sd) {
			continue
		}
		when := start.Add(time.Duration(s[i].day * 24 * float64(time.Hour)))
		// Air alone brings wood up to its equilibrium and not beyond, so a rise
		// that ends above it was liquid water.
		if s[i].value > c.At(when)+2*c.SD+1 {
			notices = append(notices, Notice{NoticeWetted, fmt.Sprintf(
				"Moisture rose by %.1f %% between day %.0f and day %.0f of the readings, more than the air can do: the curve starts again from there.",
				rise, s[i-1].day, s[i].day)})
			return s[i:], notices
		}
		if len(notices) == 0 {
			notices = append(notices, Notice{NoticeGaining, "Moisture is rising toward the equilibrium of the air."})
		}
	}
	return s, notices
}

// allEqual reports whether at least three visits show the same number.
func allEqual(s []visit) bool {
	if len(s) < 3 {
		return false
	}
	for _, v := range s {
		if v.limit != 0 || math.Abs(v.value-s[0].value) > 0.05 {
			return false
		}
	}
	return true
}
