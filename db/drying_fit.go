package db

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/google/uuid"

	"skepwood/analytics/moisture"
)

// fitStacks fits each stack: those taken down by the tables alone, the others
// by what those taught. Stacks do not know of each other while they are
// fitted, so every processor takes some.
func fitStacks(stacks []DryingStack, only uuid.UUID) error {
	err := eachStack(stacks, func(d *DryingStack) error {
		if d.Standing() || d.Struck() {
			return nil
		}
		return d.curve(moisture.PriorFor(d.Wood))
	})
	if err != nil {
		return err
	}
	var past []moisture.PastStack
	for i := range stacks {
		d := &stacks[i]
		if d.Standing() || d.Struck() || d.Posterior == nil || d.ID == only {
			continue
		}
		if rate, ok := d.Posterior.RateLikelihood(); ok {
			past = append(past, moisture.PastStack{Rate: rate, Wood: d.Wood, Place: d.Stands, Cover: d.Under})
		}
	}
	pooled, err := moisture.Pool(past)
	if err != nil {
		return err
	}
	priors := sharedPriors{pooled: pooled, known: make(map[priorKey]moisture.RatePrior)}
	return eachStack(stacks, func(d *DryingStack) error {
		if !d.Standing() && d.ID != only && !d.Struck() {
			return nil // it taught; no page asks when it will be ready
		}
		d.Earlier = len(past)
		if err := d.curve(priors.of(d)); err != nil {
			return err
		}
		return d.dates()
	})
}

// eachStack does something to every stack, on all processors at once, and
// returns the fault of the first stack that had one.
func eachStack(stacks []DryingStack, do func(*DryingStack) error) error {
	faults := make([]error, len(stacks))
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(stacks)) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(stacks); i = int(next.Add(1)) - 1 {
				faults[i] = do(&stacks[i])
			}
		})
	}
	workers.Wait()
	for i, err := range faults {
		if err != nil {
			return fmt.Errorf("stack %s: %w", stacks[i].Name, err)
		}
	}
	return nil
}

// sharedPriors works out once what stacks of the same wood, thickness, place
// and cover have in common.
type sharedPriors struct {
	pooled *moisture.Pooled
	mu     sync.Mutex
	known  map[priorKey]moisture.RatePrior
}

type priorKey struct {
	species, place, cover string
	thicknessMM           float64
}

// of returns the prior of a stack; mixed and guessed woods share none.
func (p *sharedPriors) of(d *DryingStack) (moisture.RatePrior, error) {
	stack := moisture.NewStack{Wood: d.Wood, Place: d.Stands, Cover: d.Under}
	if len(d.Wood.Guess) > 0 {
		return p.pooled.Prior(stack)
	}
	key := priorKey{d.Wood.Species, d.Stands, d.Under, d.Wood.ThicknessMM}
	p.mu.Lock()
	defer p.mu.Unlock()
	if prior, ok := p.known[key]; ok {
		return prior, nil
	}
	prior, err := p.pooled.Prior(stack)
	if err == nil {
		p.known[key] = prior
	}
	return prior, err
}

// curve draws the curve through the observations; without any there is none.
func (d *DryingStack) curve(prior moisture.RatePrior, err error) error {
	if err != nil {
		return err
	}
	d.Prior, d.Posterior = prior, nil
	p, err := moisture.Fit(moisture.FitInput{Obs: d.Obs, Climate: d.Climate, Prior: prior})
	if errors.Is(err, moisture.ErrNoReadings) {
		return nil
	}
	d.Posterior = p
	return err
}

// dates reads from the curve when the stack is ready and is read next.
func (d *DryingStack) dates() error {
	if d.Posterior == nil {
		return nil
	}
	var err error
	if d.Dates, err = d.Posterior.Ready(d.Target.Mean()); err != nil {
		return err
	}
	d.Next = d.Posterior.NextReading(d.Dates)
	return nil
}
