package yield

import (
	"fmt"
	"io"
	"math"
	"strings"
)

// StopSheet is what was read of a sheet of stops.
type StopSheet struct {
	Stops   []Stop
	Places  []bool // whether each stop has a latitude and longitude
	Unknown []string
	Faults  []SheetFault
	open    [][]string // columns left blank, for each stop
	rows    []int
}

// StopColumns lists the columns of a sheet of stops; only source must be there.
// Value, sd and cash are in major units of the currency.
func StopColumns() []string {
	return []string{"source", "value", "sd", "cash", "volume", "minutes", "shop_minutes", "lat", "lon"}
}

// ReadStops reads a sheet of stops in the way of ReadTrips. What is left blank of
// a stop is zero until Fill. The error wraps ErrOption.
func ReadStops(r io.Reader, opts SheetOptions) (*StopSheet, error) {
	units, err := opts.units()
	if err != nil {
		return nil, err
	}
	sheet := &StopSheet{}
	s := &sheetReader{units: units, known: StopColumns(), required: []string{"source"}}
	seen := map[string]bool{}
	s.take = func() {
		stop, place := s.stop()
		if seen[stop.ID] {
			s.fault("source", stop.ID, "the stop is there twice", "leave one of them out")
		}
		seen[stop.ID] = true
		var open []string
		for _, name := range StopColumns()[1:7] {
			if s.cell(name) == "" {
				open = append(open, name)
			}
		}
		sheet.Stops, sheet.Places = append(sheet.Stops, stop), append(sheet.Places, place)
		sheet.open, sheet.rows = append(sheet.open, open), append(sheet.rows, s.row)
	}
	if err := s.read(r); err != nil {
		return nil, err
	}
	sheet.Unknown, sheet.Faults = s.unknown, s.faults
	return sheet, nil
}

// stop takes values that may be negative: a load of waste is one. It reads one row and whether it has a place.
func (s *sheetReader) stop() (stop Stop, place bool) {
	const most = 1e12 // minor units
	minor := MinorPerMajor(s.units.currency)
	value, ok := s.signed("value")
	if ok && math.Abs(value*minor) > most {
		s.fault("value", s.cell("value"), "more than any load is worth", "look for a slipped digit")
	}
	stop = Stop{
		ID: s.name("source"), Value: value * minor, SD: s.amount("sd", minor, most), Cash: s.amount("cash", minor, most),
		Volume: s.amount("volume", s.units.volume, MaxVolume), Minutes: s.amount("minutes", 1, MaxMinutes),
		ShopMinutes: s.amount("shop_minutes", 1, MaxMinutes),
		Place:       Place{Lat: s.degrees("lat", 90), Lon: s.degrees("lon", 180)},
	}
	place = s.cell("lat") != "" && s.cell("lon") != ""
	if !place && s.cell("lat")+s.cell("lon") != "" {
		s.fault("lat", s.cell("lat"), "half a place", "enter both latitude and longitude, or neither")
	}
	return stop, place
}

// degrees reads a latitude or longitude.
func (s *sheetReader) degrees(column string, most float64) float64 {
	x, ok := s.signed(column)
	if ok && math.Abs(x) > most {
		s.fault(column, s.cell(column), fmt.Sprintf("beyond %v degrees", most), "enter decimal degrees, west and south negative")
		return 0
	}
	return x
}

// Fill takes from what is known of the sources whatever the sheet left blank, and
// returns the stops for which value or volume is still not known. Stops are
// matched by source.
func (s *StopSheet) Fill(known []Stop) (missing []string) {
	byID := make(map[string]Stop, len(known))
	for _, k := range known {
		byID[k.ID] = k
	}
	for i := range s.Stops {
		stop := &s.Stops[i]
		from, ok := byID[stop.ID]
		for _, column := range s.open[i] {
			switch {
			case !ok && (column == "value" || column == "volume"):
				missing = append(missing, fmt.Sprintf("row %d, %q: no %s", s.rows[i], clip(stop.ID), column))
			case ok:
				stop.fill(column, from)
			}
		}
		if ok && stop.sameWood(from) {
			stop.Loads = from.Loads
		}
	}
	return missing
}

// sameWood reports whether nothing was typed that the loads would contradict.
func (s *Stop) sameWood(from Stop) bool {
	return s.Value == from.Value && s.SD == from.SD && s.Volume == from.Volume && s.ShopMinutes == from.ShopMinutes
}

// fill takes one column over. Skewness belongs to the value: one typed in has none.
func (s *Stop) fill(column string, from Stop) {
	switch column {
	case "value":
		s.Value, s.Skew = from.Value, from.Skew
	case "sd":
		s.SD = from.SD
	case "cash":
		s.Cash = from.Cash
	case "volume":
		s.Volume = from.Volume
	case "minutes":
		s.Minutes = from.Minutes
	case "shop_minutes":
		s.ShopMinutes = from.ShopMinutes
	}
}

// Distances are typed distances between stops.
type Distances struct {
	Miles   [][]float64 // for Round.Miles
	Missing []string    // pairs that are not in the sheet
	Unknown []string
	Faults  []SheetFault
}

// ReadDistances reads a sheet with the columns from, to and miles (in the unit of
// the options) into a table for home and stops in their order; home names the place
// the round begins at. A way that stands in one direction only holds for both. Pairs
// with other names are left out. The error wraps ErrOption.
func ReadDistances(r io.Reader, home string, stops []Stop, opts SheetOptions) (*Distances, error) {
	units, err := opts.units()
	if err != nil {
		return nil, err
	}
	names := []string{home}
	for _, s := range stops {
		names = append(names, s.ID)
	}
	place := make(map[string]int, len(names))
	for i, name := range names {
		place[strings.ToLower(name)] = i
	}
	miles := make([][]float64, len(names))
	for i := range miles {
		miles[i] = make([]float64, len(names))
		for j := range miles[i] {
			miles[i][j] = math.NaN()
		}
	}
	s := &sheetReader{units: units, known: []string{"from", "to", "miles"}, required: []string{"from", "to", "miles"}}
	s.take = func() {
		from, to := s.name("from"), s.name("to")
		d := s.amount("miles", units.distance, MaxMiles)
		if s.cell("miles") == "" {
			s.fault("miles", "", "no distance", "enter how far it is")
		}
		i, known := place[strings.ToLower(from)]
		j, also := place[strings.ToLower(to)]
		if known && also {
			miles[i][j] = d
		}
	}
	if err := s.read(r); err != nil {
		return nil, err
	}
	d := &Distances{Miles: miles, Unknown: s.unknown, Faults: s.faults}
	d.complete(names)
	return d, nil
}

// complete spares typing every way twice where no one-way street makes a difference.
// It takes ways back from ways there and lists what is missing.
func (d *Distances) complete(names []string) {
	for i := range d.Miles {
		d.Miles[i][i] = 0
		for j := range i {
			there, back := d.Miles[i][j], d.Miles[j][i]
			switch {
			case math.IsNaN(there) && math.IsNaN(back):
				d.Missing = append(d.Missing, fmt.Sprintf("%q to %q", clip(names[j]), clip(names[i])))
			case math.IsNaN(there):
				d.Miles[i][j] = back
			case math.IsNaN(back):
				d.Miles[j][i] = there
			}
		}
	}
}
