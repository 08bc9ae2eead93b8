package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"skepwood/analytics/screen"
)

// screenCmd judges a list of findings without a database.
type screenCmd struct {
	Findings string                    `arg:"" optional:"" help:"JSON file with a list of {kind, value, on, note}; - reads standard input."`
	JSON     bool                      `name:"json" help:"Print JSON."`
	Set      map[string]screen.Verdict `help:"House policy, such as S04=never." placeholder:"RULE=VERDICT"`
	Kinds    bool                      `help:"List the kinds and values of findings there are."`
}

// Help says what to expect of the exit status.
func (screenCmd) Help() string {
	return "Exit status 0 whatever the verdict, 1 when the findings cannot be read."
}

// Run prints verdict, reasons, what would change them, the next check and the
// cautions, for the lot and for each board that has findings of its own.
func (c *screenCmd) Run(std *streams) error {
	if c.Kinds {
		p := &screenPrinter{out: std.Out}
		p.kinds(screen.Kinds())
		return p.err
	}
	if c.Findings == "" {
		return errors.New("name a file of findings, or - for standard input; --kinds lists what can be found")
	}
	policy := screen.Policy{Settings: c.Set}
	if err := policy.Validate(); err != nil {
		return err
	}
	text, err := readInput(std, c.Findings)
	if err != nil {
		return err
	}
	findings, err := parseFindings(text)
	if err != nil {
		return fmt.Errorf("%s: %w", c.Findings, err)
	}
	unit := screen.JudgeUnit(findings, screen.Options{Policy: policy, Today: time.Now(), Prior: &screen.Prior{}})
	if c.JSON {
		e := json.NewEncoder(std.Out)
		e.SetIndent("", "  ")
		return e.Encode(unit)
	}
	p := &screenPrinter{out: std.Out, findings: findings}
	p.unit(unit)
	return p.err
}

// maxInputBytes bounds what one command reads into memory.
const maxInputBytes = 64 << 20

// readInput reads a whole file, or standard input for "-".
func readInput(std *streams, name string) ([]byte, error) {
	in := std.In
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		in = f
	}
	text, err := io.ReadAll(io.LimitReader(in, maxInputBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	if len(text) > maxInputBytes {
		return nil, fmt.Errorf("%s: more than %d MiB; split the list", name, maxInputBytes>>20)
	}
	return text, nil
}

// parseFindings reads the list one finding at a time, so that a fault is told
// with the place where it is and the number of its finding.
func parseFindings(text []byte) ([]screen.Finding, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	open, err := d.Token()
	if err != nil {
		return nil, placed(text, d.InputOffset(), err)
	}
	if open != json.Delim('[') {
		return nil, fmt.Errorf("line 1: a list of findings in [ ] is wanted, such as [{\"kind\": \"odour\", \"value\": \"fresh\"}]")
	}
	findings := []screen.Finding{}
	for d.More() {
		start := d.InputOffset()
		var f screen.Finding
		if err := d.Decode(&f); err != nil {
			return nil, fmt.Errorf("finding %d: %w", len(findings)+1, placed(text, start, err))
		}
		findings = append(findings, f)
	}
	if _, err := d.Token(); err != nil {
		return nil, placed(text, d.InputOffset(), err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, placed(text, d.InputOffset(), errors.New("something follows the list"))
	}
	return findings, nil
}

// placed adds line and column to a fault. Syntax faults know their own place;
// others are placed where their finding starts.
func placed(text []byte, offset int64, err error) error {
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &syntax):
		offset = syntax.Offset
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		offset, err = int64(len(text)), errors.New("the text ends too early")
	}
	before := text[:min(max(offset, 0), int64(len(text)))]
	line := bytes.Count(before, []byte{'\n'}) + 1
	column := len(before) - bytes.LastIndexByte(before, '\n')
	return fmt.Errorf("line %d, column %d: %w", line, column, err)
}
