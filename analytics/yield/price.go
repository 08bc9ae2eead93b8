package yield

import "math"

// priced is one source under one set of terms.
type priced struct {
	of     *sourceFit
	answer *Answer
	// belief is the source's expected net with three moments.
	belief   skewed
	mean, sd float64
	resolves float64 // share of sd² that one more trip resolves
	common   float64 // share of sd² that sources of one kind have in common
}

// trip is what one trip costs apart from what it brings.
type trip struct {
	fixed     float64 // money of an empty drive apart from time
	drive     float64 // minutes of an empty drive, by the clock
	perVolume float64 // minutes per m³, by the clock
	perLots   float64 // minutes per m³ that the terms add for lots
}

// trip works out the costs of a trip to s.
func (m *Model) trip(s *sourceFit, t Terms) trip {
	return trip{
		fixed:     t.Mile*s.miles + s.cash,
		drive:     m.clock.minutes(s.miles, 0),
		perVolume: m.clock.perVolume,
		perLots:   t.LotMinutes * s.lotsPer,
	}
}

// handling is the minutes per m³ with the source's own pace; a faster tool may
// not make it negative.
func (d trip) handling(pace float64) float64 { return math.Max(0, d.perVolume*pace+d.perLots) }

// perCubic is what a decided m³ is worth with the given usable share, of which
// the share inside is usable inside.
func (t Terms) perCubic(share, inside float64) float64 {
	return share*(t.Inside*inside+t.Outside*(1-inside)) - t.Disposal*(1-share)
}

// next lays out the forecast of the next trip's net in f: loads with something
// usable on the lattice, loads of no use, and empty drives, which are an atom where
// minutes cost nothing.
func (m *Model) next(s *sourceFit, t Terms, f *forecast) *forecast {
	d := m.trip(s, t)
	hour := t.Hour / 60
	alive, dead := s.chance.p*(1-s.share.dead), s.chance.p*s.share.dead
	*f = forecast{lines: f.lines[:0], atom: -d.fixed, atomW: 1 - s.chance.p}
	for k, share := range s.shares {
		l := line{of: &s.volumes, a: t.perCubic(share, s.insides[k]), b: d.fixed, w: alive / latticePoints}
		if hour > 0 {
			l.a -= hour * d.handling(s.pace[k])
			l.b += hour * d.drive * s.pace[k]
		}
		f.lines = append(f.lines, l)
	}
	if hour == 0 && t.Disposal == 0 {
		f.atomW += dead // such a load nets what an empty drive nets
		return f
	}
	const few = 4 // paces for loads of no use
	for k := latticePoints / few / 2; k < latticePoints; k += latticePoints / few {
		pace := s.paces.quantile((float64(k) + 0.5) / latticePoints)
		f.lines = append(f.lines, line{
			of: &s.volumes, a: -t.Disposal - hour*d.handling(pace), b: d.fixed + hour*d.drive*pace, w: dead / few,
		})
	}
	if hour > 0 { // minutes blur the atom
		f.lines = append(f.lines, line{of: &s.paces, a: -hour * d.drive, b: d.fixed, w: f.atomW})
		f.atomW = 0
	}
	return f
}

// expected is where doubt about the source itself is kept apart from the luck of a
// trip: chance, mean volume and mean worth are what more trips would teach. It returns the moments of the source's expected net: the product of its
// chance, its mean volume and its mean worth per m³, each with what is not known
// of it, less what every drive costs.
func (m *Model) expected(s *sourceFit, t Terms) priced {
	p := priced{of: s}
	d := m.trip(s, t)
	hour := t.Hour / 60
	pace := s.time.expNext
	perCubic := t.perCubic(s.share.mean, s.inside.mean) - hour*d.handling(pace)
	brings := s.chance.p * s.volume.expNext
	p.mean = brings*perCubic - d.fixed - hour*d.drive*pace
	// What a unit of share adds to a m³, for the doubt about the share. Worth per m³
	// is a straight line in the share and, given that, in the part for inside.
	slope := t.perCubic(1, s.inside.mean) - t.perCubic(0, s.inside.mean)
	varShare := slope * slope * s.share.levelVar
	insideSlope := s.share.mean * (t.Inside - t.Outside)
	varInside := insideSlope * insideSlope * s.inside.levelVar
	minutes := d.drive*pace + brings*d.handling(pace)
	varTime := hour * hour * minutes * minutes * s.time.levelVar
	// Second and third moments of independent factors multiply; the worth per m³ is
	// taken as symmetric.
	k2 := perCubic*perCubic + varShare + varInside
	k3 := perCubic * (perCubic*perCubic + 3*(varShare+varInside))
	first, second := brings*perCubic, s.chance.p2*s.volume.expLevel2*k2
	third := s.chance.p3 * s.volume.expLevel3 * k3
	variance := math.Max(0, second-first*first)
	skew := 0.0
	if total := variance + varTime; total > 0 {
		skew = (third - 3*first*second + 2*first*first*first) / (total * math.Sqrt(total))
	}
	p.sd = math.Sqrt(variance + varTime)
	p.belief = newSkewed(p.mean, variance+varTime, skew)
	// By how much each factor alone would make the product vary (to first order), for
	// what one more trip would resolve of it and what sources have in common.
	ofChance := s.chance.variance() * s.volume.expNext * s.volume.expNext * perCubic * perCubic
	ofVolume := s.chance.p * s.chance.p * math.Max(0, s.volume.expLevel2-s.volume.expNext*s.volume.expNext) * perCubic * perCubic
	ofShare := brings * brings * (varShare + varInside)
	total := math.Max(1e-300, ofChance+ofVolume+ofShare+varTime)
	learn := s.chance.p // only a trip that brings something shows volume and share
	p.resolves = (ofChance*s.chance.resolves + ofVolume*learn*s.volume.levelVar/s.volume.nextVar +
		ofShare*learn*s.share.resolves + varTime*s.time.levelVar/s.time.nextVar) / total
	p.common = (ofVolume*s.volume.common + ofShare*s.share.common + varTime*s.time.common) / total
	return p
}
