package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"time"

	"skepwood/analytics/yield"
)

// worthCmd answers what each source is worth from a sheet of trips.
type worthCmd struct {
	Trips string `arg:"" name:"trips.csv" help:"Trips, one a row (- reads standard input). Columns in any order: source, kind, date, miles, minutes, cash, volume, usable, held; also outside, never, lost, lots, shop_minutes, estimated."`

	sheetFlags `embed:""`
	priceFlags `embed:""`

	Today    string   `help:"Day of the next drive, as 2025-04-03; today if not given."`
	Place    []string `help:"A place without trips to answer for as well, as NAME, NAME:KIND or NAME:KIND:MILES."`
	Drives   int      `default:"30" help:"Drives left in the season."`
	LookBack string   `help:"Score the trips from this day on against what the book would have predicted the day before."`
	Seed     uint64   `help:"Seed of the draws that rank."`
	Draws    int      `help:"Number of draws that rank; 1000 if not given."`
	JSON     bool     `name:"json" help:"Print all answers as JSON: money in minor units, volumes in m3."`
}

// sheetFlags say how the figures of a sheet are meant.
type sheetFlags struct {
	Volume   string `enum:"m3,bf,ft3,l" default:"m3" help:"Unit of volumes: m3, bf (board feet), ft3 or l."`
	Distance string `enum:"mile,km" default:"mile" help:"Unit of distances in the sheet: mile or km."`
	Currency string `default:"USD" help:"Currency of all amounts (ISO 4217)."`
	Dates    string `enum:"iso,day,month" default:"iso" help:"Whether day or month stands first in dates such as 3/4/2025; iso refuses them."`
}

func (f sheetFlags) options() yield.SheetOptions {
	return yield.SheetOptions{
		Volume: f.Volume, Distance: f.Distance, Currency: f.Currency, DayFirst: f.Dates == "day", MonthFirst: f.Dates == "month",
	}
}

// toldBoardFoot is a retail price told for a nominal 1x12: 15.36 dollars for 6 ft
// of it (a beekeepers' forum), that is 2.56 a board foot.
const toldBoardFoot = 2.56

// priceFlags are what a keeper holds things to be worth, in major units.
type priceFlags struct {
	MileRate  *float64 `help:"Running cost per mile; the US standard business rate of each date if not given."`
	BoardFoot *float64 `help:"Replacement price per board foot usable inside; 2.56 if not given, a price told for a 1x12."`
	Outside   *float64 `help:"Replacement price per board foot usable outside only; half of --board-foot if not given."`
	Waste     float64  `help:"Cost of getting rid of a board foot of waste."`
	Hour      float64  `help:"What an hour is worth to you; 0 means the Saturday is the point."`
	AtHome    float64  `help:"What a day at home is worth to you: what every drive is compared with."`
}

// prices turns flags into schedules, and says what was assumed.
func (f priceFlags) prices(currency string) (p yield.Prices, assumed []string, err error) {
	if !yield.ValidCurrency(currency) {
		return p, nil, fmt.Errorf("--currency: %q is none: use three capital letters such as USD", currency)
	}
	minor := yield.MinorPerMajor(currency)
	always := func(x float64) yield.Schedule { return yield.Schedule{{Minor: x * minor, Currency: currency}} }
	foot := func(x float64) yield.Schedule {
		return yield.Schedule{yield.PerBoardFoot(yield.Rate{Minor: x * minor, Currency: currency})}
	}
	p = yield.Prices{Currency: currency, Disposal: foot(f.Waste), Hour: always(f.Hour), Home: always(f.AtHome)}
	switch {
	case f.MileRate != nil:
		p.Mile = always(*f.MileRate)
	case currency == "USD":
		p.Mile = yield.StandardMileage()
		p.Mile[0].From = time.Time{} // the first rate serves older trips too
		assumed = append(assumed, "a mile costs the US standard business rate of its date (--mile-rate)")
	default:
		return p, nil, fmt.Errorf("--mile-rate: say what a mile costs in %s", currency)
	}
	inside := toldBoardFoot
	switch {
	case f.BoardFoot != nil:
		inside = *f.BoardFoot
	case currency == "USD":
		assumed = append(assumed, fmt.Sprintf("wood usable inside replaces bought wood at %.2f USD a board foot, a price told for a 1x12 (--board-foot)", inside))
	default:
		return p, nil, fmt.Errorf("--board-foot: say what a board foot costs in %s", currency)
	}
	p.Inside = foot(inside)
	outside := inside / 2
	if f.Outside != nil {
		outside = *f.Outside
	} else {
		assumed = append(assumed, "wood usable outside only is worth half as much (--outside)")
	}
	p.Outside = foot(outside)
	return p, assumed, nil
}

// worthAnswer is what --json prints.
type worthAnswer struct {
	*yield.Answers
	Flips    []yield.Flip  `json:"flips"`
	Plain    []yield.Plain `json:"plain"` // what the book says without borrowing
	Stops    []yield.Stop  `json:"stops"` // for skepwood round --worth
	LookBack *yield.Review `json:"look_back,omitempty"`
	Unknown  []string      `json:"unknown_columns,omitempty"`
	Assumed  []string      `json:"assumed,omitempty"`
}

// Run prints the ranking, a sentence for each source, and the next drive.
func (c *worthCmd) Run(std *streams) error {
	prices, assumed, err := c.prices(c.Currency)
	if err != nil {
		return refuse(std, "worth", err)
	}
	opts, since, err := c.analysis(prices)
	if err != nil {
		return refuse(std, "worth", err)
	}
	meant := c.options()
	meant.Until = opts.Today
	sheet, err := readFile(std, c.Trips, func(r io.Reader) (*yield.TripSheet, error) { return yield.ReadTrips(r, meant) })
	if err != nil {
		return err
	}
	if told := tellFaults(std.Err, c.Trips, sheet.Faults, sheet.Unknown); told != nil {
		return told
	}
	a, err := c.answer(sheet, opts, since)
	if err != nil {
		return err
	}
	a.Assumed, a.Unknown = assumed, sheet.Unknown
	if c.JSON {
		e := json.NewEncoder(std.Out)
		e.SetIndent("", "  ")
		return e.Encode(a)
	}
	return printWorth(std.Out, a, c.Volume)
}

// answer asks the model everything.
func (c *worthCmd) answer(sheet *yield.TripSheet, opts yield.Options, since time.Time) (*worthAnswer, error) {
	m, err := yield.Fit(sheet.Pickups, opts)
	if err != nil {
		return nil, err
	}
	what, err := m.WhatIf(m.Terms())
	if err != nil {
		return nil, err
	}
	a := &worthAnswer{Answers: what.Before, Flips: what.Flips}
	if a.Plain, err = yield.PlainFigures(sheet.Pickups, opts.Prices); err != nil {
		return nil, err
	}
	for _, s := range a.Sources {
		stop, err := m.Stop(s.SourceID)
		if err != nil {
			return nil, err
		}
		a.Stops = append(a.Stops, stop)
	}
	if !since.IsZero() {
		if a.LookBack, err = yield.LookBack(sheet.Pickups, since, opts); err != nil {
			return nil, err
		}
	}
	return a, nil
}

// The ranges of yield.Options.
const mostDrives, leastDraws, mostDraws = 1000, 100, 100_000

// analysis reads the flags that are not prices.
func (c *worthCmd) analysis(prices yield.Prices) (opts yield.Options, since time.Time, err error) {
	opts = yield.Options{Today: time.Now(), Prices: prices, Seed: c.Seed, Draws: c.Draws, Horizon: c.Drives}
	var faults []error
	for _, flag := range []struct {
		name, text string
		to         *time.Time
	}{{"today", c.Today, &opts.Today}, {"look-back", c.LookBack, &since}} {
		if flag.text == "" {
			continue
		}
		if *flag.to, err = time.Parse(time.DateOnly, flag.text); err != nil {
			faults = append(faults, fmt.Errorf("--%s: %q is no day: write it as 2025-04-03", flag.name, flag.text))
		}
	}
	for _, text := range c.Place {
		s, err := parsePlace(text)
		if err != nil {
			faults = append(faults, err)
		}
		opts.Sources = append(opts.Sources, s)
	}
	for name, x := range map[string]*float64{
		"mile-rate": c.MileRate, "board-foot": c.BoardFoot, "outside": c.Outside, "waste": &c.Waste, "hour": &c.Hour, "at-home": &c.AtHome,
	} {
		if x != nil && (!(*x >= 0) || math.IsInf(*x, 0)) {
			faults = append(faults, fmt.Errorf("--%s: %v: enter zero or more", name, *x))
		}
	}
	if c.Drives < 1 || c.Drives > mostDrives {
		faults = append(faults, fmt.Errorf("--drives: %d: enter 1 to %d", c.Drives, mostDrives))
	}
	if c.Draws != 0 && (c.Draws < leastDraws || c.Draws > mostDraws) {
		faults = append(faults, fmt.Errorf("--draws: %d: enter %d to %d", c.Draws, leastDraws, mostDraws))
	}
	slices.SortFunc(faults, func(a, b error) int { return compareText(a.Error(), b.Error()) })
	return opts, since, errors.Join(faults...)
}

// readFile reads a sheet from a file or, for "-", from standard input.
func readFile[T any](std *streams, path string, read func(io.Reader) (T, error)) (T, error) {
	if path == "-" {
		return read(std.In)
	}
	var none T
	f, err := os.Open(path)
	if err != nil {
		return none, err
	}
	defer f.Close()
	return read(f)
}

// tellFaults lists unknown columns and faults and returns exit status 1 where
// there are faults.
func tellFaults(w io.Writer, path string, faults []yield.SheetFault, unknown []string) error {
	for _, name := range unknown {
		fmt.Fprintf(w, "%s: column %q is not known and was left out\n", path, name)
	}
	for _, f := range faults {
		fmt.Fprintf(w, "%s: %s\n", path, f)
	}
	if len(faults) > 0 {
		return exitCode(1)
	}
	return nil
}
