package db_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
	"skepwood/db"
)

// TestHomeIsKept saves where rounds begin, refuses half a place, and finds it
// again in a book made from the exported sheets.
func TestHomeIsKept(t *testing.T) {
	t.Parallel()
	b := setup(t)
	keeper, err := b.store.Keeper(t.Context())
	require.NoError(t, err)
	values := db.KeeperValues(keeper)
	values["home_latitude"], values["home_longitude"], values["road_factor"], values["vehicle"] = "44.25", "-89,5", "1.4", "60 cubic feet"
	saved, err := b.store.SaveKeeper(t.Context(), keeper.ID, keeper.Version, values)
	require.NoError(t, err)
	require.InDelta(t, 44.25, *saved.HomeLatitude, 0)
	require.InDelta(t, -89.5, *saved.HomeLongitude, 0)
	require.InDelta(t, 1.4, *saved.RoadFactor, 0)
	require.InDelta(t, 60*0.028316846592, *saved.VehicleM3, 1e-12, "a cubic foot of exactly 12 international inches")

	values["home_longitude"] = ""
	_, err = b.store.SaveKeeper(t.Context(), keeper.ID, saved.Version, values)
	require.ErrorContains(t, err, "stands without its partner")

	dir, _ := b.export(t)
	other := setup(t)
	require.Empty(t, other.read(t, false, sheetsIn(t, dir)...).Faults)
	same, err := other.store.Keeper(t.Context())
	require.NoError(t, err)
	require.InDelta(t, 44.25, *same.HomeLatitude, 0)
	require.InDelta(t, *saved.VehicleM3, *same.VehicleM3, 1e-9)
	require.Equal(t, db.KeeperValues(saved), db.KeeperValues(same))
}

// TestADayAtHomeIsAFigure compares drives with it from its day on.
func TestADayAtHomeIsAFigure(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.add(t, db.Settings, map[string]string{"name": db.HomeDay, "valid_from": "2026-01-01", "amount": "25", "currency": "USD"})
	prices, err := b.store.Prices(t.Context(), "USD")
	require.NoError(t, err)
	terms, err := prices.On(testNow)
	require.NoError(t, err)
	require.InDelta(t, 2500, terms.Home, 1e-9)
}

// TestACurrencyChangeInMidBook is refused until the changeover is entered, and
// then counted in the keeper's currency.
func TestACurrencyChangeInMidBook(t *testing.T) {
	t.Parallel()
	b := setup(t)
	for _, f := range []map[string]string{
		{"name": db.MileCost, "valid_from": "1900-01-01", "amount": "3", "currency": "HRK"}, {"name": db.MileCost, "valid_from": "2026-01-01", "amount": "0.5", "currency": "EUR"},
		{"name": db.BoardFootPrice, "valid_from": "1900-01-01", "amount": "2", "currency": "EUR"},
	} {
		b.add(t, db.Settings, f)
	}
	b.add(t, db.Sources, map[string]string{"name": "One", "distance": "10"})
	b.add(t, db.Pickups, map[string]string{"source": "One", "day": "2025-06-01", "distance": "10", "cost": "75.34", "currency": "HRK", "empty": "yes"})
	b.add(t, db.Pickups, map[string]string{"source": "One", "day": "2026-02-01", "distance": "10", "empty": "yes"})
	_, err := b.store.Ranking(t.Context(), "EUR")
	require.ErrorContains(t, err, "price per mile", "the old rates are in another currency")

	b.add(t, db.Settings, map[string]string{"name": db.Changeover, "valid_from": "2026-01-01", "amount": "7.5345", "currency": "HRK"})
	ranking, err := b.store.Ranking(t.Context(), "EUR")
	require.NoError(t, err)
	require.NotNil(t, ranking.Next, ranking.Why)
	old := 10*3/7.5345 + 75.34/7.5345 // the distance is in miles
	require.InDelta(t, -100*(old+5)/2, ranking.Sources[0].PerPickup.Value, 0.02)

	_, err = db.Settings.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"name": db.Changeover, "valid_from": "2026-01-02", "amount": "0", "currency": "DEM"}, b.env)
	require.ErrorContains(t, err, "cannot be a rate")
}

// TestAnotherCurrencyIsAskedAbout changes the keeper's currency in a book whose prices are
// all in the old one: nothing may be worth nothing.
func TestAnotherCurrencyIsAskedAbout(t *testing.T) {
	t.Parallel()
	b := setup(t)
	require.NoError(t, b.store.EnsureFigures(t.Context()))
	b.add(t, db.Sources, map[string]string{"name": "One", "distance": "10"})
	b.add(t, db.Pickups, map[string]string{"source": "One", "day": "2026-02-01", "distance": "10", "empty": "yes"})
	_, err := b.store.Ranking(t.Context(), "EUR")
	require.ErrorIs(t, err, yield.ErrCurrency)
	require.ErrorContains(t, err, "the cost of a mile driven is given in USD alone: enter it in EUR, or the changeover of USD")
	b.add(t, db.Settings, map[string]string{"name": db.MileCost, "valid_from": "1900-01-01", "amount": "0.4", "currency": "EUR"})
	_, err = b.store.Ranking(t.Context(), "EUR")
	require.ErrorContains(t, err, "the price of a board foot bought instead is given in USD alone")
	b.add(t, db.Settings, map[string]string{"name": db.Changeover, "valid_from": "2026-01-01", "amount": "1.1", "currency": "USD"})
	ranking, err := b.store.Ranking(t.Context(), "EUR")
	require.NoError(t, err)
	require.InDelta(t, 256/1.1, ranking.Next.Model.Terms().Inside*yield.CubicMetresPerBoardFoot, 0.01)
}
