package yield

import (
	"fmt"
	"math"
	"sync"
	"time"
)

// Source is a place that may be driven to, with or without trips so far.
type Source struct {
	ID   string `json:"id"`
	Kind string `json:"kind,omitempty"`
	// Miles are the extra miles of the next trip; 0 takes the mean of past trips,
	// or of the book where there is none.
	Miles float64 `json:"miles,omitempty"`
	// Cash is what the next trip is expected to cost; nothing takes the mean of
	// past trips.
	Cash Money `json:"cash,omitzero"`
}

// Options are the choices of an analysis; the zero value needs only Today and
// Prices.
type Options struct {
	Today   time.Time // the day of the next drive; required
	Prices  Prices    // for the value of past trips and, on Today, of the next
	Sources []Source  // places to answer for besides those in the book
	Seed    uint64    // of the draws that rank; any value
	Draws   int       // for ranking, 100 to 100,000; 0 means 1,000; with n over 200 sources at most 200,000/n, at least 200
	Horizon int       // drives left in the season, 1 to 1,000; 0 means 30
}

// Model is what a book of pickups has taught about its sources. It is immutable
// and safe for concurrent use.
type Model struct {
	opts     Options
	terms    Terms
	sources  []sourceFit
	clock    clock
	timed    bool    // some trip has minutes
	guess    string  // what no trip of the book has told yet, in words
	shopPer  float64 // shop minutes per m³
	season   season
	grouped  bool
	changing float64
}

// sourceFit is what the model knows of one source, free of prices.
type sourceFit struct {
	id, kind            string
	n, empty, estimated int
	told                int // trips that came home empty or have some of their wood decided
	last                time.Time
	miles, cash         float64
	heldShare           float64 // of the volume so far
	lotsPer             float64 // lots per m³
	drift               Drift
	chance              chance
	volume, time        outlook
	share               fraction // usable share of the decided volume
	inside              fraction // of the usable volume, what is usable inside
	volumes, paces      table    // of the next trip that brings anything, and of any trip
	// The next trip that brings something usable, on the lattice.
	shares, insides, pace [latticePoints]float64
}

// Beliefs before any trip is seen; common practice, no source. Volumes are
// logs of m³: about 0.15 m³, four or five pallets, give or take a factor of four.
// Shares are arc sines of square roots, low ones rarer than high ones: most of a
// load is usable or, at times, much of it is not; minutes are logs of the ratio to the clock.
var (
	volumePrior = tierPrior{mean: math.Log(0.15), meanSD: 1.4, noise: 0.75, ratio: 0.3, kinds: 0.2, drifts: true}
	sharePrior  = tierPrior{mean: angle(0.5), meanSD: 0.35, noise: 0.22, ratio: 0.3, kinds: 0.2, skew: -0.5, drifts: true}
	insidePrior = tierPrior{mean: angle(0.7), meanSD: 0.4, noise: 0.3, ratio: 0.3, kinds: 0.2}
	timePrior   = tierPrior{mean: 0, meanSD: 0.5, noise: 0.3, ratio: 0.3, kinds: 0.2}
)

// Fit learns from pickups in any order. The error wraps ErrPickup, ErrOption,
// ErrCurrency or ErrNoRate.
func Fit(pickups []Pickup, opts Options) (*Model, error) {
	opts, err := opts.complete()
	if err != nil {
		return nil, err
	}
	terms, err := opts.Prices.On(opts.Today)
	if err != nil {
		return nil, fmt.Errorf("prices of the next drive: %w", err)
	}
	b, err := newBook(pickups, opts, terms)
	if err != nil {
		return nil, err
	}
	m := &Model{opts: opts, terms: terms, sources: b.sources, grouped: b.grouped()}
	m.guess = b.guess()
	m.learn(b)
	return m, nil
}

// complete fills in defaults and checks ranges.
func (o Options) complete() (Options, error) {
	if o.Today.IsZero() {
		return o, fmt.Errorf("%w: no day of the next drive: set Today", ErrOption)
	}
	if o.Draws == 0 {
		o.Draws = 1000
	}
	if o.Draws < 100 || o.Draws > 100_000 {
		return o, fmt.Errorf("%w: %d draws: use 100 to 100,000", ErrOption, o.Draws)
	}
	if o.Horizon == 0 {
		o.Horizon = 30
	}
	if o.Horizon < 1 || o.Horizon > 1000 {
		return o, fmt.Errorf("%w: a season of %d drives: use 1 to 1,000", ErrOption, o.Horizon)
	}
	return o, nil
}

// parts are the fitted parts of a trip's outcome.
type parts struct {
	brings, alive                  *chances
	volume, share, inside, minutes *tier
	decided                        float64 // m³ of a typical trip
}

// learn fits every part of a trip's outcome; they share nothing, so they are
// fitted at once.
func (m *Model) learn(b *book) {
	var p parts
	var wait sync.WaitGroup
	wait.Go(func() {
		p.brings = fitChances(b.drives(func(h *haul) (hit bool, w float64) { return h.volume > 0, 1 }), bringsPrior, m.grouped)
	})
	wait.Go(func() {
		p.alive = fitChances(b.drives(func(h *haul) (hit bool, w float64) {
			switch {
			case h.usable > tinyVolume: // whatever becomes of the rest
				return true, 1
			case h.volume == 0:
				return false, 0
			}
			// A load of which nothing is usable so far is of no use by as much as is decided.
			return false, h.decided() / h.volume
		}), usablePrior, m.grouped)
	})
	wait.Go(func() {
		volumes := b.series(func(h *haul) (y, w float64, ok bool) { return math.Log(h.volume), 1, h.volume > 0 })
		m.season = fitSeason(volumes)
		m.season.remove(volumes)
		p.volume = fitTier(volumes, volumePrior, m.grouped)
	})
	wait.Go(func() {
		p.decided = b.typical((*haul).decided)
		p.share = fitTier(b.series(func(h *haul) (y, w float64, ok bool) {
			if h.usable <= tinyVolume {
				return 0, 0, false
			}
			v := h.decided()
			return angle(h.usable / v), weigh(v, p.decided) * v / h.volume, true
		}), sharePrior, m.grouped)
	})
	wait.Go(func() {
		usable := b.typical(func(h *haul) float64 { return h.usable })
		p.inside = fitTier(b.series(func(h *haul) (y, w float64, ok bool) {
			if h.usable <= tinyVolume {
				return 0, 0, false
			}
			return angle(h.inside / h.usable), weigh(h.usable, usable), true
		}), insidePrior, m.grouped)
	})
	wait.Go(func() {
		m.clock, m.timed = b.clock()
		m.shopPer = b.shopPer()
		p.minutes = fitTier(b.series(func(h *haul) (y, w float64, ok bool) {
			return math.Log(h.minutes / m.clock.minutes(h.miles, h.volume)), 1, h.minutes > 0
		}), timePrior, m.grouped)
	})
	wait.Wait()
	m.changing = 1 - p.volume.steady*p.share.steady*p.brings.steady
	height, doubt := m.season.at(b.today)
	recent := p.volume.recent()
	inParts(len(m.sources), func(from, to int) {
		for i := from; i < to; i++ {
			m.sources[i].look(i, &p, height, doubt)
			m.sources[i].drift = Drift{Chance: m.changing, Recent: recent, Shift: math.Exp(m.sources[i].volume.shift)}
		}
	})
}

// look fills in what the parts say of source i today, with the season's height
// and the doubt about it.
func (s *sourceFit) look(i int, p *parts, height, doubt float64) {
	s.chance = p.brings.at(i)
	s.volume = p.volume.at(i, 1)
	s.volume.add(height, doubt)
	shares, insides := p.share.at(i, weigh(math.Exp(s.volume.level), p.decided)), p.inside.at(i, 1)
	s.share, s.inside = shares.fraction(), insides.fraction()
	s.share.dampen(p.alive.at(i))
	s.time = p.minutes.at(i, 1)
	s.time.exponentiate()
	s.volumes, s.paces = s.volume.table(), s.time.table()
	share, inside, pace := shares.next(), insides.next(), s.time.next()
	for k := range latticePoints {
		s.shares[k] = unangle(share.at(lattice[0][k]))
		s.insides[k] = unangle(inside.at(lattice[1][k]))
		s.pace[k] = math.Exp(pace.at(lattice[2][k]))
	}
}

// tinyVolume is a volume below which a share says nothing: a splinter.
const tinyVolume = 1e-6

// weigh lets a van load say more about shares than a single pallet, but not in
// proportion. It is the weight of a share over volume v where a typical one is typical:
// half of the variance between trips of a source falls with the volume (more
// lots), half does not (the goods of that day). Common practice, no source.
func weigh(v, typical float64) float64 {
	if typical == 0 {
		return 1
	}
	return 2 * v / (v + typical)
}

// angle is the variance-stabilising arc sine of the square root of a share.
func angle(share float64) float64 {
	return math.Asin(math.Sqrt(min(max(share, 0), 1)))
}

// unangle is its inverse; values beyond the ends are none or all.
func unangle(z float64) float64 {
	s := math.Sin(min(max(z, 0), math.Pi/2))
	return s * s
}

// recent is what a trip a year ago weighs against one today.
func (f *tier) recent() float64 {
	var sum float64
	for _, n := range f.nodes {
		if n.memory == 0 {
			sum += n.weight
		} else {
			sum += n.weight * math.Exp(-1/n.memory)
		}
	}
	return sum
}

// add shifts the level by a known height of the given variance.
func (o *outlook) add(height, variance float64) {
	o.level += height
	o.levelVar += variance
	o.nextVar += variance
	o.exponentiate()
}

// fraction is a share between 0 and 1: mean, variance of the next trip's and of
// the source's own mean.
type fraction struct {
	dead     float64 // chance that nothing of a load can be used
	mean     float64
	nextVar  float64
	levelVar float64
	resolves float64 // share of levelVar that one more trip resolves
	common   float64
}

// fraction turns an outlook on the angle scale into shares.
func (o outlook) fraction() fraction {
	var f fraction
	var second float64
	next := o.next()
	for k, z := range coarse.z {
		u := unangle(next.at(z))
		f.mean += coarse.w[k] * u
		second += coarse.w[k] * u * u
	}
	f.nextVar = math.Max(0, second-f.mean*f.mean)
	noise := math.Sqrt(math.Max(0, o.nextVar-o.levelVar))
	meanAt := func(level float64) float64 {
		var sum float64
		for k, z := range coarse.z {
			sum += coarse.w[k] * unangle(level+noise*z)
		}
		return sum
	}
	// Three points of Gauss and Hermite carry the doubt about the level.
	step := math.Sqrt(3 * o.levelVar)
	low, middle, high := meanAt(o.level-step), meanAt(o.level), meanAt(o.level+step)
	mean := (low + 4*middle + high) / 6
	f.levelVar = ((low-mean)*(low-mean) + 4*(middle-mean)*(middle-mean) + (high-mean)*(high-mean)) / 6
	f.resolves = o.levelVar / math.Max(1e-12, o.nextVar)
	f.common = o.common
	return f
}

// dampen takes in the chance that something of a load can be used at all.
func (f *fraction) dampen(alive chance) {
	f.dead = 1 - alive.p
	// A share is the product of a chance (0 or 1 on one trip) and the share of those
	// loads that have one; for moments of the source's own mean the chance itself counts.
	second := f.nextVar + f.mean*f.mean
	level2 := f.levelVar + f.mean*f.mean
	ofAlive := alive.variance() * f.mean * f.mean
	ofLevel := alive.p * alive.p * f.levelVar
	if sum := ofAlive + ofLevel; sum > 0 {
		f.resolves = (ofAlive*alive.resolves + ofLevel*f.resolves) / sum
		f.common *= ofLevel / sum
	}
	mean := f.mean * alive.p
	f.levelVar = math.Max(0, alive.p2*level2-mean*mean)
	f.nextVar = math.Max(0, alive.p*second-mean*mean)
	f.mean = mean
}
