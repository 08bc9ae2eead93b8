package moisture

import "time"

// Obs is one observation of a stack's moisture: a corrected reading with its
// time, as Fit takes it.
type Obs struct {
	At time.Time
	// Percent is the corrected moisture; ignored unless Range is RangeIn or "".
	Percent float64
	// SD is the standard deviation of Percent in all, Shared the part common to
	// readings of this species and meter. An SD of zero means 1 %.
	SD, Shared float64
	// Range is RangeIn (or ""), RangeBelow or RangeAbove; Bound is the limit
	// passed. "Wetter than 30 %" is an observation too.
	Range   string
	Bound   float64
	BoardID string
	Place   string
}

// ObsOf is the observation that a reading with its correction makes.
func ObsOf(r Reading, c Corrected) Obs {
	return Obs{
		At: r.At, Percent: c.Percent, SD: c.SD, Shared: c.Shared,
		Range: c.Range, Bound: c.Bound, BoardID: r.BoardID, Place: r.Place,
	}
}

// Known reports whether o holds a number rather than a limit.
func (o Obs) Known() bool { return o.Range == RangeIn || o.Range == "" }

// NoticeKind names something about the readings that a person should hear; it
// is stable, for tests and translations.
type NoticeKind string

// What Fit and Ready notice. None of them is an error: the answer stands, with
// what the notice says.
const (
	// NoticeOneReading: with one reading day the rate rests on the prior alone.
	NoticeOneReading NoticeKind = "one_reading"
	// NoticeAllEqual: at equilibrium, or the meter is stuck.
	NoticeAllEqual NoticeKind = "all_equal"
	// NoticeWetted: moisture rose above what the air explains; earlier readings
	// are left out.
	NoticeWetted NoticeKind = "wetted"
	// NoticeGaining: moisture rises toward the equilibrium of the air.
	NoticeGaining NoticeKind = "gaining"
	// NoticeOutOfOrder: readings were not in order of time and were sorted.
	NoticeOutOfOrder NoticeKind = "out_of_order"
	// NoticeSameMinute: several readings of one spot in one minute were averaged.
	NoticeSameMinute NoticeKind = "same_minute"
	// NoticeBelowRange: readings below the instrument's range.
	NoticeBelowRange NoticeKind = "below_range"
	// NoticeAboveRange: readings above the instrument's range.
	NoticeAboveRange NoticeKind = "above_range"
)

// Notice is one thing noticed, in words for a person.
type Notice struct {
	Kind NoticeKind `json:"kind"`
	Text string     `json:"text"`
}
