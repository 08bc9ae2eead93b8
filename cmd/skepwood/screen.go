package main

import (
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
	Findings string                    `arg:"" optional:"" help:"JSON file with a list of {kind, value, on, note, at}; - reads standard input."`
	JSON     bool                      `name:"json" help:"Print JSON."`
	Set      map[string]screen.Verdict `help:"House policy, such as S04=never." placeholder:"RULE=VERDICT"`
	Kinds    bool                      `help:"List the kinds and values of findings there are."`
}

// Help says how findings are written and what to expect of the exit status.
func (screenCmd) Help() string {
	return `A finding is {"kind": "mark", "value": "IPPC US-12345 HT", "on": "lot", "note": "", "at": "2026-03-14"}.

kind and value say what was found; --kinds lists them. A number stands in quotes too, such as "14.5".

on says on which piece of wood: "lot", or nothing, for the whole crate or pallet; else the code of one board, such as "K7-2". What is found on a board stays on that board. A day does not belong here.

note says who said so, where on the wood, how you know; some findings clear nothing without one, and it needs at least two letters or digits.

at is the day it was seen, 2026-03-14, or the moment with its zone, 2026-03-14T16:30:00Z. A deed or test answers only what was seen on its day or before.

Optional: id, a name for the finding, which the value of a misreading may point to; struck, true for an entry taken back.

Exit status 0 whatever the verdict, 1 when the findings cannot be read.`
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
	findings, err := screen.ParseFindings(text)
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
