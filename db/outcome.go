package db

// Outcome is where the wood of a lot or pickup went, in cubic metres. Gross is
// all wood by its verdict; usable is the part of it that makes clear blanks.
type Outcome struct {
	GrossInside, GrossOutside, GrossHold, GrossNever float64
	// GrossStopped is wood that is not ours to take, GrossLost what broke in
	// taking it apart.
	GrossStopped, GrossLost                 float64
	UsableInside, UsableOutside, UsableHold float64
}

// outcomeColumns are the stored columns of an Outcome, in the order of fields.
var outcomeColumns = []string{
	"gross_inside_m3", "gross_outside_m3", "gross_hold_m3", "gross_never_m3", "gross_stopped_m3", "gross_lost_m3",
	"usable_inside_m3", "usable_outside_m3", "usable_hold_m3",
}

func (o *Outcome) fields() []*float64 {
	return []*float64{
		&o.GrossInside, &o.GrossOutside, &o.GrossHold, &o.GrossNever, &o.GrossStopped, &o.GrossLost,
		&o.UsableInside, &o.UsableOutside, &o.UsableHold,
	}
}

// Gross returns all wood that came, whatever became of it.
func (o Outcome) Gross() float64 {
	return o.GrossInside + o.GrossOutside + o.GrossHold + o.GrossNever + o.GrossStopped + o.GrossLost
}

// Usable returns the wood that makes blanks for some part of a hive now;
// what is held is neither won nor lost.
func (o Outcome) Usable() float64 { return o.UsableInside + o.UsableOutside }

// add books one piece of wood under its verdict.
func (o *Outcome) add(verdict string, stopped bool, gross, usable float64) {
	switch {
	case stopped:
		o.GrossStopped += gross
	case verdict == "inside":
		o.GrossInside += gross
		o.UsableInside += usable
	case verdict == "outside":
		o.GrossOutside += gross
		o.UsableOutside += usable
	case verdict == "never":
		o.GrossNever += gross
	default: // unsafe until shown safe: whatever is not known is held
		o.GrossHold += gross
		o.UsableHold += usable
	}
}
