package yield

import (
	"fmt"
	"math"
	"time"
)

// CubicMetresPerBoardFoot is the volume of a board foot: 144 cubic inches of
// exactly 25.4 mm each.
const CubicMetresPerBoardFoot = 144 * 0.0254 * 0.0254 * 0.0254

// Rate is a price per unit that holds from a day on.
type Rate struct {
	From     time.Time `json:"from"`     // the first day; the zero time means always
	Minor    float64   `json:"minor"`    // minor units per unit; fractions allowed, such as 72.5 cents a mile
	Currency string    `json:"currency"` // ISO 4217
}

// Schedule is a list of rates in any order; the latest From that is not after
// a day holds on that day.
type Schedule []Rate

// At returns the rate that holds on day. The error wraps ErrNoRate.
func (s Schedule) At(day time.Time) (Rate, error) {
	best := -1
	for i, r := range s {
		if dayNumber(r.From) <= dayNumber(day) && (best < 0 || !r.From.Before(s[best].From)) {
			best = i
		}
	}
	if best < 0 {
		return Rate{}, fmt.Errorf("%w: %s", ErrNoRate, day.Format(time.DateOnly))
	}
	return s[best], nil
}

// dayNumber counts the calendar day of t in its own zone from 1 January 1970.
func dayNumber(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// Changeover says at which rate one currency is counted in another. Amounts
// carry their own currency, so it needs no date.
type Changeover struct {
	From   string  `json:"from"`
	To     string  `json:"to"`
	Factor float64 `json:"factor"` // minor units of To for one minor unit of From
}

// Prices is what a keeper holds things to be worth, by date. An empty schedule
// means nothing is paid or charged: an empty Hour is "the Saturday is the point".
type Prices struct {
	// Currency is the one all figures are given in; empty means that of the first
	// rate found.
	Currency string   `json:"currency"`
	Mile     Schedule `json:"mile"`     // running cost per extra mile
	Inside   Schedule `json:"inside"`   // replacement price per m³ of wood usable inside
	Outside  Schedule `json:"outside"`  // replacement price per m³ of wood usable outside
	Disposal Schedule `json:"disposal"` // cost per m³ of waste
	Hour     Schedule `json:"hour"`     // the keeper's own figure for an hour
	Home     Schedule `json:"home"`     // what a free day without a drive is worth; nothing before its first date
	// Changeovers lets a book that changed currency be added up.
	Changeovers []Changeover `json:"changeovers,omitempty"`
}

// PerBoardFoot returns the rate per m³ for a rate per board foot.
func PerBoardFoot(r Rate) Rate {
	r.Minor /= CubicMetresPerBoardFoot
	return r
}

// Terms are the prices of one day, in minor units of one currency.
type Terms struct {
	Currency string  `json:"currency"`
	Mile     float64 `json:"mile"`     // per extra mile
	Inside   float64 `json:"inside"`   // per m³ usable inside
	Outside  float64 `json:"outside"`  // per m³ usable outside
	Disposal float64 `json:"disposal"` // per m³ of waste
	Hour     float64 `json:"hour"`     // per hour
	// Home is what staying home is worth on the day of a drive: what every drive is
	// compared with.
	Home float64 `json:"home"`
	// LotMinutes is added to the minutes of every lot: a saw instead of a bar is
	// a negative number.
	LotMinutes float64 `json:"lot_minutes"`
}

// On returns the prices that hold on day, in the currency of the book. The error
// wraps ErrNoRate where a schedule starts later, ErrCurrency where a rate is in
// another currency and no changeover joins the two, and ErrOption for a negative
// or unreal rate.
func (p Prices) On(day time.Time) (Terms, error) {
	terms := Terms{Currency: p.currency()}
	for _, part := range []struct {
		name string
		from Schedule
		into *float64
	}{
		{"mile", p.Mile, &terms.Mile},
		{"m3 of inside wood", p.Inside, &terms.Inside},
		{"m3 of outside wood", p.Outside, &terms.Outside},
		{"m3 of waste", p.Disposal, &terms.Disposal},
		{"hour", p.Hour, &terms.Hour},
		{"day at home", p.Home, &terms.Home},
	} {
		if len(part.from) == 0 {
			continue
		}
		r, err := part.from.At(day)
		if err != nil && part.into == &terms.Home {
			continue // past trips are not compared with it, so it may begin today
		}
		if err != nil {
			return Terms{}, fmt.Errorf("price per %s: %w: enter one with an earlier date", part.name, err)
		}
		if !(r.Minor >= 0) || math.IsInf(r.Minor, 0) {
			return Terms{}, fmt.Errorf("%w: price per %s is %v: enter zero or more", ErrOption, part.name, r.Minor)
		}
		factor, err := p.Convert(r.Currency, terms.Currency)
		if err != nil {
			return Terms{}, fmt.Errorf("price per %s: %w", part.name, err)
		}
		*part.into = r.Minor * factor
	}
	return terms, nil
}

// currency returns the currency of the book: the one named, else that of the
// first rate found.
func (p Prices) currency() string {
	if p.Currency != "" {
		return p.Currency
	}
	for _, s := range []Schedule{p.Mile, p.Inside, p.Outside, p.Disposal, p.Hour, p.Home} {
		if len(s) > 0 {
			return s[len(s)-1].Currency
		}
	}
	return ""
}

// Convert returns how many minor units of to make one minor unit of from, by
// way of the changeovers, in either direction and over several steps. The error
// wraps ErrCurrency where they are not joined.
func (p Prices) Convert(from, to string) (float64, error) {
	if from == to {
		return 1, nil
	}
	factor := map[string]float64{from: 1}
	for queue := []string{from}; len(queue) > 0; queue = queue[1:] {
		for _, c := range p.Changeovers {
			if !(c.Factor > 0) || math.IsInf(c.Factor, 0) {
				return 0, fmt.Errorf("%w: changeover %s to %s has factor %v: enter more than zero", ErrOption, c.From, c.To, c.Factor)
			}
			next, f := c.To, c.Factor
			if c.To == queue[0] {
				next, f = c.From, 1/c.Factor
			} else if c.From != queue[0] {
				continue
			}
			if _, seen := factor[next]; !seen {
				factor[next] = factor[queue[0]] * f
				queue = append(queue, next)
			}
		}
	}
	if f, ok := factor[to]; ok {
		return f, nil
	}
	return 0, fmt.Errorf("%w: %q and %q: enter the rate at which one became the other", ErrCurrency, from, to)
}
