package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"skepwood/analytics/cut"
)

// cutCmd plans cutting instances without a database.
type cutCmd struct {
	File    string  `arg:"" help:"Instance file in JSON; - reads standard input."`
	Pattern string  `help:"Cut by this pattern instead of the file's: rip2, crosscut2, rip3, crosscut3, rip2trim, crosscut2trim or guillotine_free."`
	Seconds float64 `default:"5" help:"Time for each instance; proven plans end sooner."`
	SVG     string  `name:"svg" placeholder:"DIR" help:"Also draw each board that is cut, one SVG file each, into this directory."`
}

// maxInstanceBytes bounds what is read: far above 10,000 boards with defects.
const maxInstanceBytes = 256 << 20

// solvedCase is one case of the output, in the form of the input.
type solvedCase struct {
	Instance json.RawMessage `json:"instance"`
	Solution cut.Solution    `json:"solution"`
}

// Run plans every instance of the file and writes the solutions as JSON.
func (c cutCmd) Run(ctx context.Context, std *streams) error {
	if !(c.Seconds > 0) || c.Seconds > 1e6 {
		return fmt.Errorf("--seconds %v: give a time above 0 and up to a million, such as 5", c.Seconds)
	}
	data, err := c.read(std.In)
	if err != nil {
		return err
	}
	cases, many, err := cut.ParseCases(data)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	if c.SVG != "" { // before the work, which would be lost
		if err := os.MkdirAll(c.SVG, 0o777); err != nil {
			return err
		}
	}
	solved := make([]solvedCase, 0, len(cases))
	pictures := drawer{c.SVG, map[string]bool{}}
	for i, one := range cases {
		if c.Pattern != "" {
			one.Instance.Pattern = cut.Pattern(c.Pattern)
			if one.Raw, err = patterned(one.Raw, c.Pattern); err != nil {
				return err
			}
		}
		for _, p := range tooLarge(one.Instance) {
			fmt.Fprintf(std.Err, "instance %d: part %d, %d long and %d wide, is larger than every board: correct its size or add a board that holds it\n", i, p.ID, p.Length, p.Width)
		}
		plan, seconds, err := c.solve(ctx, one.Instance)
		if err != nil {
			return fmt.Errorf("%s: instance %d: %w", c.File, i, err)
		}
		if c.SVG != "" {
			if err := pictures.draw(i, one.Instance, plan); err != nil {
				return err
			}
		}
		solved = append(solved, solvedCase{one.Raw, one.Solution(plan, seconds)})
	}
	if !many {
		return json.NewEncoder(std.Out).Encode(solved[0])
	}
	return json.NewEncoder(std.Out).Encode(map[string][]solvedCase{"cases": solved})
}

// tooLarge lists the wanted parts that are longer or wider than every board.
func tooLarge(in cut.Instance) []cut.Part {
	fits := func(p cut.Part) bool {
		return slices.ContainsFunc(in.Boards, func(b cut.Board) bool { return p.Length <= b.Length && p.Width <= b.Width })
	}
	var list []cut.Part
	for _, p := range in.Parts {
		if (p.Max != 0 || p.Min > 0) && !fits(p) {
			list = append(list, p)
		}
	}
	return list
}

// patterned is an instance with another pattern, so that a solution stands
// beside the pattern that it was cut by.
func patterned(raw json.RawMessage, pattern string) (json.RawMessage, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(raw, &fields); err != nil {
		return nil, err
	}
	for name := range fields {
		if strings.EqualFold(name, "pattern") {
			delete(fields, name)
		}
	}
	text, err := json.Marshal(pattern)
	if err != nil {
		return nil, err
	}
	fields["pattern"] = text
	return json.Marshal(fields)
}

// solve plans one instance in its time and returns the seconds it took.
func (c cutCmd) solve(ctx context.Context, in cut.Instance) (cut.Plan, float64, error) {
	start := time.Now()
	ctx, cancel := context.WithTimeout(ctx, time.Duration(c.Seconds*float64(time.Second)))
	defer cancel()
	plan, err := cut.Solve(ctx, in, cut.Options{})
	return plan, math.Round(time.Since(start).Seconds()*1e4) / 1e4, err
}

// read returns the whole input.
func (c cutCmd) read(in io.Reader) ([]byte, error) {
	if c.File != "-" {
		file, err := os.Open(c.File)
		if err != nil {
			return nil, err
		}
		defer file.Close()
		in = file
	}
	data, err := io.ReadAll(io.LimitReader(in, maxInstanceBytes+1))
	if err == nil && len(data) > maxInstanceBytes {
		err = errors.New("larger than 256 MiB: split it into several files")
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", c.File, err)
	}
	return data, nil
}
