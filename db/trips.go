package db

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"skepwood/analytics/yield"
)

// Trip turns a pickup's sums into what the analysis of sources takes. What is
// not ours to take is counted with what may not come near bees: neither is
// won. The waste of cutting is what remains.
func (p *PickupSum) Trip(kind string) yield.Pickup { return p.trip(p.SourceID.String(), kind) }

// trip is Trip where the id of the source is at hand as text.
func (p *PickupSum) trip(source, kind string) yield.Pickup {
	out := yield.Pickup{
		SourceID: source, Kind: kind, Date: p.Day,
		Miles: p.DistanceM / metresPerMile, Minutes: p.Minutes, ShopMinutes: p.ShopMinutes, Lots: p.Lots,
		Cash:   yield.Money{Minor: p.CostMinor, Currency: p.Currency},
		Volume: p.Gross(), Inside: p.UsableInside, Outside: p.UsableOutside,
		Held: p.GrossHold, Never: p.GrossNever + p.GrossStopped, Lost: p.GrossLost,
		Empty: p.Empty, Estimated: p.Estimated > 0,
	}
	if p.CostMinor == 0 {
		out.Cash = yield.Money{}
	}
	return out
}

// Prices returns the book's dated figures in one currency as the analysis
// takes them. Figures in other currencies count where a changeover says how one became
// the other, and are left out else.
func (s *Store) Prices(ctx context.Context, currency string) (yield.Prices, error) {
	figures, err := s.Figures(ctx)
	if err != nil {
		return yield.Prices{}, err
	}
	return pricesIn(figures, currency), nil
}

// foreign returns an error that wraps yield.ErrCurrency where a price that matters is
// given in other currencies alone: left out, wood would be worth nothing and driving
// free. prices are what pricesIn makes of the figures.
func foreign(figures []Setting, prices yield.Prices, currency string) error {
	for _, part := range []struct {
		name string
		have yield.Schedule
	}{{MileCost, prices.Mile}, {BoardFootPrice, prices.Inside}, {HourValue, prices.Hour}, {DisposalCost, prices.Disposal}, {HomeDay, prices.Home}} {
		if len(part.have) > 0 {
			continue
		}
		at := slices.IndexFunc(figures, func(f Setting) bool { return f.Name == part.name && f.Amount > 0 })
		if at < 0 {
			continue
		}
		other, label := figures[at].Currency, part.name
		for _, o := range settingNames {
			if o.Value == part.name {
				label = o.Label
			}
		}
		return fmt.Errorf("%w: the %s is given in %s alone: enter it in %s, or the changeover of %s: how much of it made one %s",
			yield.ErrCurrency, label, other, currency, other, currency)
	}
	return nil
}

// pricesIn joins figures to the prices of one currency.
func pricesIn(figures []Setting, currency string) yield.Prices {
	prices := yield.Prices{Currency: currency}
	joined := map[string]int{} // place of the changeover of a currency
	for _, f := range figures {
		if f.Name != Changeover || f.Currency == currency || f.Amount <= 0 {
			continue
		}
		c := yield.Changeover{From: f.Currency, To: currency, Factor: math.Pow10(minorDigits(currency)-minorDigits(f.Currency)) / f.Amount}
		if at, known := joined[f.Currency]; known {
			prices.Changeovers[at] = c // the later one holds
			continue
		}
		joined[f.Currency] = len(prices.Changeovers)
		prices.Changeovers = append(prices.Changeovers, c)
	}
	// Of two figures of one day the keeper's own currency wins: it comes last.
	slices.SortStableFunc(figures, func(a, b Setting) int {
		return cmp.Compare(btoi(a.Currency == currency), btoi(b.Currency == currency))
	})
	for _, f := range figures {
		if _, known := joined[f.Currency]; f.Currency != currency && !known {
			continue
		}
		rate := yield.Rate{From: f.ValidFrom, Minor: f.Amount * math.Pow10(minorDigits(f.Currency)), Currency: f.Currency}
		switch f.Name {
		case MileCost:
			prices.Mile = append(prices.Mile, rate)
		case HourValue:
			prices.Hour = append(prices.Hour, rate)
		case BoardFootPrice:
			perM3 := yield.PerBoardFoot(rate)
			prices.Inside, prices.Outside = append(prices.Inside, perM3), append(prices.Outside, perM3)
		case DisposalCost:
			prices.Disposal = append(prices.Disposal, rate)
		case HomeDay:
			prices.Home = append(prices.Home, rate)
		}
	}
	return prices
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
