package moisture

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// ReadyInput is what Ready decides on.
type ReadyInput struct {
	Target Target
	// Obs are the corrected readings of the stack's boards; BoardID tells the
	// boards apart.
	Obs []Obs
	// Boards is the number of boards in the stack, Probes how many of them must
	// have been read lately, and Accept how many of those may be too wet: those
	// of a Plan. Probes of zero means that every board must be read.
	Boards, Probes, Accept int
	Now                    time.Time
}

// ReasonKind names one of the things ready means; it is stable, for tests and
// translations.
type ReasonKind string

// What ready means.
const (
	ReasonTarget ReasonKind = "at_target"     // the stack's mean and its pieces
	ReasonSteady ReasonKind = "steady"        // a week apart within meter error
	ReasonEnough ReasonKind = "enough_boards" // boards probed lately
	ReasonTooDry ReasonKind = "drier_than_use"
)

// Reason is one of the things ready means, whether it holds, and why.
type Reason struct {
	Kind ReasonKind
	OK   bool
	Text string
}

// Readiness is whether a stack may be built with, with every reason.
type Readiness struct {
	Ready   bool
	Reasons []Reason
	// Probed is the number of boards read lately, Wet those too wet.
	Probed int
	Wet    []string
	// Mean is that of the boards read lately, NaN when there is none.
	Mean float64
}

// lately is how old a reading may be to speak for today, and a week apart means
// 5 to 21 days: common practice, no source.
const (
	lately       = 10 * 24 * time.Hour
	pairLeast    = 5 * 24 * time.Hour
	pairMost     = 21 * 24 * time.Hour
	lotAccuracy  = 1.0 // percent; Wood handbook ch. 13: mean of corrected readings within 1 %
	pairMultiple = 2.0 // standard deviations of a difference
)

// Ready decides whether the stack may be built with: its boards at the target,
// steady for a week within meter error, and enough of them read in the last ten
// days. Readings above the instrument's range count as too wet, readings below
// it as dry. Errors are those of Fit for bad readings, ErrSetting for counts
// that cannot be, ErrNoTime without a now.
func Ready(in ReadyInput) (Readiness, error) {
	if in.Now.IsZero() {
		return Readiness{}, bad("now", 0, ErrNoTime, "say which day it is")
	}
	if in.Boards < 1 || in.Probes < 0 || in.Probes > in.Boards || in.Accept < 0 {
		return Readiness{}, bad("number of boards", float64(in.Boards), ErrSetting, "give at least one board and no more probes than boards")
	}
	if err := checkObs(in.Obs, in.Now); err != nil {
		return Readiness{}, err
	}
	// Safe by default: who says nothing about a plan must read every board.
	if in.Probes == 0 {
		in.Probes = in.Boards
	}
	latest := latestByBoard(in.Obs, in.Now)
	out := Readiness{Probed: len(latest), Mean: math.NaN()}
	out.judgeTarget(&in, latest)
	out.judgeSteady(&in)
	out.add(ReasonEnough, len(latest) >= in.Probes,
		fmt.Sprintf("%d of %d boards needed were read in the last ten days.", len(latest), in.Probes))
	out.Ready = !slices.ContainsFunc(out.Reasons, func(r Reason) bool { return !r.OK })
	return out, nil
}

func (r *Readiness) add(kind ReasonKind, ok bool, text string) {
	r.Reasons = append(r.Reasons, Reason{kind, ok, text})
}

// latestByBoard returns every board's newest observation of the last ten days,
// in the order of the boards' first appearance.
func latestByBoard(obs []Obs, now time.Time) []Obs {
	index := make(map[string]int)
	var out []Obs
	for _, o := range obs {
		if now.Sub(o.At) > lately {
			continue
		}
		// Readings without a board all count as one board, so that an unnamed
		// round of readings can never pass for enough boards.
		i, seen := index[o.BoardID]
		if !seen {
			index[o.BoardID] = len(out)
			out = append(out, o)
		} else if o.At.After(out[i].At) {
			out[i] = o
		}
	}
	return out
}

// judgeTarget compares mean and pieces with the target.
func (r *Readiness) judgeTarget(in *ReadyInput, latest []Obs) {
	if len(latest) == 0 {
		r.add(ReasonTarget, false, "No board was read in the last ten days.")
		return
	}
	var sum float64
	dry := 0
	for _, o := range latest {
		value := o.Percent
		if !o.Known() {
			value = o.Bound
		}
		sum += value
		// A limit counts by its bound: above 30 is above any target.
		if o.Range == RangeAbove || value > in.Target.High {
			r.Wet = append(r.Wet, o.BoardID)
		}
		if o.Range == RangeBelow || value < in.Target.Low {
			dry++
		}
	}
	r.Mean = sum / float64(len(latest))
	ok := r.Mean <= in.Target.Mean() && len(r.Wet) <= in.Accept
	r.add(ReasonTarget, ok, fmt.Sprintf("The boards read average %.1f %% against a target of %.0f %%; %d of %d are above %.0f %%.",
		r.Mean, in.Target.Average, len(r.Wet), len(latest), in.Target.High))
	if dry > 0 {
		r.add(ReasonTooDry, true, fmt.Sprintf("%d of %d are below %.0f %% and will swell in use: leave room.", dry, len(latest), in.Target.Low))
	}
}

// judgeSteady looks at every board's newest reading and one a week or so
// before it.
func (r *Readiness) judgeSteady(in *ReadyInput) {
	pairs, moving := 0, 0
	var change float64
	for _, last := range latestByBoard(in.Obs, in.Now) {
		// A board read only once says nothing about steadiness.
		before, found := weekBefore(in.Obs, last)
		if !found {
			continue
		}
		pairs++
		d := last.Percent - before.Percent
		change += d
		// Own errors only: what both readings share cancels in the difference.
		if math.Abs(d) > pairMultiple*math.Hypot(ownSD(last), ownSD(before)) {
			moving++
		}
	}
	if pairs == 0 {
		r.add(ReasonSteady, false, "No board has two readings a week apart.")
		return
	}
	mean := change / float64(pairs)
	ok := moving == 0 && math.Abs(mean) <= lotAccuracy
	r.add(ReasonSteady, ok, fmt.Sprintf("%d boards with two readings a week apart changed by %+.1f %% on average; %d moved more than the meter's error.",
		pairs, mean, moving))
}

// weekBefore finds the reading of the same board nearest to a week before last.
func weekBefore(obs []Obs, last Obs) (Obs, bool) {
	const week = 7 * 24 * time.Hour
	var best Obs
	found := false
	for _, o := range obs {
		gap := last.At.Sub(o.At)
		if o.BoardID != last.BoardID || !o.Known() || !last.Known() || gap < pairLeast || gap > pairMost {
			continue
		}
		if !found || (gap-week).Abs() < (last.At.Sub(best.At)-week).Abs() {
			best, found = o, true
		}
	}
	return best, found
}

// ownSD is the standard deviation of a reading without what it shares with
// others of the same meter and species, which a difference does not feel.
func ownSD(o Obs) float64 {
	sd := o.SD
	if sd == 0 {
		sd = defaultSD
	}
	return math.Sqrt(max(sd*sd-o.Shared*o.Shared, 0.01))
}
