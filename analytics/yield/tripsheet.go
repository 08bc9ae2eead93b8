package yield

import (
	"errors"
	"io"
	"math"
	"strings"
)

// TripSheet is what was read of a sheet of trips.
type TripSheet struct {
	Pickups []Pickup
	Rows    []int        // the row of each pickup
	Unknown []string     // columns that were not read, as the sheet spells them
	Faults  []SheetFault // none of the pickups may be used while there are any
}

// TripColumns lists the columns of a trip sheet. Source, date, volume and usable
// must be there; the others may be left out. A drive without volume came home
// empty; a load without usable is undecided and counts as held.
func TripColumns() []string {
	return []string{
		"source", "kind", "date", "miles", "minutes", "cash", "volume", "usable", "held",
		"outside", "never", "lost", "lots", "shop_minutes", "estimated",
	}
}

// ReadTrips reads a sheet of trips: a header with the names of TripColumns in any
// case and order, then one trip a row; commas, semicolons (then 1,5 is one and a
// half) or tabs between cells. Usable is all that can be used, outside the part of
// it that may serve outside only. The error wraps ErrOption for wrong options; what
// is wrong with the sheet is in Faults.
func ReadTrips(r io.Reader, opts SheetOptions) (*TripSheet, error) {
	units, err := opts.units()
	if err != nil {
		return nil, err
	}
	sheet := &TripSheet{}
	s := &sheetReader{units: units, known: TripColumns(), required: []string{"source", "date", "volume", "usable"}}
	s.take = func() {
		if p, ok := s.trip(); ok {
			sheet.Pickups = append(sheet.Pickups, p)
			sheet.Rows = append(sheet.Rows, s.row)
		}
	}
	if err := s.read(r); err != nil {
		return nil, err
	}
	sheet.Unknown, sheet.Faults = s.unknown, s.faults
	return sheet, nil
}

// trip reads one row; ok is false with a fault in it.
func (s *sheetReader) trip() (p Pickup, ok bool) {
	before := len(s.faults)
	u := s.units
	p = Pickup{
		SourceID: s.name("source"), Kind: s.text("kind"), Date: s.date("date"),
		Miles: s.amount("miles", u.distance, MaxMiles), Minutes: s.amount("minutes", 1, MaxMinutes),
		ShopMinutes: s.amount("shop_minutes", 1, MaxMinutes), Lots: s.whole("lots"), Cash: s.cash("cash"),
		Volume: s.amount("volume", u.volume, MaxVolume), Held: s.amount("held", u.volume, MaxVolume),
		Never: s.amount("never", u.volume, MaxVolume), Lost: s.amount("lost", u.volume, MaxVolume),
		Outside: s.amount("outside", u.volume, MaxVolume), Estimated: s.yes("estimated"),
	}
	usable := s.amount("usable", u.volume, MaxVolume)
	if p.Outside > usable {
		s.fault("outside", s.cell("outside"), "more than usable", "usable is all that can be used, outside included")
	}
	p.Inside = math.Max(0, usable-p.Outside)
	p.Empty = p.Volume == 0
	if s.cell("usable") == "" && p.Volume > 0 { // nobody has said what can be used
		p.Held = math.Max(p.Held, p.Volume-p.Never-p.Lost)
	}
	if len(s.faults) > before {
		return p, false
	}
	var fault *PickupError
	if err := CheckPickup(0, p); errors.As(err, &fault) {
		s.fault(fault.Field, s.cell(strings.ReplaceAll(fault.Field, " ", "_")), fault.What, fault.Help)
		return p, false
	}
	return p, true
}
