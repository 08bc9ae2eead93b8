package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"skepwood/analytics/yield"
)

// roundCmd plans a day's round from a sheet of stops.
type roundCmd struct {
	Stops string `arg:"" name:"stops.csv" help:"Stops, one a row (- reads standard input). Columns in any order: source, value, sd, cash, volume, minutes, shop_minutes, lat, lon. What is blank is taken from --worth."`

	sheetFlags `embed:""`

	Hours     float64  `required:"" help:"Hours for driving and stops."`
	Vehicle   float64  `help:"Room in the vehicle, in the unit of volumes; no limit if not given."`
	Home      string   `help:"Where the round begins: LAT,LON in decimal degrees; or the name of home in --distances (home if not given)."`
	Distances string   `help:"CSV with the columns from, to, miles instead of coordinates."`
	Worth     string   `help:"What skepwood worth --json printed."`
	Detour    float64  `default:"1.3" help:"Road miles per straight-line mile."`
	Speed     float64  `default:"30" help:"Miles per hour, door to door."`
	MileRate  *float64 `help:"Running cost per mile; that of --worth if not given, else 0."`
	Hour      *float64 `help:"What an hour is worth to you; that of --worth if not given, else 0."`
	AtHome    *float64 `help:"What the day is worth at home; that of --worth if not given, else 0."`
	JSON      bool     `name:"json" help:"Print JSON: money in minor units, volumes in m3."`
}

// Run prints the round that nets most.
func (c *roundCmd) Run(std *streams) error {
	sheet, err := readFile(std, c.Stops, func(r io.Reader) (*yield.StopSheet, error) { return yield.ReadStops(r, c.options()) })
	if err != nil {
		return err
	}
	if told := tellFaults(std.Err, c.Stops, sheet.Faults, sheet.Unknown); told != nil {
		return told
	}
	round := yield.Round{Hours: c.Hours, Detour: c.Detour, Speed: c.Speed, Vehicle: c.Vehicle * volumeUnits[c.Volume]}
	if err := c.fill(std, sheet, &round); err != nil {
		return err
	}
	if err := c.place(std, sheet, &round); err != nil {
		return err
	}
	plan, err := yield.PlanRound(round)
	if errors.Is(err, yield.ErrRound) {
		return refuse(std, "round", err)
	}
	if err != nil {
		return err
	}
	if c.JSON {
		e := json.NewEncoder(std.Out)
		e.SetIndent("", "  ")
		return e.Encode(plan)
	}
	return c.print(std.Out, plan)
}

// fill takes from --worth what the sheet leaves blank, and the prices.
func (c *roundCmd) fill(std *streams, sheet *yield.StopSheet, round *yield.Round) error {
	var known worthAnswer
	if c.Worth != "" {
		text, err := os.ReadFile(c.Worth)
		if err != nil {
			return err
		}
		if err := json.Unmarshal(text, &known); err != nil || known.Answers == nil {
			return fmt.Errorf("%s is not what skepwood worth --json prints: write it anew", c.Worth)
		}
		if known.Terms.Currency != c.Currency {
			return refuse(std, "round", fmt.Errorf("--currency: the worth is in %s, the round in %s: give both in one", known.Terms.Currency, c.Currency))
		}
		round.Mile, round.Hour, round.Stay = known.Terms.Mile, known.Terms.Hour, known.Terms.Home
	}
	minor := yield.MinorPerMajor(c.Currency)
	if c.MileRate != nil {
		round.Mile = *c.MileRate * minor
	}
	if c.Hour != nil {
		round.Hour = *c.Hour * minor
	}
	if c.AtHome != nil {
		round.Stay = *c.AtHome * minor
	}
	if missing := sheet.Fill(known.Stops); len(missing) > 0 {
		for _, m := range missing {
			fmt.Fprintf(std.Err, "%s: %s: enter it, or give --worth with this source\n", c.Stops, m)
		}
		return exitCode(1)
	}
	round.Stops = sheet.Stops
	return nil
}

// place reads typed distances, or checks that every stop has coordinates.
func (c *roundCmd) place(std *streams, sheet *yield.StopSheet, round *yield.Round) error {
	if c.Distances != "" {
		home := c.Home
		if home == "" {
			home = "home"
		}
		d, err := readFile(std, c.Distances, func(r io.Reader) (*yield.Distances, error) {
			return yield.ReadDistances(r, home, sheet.Stops, c.options())
		})
		if err != nil {
			return err
		}
		if told := tellFaults(std.Err, c.Distances, d.Faults, d.Unknown); told != nil {
			return told
		}
		if len(d.Missing) > 0 {
			fmt.Fprintf(std.Err, "%s: no distance for %s: add a row for each\n", c.Distances, strings.Join(d.Missing, ", "))
			return exitCode(1)
		}
		round.Miles = d.Miles
		return nil
	}
	var err error
	if round.Home, err = parseDegrees(c.Home); err != nil {
		return refuse(std, "round", err)
	}
	for i, has := range sheet.Places {
		if !has {
			fmt.Fprintf(std.Err, "%s: %q has no lat and lon: enter them, or give --distances\n", c.Stops, sheet.Stops[i].ID)
			err = exitCode(1)
		}
	}
	return err
}

// parseDegrees reads LAT,LON.
func parseDegrees(text string) (yield.Place, error) {
	lat, lon, ok := strings.Cut(text, ",")
	p := yield.Place{}
	var errLat, errLon error
	p.Lat, errLat = strconv.ParseFloat(strings.TrimSpace(lat), 64)
	p.Lon, errLon = strconv.ParseFloat(strings.TrimSpace(lon), 64)
	if !ok || errLat != nil || errLon != nil || !(math.Abs(p.Lat) <= 90) || !(math.Abs(p.Lon) <= 180) {
		return p, fmt.Errorf("--home: %q is no place: write LAT,LON in decimal degrees, such as 40.1,-75.2, or give --distances", text)
	}
	return p, nil
}

// print lays the plan out for reading.
func (c *roundCmd) print(out io.Writer, plan *yield.RoundPlan) error {
	money := func(x float64) string { return yield.FormatMinor(x, c.Currency) }
	if len(plan.Stops) == 0 {
		more := "anything"
		if plan.Net.Mean > 0 {
			more = "more than the " + money(plan.Net.Mean) + " " + c.Currency + " of a day at home"
		}
		_, err := fmt.Fprintf(out, "Stay home: no round in these hours is expected to net %s.\n", more)
		return err
	}
	unit, perMile := "miles", 1.0
	if c.Distance == "km" {
		unit, perMile = "km", 1.609344
	}
	volume := volumeUnits[c.Volume]
	for i, s := range plan.Stops {
		fmt.Fprintf(out, "%2d. %s: %.1f %s, load %.3g %s; without it the day nets %s less (90 %% likely %s to %s)\n",
			i+1, s.ID, s.Miles*perMile, unit, s.Load/volume, c.Volume, money(s.Marginal), money(s.Adds.Most.Low), money(s.Adds.Most.High))
	}
	fmt.Fprintf(out, "home again: %.1f %s and %.1f hours in all, load %.3g %s\n", plan.Miles*perMile, unit, plan.Minutes/60, plan.Volume/volume, c.Volume)
	fmt.Fprintf(out, "expected to net %s %s, with 90 %% certainty %s to %s, half of the time %s to %s\n", money(plan.Net.Mean), c.Currency,
		money(plan.Net.Most.Low), money(plan.Net.Most.High), money(plan.Net.Half.Low), money(plan.Net.Half.High))
	fmt.Fprintln(out, "each place is taken to do well or badly by itself")
	if !plan.Exact {
		fmt.Fprintf(out, "the best round found; with more than %d stops it is not proven best\n", yield.ExactStops)
	}
	return nil
}
