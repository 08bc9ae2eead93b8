package moisture

import (
	"fmt"
	"math"
	"time"

	"skepwood/analytics/wood"
)

// DoubtKind names why a reading is queried; it is stable, for tests and
// translations.
type DoubtKind string

// Why a reading is queried.
const (
	DoubtZero   DoubtKind = "zero"        // no contact, or nothing typed
	DoubtTooWet DoubtKind = "too_wet"     // more water than the wood can hold
	DoubtJump   DoubtKind = "jump"        // far from the last reading, soon after
	DoubtUnit   DoubtKind = "temperature" // wood temperature that may be °F
	DoubtFuture DoubtKind = "future"      // dated after now
	DoubtRepeat DoubtKind = "repeat"      // same spot and minute, other value
)

// Doubt is a question about a reading: it may be right, so it is asked and not
// refused. What cannot be at all is refused by Correct.
type Doubt struct {
	Kind DoubtKind
	Text string
}

// jumpPoints within jumpTime is further than a board in a stack can move: 20
// points overnight; common practice, no source.
const (
	jumpPoints = 20.0
	jumpTime   = 36 * time.Hour
)

// seldomAbove is wetter, percent, than the sapwood of nearly every species
// fresh from the tree; only the lightest woods, soaked, hold more. Common
// practice, no source.
const seldomAbove = 250.0

// Doubts lists what is odd about a reading, given the earlier readings of the
// same board and the time it is entered; a zero now checks no dates.
func Doubts(r Reading, earlier []Reading, now time.Time) []Doubt {
	var out []Doubt
	ask := func(kind DoubtKind, format string, args ...any) {
		out = append(out, Doubt{kind, fmt.Sprintf(format, args...)})
	}
	// Megohms have their own refusals; no number of them is a slip to ask about.
	if r.Method != MethodOhm {
		if r.Raw == 0 {
			ask(DoubtZero, "0 %%: did the pins touch the wood, or was nothing entered?")
		}
		switch most := mostWater(r.Species); {
		case r.Raw > most:
			ask(DoubtTooWet, "%.0f %% is more water than this wood can hold, about %.0f %%: is a decimal point missing?", r.Raw, most)
		case r.Raw > seldomAbove:
			ask(DoubtTooWet, "%.0f %% is wetter than nearly all wood, fresh from the tree: is a decimal point missing?", r.Raw)
		}
	}
	// Below 60 the number may still be °C, in a black-covered stack in the
	// sun, so it is asked; above, Correct refuses it.
	if t := r.WoodTempC; t != nil && (*t > 40 || *t < -25) {
		ask(DoubtUnit, "The wood is said to be at %.0f °C: is that °F? It would be %.0f °C.", *t, (*t-32)/1.8)
	}
	if !now.IsZero() && r.At.After(now) {
		ask(DoubtFuture, "This is dated %s, after now.", r.At.Format("2 January 2006 15:04"))
	}
	// Only readings of the same method compare: an oven-dry piece and a meter
	// can rightly be 20 points apart.
	if last, found := lastBefore(r, earlier); found && r.Method != MethodOhm && last.Method == r.Method {
		gap := r.At.Sub(last.At)
		if d := r.Raw - last.Raw; math.Abs(d) >= jumpPoints && gap <= jumpTime {
			ask(DoubtJump, "%+.0f points since %s: is it the same board?", d, last.At.Format("2 January 15:04"))
		}
	}
	for _, e := range earlier {
		if e.Place == r.Place && e.Method == r.Method && e.At.Unix()/60 == r.At.Unix()/60 && e.Raw != r.Raw {
			ask(DoubtRepeat, "Another reading of this spot in the same minute says %g.", e.Raw)
			break
		}
	}
	return out
}

// mostWater is what the wood can hold, percent: the cell-wall formula for a
// board a fifth lighter than its species, or 200 for an unknown one.
func mostWater(species string) float64 {
	g, known := gravities()[species]
	if !known {
		return 200
	}
	// Lighter boards of a species hold more water; two standard deviations of
	// specific gravity within a species are a fifth.
	most, err := wood.MaxMC(0.8 * g)
	if err != nil {
		return 200
	}
	return most
}

// lastBefore finds the newest earlier reading that is not after r.
func lastBefore(r Reading, earlier []Reading) (Reading, bool) {
	var best Reading
	found := false
	for _, e := range earlier {
		if !e.At.After(r.At) && (!found || e.At.After(best.At)) {
			best, found = e, true
		}
	}
	return best, found
}
