package yield

import (
	"fmt"
	"math"
)

// Stop returns what is expected of a source as a stop of a round, at the prices of
// the day of the next drive: its wood apart from the drive there, which a round
// shares between its stops. The place is left to the caller. The error wraps
// ErrUnknownSource.
func (m *Model) Stop(sourceID string) (Stop, error) {
	i := m.find(sourceID)
	if i < 0 {
		return Stop{}, fmt.Errorf("%w: %q", ErrUnknownSource, sourceID)
	}
	s, t := &m.sources[i], m.terms
	brings := s.chance.p * s.volume.expNext
	perCubic := t.perCubic(s.share.mean, s.inside.mean)
	stop := Stop{ID: sourceID, Value: brings * perCubic, Cash: s.cash, Volume: brings}
	pace := s.time.expNext
	handling := brings * m.trip(s, t).handling(pace)
	stop.ShopMinutes = math.Min(handling, brings*m.shopPer)
	stop.Minutes = m.clock.fixed*pace + handling - stop.ShopMinutes
	stop.SD, stop.Skew = m.woodMoments(s, t, stop.Value)
	stop.Loads = m.loadsOf(s, t, stop)
	return stop, nil
}

// woodMoments returns the standard deviation and skewness of what the wood of the
// next trip is worth: a load comes or not, its volume is about lognormal, and its
// worth per m³ varies on the lattice and where nothing of it is usable.
func (m *Model) woodMoments(s *sourceFit, t Terms, mean float64) (sd, skew float64) {
	var second, third float64
	nothing := t.perCubic(0, 0)
	for k, share := range s.shares {
		c := t.perCubic(share, s.insides[k])
		second += (1 - s.share.dead) * c * c / latticePoints
		third += (1 - s.share.dead) * c * c * c / latticePoints
	}
	second += s.share.dead * nothing * nothing
	third += s.share.dead * nothing * nothing * nothing
	cube, volume := 0.0, s.volume.next()
	for k, z := range fine.z {
		v := math.Exp(volume.at(z))
		cube += fine.w[k] * v * v * v
	}
	second *= s.chance.p * s.volumes.square
	third *= s.chance.p * cube
	variance := math.Max(0, second-mean*mean)
	if variance == 0 {
		return 0, 0
	}
	return math.Sqrt(variance), (third - 3*mean*second + 2*mean*mean*mean) / (variance * math.Sqrt(variance))
}

// loadsOf lays out the loads of the next trip to a source: the lattice of shares
// against even steps of the volume, loads of no use, and an empty visit.
func (m *Model) loadsOf(s *sourceFit, t Terms, stop Stop) []Load {
	const rounds = 4 // of the lattice
	const points, stride = rounds * latticePoints, 19
	alive, dead := s.chance.p*(1-s.share.dead), s.chance.p*s.share.dead
	loads := []Load{{Chance: 1 - s.chance.p}}
	for j := range points {
		k := j % latticePoints
		v := s.volumes.quantile((float64(j*stride%points) + 0.5) / points)
		loads = append(loads, Load{Chance: alive / points, Volume: v, Value: v * t.perCubic(s.shares[k], s.insides[k])})
	}
	const few = 8
	for j := range few {
		v := s.volumes.quantile((float64(j) + 0.5) / few)
		loads = append(loads, Load{Chance: dead / few, Volume: v, Value: v * t.perCubic(0, 0)})
	}
	return moved(loads, points, stop)
}

// moved scales loads to the means of a stop. What brings the values there falls on the
// loads with something usable, which come after the empty one; a load of no use stays
// worth nothing.
func moved(loads []Load, usable int, stop Stop) []Load {
	var volume, useful, other float64
	for i, l := range loads {
		volume += l.Chance * l.Volume
		if i <= usable {
			useful += l.Chance * l.Value
		} else {
			other += l.Chance * l.Value
		}
	}
	if volume <= 0 || stop.Volume <= 0 {
		return nil
	}
	larger := stop.Volume / volume
	dearer := 1.0
	if useful != 0 {
		dearer = (stop.Value/larger - other) / useful
	}
	more := 0.0 // for each m³, where a factor would turn worth into loss
	if useful == 0 || dearer <= 0 {
		dearer, more = 1, (stop.Value-larger*(useful+other))/stop.Volume
	}
	for i := range loads {
		l := &loads[i]
		l.Volume, l.Value = l.Volume*larger, l.Value*larger
		if i <= usable {
			l.Value *= dearer
		}
		l.Value += more * l.Volume
		l.ShopMinutes = l.Volume * stop.ShopMinutes / stop.Volume
	}
	return loads
}
