package yield

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// book is the pickups in the order of analysis: by source, oldest first.
type book struct {
	sources []sourceFit
	kind    []int // of each source, its place in kinds
	kinds   []string
	start   []int // pickups of source i are rows start[i] to start[i+1]
	rows    []*Pickup
	t       []float64 // of each row, years
	today   float64
}

// daysPerYear is the mean length of a year of the Gregorian calendar.
const daysPerYear = 365.2425

// newBook checks pickups, gives every source a place and sorts by it. Sources come
// by their ids and not by how the pickups happen to be ordered, so that sums are
// formed in one order and the same book gives the same figures to the last digit.
func newBook(pickups []Pickup, opts Options, terms Terms) (*book, error) {
	b := &book{today: float64(dayNumber(opts.Today)) / daysPerYear}
	place := make(map[string]int, len(pickups)/8)
	at := func(id string) int {
		i, ok := place[id]
		if !ok {
			i = len(b.sources)
			place[id] = i
			b.sources = append(b.sources, sourceFit{id: id})
		}
		return i
	}
	// Days are taken once: counting a calendar day costs more than most of the rest.
	of := make([]int, len(pickups))
	days := make([]int, len(pickups))
	for i := range pickups {
		if err := CheckPickup(i, pickups[i]); err != nil {
			return nil, err
		}
		of[i] = at(pickups[i].SourceID)
		days[i] = dayNumber(pickups[i].Date)
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

// sort is a counting sort by source, then by day within each source where the
// days are not in order already, as they are in a book read from a database. It brings sources into the order of their ids and pickups into that of
// source and day; pickups of one day keep the order given.
func (b *book) sort(pickups []Pickup, of, days []int) {
	order := make([]int, len(b.sources))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(x, y int) int { return strings.Compare(b.sources[x].id, b.sources[y].id) })
	// rank[s] is the place of source s, in the order in which it was met, among all.
	rank := make([]int, len(order))
	sorted := make([]sourceFit, len(order))
	for i, o := range order {
		rank[o], sorted[i] = i, b.sources[o]
	}
	b.sources = sorted
	b.start = make([]int, len(order)+1)
	for _, s := range of {
		b.start[rank[s]+1]++
	}
	for i := range order {
		b.start[i+1] += b.start[i]
	}
	// Counting sort: next[r] is where the next pickup of source r goes.
	rows := make([]int, len(pickups))
	next := slices.Clone(b.start)
	for i, s := range of {
		rows[next[rank[s]]] = i
		next[rank[s]]++
	}
	byDay := func(x, y int) int { return days[x] - days[y] }
	b.rows, b.t = make([]*Pickup, len(rows)), make([]float64, len(rows))
	for i := range order {
		part := rows[b.start[i]:b.start[i+1]]
		if !slices.IsSortedFunc(part, byDay) {
			slices.SortStableFunc(part, byDay)
		}
	}
	for j, row := range rows {
		b.rows[j] = &pickups[row]
		b.t[j] = float64(days[row]) / daysPerYear
	}
}

// describe fills in what is known of each source without any model. A place without
// trips is taken to be as far as the places driven to are on average, unless it is
// planned with a distance.
func (b *book) describe(planned map[string]*Source, opts Options, terms Terms) error {
	var miles, lots, lotVolume float64
	for _, p := range b.rows {
		miles += p.Miles
		if p.Lots > 0 {
			lots += float64(p.Lots)
			lotVolume += p.Volume
		}
	}
	bookLots := 0.0
	if lotVolume > 0 {
		bookLots = lots / lotVolume
	}
	kinds := map[string]int{}
	b.kind = make([]int, len(b.sources))
	for i := range b.sources {
		s := &b.sources[i]
		if err := b.count(i, opts.Prices, terms.Currency); err != nil {
			return err
		}
		if s.n == 0 && len(b.rows) > 0 {
			s.miles = miles / float64(len(b.rows))
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
	for _, p := range b.rows[b.start[i]:b.start[i+1]] {
		factor, err := prices.cashFactor(p.Cash, currency)
		if err != nil {
			return fmt.Errorf("cash of the pickup of %s at %q: %w", p.Date.Format(time.DateOnly), s.id, err)
		}
		s.n++
		if p.CameEmpty() {
			s.empty++
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

// drives returns the trips that count takes as hits or misses.
func (b *book) drives(count func(*Pickup) (hit, ok bool)) *drives {
	d := &drives{start: make([]int, len(b.sources)+1), kind: b.kind, kinds: len(b.kinds), today: b.today}
	for i := range b.sources {
		for j := b.start[i]; j < b.start[i+1]; j++ {
			if hit, ok := count(b.rows[j]); ok {
				d.hit, d.t = append(d.hit, hit), append(d.t, b.t[j])
			}
		}
		d.start[i+1] = len(d.t)
	}
	return d
}

// series returns the trips that value takes.
func (b *book) series(value func(*Pickup) (y, w float64, ok bool)) *series {
	s := &series{start: make([]int, len(b.sources)+1), kind: b.kind, kinds: len(b.kinds), today: b.today}
	s.y, s.w, s.t = make([]float64, 0, len(b.rows)), make([]float64, 0, len(b.rows)), make([]float64, 0, len(b.rows))
	for i := range b.sources {
		for j := b.start[i]; j < b.start[i+1]; j++ {
			if y, w, ok := value(b.rows[j]); ok {
				s.y, s.w, s.t = append(s.y, y), append(s.w, w), append(s.t, b.t[j])
			}
		}
		s.start[i+1] = len(s.y)
	}
	return s
}

// typical gives the size of trip from which weights are counted, so that they are
// about one whatever unit of load a keeper brings home. It returns the geometric means of the decided and of the usable volume
// over trips that brought any, 0 where none did.
func (b *book) typical() (decided, usable float64) {
	var logD, nD, logU, nU float64
	for _, p := range b.rows {
		if v := p.Decided(); v > tinyVolume {
			logD, nD = logD+math.Log(v), nD+1
		}
		if v := p.Usable(); v > tinyVolume {
			logU, nU = logU+math.Log(v), nU+1
		}
	}
	if nD > 0 {
		decided = math.Exp(logD / nD)
	}
	if nU > 0 {
		usable = math.Exp(logU / nU)
	}
	return decided, usable
}

// shopPer tells a round how much of the minutes falls after the day is over. It is the shop minutes per m³ over the trips that note them apart.
func (b *book) shopPer() float64 {
	var minutes, volume float64
	for _, p := range b.rows {
		if p.ShopMinutes > 0 {
			minutes += p.ShopMinutes
			volume += p.Volume
		}
	}
	if volume == 0 {
		return 0
	}
	return minutes / volume
}

// clock fits the minutes of the book and reports whether any are noted.
func (b *book) clock() (clock, bool) {
	trips := make([]clockTrip, 0, len(b.rows))
	for _, p := range b.rows {
		if minutes := p.Minutes + p.ShopMinutes; minutes > 0 {
			trips = append(trips, clockTrip{minutes, p.Miles, p.Volume})
		}
	}
	return fitClock(trips), len(trips) > 0
}
