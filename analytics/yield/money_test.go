package yield_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

func TestMoneyAdds(t *testing.T) {
	t.Parallel()
	usd := func(minor int64) yield.Money { return yield.Money{Minor: minor, Currency: "USD"} }
	sum, err := usd(150).Add(usd(-20))
	require.NoError(t, err)
	require.Equal(t, usd(130), sum)
	sum, err = yield.Money{}.Add(usd(5))
	require.NoError(t, err)
	require.Equal(t, usd(5), sum)
	_, err = usd(5).Add(yield.Money{Minor: 1, Currency: "EUR"})
	require.ErrorIs(t, err, yield.ErrCurrency)
	require.ErrorContains(t, err, "0.05 USD and 0.01 EUR")
	_, err = usd(math.MaxInt64).Add(usd(1))
	require.ErrorIs(t, err, yield.ErrOption)
	_, err = usd(math.MinInt64).Add(usd(-1))
	require.ErrorIs(t, err, yield.ErrOption)
}

func TestMoneyPrints(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		money yield.Money
		want  string
	}{
		{yield.Money{Minor: -1250, Currency: "USD"}, "-12.50 USD"},
		{yield.Money{Minor: 1250, Currency: "JPY"}, "1250 JPY"},
		{yield.Money{Minor: 1250, Currency: "KWD"}, "1.250 KWD"},
		{yield.Money{}, "0.00"},
	} {
		require.Equal(t, c.want, c.money.String())
	}
	require.Equal(t, "0.00", yield.FormatMinor(-0.4, "USD"))
	require.Equal(t, 100.0, yield.MinorPerMajor("USD"))
	require.True(t, yield.ValidCurrency("SEK"))
	for _, bad := range []string{"", "sek", "SE", "SEKK", "S3K"} {
		require.False(t, yield.ValidCurrency(bad), bad)
	}
}

func day(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return d
}

// TestScheduleByDate takes the mileage rates of 2022, which changed in mid-year.
func TestScheduleByDate(t *testing.T) {
	t.Parallel()
	s := yield.StandardMileage()
	for on, want := range map[string]float64{
		"2022-01-01": 58.5, "2022-06-30": 58.5, "2022-07-01": 62.5, "2023-05-05": 65.5, "2024-12-31": 67, "2025-01-01": 70, "2026-03-01": 72.5,
	} {
		r, err := s.At(day(on))
		require.NoError(t, err)
		require.InDelta(t, want, r.Minor, 1e-12, on)
		require.Equal(t, "USD", r.Currency)
	}
	_, err := s.At(day("2021-12-31"))
	require.ErrorIs(t, err, yield.ErrNoRate)
}

// TestLocalDay counts days in the zone of the drive, not in UTC.
func TestLocalDay(t *testing.T) {
	t.Parallel()
	west := time.FixedZone("west", -8*3600)
	s := yield.Schedule{{From: day("2025-01-01"), Minor: 2, Currency: "USD"}, {From: day("2024-01-01"), Minor: 1, Currency: "USD"}}
	r, err := s.At(time.Date(2024, 12, 31, 23, 0, 0, 0, west)) // already January in UTC
	require.NoError(t, err)
	require.Equal(t, 1.0, r.Minor)
}

func TestPricesOfADay(t *testing.T) {
	t.Parallel()
	p := yield.Prices{Mile: yield.StandardMileage(), Inside: yield.Schedule{yield.PerBoardFoot(yield.Rate{Minor: 256, Currency: "USD"})}}
	terms, err := p.On(day("2025-06-01"))
	require.NoError(t, err)
	require.Equal(t, "USD", terms.Currency)
	require.InDelta(t, 70, terms.Mile, 1e-12)
	require.InEpsilon(t, 256/0.002359737216, terms.Inside, 1e-12)
	require.Zero(t, terms.Hour, "the Saturday is the point")
	_, err = p.On(day("2020-01-01"))
	require.ErrorIs(t, err, yield.ErrNoRate)
	require.ErrorContains(t, err, "price per mile")
	p.Hour = yield.Schedule{{Minor: -1, Currency: "USD"}}
	_, err = p.On(day("2025-06-01"))
	require.ErrorIs(t, err, yield.ErrOption)
}

// TestCurrencyChange is a book whose currency changed in mid-book: refused until
// the changeover is entered, then added up.
func TestCurrencyChange(t *testing.T) {
	t.Parallel()
	p := yield.Prices{
		Currency: "EUR",
		Mile:     yield.Schedule{{Minor: 60, Currency: "HRK"}, {From: day("2023-01-01"), Minor: 30, Currency: "EUR"}},
		Inside:   yield.Schedule{{Minor: 100_000, Currency: "EUR"}},
	}
	old := yield.Pickup{SourceID: "a", Date: day("2022-05-01"), Miles: 10, Volume: 0.2, Inside: 0.1, Cash: yield.Money{Minor: 753, Currency: "HRK"}}
	fresh := yield.Pickup{SourceID: "a", Date: day("2023-05-01"), Miles: 10, Volume: 0.2, Inside: 0.1, Cash: yield.Money{Minor: 200, Currency: "EUR"}}
	for _, act := range map[string]func() error{
		"value": func() error { _, err := yield.Value(old, p); return err },
		"plain": func() error { _, err := yield.PlainFigures([]yield.Pickup{fresh, old}, p); return err },
		"fit": func() error {
			_, err := yield.Fit([]yield.Pickup{fresh, old}, yield.Options{Today: day("2023-06-01"), Prices: p})
			return err
		},
	} {
		err := act()
		require.ErrorIs(t, err, yield.ErrCurrency)
		require.ErrorContains(t, err, "enter the rate at which one became the other")
	}
	p.Changeovers = []yield.Changeover{{From: "HRK", To: "EUR", Factor: 1 / 7.5345}} // Council Regulation (EU) 2022/1208
	w, err := yield.Value(old, p)
	require.NoError(t, err)
	require.InDelta(t, 753/7.5345, w.Cash, 1e-9)
	require.InDelta(t, 600/7.5345, w.Driving, 1e-9)
	plain, err := yield.PlainFigures([]yield.Pickup{fresh, old}, p)
	require.NoError(t, err)
	require.InDelta(t, 20_000-300-200-1353/7.5345, plain[0].Net, 1e-9)
	m, err := yield.Fit([]yield.Pickup{fresh, old}, yield.Options{Today: day("2023-06-01"), Prices: p})
	require.NoError(t, err)
	require.Equal(t, "EUR", m.Terms().Currency)
}

func TestConvertOverSteps(t *testing.T) {
	t.Parallel()
	p := yield.Prices{Changeovers: []yield.Changeover{{"AAA", "BBB", 2}, {"CCC", "BBB", 4}}}
	f, err := p.Convert("AAA", "CCC")
	require.NoError(t, err)
	require.InDelta(t, 0.5, f, 1e-12)
	_, err = p.Convert("AAA", "DDD")
	require.ErrorIs(t, err, yield.ErrCurrency)
	p.Changeovers[0].Factor = 0
	_, err = p.Convert("AAA", "CCC")
	require.ErrorIs(t, err, yield.ErrOption)
}
