package db

import (
	"context"
	"errors"
	"slices"
	"sort"
	"time"

	"github.com/google/uuid"

	"skepwood/analytics/yield"
)

// RankedSource is a source with what its pickups brought.
type RankedSource struct {
	ID         uuid.UUID
	Name, Kind string
	// Plain is what was: nil where no pickup with known wood is logged yet.
	*yield.Plain
	// Answer is what to expect of the next trip; a source without trips has what
	// is expected of its kind. It is nil where Ranking.Next is.
	Answer *yield.Answer
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
	// LeftOut are pickups that cannot be true and that nothing rests on.
	LeftOut []LeftOut
	// places are the live sources as the analysis takes them.
	places []yield.Source
	// Next is the outlook on drives to come; where there is none it is nil, and
	// Why says so in a sentence.
	Next *Outlook
	Why  string
}

// LeftOut is a pickup that cannot be true, such as one of 40,000 miles that an old
// sheet brought: what is wrong with it and what to do, in words.
type LeftOut struct {
	ID     uuid.UUID
	Source string
	Day    time.Time
	Why    string
}

// leaveOut notes a pickup that cannot be true and reports whether it is one. One slip
// of the pen must not take the answers away from all others.
func (r *Ranking) leaveOut(p *PickupSum, name string, trip *yield.Pickup) bool {
	var fault *yield.PickupError
	if !errors.As(yield.CheckPickup(0, *trip), &fault) {
		return false
	}
	r.LeftOut = append(r.LeftOut, LeftOut{ID: p.ID, Source: name, Day: p.Day, Why: fault.Field + ": " + fault.What + ": " + fault.Help})
	return true
}

// Ranking values every pickup, adds them up by source, and asks the model what
// the next trip to each brings. A model that cannot answer is no error: the plain
// figures stand, and Ranking.Why says what is missing.
func (s *Store) Ranking(ctx context.Context, currency string) (*Ranking, error) {
	sources, err := s.SourceList(ctx)
	if err != nil {
		return nil, err
	}
	out := &Ranking{Currency: currency}
	figures, err := s.Figures(ctx)
	if err != nil {
		return nil, err
	}
	out.Prices = pricesIn(figures, currency)
	if err := foreign(figures, out.Prices, currency); err != nil {
		return nil, err
	}
	place, texts := make(map[uuid.UUID]int, len(sources)), make([]string, len(sources))
	for i, src := range sources {
		place[src.ID], texts[i] = i, src.ID.String()
		out.Sources = append(out.Sources, RankedSource{ID: src.ID, Name: src.Name, Kind: src.Kind})
	}
	err = s.eachPickupSum(ctx, func(p *PickupSum) {
		i, known := place[p.SourceID]
		if !known {
			return // entered since the sources were read: the next look shows it
		}
		r := &out.Sources[i]
		if !p.Empty && p.Gross() == 0 {
			r.Unmeasured++
			return
		}
		trip := p.trip(texts[i], r.Kind)
		if out.leaveOut(p, r.Name, &trip) {
			return
		}
		r.Outcome.addAll(&p.Outcome)
		if len(out.Trips) == cap(out.Trips) { // append grows by quarters, and would copy a large book five times
			out.Trips = slices.Grow(out.Trips, max(256, len(out.Trips)))
		}
		out.Trips = append(out.Trips, trip)
	})
	if err != nil {
		return nil, err
	}
	if err := out.value(); err != nil {
		return nil, &namedError{error: err, text: out.Named(err.Error())}
	}
	keeper, err := s.Keeper(ctx)
	if err != nil {
		return nil, err
	}
	out.expect(ComingSaturday(keeper.Env(s.Now())), sources)
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

func (o *Outcome) addAll(p *Outcome) {
	to, from := o.fields(), p.fields()
	for i := range to {
		*to[i] += *from[i]
	}
}
