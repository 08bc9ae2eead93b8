package yield

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// Worth is one pickup in money of one currency, minor units. Net is Wood −
// Driving − Cash − Disposal − Time, with held wood counted as bringing nothing
// yet; HeldMost is what would be added if all of it turned out usable inside.
type Worth struct {
	Wood     float64 `json:"wood"`      // replacement price of what was usable
	Driving  float64 `json:"driving"`   // extra miles at the rate of that day
	Cash     float64 `json:"cash"`      // paid
	Disposal float64 `json:"disposal"`  // of the waste
	Time     float64 `json:"time"`      // hours at the keeper's own figure
	Net      float64 `json:"net"`       // what is left
	HeldMost float64 `json:"held_most"` // upper bound of what held wood may still add
}

// Value prices one pickup with the rates of its own day, in the currency of
// prices. The error wraps ErrPickup, ErrNoRate, ErrCurrency or ErrOption.
func Value(p Pickup, prices Prices) (Worth, error) {
	return (&pricer{prices: prices}).value(0, &p)
}

// ValueEach is Value for many pickups: take gets the index and the worth of each in
// turn. It is much faster where pickups of one day stand together. The error is that of
// the first that cannot be priced.
func ValueEach(pickups []Pickup, prices Prices, take func(i int, w Worth)) error {
	price := pricer{prices: prices}
	for i := range pickups {
		w, err := price.value(i, &pickups[i])
		if err != nil {
			return err
		}
		take(i, w)
	}
	return nil
}

// pricer prices pickups one after the other. Those of one day mostly stand together,
// and looking the prices of a day up costs more than using them.
type pricer struct {
	prices Prices
	day    time.Time // that terms hold on; zero before the first
	terms  Terms
}

// value prices the pickup with the index i, which only tells an error where it is.
func (c *pricer) value(i int, p *Pickup) (Worth, error) {
	if !p.sound() {
		if err := CheckPickup(i, *p); err != nil {
			return Worth{}, err
		}
	}
	if p.Date != c.day { // another zone is another day, so the whole value is compared
		terms, err := c.prices.On(p.Date)
		if err != nil {
			return Worth{}, fmt.Errorf("value the pickup of %s at %s: %w", p.Date.Format(time.DateOnly), p.SourceID, err)
		}
		c.day, c.terms = p.Date, terms
	}
	factor, err := c.prices.cashFactor(p.Cash, c.terms.Currency)
	if err != nil {
		return Worth{}, fmt.Errorf("cash of the pickup of %s at %s: %w", p.Date.Format(time.DateOnly), p.SourceID, err)
	}
	return c.terms.worth(p, float64(p.Cash.Minor)*factor), nil
}

// cashFactor returns the factor from the currency of cash to currency; nothing
// paid needs none.
func (p Prices) cashFactor(cash Money, currency string) (float64, error) {
	if cash.Minor == 0 {
		return 1, nil
	}
	return p.Convert(cash.Currency, currency)
}

// worth prices p with t; cash is already in minor units of t.Currency.
func (t Terms) worth(p *Pickup, cash float64) Worth {
	minutes := p.Minutes + p.ShopMinutes + t.LotMinutes*float64(p.Lots)
	w := Worth{
		Wood:     t.Inside*p.Inside + t.Outside*p.Outside,
		Driving:  t.Mile * p.Miles,
		Cash:     cash,
		Disposal: t.Disposal * p.Waste(),
		Time:     t.Hour * math.Max(0, minutes) / 60,
		HeldMost: math.Max(t.Inside, t.Outside) * p.Held,
	}
	w.Net = w.Wood - w.Driving - w.Cash - w.Disposal - w.Time
	return w
}

// Figure is a mean or ratio with its 50 % and 90 % intervals. Known is false where the
// book cannot say how sure the figure is; Why then says what is missing and the
// interval must not be shown.
type Figure struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Low50 float64 `json:"low_50"`
	// High50 closes the 50 % interval.
	High50 float64 `json:"high_50"`
	N      int     `json:"n"`
	Known  bool    `json:"known"`
	Why    string  `json:"why,omitempty"`
}

// Plain is what the book says about one source without borrowing from others:
// sums, and figures in minor units of Currency. Lots on hold count as bringing
// nothing yet, so HeldShare says how much is still open.
type Plain struct {
	SourceID  string    `json:"source"`
	Kind      string    `json:"kind,omitempty"`
	Currency  string    `json:"currency"`
	N         int       `json:"n"`         // pickups, empty ones included
	Empty     int       `json:"empty"`     // of these, empty-handed
	Estimated int       `json:"estimated"` // of these, with estimated volumes
	Last      time.Time `json:"last"`
	Miles     float64   `json:"miles"`
	Minutes   float64   `json:"minutes"`
	Volume    float64   `json:"volume_m3"`
	Usable    float64   `json:"usable_m3"`
	HeldShare float64   `json:"held_share"` // of the volume
	Net       float64   `json:"net"`        // sum over the pickups
	PerPickup Figure    `json:"per_pickup"`
	PerMile   Figure    `json:"per_mile"` // over pickups with miles
	PerHour   Figure    `json:"per_hour"` // over pickups with minutes
	// UsablePerPickup is the usable volume of a pickup in m³.
	UsablePerPickup Figure `json:"usable_per_pickup_m3"`
}

// PlainFigures adds pickups up per source, sorted by source. Each pickup is
// priced with the rates of its own day. The interval of a mean is Student's t
// with a moderated spread: the source's own, drawn towards what is usual among
// all sources, because one to three trips cannot show their own. Errors are
// those of Value, with the index of the pickup.
func PlainFigures(pickups []Pickup, prices Prices) ([]Plain, error) {
	sums := map[string]*plainSum{}
	price := pricer{prices: prices}
	var bad *PickupError
	for i := range pickups {
		p := &pickups[i]
		w, err := price.value(i, p)
		if errors.As(err, &bad) {
			return nil, err // it says itself where
		}
		if err != nil {
			return nil, fmt.Errorf("pickup %d: %w", i+1, err)
		}
		s := sums[p.SourceID]
		if s == nil {
			s = &plainSum{Plain: Plain{SourceID: p.SourceID, Currency: prices.currency()}}
			sums[p.SourceID] = s
		}
		s.add(p, w)
	}
	all := make([]*plainSum, 0, len(sums))
	for _, s := range sums {
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b *plainSum) int { return cmp.Compare(a.SourceID, b.SourceID) })
	plains := make([]Plain, 0, len(all))
	perPickup := learnSpreads(all, func(s *plainSum) ratio { return s.pickup })
	perMile := learnSpreads(all, func(s *plainSum) ratio { return s.mile })
	perHour := learnSpreads(all, func(s *plainSum) ratio { return s.hour })
	usable := learnSpreads(all, func(s *plainSum) ratio { return s.usable })
	for _, s := range all {
		if s.Volume > 0 {
			s.HeldShare = s.held / s.Volume
		}
		s.PerPickup = s.pickup.figure(perPickup, "pickup")
		s.UsablePerPickup = s.usable.figure(usable, "pickup")
		s.PerMile = s.mile.figure(perMile, "mile")
		s.PerHour = s.hour.figure(perHour, "hour")
		plains = append(plains, s.Plain)
	}
	return plains, nil
}

// plainSum is a Plain while it is being added up.
type plainSum struct {
	Plain
	held               float64
	pickup, mile, hour ratio
	usable             ratio
}

// add counts one pickup and what it was worth.
func (s *plainSum) add(p *Pickup, w Worth) {
	s.N++
	if p.CameEmpty() {
		s.Empty++
	}
	if p.Estimated {
		s.Estimated++
	}
	if s.N == 1 || !p.Date.Before(s.Last) {
		s.Last, s.Kind = p.Date, p.Kind
	}
	minutes := p.Minutes + p.ShopMinutes
	s.Miles += p.Miles
	s.Minutes += minutes
	s.Volume += p.Volume
	s.Usable += p.Usable()
	s.held += p.Held
	s.Net += w.Net
	s.pickup.add(w.Net, 1)
	s.usable.add(p.Usable(), 1)
	if p.Miles > 0 {
		s.mile.add(w.Net, p.Miles)
	}
	if minutes > 0 {
		s.hour.add(w.Net, minutes/60)
	}
}

// ratio is a ratio of sums with what its linearised variance needs.
type ratio struct {
	n                   int
	sumY, sumX          float64
	sumYY, sumXY, sumXX float64
}

// add counts one pickup: y per x.
func (r *ratio) add(y, x float64) {
	r.n++
	r.sumY += y
	r.sumX += x
	r.sumYY += y * y
	r.sumXY += x * y
	r.sumXX += x * x
}

// residual is what Taylor linearisation leaves of a ratio: the variance of Σy/Σx is
// that of the residuals over (Σx)² (Cochran, Sampling Techniques, 1977, ch. 6). It returns the sum of squares of y − (Σy/Σx)·x, never below zero.
func (r ratio) residual() float64 {
	b := r.sumY / r.sumX
	return math.Max(0, r.sumYY-2*b*r.sumXY+b*b*r.sumXX)
}

// figure returns the ratio with a 90 % t interval. A spread of zero is not believed: equal
// pickups are rounding or a copied line, not certainty.
func (r ratio) figure(all spreads, unit string) Figure {
	if r.n == 0 || r.sumX == 0 {
		return Figure{Why: "no pickup with a " + unit + " noted"}
	}
	f := Figure{Value: r.sumY / r.sumX, N: r.n}
	own := all.of(r)
	switch tiny := 1e-12 * r.sumYY; {
	case own.freedom == 0:
		f.Why = "no source has two pickups yet, so nothing shows how much they vary"
	case own.variance <= tiny:
		f.Why = "all pickups are equal, which says nothing about the next"
	default:
		t := distuv.StudentsT{Sigma: 1, Nu: own.freedom}
		scale := math.Sqrt(own.variance*float64(r.n)) / r.sumX
		half90, half50 := t.Quantile(0.95)*scale, t.Quantile(0.75)*scale
		f.Low, f.High, f.Known = f.Value-half90, f.Value+half90, true
		f.Low50, f.High50 = f.Value-half50, f.Value+half50
		return f
	}
	f.Low, f.High, f.Low50, f.High50 = f.Value, f.Value, f.Value, f.Value
	return f
}
