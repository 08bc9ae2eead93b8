package main

import (
	"fmt"
	"io"
	"strings"

	"skepwood/analytics/mark"
)

// markPrinter writes readings for people and keeps the first write error. All it
// writes comes from mark's own alphabet, so no control character gets through.
type markPrinter struct {
	out io.Writer
	err error
}

func (p *markPrinter) printf(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.out, format, args...)
	}
}

// reading writes one reading: fields, codes, further readings, advice.
func (p *markPrinter) reading(r *mark.Reading) {
	switch {
	case r.Complete:
		p.printf("A complete packaging mark.\n")
	case len(r.Readings) == 0:
		p.printf("Nothing was read.\n")
	default:
		p.printf("Not a complete packaging mark.\n")
	}
	for _, f := range markRows(r) {
		if f.certainty != mark.CertaintyMissing {
			p.printf("  %-16s %-24s %s\n", f.name, orDash(f.value), f.certainty)
		}
	}
	if len(r.Codes) > 0 {
		p.printf("\nWhat it means\n")
	}
	for _, code := range r.Codes {
		p.printf("  %s: %s\n      %s [%s]\n", code.Text, code.Meaning, code.Source, code.Status)
	}
	p.readings(r)
	if len(r.Advice) > 0 {
		p.printf("\nLook next\n")
	}
	for _, a := range r.Advice {
		p.printf("  - %s\n", a)
	}
}

// readings writes all readings that fit, when there is more than one.
func (p *markPrinter) readings(r *mark.Reading) {
	if len(r.Readings) < 2 {
		return
	}
	p.printf("\nAll readings that fit; a verdict takes the worst\n")
	for i, a := range r.Readings {
		assumed := "as typed"
		if len(a.Assumed) > 0 {
			assumed = "if " + strings.Join(a.Assumed, "; and ")
		}
		p.printf("  %d. %s: %s\n", i+1, inShort(&a.Fields), assumed)
	}
	if r.More > 0 {
		p.printf("  and up to %d more\n", r.More)
	}
}

// inShort is what one reading says, in a line.
func inShort(f *mark.Fields) string {
	var out []string
	add := func(name string, values ...string) {
		if v := strings.TrimSpace(strings.Join(values, " ")); v != "" {
			out = append(out, name+" "+v)
		}
	}
	add("symbol", f.Symbol)
	add("country", f.Country)
	add("producer", f.Producer)
	add("treatment", f.Treatments...)
	add("unknown", f.Unknown...)
	add("moisture", f.Moisture)
	add("preservative", f.Preservatives...)
	add("use category", f.UseCategories...)
	add("other", append([]string{f.Agency, f.Lot}, f.Extra...)...)
	if len(out) == 0 {
		return "nothing"
	}
	return strings.Join(out, ", ")
}

// markRow is one line of the table of fields.
type markRow struct {
	name      string
	value     string
	certainty mark.Certainty
}

// markRows lists the fields in the order a person asks for them.
func markRows(r *mark.Reading) []markRow {
	yes := map[bool]string{true: "yes"}
	list := func(values ...[]string) string {
		var all []string
		for _, v := range values {
			all = append(all, v...)
		}
		return strings.Join(all, " ")
	}
	country := strings.TrimSpace(r.Country + " " + r.CountryName)
	if r.CountryStatus != "" && r.CountryStatus != mark.Official {
		country = strings.TrimSpace(country + " (" + string(r.CountryStatus) + ")")
	}
	values := []struct{ field, value string }{
		{mark.FieldSymbol, r.Symbol}, {mark.FieldCountry, country}, {mark.FieldProducer, r.Producer},
		{mark.FieldTreatment, list(r.Treatments, r.Unknown)}, {mark.FieldDebarked, yes[r.Debarked]},
		{mark.FieldKiln, r.Kiln}, {mark.FieldDunnage, yes[r.Dunnage]}, {mark.FieldRepair, yes[r.Repair]},
		{mark.FieldAgency, r.Agency}, {mark.FieldLot, r.Lot}, {mark.FieldMoisture, r.Moisture},
		{mark.FieldPreservative, list(r.Preservatives)}, {mark.FieldUseCategory, list(r.UseCategories)},
		{mark.FieldOwnership, r.Ownership}, {mark.FieldCargo, list(r.Cargo)},
		{mark.FieldDangerousGoods, list(r.DangerousGoods)}, {mark.FieldSpecies, list(r.Species)}, {mark.FieldGrade, list(r.Grade)},
	}
	out := make([]markRow, 0, len(values))
	for _, v := range values {
		out = append(out, markRow{strings.ReplaceAll(v.field, "_", " "), v.value, r.Certainty[v.field]})
	}
	return out
}

// orDash is a value, or a dash where the readings differ and none is shown.
func orDash(value string) string {
	if value == "" {
		return "-"
	}
	return value
}
