package db

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// MergeSource counts every live pickup of the source edit.ID to the source into
// and strikes the former: two entries were one place. Each pickup keeps in its
// history where it stood; a second visit of one day becomes the next visit. It
// returns how many pickups moved. Faults come as FieldErrors, a change made
// meanwhile as a *ConflictError.
func (s *Store) MergeSource(ctx context.Context, edit Edit, into uuid.UUID) (moved int, err error) {
	now := s.Now()
	err = s.Tx(ctx, func(tx pgx.Tx) error {
		from, err := lockedSource(ctx, tx, edit)
		if err != nil {
			return err
		}
		if into == edit.ID {
			return FieldErrors{{Field: "into", Value: from.Name, Problem: "is the source itself", Remedy: "choose another one"}}
		}
		if _, err := tx.Exec(ctx, "SELECT 1 FROM source WHERE id = $1 FOR UPDATE", into); err != nil {
			return err
		}
		target, err := Sources.one(ctx, tx, into)
		if err != nil {
			return err
		}
		if target.Struck() {
			return FieldErrors{{Field: "into", Value: target.Name, Problem: "is struck through", Remedy: "restore it first, or choose another one"}}
		}
		trips, err := livePickups(ctx, tx, edit.ID)
		if err != nil {
			return err
		}
		why := clipWhy("merged into " + target.Name + ": " + edit.Why)
		if err := movePickups(ctx, tx, moveOptions{trips: trips, to: into, edit: edit, why: why, now: now}); err != nil {
			return err
		}
		moved = len(trips)
		edit.Why = why
		return Sources.strike(ctx, tx, edit, ActionStruck, now)
	})
	return moved, err
}

// Split says how one source is parted in two.
type Split struct {
	// Fresh is the id of the new source, Name what it is called.
	Fresh uuid.UUID
	Name  string
	// Pickups are those that were visits to it.
	Pickups []uuid.UUID
}

// SplitSource enters a new source of the same kind and counts the chosen
// pickups of the source edit.ID to it: one entry was two places. Who may say yes
// and the permission are not copied: they belong to a place. Faults come as
// FieldErrors, a change made meanwhile as a *ConflictError.
func (s *Store) SplitSource(ctx context.Context, edit Edit, split Split) error {
	now := s.Now()
	return s.Tx(ctx, func(tx pgx.Tx) error {
		from, err := lockedSource(ctx, tx, edit)
		if err != nil {
			return err
		}
		trips, err := livePickups(ctx, tx, edit.ID)
		if err != nil {
			return err
		}
		chosen, faults := choose(trips, split.Pickups)
		if len(faults) > 0 {
			return faults
		}
		var fresh Source
		if faults := Sources.Parse(&fresh, map[string]string{"name": split.Name, "kind": from.Kind, "cargo": from.Cargo}, edit.Env); len(faults) > 0 {
			return faults
		}
		fresh.Base = s.fresh(Base{ID: split.Fresh, KeeperID: edit.Keeper})
		if _, err := Sources.insert(ctx, tx, &fresh); err != nil {
			return err
		}
		why := clipWhy("split from " + from.Name + ": " + edit.Why)
		if err := movePickups(ctx, tx, moveOptions{trips: chosen, to: fresh.ID, edit: edit, why: why, now: now}); err != nil {
			return err
		}
		edit.Why = clipWhy("split, new source " + fresh.Name + ": " + edit.Why)
		counts := []Change{{Field: "pickups", Old: strconv.Itoa(len(trips)), New: strconv.Itoa(len(trips) - len(chosen))}}
		return Sources.remember(ctx, tx, edit, ActionCorrected, counts, now)
	})
}

// lockedSource reads a live source for a merge or split.
func lockedSource(ctx context.Context, tx pgx.Tx, edit Edit) (Source, error) {
	src, err := Sources.locked(ctx, tx, edit)
	if err != nil {
		return src, err
	}
	if faults := edit.check(); len(faults) > 0 {
		return src, faults
	}
	if src.Struck() {
		return src, FieldErrors{{Value: src.Name, Problem: "the source is struck through", Remedy: "restore it first"}}
	}
	return src, nil
}

// placedPickup is what moving a pickup needs.
type placedPickup struct {
	ID      uuid.UUID
	Version int
	Day     time.Time
}

func livePickups(ctx context.Context, tx pgx.Tx, source uuid.UUID) ([]placedPickup, error) {
	rows, err := tx.Query(ctx, `SELECT id, version, day FROM pickup WHERE source_id = $1 AND struck_at IS NULL ORDER BY day, visit, id FOR UPDATE`, source)
	if err != nil {
		return nil, fmt.Errorf("read the pickups to move: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[placedPickup])
}

// choose returns those of trips that are named.
func choose(trips []placedPickup, named []uuid.UUID) ([]placedPickup, FieldErrors) {
	wanted := make(map[uuid.UUID]bool, len(named))
	for _, id := range named {
		wanted[id] = true
	}
	var chosen []placedPickup
	for _, p := range trips {
		if wanted[p.ID] {
			chosen = append(chosen, p)
		}
	}
	switch {
	case len(chosen) == 0:
		return nil, FieldErrors{{Field: "pickups", Problem: "none is chosen", Remedy: "tick the pickups that belong to the other place"}}
	case len(chosen) < len(wanted):
		return nil, FieldErrors{{Field: "pickups", Problem: "one is no longer a pickup of this source", Remedy: "open the page again"}}
	}
	return chosen, nil
}

type moveOptions struct {
	trips []placedPickup
	to    uuid.UUID
	edit  Edit
	why   string
	now   time.Time
}

// movePickups corrects the source of each pickup; a visit number that is taken
// there on that day is counted up.
func movePickups(ctx context.Context, tx pgx.Tx, o moveOptions) error {
	for _, p := range o.trips {
		var taken int
		err := tx.QueryRow(ctx, `SELECT coalesce(max(visit), 0) FROM pickup WHERE source_id = $1 AND day = $2 AND struck_at IS NULL`, o.to, p.Day).Scan(&taken)
		if err != nil {
			return fmt.Errorf("count the visits of a day: %w", err)
		}
		edit := o.edit
		edit.ID, edit.Version, edit.Why = p.ID, p.Version, o.why
		values := map[string]string{"source": o.to.String()}
		if taken > 0 {
			values["visit"] = strconv.Itoa(taken + 1)
		}
		if _, err := Pickups.correct(ctx, tx, edit, values, o.now); err != nil {
			return fmt.Errorf("move the pickup of %s: %w", p.Day.Format(time.DateOnly), err)
		}
	}
	return nil
}

// clipWhy keeps a reason within what the history takes.
func clipWhy(why string) string {
	const most = 2000
	if r := []rune(why); len(r) > most {
		return string(r[:most])
	}
	return why
}
