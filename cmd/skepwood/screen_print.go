package main

import (
	"fmt"
	"io"
	"strings"
	"unicode"

	"skepwood/analytics/screen"
)

// screenPrinter writes judgements for people and keeps the first write error.
type screenPrinter struct {
	out      io.Writer
	findings []screen.Finding
	err      error
}

// line writes one line. Control characters from people's text become spaces, so
// that a finding cannot move the cursor of a terminal.
func (p *screenPrinter) line(format string, args ...any) {
	if p.err != nil {
		return
	}
	text := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, fmt.Sprintf(format, args...))
	_, p.err = fmt.Fprintln(p.out, text)
}

func (p *screenPrinter) unit(u screen.Unit) {
	p.judgement("Lot", u.Lot)
	for _, b := range u.Boards {
		p.line("")
		name := "Board " + b.On
		if b.Apart {
			name += " (differs from the lot)"
		}
		p.judgement(name, b.Judgement)
	}
}

func (p *screenPrinter) judgement(name string, j screen.Judgement) {
	p.line("%s: %s", name, strings.ToUpper(string(j.Verdict)))
	for _, r := range j.Stops {
		p.line("STOP: %s [%s]", r.Text, r.RuleID)
	}
	p.section("Why", len(j.Reasons))
	for _, r := range j.Reasons {
		p.reason(r)
	}
	p.section("Answered", len(j.Lifted))
	for _, r := range j.Lifted {
		p.line("  %s %s: %s%s", r.RuleID, r.Name, r.Answer, p.from(r.By))
	}
	p.section("What would change this", len(j.Lifts))
	for _, l := range j.Lifts {
		p.line("  %s: %s%s", l.RuleID, l.Text, leaves(l))
	}
	p.advice(j)
}

// advice writes the rest: next check, remarks, notes, cautions.
func (p *screenPrinter) advice(j screen.Judgement) {
	if n := j.Next; n != nil {
		p.section("Next check", 1)
		p.line("  %s (about %d min). %s", n.Label, n.Minutes, n.How)
		p.line("  %s", n.Why)
	}
	p.section("To know", len(j.Remarks)+len(j.Notes))
	for _, r := range j.Remarks {
		p.line("  %s [%s]", r.Text, r.RuleID)
	}
	for _, n := range j.Notes {
		p.line("  Finding %d: %s", n.Finding+1, n.Text)
	}
	p.section("Cautions", len(j.Cautions))
	for _, c := range j.Cautions {
		p.line("  %s: %s", c.Place, c.Text)
	}
	p.line("Rules %s", j.RuleVersion)
}

// section writes a heading unless nothing follows it.
func (p *screenPrinter) section(title string, entries int) {
	if entries > 0 {
		p.line("%s", title)
	}
}

func (p *screenPrinter) reason(r screen.Reason) {
	p.line("  %s [%s] %s", r.Verdict, r.RuleID, r.Text)
	if r.Answer != "" {
		p.line("      was %s; answered: %s%s", r.From, r.Answer, p.from(r.By))
	}
	for _, i := range r.Findings {
		p.line("      found: %s", p.findings[i].Label())
	}
	source := r.Source
	if r.Year != "" {
		source += ", " + r.Year
	}
	p.line("%s", strings.TrimRight(fmt.Sprintf("      source: %s (%s) %s", source, r.Footing(), r.Link), " "))
}

// from names the findings that answered something.
func (p *screenPrinter) from(by []int) string {
	if len(by) == 0 {
		return ""
	}
	names := make([]string, len(by))
	for i, n := range by {
		names[i] = p.findings[n].Label()
	}
	return " (" + strings.Join(names, "; ") + ")"
}

// leaves says what a lift leaves standing.
func leaves(l screen.Lift) string {
	if l.To == "" {
		return ""
	}
	return fmt.Sprintf(" Leaves %s.", l.To)
}

func (p *screenPrinter) kinds(kinds []screen.KindInfo) {
	p.section("Kinds of findings", len(kinds))
	for _, k := range kinds {
		values := make([]string, len(k.Values))
		for i, v := range k.Values {
			values[i] = v.Value
		}
		switch {
		case k.Number:
			values = append(values, "a number")
		case k.FreeText:
			values = append(values, "text")
		}
		p.line("  %s: %s", k.Kind, strings.Join(values, ", "))
	}
}
