package main

import (
	"encoding/json"
	"strings"

	"skepwood/analytics/mark"
)

// markCmd reads a mark, tag or stamp from text.
type markCmd struct {
	Text []string `arg:"" help:"What is stamped, branded or tagged, as you read it; ? for a worn letter, / between lines. - reads standard input."`
	JSON bool     `name:"json" help:"Print JSON."`
}

// Help says how to type what cannot be read, and what the exit status means.
func (markCmd) Help() string {
	return `Type all letters and numbers, in any order and case: skepwood mark "IPPC DE-NW-49-1234 / HT DB".
A worn letter is ? or _. Exit status 0 whatever is read; the reading is no verdict, see skepwood screen.`
}

// Run prints the reading, the plain meaning of each code with its source, every
// other reading that fits, and what to look at next.
func (c *markCmd) Run(std *streams) error {
	text := strings.Join(c.Text, " ")
	if text == "-" {
		input, err := readInput(std, text)
		if err != nil {
			return err
		}
		text = string(input)
	}
	r := mark.Read(text)
	if c.JSON {
		e := json.NewEncoder(std.Out)
		e.SetIndent("", "  ")
		e.SetEscapeHTML(false)
		return e.Encode(r)
	}
	p := &markPrinter{out: std.Out}
	p.reading(&r)
	return p.err
}
