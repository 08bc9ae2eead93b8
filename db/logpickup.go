package db

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// LoggedLot is a lot with what was found on it, as logged at the kerb.
type LoggedLot struct {
	Lot      Lot
	Findings []Finding
}

// LoggedPickup is a whole visit: the drive, its lots and their findings. Ids
// that are set make the entry idempotent: sent twice it is one entry.
type LoggedPickup struct {
	Pickup Pickup
	Lots   []LoggedLot
}

// NestedError is the faults of one part of a larger entry: the lot with this
// number, and the finding of it (or -1).
type NestedError struct {
	Lot, Finding int
	Faults       FieldErrors
	// Made says that the fault is a [MadeError]: the part needs a new id.
	Made bool
}

// Error names the part and its first fault.
func (e *NestedError) Error() string {
	return fmt.Sprintf("lot %d: %v", e.Lot+1, e.Faults)
}

// Unwrap gives access to the faults.
func (e *NestedError) Unwrap() error { return e.Faults }

// LogPickup stores a visit with its lots and findings in one transaction. It
// reports false where the pickup was in the book already; then nothing is
// added twice, while lots and findings that were missing are.
func (s *Store) LogPickup(ctx context.Context, in *LoggedPickup) (bool, error) {
	added := false
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		p := in.Pickup
		p.Base = s.fresh(p.Base)
		fresh, err := Pickups.insert(ctx, tx, &p)
		if err != nil {
			return err
		}
		added = fresh
		in.Pickup = p
		for i := range in.Lots {
			if err := s.logLot(ctx, tx, &p, &in.Lots[i], i); err != nil {
				return err
			}
		}
		return nil
	})
	return added, err
}

func (s *Store) logLot(ctx context.Context, tx pgx.Tx, p *Pickup, in *LoggedLot, at int) error {
	l := in.Lot
	l.Base = s.fresh(l.Base)
	l.KeeperID, l.Pickup = p.KeeperID, RefTo(p.ID)
	if p.Empty {
		return FieldErrors{{Field: "empty", Value: "yes", Problem: "contradicts the lots below", Remedy: "remove the lots, or leave this at no"}}
	}
	if _, err := Lots.insert(ctx, tx, &l); err != nil {
		return nested(err, at, -1)
	}
	in.Lot = l
	for j := range in.Findings {
		f := in.Findings[j]
		f.Base = s.fresh(f.Base)
		f.KeeperID, f.Lot = p.KeeperID, RefTo(l.ID)
		if _, err := Findings.insert(ctx, tx, &f); err != nil {
			return nested(err, at, j)
		}
		in.Findings[j] = f
	}
	return nil
}

func nested(err error, lot, finding int) error {
	var faults FieldErrors
	if errors.As(err, &faults) {
		var made *MadeError
		return &NestedError{Lot: lot, Finding: finding, Faults: faults, Made: errors.As(err, &made)}
	}
	return err
}
