package demo

import (
	"context"
	"fmt"
	"strings"

	"skepwood/analytics/wood"
	"skepwood/db"
)

// The club's first plan: two slatted racks and two entrance reducers from ten
// planed crate boards, of which some are cut, one gave less than planned, and
// the rest wait for the next evening.
const (
	buildBoards = 10
	buildSawn   = 3
)

// build makes the club's plan and cuts half of it.
func build(ctx context.Context, store *db.Store, keeper db.Keeper) error {
	env := keeper.Env(store.Now())
	codes, err := buildable(ctx, store)
	if err != nil || len(codes) == 0 {
		return err
	}
	asked, faults := db.ParsePlan(map[string]string{
		"name": "two slatted racks for the spring", "objective": "most_value", "rip_kerf": "1/8 in", "crosscut_kerf": "1/8 in", "end_trim": "1/2 in",
		"length_allowance": "1 in", "joint_allowance": "1/4 in", "plane_allowance": "1/8 in", "clearance": "1/4 in", "glue_strip": "3 1/2 in",
		"offcut_length": "12 in", "offcut_width": "1 1/2 in", "only": strings.Join(codes, " "), "notes": "after the winter feeding",
	}, env)
	if len(faults) > 0 {
		return fmt.Errorf("the demonstration's plan: %w", faults)
	}
	wants := []db.Want{{Kit: "slatted rack 10-frame", Count: 2}, {Kit: "floor solid 10-frame", Count: 1}}
	plan, err := store.MakePlan(ctx, db.Base{KeeperID: keeper.ID}, asked, wants, "the demonstration")
	if err != nil {
		return err
	}
	layouts, err := store.LayoutsOf(ctx, plan.ID)
	if err != nil {
		return err
	}
	return saw(ctx, store, layouts, db.Edit{Keeper: keeper.ID, Why: "an evening at the saw", Env: env})
}

// saw cuts boards as planned, and the last of them otherwise; one is left.
func saw(ctx context.Context, store *db.Store, layouts []db.PlanLayout, edit db.Edit) error {
	n := min(buildSawn, len(layouts)-1)
	for i, l := range layouts[:n] {
		edit.ID, edit.Version = l.ID, l.Version
		if i < n-1 || len(l.Pieces) < 2 {
			if err := store.SawBoard(ctx, edit); err != nil {
				return err
			}
			continue
		}
		got := db.Got{State: db.LayoutOtherwise, Said: "the last strip split at a hidden check"}
		for _, p := range l.Pieces[:len(l.Pieces)-1] {
			got.Pieces = append(got.Pieces, p.N)
		}
		if err := store.SawOtherwise(ctx, edit, got); err != nil {
			return err
		}
	}
	return nil
}

// buildable names dry swept boards thick enough to plane.
func buildable(ctx context.Context, store *db.Store) ([]string, error) {
	boards, err := store.Stock(ctx, db.StockFilter{Verdict: "inside", MinThickness: 7 * wood.Inch / 8, MaxThickness: wood.Inch, MaxPercent: db.UsualWettest(), Limit: 200})
	if err != nil {
		return nil, err
	}
	var codes []string
	for _, b := range boards {
		if b.Metal == "clean" && len(codes) < buildBoards {
			codes = append(codes, b.Code)
		}
	}
	return codes, nil
}
