package yield

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"time"
)

// book is the pickups in the order of analysis: by source, oldest first.
type book struct {
	sources []sourceFit
	kind    []int // of each source, its place in kinds
	kinds   []string
	start   []int     // trips of source i are hauls start[i] to start[i+1]
	hauls   []haul    // figures of each trip
	pickups []*Pickup // and all of it
	t       []float64 // of each trip, years
	today   float64
}

// haul is what the parts of the model need of a pickup, side by side in memory:
// each of them goes over the whole book.
type haul struct {
	volume, usable, inside, held float64 // m³
	miles, minutes, shop         float64 // minutes with those in the shop
	lots                         float64
}

// decided is the volume that is no longer on hold.
func (h *haul) decided() float64 { return math.Max(0, h.volume-h.held) }

// daysPerYear is the mean length of a year of the Gregorian calendar.
const daysPerYear = 365.2425

// newBook checks pickups, gives every source a place and sorts by it. Sources come
// by their ids and not by how the pickups happen to be ordered, so that sums are
// formed in one order and the same book gives the same figures to the last digit.
func newBook(pickups []Pickup, opts Options, terms Terms) (*book, error) {
	b := &book{today: float64(dayNumber(opts.Today)) / daysPerYear}
	var ids []string
	place := make(map[string]int, len(pickups)/8)
	at := func(id string) int {
		i, ok := place[id]
		if !ok {
			i = len(ids)
			place[id] = i
			ids = append(ids, id)
		}
		return i
	}
	of := make([]int, len(pickups))
	days := make([]int, len(pickups))
	// Days are taken once and by the side: counting a calendar day costs more than most
	// of the rest.
	var wait sync.WaitGroup
	wait.Go(func() {
		for i := range pickups {
			days[i] = dayNumber(pickups[i].Date)
		}
	})
	defer wait.Wait()
	for i := range pickups {
		if !pickups[i].sound() {
			if err := CheckPickup(i, pickups[i]); err != nil {
				return nil, err
			}
		}
		of[i] = at(pickups[i].SourceID)
	}
	planned := map[string]*Source{}
	for i := range opts.Sources {
		s := &opts.Sources[i]
		if err := checkSource(i, s); err != nil {
			return nil, err
		}
		at(s.ID)
		planned[s.ID] = s
	}
	rank := b.name(ids)
	for i, s := range of {
		of[i] = rank[s]
	}
	wait.Wait()
	b.sort(pickups, of, days)
	return b, b.describe(planned, opts, terms)
}

// checkSource refuses a planned source that cannot be meant.
func checkSource(i int, s *Source) error {
	switch {
	case s.ID == "":
		return fmt.Errorf("%w: source %d has no id: name it", ErrOption, i+1)
	case !(s.Miles >= 0) || s.Miles > MaxMiles:
		return fmt.Errorf("%w: source %q is %v miles away: enter 0 to %d", ErrOption, s.ID, s.Miles, MaxMiles)
	case s.Cash.Minor < 0:
		return fmt.Errorf("%w: source %q costs %s: enter zero or more", ErrOption, s.ID, s.Cash)
	}
	return nil
}

// name makes the sources in the order of their ids and returns the place of each
// of ids among them.
func (b *book) name(ids []string) []int {
	order := make([]int, len(ids))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(x, y int) int { return strings.Compare(ids[x], ids[y]) })
	rank := make([]int, len(order))
	b.sources = make([]sourceFit, len(order))
	for i, o := range order {
		rank[o], b.sources[i].id = i, ids[o]
	}
	return rank
}

// sort is a counting sort by source, then by day within each source where the days
// are not in order already, as they are in a book read from a database. Pickups of
// one day keep the order given. of and days are those of each pickup; of is used up.
func (b *book) sort(pickups []Pickup, of, days []int) {
	b.start = make([]int, len(b.sources)+1)
	for _, s := range of {
		b.start[s+1]++
	}
	for i := range b.sources {
		b.start[i+1] += b.start[i]
	}
	order := make([]int, len(pickups))
	next := slices.Clone(b.start) // where the next pickup of each source goes
	for i, s := range of {
		order[next[s]] = i
		next[s]++
	}
	byDay := func(x, y int) int { return days[x] - days[y] }
	for i := range b.sources {
		if part := order[b.start[i]:b.start[i+1]]; !slices.IsSortedFunc(part, byDay) {
			slices.SortStableFunc(part, byDay)
		}
	}
	b.hauls, b.pickups, b.t = make([]haul, len(order)), make([]*Pickup, len(order)), make([]float64, len(order))
	// Going through the pickups as they lie in memory is twice as fast as in their order.
	to := of
	for j, i := range order {
		to[i] = j
	}
	inParts(len(pickups), func(from, end int) {
		for i := from; i < end; i++ {
			p, j := &pickups[i], to[i]
			b.pickups[j], b.t[j] = p, float64(days[i])/daysPerYear
			b.hauls[j] = haul{
				volume: p.Volume, usable: p.Inside + p.Outside, inside: p.Inside, held: p.Held,
				miles: p.Miles, minutes: p.Minutes + p.ShopMinutes, shop: p.ShopMinutes, lots: float64(p.Lots),
			}
		}
	})
}

// describe fills in what is known of each source without any model. A place without
// trips is taken to be as far as the places driven to are on average, unless it is
// planned with a distance.
func (b *book) describe(planned map[string]*Source, opts Options, terms Terms) error {
	var miles, lots, lotVolume float64
	for i := range b.hauls {
		h := &b.hauls[i]
		miles += h.miles
		if h.lots > 0 {
			lots += h.lots
			lotVolume += h.volume
		}
	}
	bookLots := 0.0
	if lotVolume > 0 {
		bookLots = lots / lotVolume
	}
	kinds := map[string]int{}
	b.kind = make([]int, len(b.sources))
	faults := make([]error, len(b.sources))
	inParts(len(b.sources), func(from, to int) {
		for i := from; i < to; i++ {
			faults[i] = b.count(i, opts.Prices, terms.Currency)
		}
	})
	if err := cmp.Or(faults...); err != nil {
		return err // that of the first source
	}
	for i := range b.sources {
		s := &b.sources[i]
		if s.n == 0 && len(b.hauls) > 0 {
			s.miles = miles / float64(len(b.hauls))
		}
		s.lotsPer = bookLots
		if err := s.plan(planned[s.id], opts.Prices, terms.Currency); err != nil {
			return err
		}
		k, ok := kinds[s.kind]
		if !ok {
			k = len(b.kinds)
			kinds[s.kind] = k
			b.kinds = append(b.kinds, s.kind)
		}
		b.kind[i] = k
	}
	return nil
}

// count adds up the trips of source i. Its kind is that of the last trip: a kind
// may be corrected later, and the book then knows better.
func (b *book) count(i int, prices Prices, currency string) error {
	s := &b.sources[i]
	var volume, held float64
	for _, p := range b.pickups[b.start[i]:b.start[i+1]] {
		factor, err := prices.cashFactor(p.Cash, currency)
		if err != nil {
			return fmt.Errorf("cash of the pickup of %s at %q: %w", p.Date.Format(time.DateOnly), s.id, err)
		}
		s.n++
		if p.CameEmpty() {
			s.empty++
		}
		if p.CameEmpty() || p.Held < p.Volume {
			s.told++
		}
		if p.Estimated {
			s.estimated++
		}
		s.kind, s.last = p.Kind, p.Date
		s.miles += p.Miles
		s.cash += float64(p.Cash.Minor) * factor
		volume += p.Volume
		held += p.Held
	}
	if s.n > 0 {
		s.miles /= float64(s.n)
		s.cash /= float64(s.n)
	}
	if volume > 0 {
		s.heldShare = held / volume
	}
	return nil
}

// plan is where a keeper's word about the next trip wins over the past: the source
// may have moved, or ask money now. It lets what is planned for the next trip replace what past trips say.
func (s *sourceFit) plan(p *Source, prices Prices, currency string) error {
	if p == nil {
		return nil
	}
	if p.Kind != "" {
		s.kind = p.Kind
	}
	if p.Miles > 0 {
		s.miles = p.Miles
	}
	if p.Cash.Minor == 0 {
		return nil
	}
	factor, err := prices.cashFactor(p.Cash, currency)
	if err != nil {
		return fmt.Errorf("planned cash of %q: %w", s.id, err)
	}
	s.cash = float64(p.Cash.Minor) * factor
	return nil
}

// grouped guards the smallest books only: beyond that, each part of the model
// weighs for itself whether kinds differ. It reports whether the book has enough to let kinds differ: two kinds
// with two visited sources each.
func (b *book) grouped() bool {
	visited := make([]int, len(b.kinds))
	enough := 0
	for i, s := range b.sources {
		if s.n > 0 {
			if visited[b.kind[i]]++; visited[b.kind[i]] == 2 {
				enough++
			}
		}
	}
	return enough >= 2
}

// drives returns the trips that count takes as hits or misses, with their weights;
// those of no weight are left out.
func (b *book) drives(count func(*haul) (hit bool, w float64)) *drives {
	d := &drives{start: make([]int, len(b.sources)+1), kind: b.kind, kinds: len(b.kinds), today: b.today}
	d.hit, d.w, d.t = make([]bool, 0, len(b.hauls)), make([]float64, 0, len(b.hauls)), make([]float64, 0, len(b.hauls))
	for i := range b.sources {
		for j := b.start[i]; j < b.start[i+1]; j++ {
			if hit, w := count(&b.hauls[j]); w > 0 {
				d.hit, d.w, d.t = append(d.hit, hit), append(d.w, w), append(d.t, b.t[j])
			}
		}
		d.start[i+1] = len(d.t)
	}
	return d
}

// series returns the trips that value takes.
func (b *book) series(value func(*haul) (y, w float64, ok bool)) *series {
	s := &series{start: make([]int, len(b.sources)+1), kind: b.kind, kinds: len(b.kinds), today: b.today}
	s.y, s.w, s.t = make([]float64, 0, len(b.hauls)), make([]float64, 0, len(b.hauls)), make([]float64, 0, len(b.hauls))
	for i := range b.sources {
		for j := b.start[i]; j < b.start[i+1]; j++ {
			if y, w, ok := value(&b.hauls[j]); ok {
				s.y, s.w, s.t = append(s.y, y), append(s.w, w), append(s.t, b.t[j])
			}
		}
		s.start[i+1] = len(s.y)
	}
	return s
}

// typical gives the size of trip from which weights are counted, so that they are
// about one whatever unit of load a keeper brings home. It returns the geometric mean
// of a volume over the trips that brought any, 0 where none did.
func (b *book) typical(of func(*haul) float64) float64 {
	n, all := 0.0, newProduct()
	for i := range b.hauls {
		if v := of(&b.hauls[i]); v > tinyVolume {
			all.times(v)
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return math.Exp(all.sum() / n)
}

// noLoads is the guess of a book of empty drives.
const noLoads = "no load has come home yet, so what one brings is a guess"

// guess says what no trip of the book tells, so that all answers rest on what is
// believed before any trip; "" where each part has been seen.
func (b *book) guess() string {
	loads := slices.ContainsFunc(b.hauls, func(h haul) bool { return h.volume > 0 })
	decided := slices.ContainsFunc(b.hauls, func(h haul) bool { return h.decided() > tinyVolume })
	switch {
	case !loads:
		return noLoads
	case !decided:
		return "all wood is still on hold, so how much of it can be used is a guess"
	}
	return ""
}

// shopPer tells a round how much of the minutes falls after the day is over. It is the shop minutes per m³ over the trips that note them apart.
func (b *book) shopPer() float64 {
	var minutes, volume float64
	for i := range b.hauls {
		if h := &b.hauls[i]; h.shop > 0 {
			minutes += h.shop
			volume += h.volume
		}
	}
	if volume == 0 {
		return 0
	}
	return minutes / volume
}

// clock fits the minutes of the book and reports whether any are noted.
func (b *book) clock() (clock, bool) {
	timed := slices.ContainsFunc(b.hauls, func(h haul) bool { return h.minutes > 0 })
	return fitClock(b.hauls), timed
}
