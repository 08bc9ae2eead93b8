package moisture

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// PastStack is what an earlier stack of the book teaches: how fast it dried
// and what it had in common with the next one.
type PastStack struct {
	// Rate is what its own readings say about ln k: Posterior.RateLikelihood.
	Rate Estimate
	// Wood is what its table prior is worked out from.
	Wood PriorInput
	// Place and Cover are compared with the new stack's as they are written.
	Place, Cover string
}

// NewStack is the stack a pooled prior is wanted for.
type NewStack struct {
	Wood         PriorInput
	Place, Cover string
}

// Pooled is the book's experience of drying, ready to give priors.
type Pooled struct {
	stacks []PastStack
	tables []RatePrior
	fits   []pooledFit
}

// pooledFit is the solved system for one size of the stack-to-stack spread.
type pooledFit struct {
	weight float64
	spread float64
	chol   mat.Cholesky
	alpha  *mat.VecDense
}

// How the departures of a stack's ln k from its table prior are shared out:
// standard deviations of what the whole book, a place and a cover have in
// common. What the table prior's spread leaves over belongs to the species.
// Common practice, no source; the stack-to-stack spread is estimated.
const (
	bookSD  = 0.30
	placeSD = 0.25
	coverSD = 0.15
	// usualStackSD is the stack-to-stack spread expected before any stack was
	// seen, and the scale of its half-normal prior.
	usualStackSD   = 0.15
	leastSpeciesSD = 0.05
)

// stackSpreads are the sizes of the stack-to-stack spread that are averaged
// over.
var stackSpreads = []float64{0.05, 0.10, 0.15, 0.20, 0.30, 0.40, 0.55}

// maxPooled bounds the system that is solved; the last ones given are used.
const maxPooled = 300

// Pool learns from earlier stacks: their departures from the table priors are
// jointly normal, with a part common to the book, to a place, to a cover and to
// a species (partial pooling; Gelman and others, Bayesian Data Analysis, ch. 5
// and 15). No stacks at all is no error: the priors are then the tables'. A
// stack whose rate is no estimate is ErrSetting.
func Pool(stacks []PastStack) (*Pooled, error) {
	if len(stacks) > maxPooled {
		stacks = stacks[len(stacks)-maxPooled:]
	}
	p := &Pooled{stacks: stacks, tables: make([]RatePrior, len(stacks))}
	for i, s := range stacks {
		table, err := PriorFor(s.Wood)
		if err != nil {
			return nil, fmt.Errorf("earlier stack %d: %w", i+1, err)
		}
		if !finite(s.Rate.Mean) || !(s.Rate.SD > 0) || math.IsInf(s.Rate.SD, 1) {
			return nil, &InputError{"drying rate", i, s.Rate.Mean, ErrSetting, "leave out stacks whose readings say nothing"}
		}
		p.tables[i] = table
	}
	if len(stacks) > 0 {
		p.solve()
	}
	return p, nil
}

// solve factorizes the system for every spread and weighs the spreads by their
// marginal likelihood.
func (p *Pooled) solve() {
	n := len(p.stacks)
	departures := mat.NewVecDense(n, nil)
	common := mat.NewSymDense(n, nil)
	for i := range n {
		// What is pooled is the departure from the table, so that oak teaches pine
		// how fast this barn dries, not how fast pine does.
		departures.SetVec(i, p.stacks[i].Rate.Mean-p.tables[i].MeanLog)
		for j := i; j < n; j++ {
			common.SetSym(i, j, p.covariance(i, NewStack{p.stacks[j].Wood, p.stacks[j].Place, p.stacks[j].Cover}, p.tables[j]))
		}
	}
	best := math.Inf(-1)
	for _, spread := range stackSpreads {
		system := mat.NewSymDense(n, nil)
		system.CopySym(common)
		for i := range n {
			system.SetSym(i, i, common.At(i, i)+square(spread)+square(p.stacks[i].Rate.SD))
		}
		fit := pooledFit{spread: spread, alpha: mat.NewVecDense(n, nil)}
		if !fit.chol.Factorize(system) {
			continue // cannot be: spread and error are on the diagonal
		}
		if err := fit.chol.SolveVecTo(fit.alpha, departures); err != nil {
			continue
		}
		// Log marginal likelihood, up to a constant, and half-normal prior.
		fit.weight = -(mat.Dot(departures, fit.alpha)+fit.chol.LogDet())/2 - square(spread/usualStackSD)/4
		best = max(best, fit.weight)
		p.fits = append(p.fits, fit)
	}
	var total float64
	for i := range p.fits {
		p.fits[i].weight = math.Exp(p.fits[i].weight - best)
		total += p.fits[i].weight
	}
	for i := range p.fits {
		p.fits[i].weight /= total
	}
}

// covariance is what stack i's departure has in common with another stack's.
func (p *Pooled) covariance(i int, other NewStack, table RatePrior) float64 {
	s := &p.stacks[i]
	v := bookSD * bookSD
	if s.Place == other.Place {
		v += placeSD * placeSD
	}
	if s.Cover == other.Cover {
		v += coverSD * coverSD
	}
	if s.Wood.Species == other.Wood.Species && s.Wood.Species != "" {
		v += speciesVariance(min(p.tables[i].SDLog, table.SDLog))
	}
	return v
}

// speciesVariance is what is left of a table prior's spread for the species
// itself.
func speciesVariance(tableSD float64) float64 {
	rest := square(tableSD) - square(bookSD) - square(placeSD) - square(coverSD) - square(usualStackSD)
	return max(rest, square(leastSpeciesSD))
}

// Prior returns the rate prior of a new stack: the table's, moved by what the
// book's earlier stacks showed, and never wider than the table's.
func (p *Pooled) Prior(s NewStack) (RatePrior, error) {
	table, err := PriorFor(s.Wood)
	if err != nil || len(p.fits) == 0 {
		return table, err
	}
	n := len(p.stacks)
	k := mat.NewVecDense(n, nil)
	for i := range n {
		k.SetVec(i, p.covariance(i, s, table))
	}
	own := square(bookSD) + square(placeSD) + square(coverSD) + speciesVariance(table.SDLog)
	var mean, second float64
	solved := mat.NewVecDense(n, nil)
	for i := range p.fits {
		f := &p.fits[i]
		if err := f.chol.SolveVecTo(solved, k); err != nil {
			return table, fmt.Errorf("pooling: %w", err)
		}
		m := mat.Dot(k, f.alpha)
		v := max(own-mat.Dot(k, solved), 0) + square(f.spread)
		mean, second = mean+f.weight*m, second+f.weight*(m*m+v)
	}
	out := table
	out.MeanLog += mean
	// Never wider than the table: a few odd stacks must not make the book know
	// less than nothing.
	out.SDLog = min(math.Sqrt(max(second-mean*mean, 1e-6)), table.SDLog)
	out.Note = fmt.Sprintf("%s; moved by %d earlier stacks of the book", table.Note, n)
	return out, nil
}
