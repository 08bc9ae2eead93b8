package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"text/tabwriter"

	"skepwood/analytics/wood"
)

// desk is what the desk calculators have in common.
type desk struct {
	Units string `enum:"us,metric" default:"us" help:"Units of bare numbers: us (in, F) or metric (mm, C). Any value may carry its own unit. Masses without one are grams."`
	JSON  bool   `name:"json" help:"Print JSON: SI units, lengths in nanometres."`
}

func (d desk) unit() wood.Unit {
	if d.Units == "metric" {
		return wood.UnitMillimetre
	}
	return wood.UnitInch
}

// deskFlags reads the values of flags and keeps every fault, so that all are
// told at once.
type deskFlags struct {
	desk   desk
	faults []error
}

func (f *deskFlags) fault(flag string, err error) {
	if err != nil {
		f.faults = append(f.faults, fmt.Errorf("--%s: %w", flag, err))
	}
}

// length reads a length; an absent flag is 0.
func (f *deskFlags) length(flag, s string) wood.Length {
	if s == "" {
		return 0
	}
	l, err := wood.ParseLength(s, f.desk.unit())
	if err == nil && l == 0 {
		err = errors.New("give a size above 0")
	}
	f.fault(flag, err)
	return l
}

// mass reads a mass; an absent flag is 0.
func (f *deskFlags) mass(flag, s string) wood.Mass {
	if s == "" {
		return 0
	}
	m, err := wood.ParseMass(s, wood.Gram)
	f.fault(flag, err)
	return m
}

// temperature reads a temperature; an absent flag is nil.
func (f *deskFlags) temperature(flag, s string) *wood.Celsius {
	if s == "" {
		return nil
	}
	bare := wood.UnitFahrenheit
	if f.desk.Units == "metric" {
		bare = wood.UnitCelsius
	}
	t, err := wood.ParseTemperature(s, bare)
	f.fault(flag, err)
	return &t
}

// percent reads a percentage; an absent flag is nil.
func (f *deskFlags) percent(flag, s string) *float64 {
	if s == "" {
		return nil
	}
	p, err := wood.ParsePercent(s)
	f.fault(flag, err)
	return &p
}

// err returns every fault kept.
func (f *deskFlags) err() error { return errors.Join(f.faults...) }

// refuse tells what is wrong with the question and sets the status of wrong
// usage; a figure that nobody has published is no fault of the question's.
func refuse(std *streams, command string, err error) error {
	if errors.Is(err, wood.ErrUnknown) {
		return err
	}
	fmt.Fprintf(std.Err, "skepwood: %v\nTry: skepwood %s --help\n", err, command)
	return exitCode(2)
}

// deskSheet is an answer laid out for reading: labelled lines, then notes, then
// sources.
type deskSheet struct {
	lines   [][2]string
	notes   []string
	sources []string
}

func (s *deskSheet) line(label, format string, args ...any) {
	s.lines = append(s.lines, [2]string{label, fmt.Sprintf(format, args...)})
}

func (s *deskSheet) note(format string, args ...any) {
	s.notes = append(s.notes, fmt.Sprintf(format, args...))
}

// print writes answer as JSON, or the sheet for reading.
func (d desk) print(out io.Writer, answer any, sheet *deskSheet) error {
	if d.JSON {
		e := json.NewEncoder(out)
		e.SetIndent("", "  ")
		return e.Encode(answer)
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, l := range sheet.lines {
		fmt.Fprintf(w, "%s\t%s\n", l[0], l[1])
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, n := range sheet.notes {
		if _, err := fmt.Fprintf(out, "note: %s\n", n); err != nil {
			return err
		}
	}
	for _, s := range sheet.sources {
		if _, err := fmt.Fprintf(out, "source: %s\n", s); err != nil {
			return err
		}
	}
	return nil
}

// bothLengths prints a length in inches and millimetres.
func bothLengths(l wood.Length) string {
	return fmt.Sprintf("%.3f in (%s), %s", l.Inches(), l.Format(wood.UnitInch), l.Format(wood.UnitMillimetre))
}

// bothTemperatures prints a temperature in both degrees.
func bothTemperatures(t wood.Celsius) string {
	return fmt.Sprintf("%.1f °C (%.1f °F)", float64(t), t.Fahrenheit())
}

// bothMasses prints a mass in kilograms and pounds.
func bothMasses(kg float64) string {
	return fmt.Sprintf("%.3f kg (%.2f lb)", kg, wood.Mass(kg).Pounds())
}

// fromMemory warns of figures that nobody has checked on a page.
func (s *deskSheet) fromMemory(status wood.Status) {
	if status == wood.FromMemory {
		s.note("a figure of this wood is from memory, not read on any page")
	}
}
