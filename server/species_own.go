package server

import (
	"context"
	"fmt"
	"math"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// newestShown is how many of a wood's own boards its page lists.
const newestShown = 12

// dried is how one stack of a wood dried.
type dried struct {
	*db.DryingStack
	// Half says how long it took for half of the way to the air, with its 80 %
	// interval; Board is the mean thickness in the keeper's unit.
	Half, Board string
}

// loadOwn reads which boards of a wood were measured last, and how the stacks
// that hold nothing else dried.
func (a *app) loadOwn(ctx context.Context, page *speciesOnePage) error {
	var err error
	if page.Newest, err = a.store.MeasuredBoards(ctx, page.Species.ID, newestShown); err != nil {
		return err
	}
	stacks, err := a.store.Drying(ctx)
	if err != nil {
		return err
	}
	for i := range stacks {
		d := &stacks[i]
		if d.Wood.Species != page.Species.ID || d.Posterior == nil || d.Posterior.Visits < 2 {
			continue
		}
		page.Dried = append(page.Dried, dried{DryingStack: d, Half: halfText(d.Posterior.LogRate), Board: thicknessText(page.Env, d.Wood.ThicknessMM)})
	}
	return nil
}

// halfText says how many days half of the way takes, and its 80 % interval.
func halfText(rate moisture.Estimate) string {
	const z = 1.2815515655446004 // the standard normal quantile of 0.9
	days := func(logRate float64) float64 { return math.Ln2 / math.Exp(logRate) }
	return fmt.Sprintf("%.0f days (%.0f to %.0f)", days(rate.Mean), days(rate.Mean+z*rate.SD), days(rate.Mean-z*rate.SD))
}

// thicknessText prints a mean thickness, which is seldom a whole fraction.
func thicknessText(env db.Env, mm float64) string {
	if env.Length == "mm" {
		return fmt.Sprintf("%.0f mm", mm)
	}
	return fmt.Sprintf("%.2f in", mm/25.4)
}
