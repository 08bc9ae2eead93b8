package db

import (
	"fmt"
	"strings"
	"time"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// StackAir is the air of one place a stack stood in, with where it is from.
type StackAir struct {
	Place string
	// From is when it came there; Until is nil where it stands last.
	From  time.Time
	Until *time.Time
	// Known says that the book has the place's own air; Typed that the stack's
	// keeper gave it. With neither it is what is usual under cover.
	Known, Typed bool
	Climate      moisture.Climate
}

// surroundings works out the target and the air, place by place.
func (d *DryingStack) surroundings(airs map[string]*PlaceAir) error {
	if err := d.wanted(); err != nil {
		return err
	}
	d.Stands, d.Under = d.Place, d.Cover
	d.Airs = []StackAir{{Place: d.Place, From: d.Stickered}}
	for _, m := range d.Moves {
		day := m.Day
		d.Airs[len(d.Airs)-1].Until = &day
		d.Airs = append(d.Airs, StackAir{Place: m.Place, From: m.Day})
		d.Stands, d.Under = m.Place, m.Cover
	}
	for i := range d.Airs {
		a := &d.Airs[i]
		known := airs[strings.ToLower(a.Place)]
		switch {
		case i == 0 && d.AirTempC != nil && d.AirHumidity != nil:
			air, err := moisture.AirFrom(wood.Celsius(*d.AirTempC), *d.AirHumidity)
			if err != nil {
				return err
			}
			a.Typed, a.Climate = true, steadyAir(air, "the mean typed in for this stack, "+wood.SourceEMC, moisture.StatusDerived)
		case known != nil && known.Known:
			a.Known, a.Climate = true, known.Air.Climate
		default:
			a.Climate = steadyAir(moisture.DefaultAir(), moisture.SourceDefaultAir, moisture.StatusRead)
		}
	}
	last := len(d.Airs) - 1
	d.Climate = d.Airs[last].Climate
	for _, a := range d.Airs[:last] {
		d.Climate.Earlier = append(d.Climate.Earlier, moisture.Spell{Until: *a.Until, Climate: a.Climate})
	}
	// A stack moved twice within a day was nowhere in between.
	d.Climate.Earlier = apart(d.Climate.Earlier)
	return nil
}

// steadyAir is air that stays the same all year.
func steadyAir(air moisture.Estimate, source, status string) moisture.Climate {
	c := moisture.ConstantClimate(air.Mean, air.SD)
	c.Source, c.Status = source, status
	return c
}

// apart keeps, of spells that end at the same moment, the first.
func apart(spells []moisture.Spell) []moisture.Spell {
	out := spells[:0]
	for _, s := range spells {
		if len(out) == 0 || s.Until.After(out[len(out)-1].Until) {
			out = append(out, s)
		}
	}
	return out
}

// wanted works out the target from zone, season and region, or takes the
// keeper's own mean with the same span about it.
func (d *DryingStack) wanted() error {
	season := d.Season
	if season == "any" {
		season = ""
	}
	var err error
	if d.Target, err = moisture.TargetFor(d.Zone, season, d.Region); err != nil {
		return fmt.Errorf("target: %w", err)
	}
	if d.TargetPercent != nil {
		// The span for single pieces keeps its distance from the mean.
		shift := *d.TargetPercent - d.Target.Average
		d.Target.Average, d.Target.Low, d.Target.High = *d.TargetPercent, d.Target.Low+shift, d.Target.High+shift
		d.Target.Source, d.Target.Status, d.Target.Note = "chosen by the keeper for this stack", moisture.StatusCommon, ""
	}
	return nil
}
