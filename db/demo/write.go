package demo

import (
	"context"
	"fmt"

	"skepwood/db"
)

// Seed is the seed of the log that `skepwood demo` shows.
const Seed = 7

// Club is the invented club whose log it is.
const Club = "Nettlebank Beekeepers"

// Write puts the log into an empty book, with a few corrections and a struck
// entry as any real log has.
func Write(ctx context.Context, store *db.Store) error {
	keeper, err := store.Keeper(ctx)
	if err != nil {
		return err
	}
	if keeper.Name != Club {
		values := db.KeeperValues(keeper)
		values["name"] = Club
		values["home_latitude"], values["home_longitude"] = degrees(homeLat), degrees(homeLon)
		values["road_factor"], values["vehicle"] = roadFactor, vehicle
		if keeper, err = store.SaveKeeper(ctx, keeper.ID, keeper.Version, values); err != nil {
			return err
		}
	}
	report, err := store.Import(ctx, Sheets(store.Now(), Seed), db.ImportOptions{Keeper: keeper})
	if err != nil {
		return err
	}
	if report.FaultCount > 0 {
		return fmt.Errorf("the demonstration log has %d faults, the first: %s", report.FaultCount, report.Faults[0])
	}
	if err := amend(ctx, store, keeper); err != nil {
		return err
	}
	if err := build(ctx, store, keeper); err != nil {
		return err
	}
	return atTheBench(ctx, store, keeper)
}

// amend corrects one pickup and strikes one finding.
func amend(ctx context.Context, store *db.Store, keeper db.Keeper) error {
	env := keeper.Env(store.Now())
	sums, err := store.PickupSums(ctx)
	if err != nil {
		return err
	}
	last := sums[len(sums)-1]
	entry, err := db.Pickups.Load(ctx, store, last.ID, env)
	if err != nil {
		return err
	}
	if entry.Version == 1 {
		edit := db.Edit{ID: last.ID, Version: 1, Keeper: keeper.ID, Why: "odometer read again at home", Env: env}
		if _, err := db.Pickups.Correct(ctx, store, edit, map[string]string{"distance": "10.4", "minutes": "63"}); err != nil {
			return err
		}
	}
	lots, err := store.Lots(ctx, db.LotFilter{Verdicts: []string{"outside"}, Limit: 1})
	if err != nil || len(lots) == 0 {
		return err
	}
	note, err := db.Findings.Add(ctx, store, db.Base{KeeperID: keeper.ID}, map[string]string{"lot": lots[0].Code, "kind": "stain", "value": "oil"}, env)
	if err != nil {
		return err
	}
	return db.Findings.Strike(ctx, store, db.Edit{ID: note.ID, Version: 1, Keeper: keeper.ID, Why: "entered on the wrong lot", Env: env})
}
