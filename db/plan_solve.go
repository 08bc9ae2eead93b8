package db

import (
	"context"
	"errors"
	"time"

	"skepwood/analytics/cut"
)

// solve plans the shop and, where parts are missing, looks for the boards that
// would make them. The boards' defects leave the document once they are in
// the plan's instance.
func (d *PlanDocument) solve(ctx context.Context) error {
	if err := d.first(ctx); err != nil {
		return planFault(err)
	}
	err := within(ctx, stockTime, func(ctx context.Context) (err error) {
		d.Cut, err = cut.LeaveStock(ctx, d.Shop, d.Cut, cut.Options{GapGoal: stockGap})
		return err
	})
	if err == nil {
		err = d.arrange(ctx)
	}
	if err != nil {
		return planFault(err)
	}
	if ctx.Err() != nil {
		return ctx.Err() // whoever asked is gone
	}
	missing := 0
	for _, n := range d.Missing() {
		missing += n
	}
	if missing > 0 {
		if d.Extra, err = d.extra(ctx); err != nil {
			return planFault(err)
		}
	}
	d.forgetDefects()
	return ctx.Err()
}

// first makes the plan itself. A pattern that is searched slowly has half of the
// time, and the simpler ones that it contains the rest: each a third of what is
// left, the last two half, since those that come first find most where boards
// are many.
func (d *PlanDocument) first(ctx context.Context) error {
	simpler := d.Shop.Rules.Pattern.Simpler()
	most, rest := planTime, planTime/2
	if len(simpler) > 0 {
		most -= rest
	}
	err := within(ctx, most, func(ctx context.Context) (err error) {
		d.Cut, err = cut.PlanShop(ctx, d.Shop, cut.Options{GapGoal: planGap})
		return err
	})
	for i, pattern := range simpler {
		if err != nil {
			break
		}
		share := rest / time.Duration(min(3, len(simpler)-i))
		rest -= share
		err = within(ctx, share, func(ctx context.Context) (err error) {
			d.Cut, err = cut.SimplerShop(ctx, d.Shop, d.Cut, pattern, cut.Options{GapGoal: planGap})
			return err
		})
	}
	return err
}

// arrange moves the parts of each board for better offcuts.
func (d *PlanDocument) arrange(ctx context.Context) error {
	return within(ctx, moveTime, func(ctx context.Context) (err error) {
		d.Cut, err = cut.ArrangeShop(ctx, d.Shop, d.Cut, cut.Options{GapGoal: moveGap})
		return err
	})
}

// forgetDefects takes the boards' defects out of the document: the plan's
// instance has them.
func (d *PlanDocument) forgetDefects() {
	for i := range d.Shop.Boards {
		d.Shop.Boards[i].Defects = nil
	}
}

// within runs f with that much time.
func within(ctx context.Context, most time.Duration, f func(context.Context) error) error {
	timed, cancel := context.WithTimeout(ctx, most)
	defer cancel()
	return f(timed)
}

// addEdges counts what rounding took off the edges of the boards as waste of
// theirs.
func (d *PlanDocument) addEdges(boards []BuildBoard) {
	for _, b := range d.Cut.Boards {
		real, planned := &boards[b.Board], &d.Shop.Boards[b.Board]
		edges := real.Length.Metres()*real.Width.Metres() - planned.Length.Metres()*planned.Width.Metres()
		d.Cut.Stock += edges
		d.Cut.WasteArea += edges
	}
}

// planFault turns a shop that cannot be planned into a fault of the form.
func planFault(err error) error {
	if errors.Is(err, cut.ErrInstance) {
		return FieldErrors{{Problem: "cannot be planned: " + clip(err.Error()), Remedy: "change what is asked"}}
	}
	return err
}
