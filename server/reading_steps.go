package server

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// stepsView shows what one reading means: raw, each correction with its source,
// and what comes of it.
type stepsView struct {
	// What names the reading: its board, day or method.
	What, Raw, Result string
	Steps             []stepLine
	// Guess says what the wood may be, where the correction averages over it;
	// Alone is what the likeliest of them by itself would make of it.
	Guess, Alone string
	Problem      string
}

// stepLine is one correction.
type stepLine struct {
	moisture.Step
	Value string
}

// methodNames are the methods in words.
var methodNames = map[moisture.Method]string{
	moisture.MethodPin: "pin meter", moisture.MethodOhm: "ohmmeter", moisture.MethodPinless: "pinless meter",
	moisture.MethodOvenDry: "oven-dry", moisture.MethodSample: "tracked sample piece",
}

// tenths prints a number to one decimal.
func tenths(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// newSteps corrects a reading step by step, by the function that stored its
// meaning.
func newSteps(what string, r moisture.Reading, guess []moisture.SpeciesShare) stepsView {
	v := stepsView{What: what, Raw: rawText(r)}
	c, err := moisture.CorrectWith(r, moisture.Options{Guess: guess})
	if err != nil {
		v.Problem = err.Error()
		return v
	}
	for _, s := range c.Steps {
		v.Steps = append(v.Steps, stepLine{s, stepValue(s)})
	}
	v.Result = correctedText(c)
	if r.Species == "" && len(guess) > 0 {
		v.Guess = guessText(guess, 3)
		named := r
		named.Species = guess[0].ID
		if one, err := moisture.Correct(named); err == nil && one.Known() && guess[0].ID != "" {
			v.Alone = fmt.Sprintf("%s alone would make it %s", woodName(guess[0].ID), correctedText(one))
		}
	}
	return v
}

// rawText prints what was read, with its unit and what was set.
func rawText(r moisture.Reading) string {
	var b strings.Builder
	switch {
	case r.WetGrams != nil && r.DryGrams != nil:
		fmt.Fprintf(&b, "%s g now, %s g oven-dry", sixDigits(*r.WetGrams), sixDigits(*r.DryGrams))
	case r.Method == moisture.MethodOhm:
		b.WriteString(sixDigits(r.Raw) + " megohms")
	default:
		b.WriteString(sixDigits(r.Raw) + " %")
	}
	b.WriteString(", " + methodNames[r.Method])
	if r.Setting != "" {
		b.WriteString(" set to " + r.Setting)
	}
	if r.WoodTempC != nil {
		fmt.Fprintf(&b, ", wood at %.0f °C (%.0f °F)", *r.WoodTempC, *r.WoodTempC*1.8+32)
	}
	return b.String()
}

func sixDigits(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// stepValue prints what a step makes of the value.
func stepValue(s moisture.Step) string {
	if s.Unit != "%" {
		return fmt.Sprintf("%s %s → %.1f %%", sixDigits(s.Before), s.Unit, s.After)
	}
	if math.Abs(s.After-s.Before) < 0.005 {
		return fmt.Sprintf("%.1f %%, unchanged", s.After)
	}
	return fmt.Sprintf("%.1f → %.1f %% (%+.1f)", s.Before, s.After, s.After-s.Before)
}

// correctedText prints a corrected moisture with its standard deviation.
func correctedText(c moisture.Corrected) string {
	switch c.Range {
	case moisture.RangeBelow:
		return fmt.Sprintf("below the method's range (under %.0f %%)", c.Bound)
	case moisture.RangeAbove:
		return fmt.Sprintf("above the method's range (over %.0f %%)", c.Bound)
	}
	return fmt.Sprintf("%.1f ± %.1f %%", c.Percent, c.SD)
}

// guessText prints the likeliest woods of a guess.
func guessText(shares []moisture.SpeciesShare, most int) string {
	var parts []string
	rest := 1.0
	for _, s := range shares {
		if s.ID == "" || len(parts) == most {
			continue
		}
		parts = append(parts, fmt.Sprintf("%s %.0f %%", woodName(s.ID), 100*s.P))
		rest -= s.P
	}
	if rest > 0.005 {
		parts = append(parts, fmt.Sprintf("something else %.0f %%", 100*rest))
	}
	return strings.Join(parts, ", ")
}

// woodName is the common name of a species id.
func woodName(id string) string {
	if id == "" {
		return "something else"
	}
	s, err := wood.SpeciesByID(id)
	if err != nil {
		return id
	}
	return s.CommonName
}

// mostSteps bounds the readings whose steps one page shows.
const mostSteps = 20

// BoardSteps are the steps of a board's newest live readings.
func (p *boardPage) Steps() []stepsView {
	var out []stepsView
	for i := range p.Readings {
		r := p.Readings[i].Reading
		if p.Readings[i].Struck() || len(out) == mostSteps {
			continue
		}
		r.Species = p.Board.Species
		out = append(out, newSteps(momentText(p.Env, r.At), r, p.Board.Shares()))
	}
	return out
}

// loadSteps reads the newest reading of each board of a stack with its steps.
func (a *app) loadSteps(ctx context.Context, p *stackPage) error {
	readings, err := a.store.StackReadings(ctx, p.Stack)
	if err != nil {
		return err
	}
	newest := make(map[string]db.BoardReading)
	for _, r := range readings { // oldest first
		newest[r.BoardID] = r
	}
	for _, b := range p.Boards {
		r, read := newest[b.ID.String()]
		if !read || len(p.StackSteps) == mostSteps {
			continue
		}
		var guess []moisture.SpeciesShare
		if r.Species == "" {
			guess, _ = moisture.ParseGuess(r.Guess) // what was stored was read once
		}
		p.StackSteps = append(p.StackSteps, newSteps(b.Code+", "+momentText(p.Env, r.At), r.Reading, guess))
	}
	return nil
}
