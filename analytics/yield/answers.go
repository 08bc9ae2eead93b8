package yield

import (
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
)

// Terms returns the prices of the day of the next drive.
func (m *Model) Terms() Terms { return m.terms }

// Answers answers for the prices of the day of the next drive.
func (m *Model) Answers() *Answers { return m.answers(m.terms) }

// AnswersAt answers for other terms without learning again: what if. The error
// wraps ErrOption, ErrCurrency, or ErrNotEnough for minutes per lot in a book that
// notes no lots.
func (m *Model) AnswersAt(terms Terms) (*Answers, error) {
	if err := m.checkTerms(terms); err != nil {
		return nil, err
	}
	return m.answers(terms), nil
}

// checkTerms refuses terms that cannot be meant, or are in another currency than
// the cash of the book.
func (m *Model) checkTerms(t Terms) error {
	if t.Currency != m.terms.Currency {
		return fmt.Errorf("%w: the book is in %q, the terms in %q: give both in one", ErrCurrency, m.terms.Currency, t.Currency)
	}
	for _, price := range []float64{t.Mile, t.Inside, t.Outside, t.Disposal, t.Hour, t.Home} {
		if !(price >= 0) || math.IsInf(price, 0) {
			return fmt.Errorf("%w: a price of %v: enter zero or more", ErrOption, price)
		}
	}
	if math.IsNaN(t.LotMinutes) || math.Abs(t.LotMinutes) > MaxMinutes {
		return fmt.Errorf("%w: %v minutes more per lot: enter -%d to %d", ErrOption, t.LotMinutes, MaxMinutes, MaxMinutes)
	}
	if t.LotMinutes != 0 && len(m.sources) > 0 && m.sources[0].lotsPer == 0 {
		return fmt.Errorf("%w: no trip notes how many lots came, so minutes per lot change nothing: note the lots", ErrNotEnough)
	}
	return nil
}

// answers prices every source, then ranks them against each other and advises. Whatever
// of the work is free of other sources is done in parts at once.
func (m *Model) answers(t Terms) *Answers {
	a := &Answers{
		Terms: t, Today: m.opts.Today, Seed: m.opts.Seed, Sources: make([]Answer, len(m.sources)),
		Changing: m.changing, Seasonal: m.season.supported, Grouped: m.grouped, Guess: m.guess,
	}
	all := m.sorted(t)
	inParts(len(all), func(from, to int) {
		var work forecast
		for i := from; i < to; i++ {
			all[i].answer = &a.Sources[i]
			m.price(all[i], t, &work)
		}
	})
	var wait sync.WaitGroup
	wait.Go(func() { a.Next = m.advise(all, t) })
	m.rank(all)
	wait.Wait()
	return a
}

// sorted returns what is expected of each source, best first.
func (m *Model) sorted(t Terms) []*priced {
	every, all := make([]priced, len(m.sources)), make([]*priced, len(m.sources))
	inParts(len(all), func(from, to int) {
		for i := from; i < to; i++ {
			every[i] = m.expected(&m.sources[i], t)
			all[i] = &every[i]
		}
	})
	slices.SortFunc(all, func(a, b *priced) int {
		return cmp.Or(cmp.Compare(b.mean, a.mean), cmp.Compare(a.of.id, b.of.id))
	})
	return all
}

// inParts runs do over parts of 0 to n, at once where there are many: each part
// writes places of its own, so the result does not depend on the parts.
func inParts(n int, do func(from, to int)) {
	const small = 100
	parts := min(runtime.GOMAXPROCS(0), n/small)
	if parts < 2 {
		do(0, n)
		return
	}
	var wait sync.WaitGroup
	for p := range parts {
		wait.Go(func() { do(p*n/parts, (p+1)*n/parts) })
	}
	wait.Wait()
}

// price answers for one source, all but its place among the others.
func (m *Model) price(p *priced, t Terms, work *forecast) {
	s, a := p.of, p.answer
	f := m.next(s, t, work)
	*a = Answer{
		SourceID: s.id, Kind: s.kind, N: s.n, Empty: s.empty, Estimated: s.estimated, Last: s.last, Evidence: evidence(s.n),
		Next:      f.spread(p.mean),
		Expected:  p.belief.spread(p.mean, p.sd*p.sd),
		Pays:      1 - f.cdf(0).High,
		HeldShare: s.heldShare, Miles: s.miles, Drift: s.drift,
	}
	// The two come by different quadratures; rounding may not turn them round.
	a.Next.SD = math.Max(a.Next.SD, p.sd)
	a.Volume, a.Usable = m.quantities(s, work)
	a.EmptyChance = s.emptyChance()
	a.UsableShare = chanceFigure(s.share.mean, s.share.levelVar, s.n-s.empty)
	m.perUnit(a, s, t)
	a.Doubt = m.doubt(s, t, p)
	a.Sentence = m.sentence(a, t)
}

// ownTrips is how many trips make a source known by its own. From about five on, they
// outweigh what it borrows: with σ three times τ, a usual ratio, half of the weight is
// its own after nine trips, a third after five.
const ownTrips = 5

// evidence grades by trips.
func evidence(n int) Evidence {
	switch {
	case n == 0:
		return NoTrips
	case n < ownTrips:
		return FewTrips
	default:
		return OwnTrips
	}
}

// perUnit fills in what is counted per hour, per mile and in miles. The doubt
// shown is that of the expected net; minutes and miles are taken at their means.
func (m *Model) perUnit(a *Answer, s *sourceFit, t Terms) {
	d := m.trip(s, t)
	brings := s.chance.p * s.volume.expNext
	a.Minutes = d.drive*s.time.expNext + brings*d.handling(s.time.expNext)
	per := func(unit float64, known bool, why string) Figure {
		if !known || unit <= 0 {
			return Figure{N: s.n, Why: why}
		}
		return a.Expected.figure(s.n, 0, unit)
	}
	a.PerHour = per(a.Minutes/60, m.timed, "no trip in the book has its minutes noted")
	a.PerMile = per(s.miles, true, "no extra miles are driven for it")
	perMile := t.Mile + t.Hour/60*m.clock.perMile*s.time.expNext
	if perMile <= 0 {
		a.BreakEvenMiles = Figure{N: s.n, Why: "a mile costs nothing"}
		return
	}
	a.BreakEvenMiles = a.Expected.figure(s.n, s.miles, perMile)
}

// figure returns start + s/unit as a figure.
func (s Spread) figure(n int, start, unit float64) Figure {
	at := func(x float64) float64 { return start + x/unit }
	return Figure{
		Value: at(s.Mean), Low: at(s.Most.Low), High: at(s.Most.High), Low50: at(s.Half.Low), High50: at(s.Half.High), N: n, Known: true,
	}
}

// quantities reuses the forecast of money for wood: volume is the line 1·V, usable
// wood the lines share·V. An empty drive is an atom at nothing, and so is a load of
// no use for the second. It returns the forecasts of volume and usable volume of the next trip.
func (m *Model) quantities(s *sourceFit, work *forecast) (volume, usable Spread) {
	alive := s.chance.p * (1 - s.share.dead)
	*work = forecast{lines: work.lines[:0], atomW: 1 - s.chance.p}
	work.lines = append(work.lines, line{of: &s.volumes, a: 1, w: s.chance.p})
	brings := s.chance.p * s.volume.expNext
	volume = work.spread(brings)
	*work = forecast{lines: work.lines[:0], atomW: 1 - alive}
	const third = 3 // the shares alone are laid out evenly, so every third will do
	for k := 1; k < latticePoints; k += third {
		work.lines = append(work.lines, line{of: &s.volumes, a: s.shares[k], w: alive * third / latticePoints})
	}
	return volume, work.spread(brings * s.share.mean)
}

// emptyChance is the chance of coming home with nothing.
func (s *sourceFit) emptyChance() Figure {
	return chanceFigure(1-s.chance.p, s.chance.variance(), s.n)
}

// doubt splits the doubt about what the next trip brings by its causes. The
// variance of a product has no natural split, but for independent factors
// E[X²]/E[X]² is the product of theirs, so its logarithm is shared out by factor,
// whatever their order. Minutes add to the money instead of multiplying it and are
// set against the rest by variance.
func (m *Model) doubt(s *sourceFit, t Terms, p *priced) Doubt {
	volume := math.Log(math.Max(1, s.volumes.square/(s.volume.expNext*s.volume.expNext)))
	empty := -math.Log(math.Max(1e-300, s.chance.p))
	share := 0.0
	if s.share.mean > 0 {
		share = math.Log1p(s.share.nextVar / (s.share.mean * s.share.mean))
	}
	var d Doubt
	if sum := volume + empty + share; sum > 0 {
		d = Doubt{Emptiness: empty / sum, Volume: volume / sum, Usability: share / sum}
	}
	if all := p.answer.Next.SD * p.answer.Next.SD; t.Hour > 0 && all > 0 {
		minutes := t.Hour / 60 * p.answer.Minutes
		d.Time = min(1, minutes*minutes*math.Expm1(s.time.nextVar)/all)
		d.Emptiness, d.Volume, d.Usability = d.Emptiness*(1-d.Time), d.Volume*(1-d.Time), d.Usability*(1-d.Time)
	}
	return d
}
