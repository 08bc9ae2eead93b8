package db

import (
	"context"
	"sort"

	"github.com/google/uuid"

	"skepwood/analytics/yield"
)

// RankedSource is a source with what its pickups brought.
type RankedSource struct {
	ID         uuid.UUID
	Name, Kind string
	// Plain is nil where no pickup with known wood is logged yet.
	*yield.Plain
	// Outcome is the wood of all its pickups.
	Outcome Outcome
	// Unmeasured counts pickups whose wood nobody has measured or estimated.
	Unmeasured int
}

// Ranking is every live source, the best net value of a pickup first; page,
// command and chart all read it from here.
type Ranking struct {
	Currency string
	Sources  []RankedSource
	// Trips are the pickups the figures rest on, oldest first.
	Trips []yield.Pickup
	// Prices are the dated figures they were valued with.
	Prices yield.Prices
}

// Ranking values every pickup and adds them up by source.
func (s *Store) Ranking(ctx context.Context, currency string) (*Ranking, error) {
	sources, err := s.SourceList(ctx)
	if err != nil {
		return nil, err
	}
	sums, err := s.PickupSums(ctx)
	if err != nil {
		return nil, err
	}
	out := &Ranking{Currency: currency}
	if out.Prices, err = s.Prices(ctx, currency); err != nil {
		return nil, err
	}
	place := make(map[uuid.UUID]int, len(sources))
	for i, src := range sources {
		place[src.ID] = i
		out.Sources = append(out.Sources, RankedSource{ID: src.ID, Name: src.Name, Kind: src.Kind})
	}
	for _, p := range sums {
		r := &out.Sources[place[p.SourceID]]
		r.Outcome.addAll(p.Outcome)
		if !p.Empty && p.Gross() == 0 {
			r.Unmeasured++
			continue
		}
		out.Trips = append(out.Trips, p.Trip(r.Kind))
	}
	if err := out.value(); err != nil {
		return nil, err
	}
	return out, nil
}

// value adds the plain figures and sorts.
func (r *Ranking) value() error {
	plains, err := yield.PlainFigures(r.Trips, r.Prices)
	if err != nil {
		return err
	}
	byID := make(map[string]*yield.Plain, len(plains))
	for i := range plains {
		byID[plains[i].SourceID] = &plains[i]
	}
	for i := range r.Sources {
		r.Sources[i].Plain = byID[r.Sources[i].ID.String()]
	}
	sort.SliceStable(r.Sources, func(i, j int) bool {
		a, b := r.Sources[i].Plain, r.Sources[j].Plain
		if a == nil || b == nil {
			return a != nil
		}
		return a.PerPickup.Value > b.PerPickup.Value
	})
	return nil
}

func (o *Outcome) addAll(p Outcome) {
	to, from := o.fields(), p.fields()
	for i := range to {
		*to[i] += *from[i]
	}
}
