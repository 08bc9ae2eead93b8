package main

import (
	"fmt"
	"io"
	"os"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// dryCmd answers when a stack will be ready, from a file of its readings.
type dryCmd struct {
	File string `arg:"" help:"Readings as CSV with a header: day (a number or a date) and percent; if wanted temperature (of the wood), species, thickness. - reads standard input."`

	Species   string `short:"s" help:"Species of the whole stack, where the file has no such column."`
	Thickness string `help:"Thickness of its boards, where the file has no such column; 1 inch if nowhere."`
	Target    string `help:"Mean moisture wanted, in percent; the usual target of outside woodenware if not given."`

	EMC         string `name:"emc" xor:"emc" help:"Equilibrium moisture of the air at the stack, in percent."`
	Humidity    string `xor:"emc" help:"Or the air's mean relative humidity in percent, with --temperature."`
	Temperature string `short:"t" help:"Mean temperature of the air, such as 60F or 15C."`

	AsIs bool `help:"Take the percentages as they are, not as readings of a pin meter to be corrected."`
	desk
}

// Run prints the drying curve, the interval and the date.
func (c *dryCmd) Run(std *streams) error {
	q, err := c.question(std)
	if err != nil {
		return refuse(std, "dry", err)
	}
	a, err := moisture.AskDry(q)
	if err != nil {
		return refuse(std, "dry", err)
	}
	return c.print(std.Out, a, c.sheet(a))
}

// question reads the flags and the file.
func (c *dryCmd) question(std *streams) (moisture.DryQuestion, error) {
	f := &deskFlags{desk: c.desk}
	q := moisture.DryQuestion{AsIs: c.AsIs, ThicknessMM: f.length("thickness", c.Thickness).Millimetres()}
	if c.Species != "" {
		species, err := wood.FindSpecies(c.Species)
		f.fault("species", err)
		q.Species = species.ID
	}
	if target := f.percent("target", c.Target); target != nil {
		q.Target = *target
	}
	c.air(f, &q)
	text, err := c.read(std)
	if err != nil {
		return q, err
	}
	units := moisture.DryUnits{Temperature: wood.UnitFahrenheit, Length: c.unit()}
	if c.Units == "metric" {
		units.Temperature = wood.UnitCelsius
	}
	q.File, err = moisture.ParseDryFile(text, units)
	if err != nil {
		f.faults = append(f.faults, err)
	}
	return q, f.err()
}

// air turns the flags about the air into its equilibrium moisture.
func (c *dryCmd) air(f *deskFlags, q *moisture.DryQuestion) {
	if emc := f.percent("emc", c.EMC); emc != nil {
		q.Air = moisture.Estimate{Mean: *emc, SD: 1}
	}
	humidity, temperature := f.percent("humidity", c.Humidity), f.temperature("temperature", c.Temperature)
	if (humidity == nil) != (temperature == nil) {
		f.fault("humidity", fmt.Errorf("the air needs both its humidity and its temperature"))
		return
	}
	if humidity != nil && temperature != nil {
		air, err := moisture.AirFrom(*temperature, *humidity)
		f.fault("humidity", err)
		q.Air = air
	}
}

// read returns the file's text, or standard input's.
func (c *dryCmd) read(std *streams) (string, error) {
	if c.File == "-" {
		text, err := io.ReadAll(io.LimitReader(std.In, 5<<20))
		return string(text), err
	}
	text, err := os.ReadFile(c.File)
	return string(text), err
}

// sheet lays the answer out for reading.
func (c *dryCmd) sheet(a moisture.DryAnswer) *deskSheet {
	s := &deskSheet{sources: a.Sources}
	s.line("readings", "%d on %d days", a.Readings, a.Visits)
	s.line("moisture at the first", "%.1f %% (± %.1f)", a.Start.Mean, a.Start.SD)
	s.line("half of the way takes", "%.0f days (%.0f to %.0f)", a.HalfTime[1], a.HalfTime[0], a.HalfTime[2])
	s.line("air holds wood at", "%.1f %% (± %.1f)", a.Air.Mean, a.Air.SD)
	s.line("target", "%.1f %%", a.Target)
	switch a.State {
	case moisture.StateNever:
		s.line("ready", "never at this humidity: bring it under a roof")
	case moisture.StateReached:
		s.line("ready", "likely since %s", dryWhen(a.Likely))
	default:
		s.line("ready", "likely %s", dryWhen(a.Likely))
		s.line("not before", "%s", dryWhen(a.NotBefore))
		s.line("by", "%s", dryWhen(a.By))
		s.note("not before and by bound an 80 %% interval; wet weather to come is not foreseen")
	}
	s.line("read again", "%s", dryWhen(a.Next))
	if a.Plain != nil && a.Plain.ReadyDay != nil && a.State != moisture.StateReached {
		s.line("least squares alone", "day %.0f", *a.Plain.ReadyDay)
	}
	for _, n := range a.Notices {
		s.note("%s", n.Text)
	}
	if c.EMC == "" && c.Humidity == "" {
		s.note("no air given: %.0f %% (± %.0f) taken, %s", moisture.DefaultAir().Mean, moisture.DefaultAir().SD, moisture.SourceDefaultAir)
	}
	if !a.Corrected {
		s.note("the percentages are taken as they are: no species or wood temperature to correct by")
	}
	return s
}

// dryWhen prints a date with its day, or the day alone.
func dryWhen(d moisture.DryDate) string {
	switch {
	case d.Day == nil:
		return "no day is sure, in air this close to the target"
	case d.Date != "":
		return fmt.Sprintf("%s (day %.0f)", d.Date, *d.Day)
	}
	return fmt.Sprintf("day %.0f", *d.Day)
}
