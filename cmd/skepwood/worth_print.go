package main

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"skepwood/analytics/yield"
)

func compareText(a, b string) int { return cmp.Compare(a, b) }

// parsePlace reads NAME, NAME:KIND or NAME:KIND:MILES.
func parsePlace(text string) (yield.Source, error) {
	parts := strings.SplitN(text, ":", 3)
	s := yield.Source{ID: strings.TrimSpace(parts[0])}
	if len(parts) > 1 {
		s.Kind = strings.TrimSpace(parts[1])
	}
	if len(parts) > 2 {
		miles, err := strconv.ParseFloat(strings.TrimSpace(parts[2]), 64)
		if err != nil || !(miles >= 0 && miles <= yield.MaxMiles) {
			return s, fmt.Errorf("--place: %q: give the miles as a number from 0 to %d", text, yield.MaxMiles)
		}
		s.Miles = miles
	}
	if s.ID == "" {
		return s, fmt.Errorf("--place: %q: begin with the name of the place", text)
	}
	return s, nil
}

// volumeUnits are m³ for one unit of each.
var volumeUnits = map[string]float64{"m3": 1, "bf": yield.CubicMetresPerBoardFoot, "ft3": 12 * yield.CubicMetresPerBoardFoot, "l": 0.001}

// printWorth lays the answers out for reading.
func printWorth(out io.Writer, a *worthAnswer, unit string) error {
	if len(a.Sources) == 0 {
		_, err := fmt.Fprintln(out, "No trip and no place: add a row for each drive, an empty-handed one too, or name a place with --place.\n1. Stay home.")
		return err
	}
	currency := a.Terms.Currency
	money := func(x float64) string { return yield.FormatMinor(x, currency) }
	several := len(a.Sources) > 1
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "source\ttrips\tnext trip, %s\t90 %% from\tto\tpays\tan hour\tempty\tusable %s\tbest\trank\t\n", currency, unit)
	for _, s := range a.Sources {
		hour := "-"
		if s.PerHour.Known {
			hour = money(s.PerHour.Value)
		}
		mark := ""
		if s.Contender && several {
			mark = "*"
		}
		fmt.Fprintf(w, "%s\t%d\t%s\t%s\t%s\t%.0f %%\t%s\t%.0f %%\t%.3g\t%.0f %%\t%.1f%s\t\n",
			s.SourceID, s.N, money(s.Next.Mean), money(s.Next.Most.Low), money(s.Next.Most.High), 100*s.Pays, hour,
			100*s.EmptyChance.Value, s.Usable.Mean/volumeUnits[unit], 100*s.BestChance, s.ExpectedRank, mark)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if several {
		fmt.Fprintln(out, "* cannot be told apart from the best at 90 %")
	}
	fmt.Fprintln(out)
	for _, s := range a.Sources {
		fmt.Fprintln(out, s.Sentence)
	}
	printAdvice(out, a)
	for _, text := range a.Assumed {
		fmt.Fprintf(out, "assumed: %s\n", text)
	}
	return nil
}

// mostChoices is how many choices for the next drive are printed.
const mostChoices = 3

// printAdvice prints the next drive, what would change the order, and how past
// forecasts did.
func printAdvice(out io.Writer, a *worthAnswer) {
	fmt.Fprintf(out, "\nnext drive, %d left in the season:\n", a.Next.Horizon)
	for i, c := range a.Next.Choices {
		if i < mostChoices || c.Home {
			fmt.Fprintf(out, "%3d. %s\n", i+1, c.Sentence)
		}
	}
	if text := flipText(a); text != "" {
		fmt.Fprintf(out, "\n%s and %s change places if %s.\n", a.Sources[0].SourceID, a.Sources[1].SourceID, text)
	}
	if a.LookBack != nil {
		fmt.Fprintf(out, "\nlooking back: %s\n", a.LookBack.Sentence)
	}
	fmt.Fprintln(out)
}

// flipText says at which values the first two sources change places.
func flipText(a *worthAnswer) string {
	currency := a.Terms.Currency
	var parts []string
	for _, f := range a.Flips {
		if !f.Exists {
			continue
		}
		at := yield.FormatMinor(f.At, currency) + " " + currency
		switch f.Term {
		case "mile":
			parts = append(parts, "a mile costs "+at)
		case "price":
			parts = append(parts, "a board foot costs "+yield.FormatMinor(f.At*yield.CubicMetresPerBoardFoot, currency)+" "+currency)
		case "hour":
			parts = append(parts, "an hour is worth "+at)
		case "lot_minutes":
			parts = append(parts, fmt.Sprintf("a lot takes %+.0f minutes", f.At))
		}
	}
	return strings.Join(parts, ", or ")
}
