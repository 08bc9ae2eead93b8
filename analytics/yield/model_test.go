package yield_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/yield"
)

// options for a book that ends in a year.
func options(prices yield.Prices, sources ...yield.Source) yield.Options {
	return yield.Options{Today: day0.AddDate(1, 0, 0), Prices: prices, Sources: sources}
}

func fit(t *testing.T, pickups []yield.Pickup, opts yield.Options) *yield.Model {
	t.Helper()
	m, err := yield.Fit(pickups, opts)
	require.NoError(t, err)
	return m
}

// finite checks that every figure of an answer is a number and that what must
// lie in order does.
func finite(t *testing.T, a yield.Answer) {
	t.Helper()
	for name, s := range map[string]yield.Spread{"next": a.Next, "expected": a.Expected, "volume": a.Volume, "usable": a.Usable} {
		for _, x := range []float64{s.Mean, s.SD, s.Median, s.Half.Low, s.Half.High, s.Most.Low, s.Most.High} {
			require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%s of %s: %+v", name, a.SourceID, s)
		}
		require.LessOrEqual(t, s.Most.Low, s.Most.High, "%s of %s", name, a.SourceID)
		require.LessOrEqual(t, s.Half.Low, s.Half.High, "%s of %s", name, a.SourceID)
		require.GreaterOrEqual(t, s.SD, 0.0)
	}
	for name, f := range map[string]yield.Figure{
		"per hour": a.PerHour, "per mile": a.PerMile, "empty": a.EmptyChance, "share": a.UsableShare, "miles": a.BreakEvenMiles,
	} {
		require.False(t, math.IsNaN(f.Value+f.Low+f.High) || math.IsInf(f.Value+f.Low+f.High, 0), "%s of %s: %+v", name, a.SourceID, f)
		require.True(t, f.Known || f.Why != "", "%s of %s says why it is not known", name, a.SourceID)
	}
	for name, p := range map[string]float64{"pays": a.Pays, "best": a.BestChance, "drift": a.Drift.Chance, "empty": a.EmptyChance.Value, "share": a.UsableShare.Value} {
		require.True(t, p >= 0 && p <= 1, "%s of %s is %v", name, a.SourceID, p)
	}
	if sum := a.Doubt.Emptiness + a.Doubt.Volume + a.Doubt.Usability + a.Doubt.Time; sum != 0 {
		require.InDelta(t, 1, sum, 1e-9)
	}
	require.NotEmpty(t, a.Sentence)
}

// TestBookOfAYear checks what all answers of a simulated book owe each other.
func TestBookOfAYear(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(40, seed))
		w := newWorld(r, worldOptions{})
		v := w.visit(r)
		all := fit(t, v.pickups, options(w.prices, w.places()...)).Answers()
		require.Len(t, all.Sources, len(w.sources))
		var best, rank float64
		contenders := 0.0
		for i, a := range all.Sources {
			finite(t, a)
			best += a.BestChance
			rank += a.ExpectedRank
			if a.Contender {
				contenders += a.BestChance
			}
			if i > 0 {
				require.GreaterOrEqual(t, all.Sources[i-1].Expected.Mean, a.Expected.Mean, "sorted by expected net")
			}
			require.Greater(t, a.Next.SD, a.Expected.SD*(1-1e-9), "a trip is less certain than its mean")
			switch {
			case a.N == 0:
				require.Equal(t, yield.NoTrips, a.Evidence)
			case a.N < 5:
				require.Equal(t, yield.FewTrips, a.Evidence)
			}
		}
		n := float64(len(w.sources))
		require.InDelta(t, 1, best, 1e-9)
		require.InDelta(t, n*(n+1)/2, rank, 0.05*n, "expected ranks add up")
		require.GreaterOrEqual(t, contenders, 0.9-1e-9)
		home := 0
		for _, c := range all.Next.Choices {
			if c.Home {
				home++
				require.Zero(t, c.Score)
			}
			require.NotEmpty(t, c.Sentence)
		}
		require.Equal(t, 1, home, "staying home is always a choice")
		require.Len(t, all.Next.Choices, len(w.sources)+1)
	}
}

// TestOrderAndSeed gives the same answers for any order of the pickups, and for
// the same seed.
func TestOrderAndSeed(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(41, 1))
	w := newWorld(r, worldOptions{sources: 8})
	v := w.visit(r)
	opts := options(w.prices, w.places()...)
	first := fit(t, v.pickups, opts).Answers()
	shuffled := slices.Clone(v.pickups)
	r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	again := fit(t, shuffled, opts).Answers()
	for i, a := range first.Sources {
		b := again.Sources[i]
		require.Equal(t, a.SourceID, b.SourceID)
		require.InEpsilon(t, a.Next.Most.High, b.Next.Most.High, 1e-6)
		require.InDelta(t, a.BestChance, b.BestChance, 1e-9, "the draws are those of the seed")
	}
	opts.Seed = 99
	other := fit(t, v.pickups, opts).Answers()
	require.Equal(t, first.Sources[0].Next, other.Sources[0].Next, "only the chance of being best is drawn")
	require.InDelta(t, first.Sources[0].BestChance, other.Sources[0].BestChance, 0.1)
}

// TestBorrowing draws a source with one lucky trip towards the others, and less
// so the more trips it has.
func TestBorrowing(t *testing.T) {
	t.Parallel()
	var pickups []yield.Pickup
	for _, id := range []string{"a", "b", "c", "d"} {
		for i := range 6 {
			pickups = append(pickups, simple(id, "2025-01-0"+string(rune('1'+i)), 0.08+0.02*float64(i)))
		}
	}
	last := 0.0
	for _, n := range []int{1, 3, 9, 27} {
		book := slices.Clone(pickups)
		for range n {
			book = append(book, simple("lucky", "2025-01-09", 0.6))
		}
		opts := yield.Options{Today: day("2025-02-01"), Prices: onlyWood}
		a := answer(t, fit(t, book, opts), "lucky")
		require.Greater(t, a.Expected.Mean, last, "%d trips", n)
		if n < 27 { // what has never been empty may still be once
			require.Less(t, a.Expected.Mean, 6000.0, "%d trips", n)
		}
		last = a.Expected.Mean
	}
	require.Greater(t, last, 5200.0)
}

func answer(t *testing.T, m *yield.Model, id string) yield.Answer {
	t.Helper()
	for _, a := range m.Answers().Sources {
		if a.SourceID == id {
			return a
		}
	}
	require.Fail(t, "no answer for "+id)
	return yield.Answer{}
}

// TestFreshPlaceTakesItsKind predicts a place not seen yet from its kind where
// the book shows that kinds differ.
func TestFreshPlaceTakesItsKind(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(42, 1))
	var pickups []yield.Pickup
	for i, id := range []string{"p1", "p2", "p3", "p4", "f1", "f2", "f3", "f4"} {
		for range 6 {
			p := simple(id, "2025-01-01", math.Exp(-3+2*float64(i/4)+0.3*r.NormFloat64()))
			p.Kind = []string{"printer", "foundry"}[i/4]
			pickups = append(pickups, p)
		}
	}
	m := fit(t, pickups, yield.Options{Today: day("2025-02-01"), Prices: onlyWood, Sources: []yield.Source{
		{ID: "new printer", Kind: "printer"}, {ID: "new foundry", Kind: "foundry"}, {ID: "new bakery", Kind: "bakery"},
	}})
	require.True(t, m.Answers().Grouped)
	printer, foundry, bakery := answer(t, m, "new printer"), answer(t, m, "new foundry"), answer(t, m, "new bakery")
	require.Greater(t, foundry.Volume.Mean, 3*printer.Volume.Mean)
	require.Greater(t, bakery.Volume.Median, printer.Volume.Median)
	require.Less(t, bakery.Volume.Median, foundry.Volume.Median)
	width := func(a yield.Answer) float64 { return math.Log(a.Volume.Most.High / a.Volume.Median) }
	require.Greater(t, width(bakery), width(foundry), "nothing is known of bakeries")
	require.Equal(t, yield.NoTrips, bakery.Evidence)
}

// TestHeldIsUndecided leaves held wood out of the shares: neither lost nor good.
func TestHeldIsUndecided(t *testing.T) {
	t.Parallel()
	book := func(held float64, inside float64) []yield.Pickup {
		var all []yield.Pickup
		for i := range 8 {
			all = append(all, yield.Pickup{
				SourceID: string(rune('a' + i%4)), Date: day("2025-01-01").AddDate(0, 0, i), Volume: 0.2,
				Inside: 0.2 * inside * (1 - held) * (0.9 + 0.05*float64(i%5)), Held: 0.2 * held,
			})
		}
		return all
	}
	opts := yield.Options{Today: day("2025-02-01"), Prices: onlyWood}
	decided := answer(t, fit(t, book(0, 0.5), opts), "a")
	open := answer(t, fit(t, book(0.5, 0.5), opts), "a")
	require.InDelta(t, decided.UsableShare.Value, open.UsableShare.Value, 0.02, "the same share of what is decided")
	require.InDelta(t, 0.5, open.HeldShare, 1e-9)
	require.Greater(t, open.Next.SD, 0.98*decided.Next.SD, "and no more certain for it")
	all := answer(t, fit(t, book(1, 0.5), opts), "a")
	finite(t, all)
	require.Greater(t, all.UsableShare.Value, 0.25, "nothing decided is not nothing usable")
	require.Contains(t, all.Sentence, "still on hold")
}

// TestDrift weighs recent trips more only when the book shows that sources
// change.
func TestDrift(t *testing.T) {
	t.Parallel()
	book := func(changes bool) []yield.Pickup {
		r := rand.New(rand.NewPCG(43, 7))
		var all []yield.Pickup
		for i := range 8 {
			level := -2 + 0.3*r.NormFloat64()
			for j := range 24 {
				if changes && j == 12 {
					level += 1.4 * float64(1-2*(i%2)) // half of them doubled twice, half fell
				}
				p := simple(string(rune('a'+i)), "2024-03-02", math.Exp(level+0.4*r.NormFloat64()))
				p.Date = day0.AddDate(0, 0, 15*j)
				all = append(all, p)
			}
		}
		return all
	}
	steady, changing := fit(t, book(false), options(onlyWood)), fit(t, book(true), options(onlyWood))
	require.Less(t, steady.Answers().Changing, 0.6)
	require.Greater(t, changing.Answers().Changing, 0.95)
	require.Greater(t, answer(t, steady, "a").Drift.Recent, 0.75)
	require.Less(t, answer(t, changing, "a").Drift.Recent, 0.8)
	require.Greater(t, answer(t, changing, "a").Drift.Shift, answer(t, changing, "b").Drift.Shift)
	rising, falling := answer(t, changing, "a"), answer(t, changing, "b")
	require.Greater(t, rising.Volume.Mean, 2.5*falling.Volume.Mean, "the last half year counts most")
}

// TestSeasonOfTheYear believes in a season only when the book has one.
func TestSeasonOfTheYear(t *testing.T) {
	t.Parallel()
	book := func(seed uint64, swing float64) []yield.Pickup {
		r := rand.New(rand.NewPCG(44, seed))
		var all []yield.Pickup
		for i := range 6 {
			for range 20 {
				d := r.IntN(700)
				level := -2 + swing*math.Cos(2*math.Pi*float64(d)/365.2425) + 0.5*r.NormFloat64()
				p := simple(string(rune('a'+i)), "2024-01-01", math.Exp(level))
				p.Date = day("2024-01-01").AddDate(0, 0, d)
				all = append(all, p)
			}
		}
		return all
	}
	at := func(pickups []yield.Pickup, today string) *yield.Model {
		return fit(t, pickups, yield.Options{Today: day(today), Prices: onlyWood})
	}
	winter, summer := at(book(1, 0.6), "2026-01-01"), at(book(1, 0.6), "2026-07-01")
	require.True(t, winter.Answers().Seasonal)
	require.InDelta(t, math.Exp(1.2), answer(t, winter, "a").Volume.Mean/answer(t, summer, "a").Volume.Mean, 1)
	taken := 0
	for seed := range uint64(100) {
		if at(book(100+seed, 0), "2026-01-01").Answers().Seasonal {
			taken++
		}
	}
	require.LessOrEqual(t, taken, 5, "about one book in a hundred is taken in")
}

// TestMinutes learns how quick a source is, and leaves a book without minutes
// without a figure per hour.
func TestMinutes(t *testing.T) {
	t.Parallel()
	book := func(minutes func(i int, v float64) float64) []yield.Pickup {
		var all []yield.Pickup
		for i := range 24 {
			v := 0.1 + 0.01*float64(i%7)
			p := simple(string(rune('a'+i%3)), "2025-01-01", v)
			p.Miles, p.Minutes = 10, minutes(i%3, v)
			all = append(all, p)
		}
		return all
	}
	hour := plainPrices
	hour.Disposal = nil
	opts := yield.Options{Today: day("2025-02-01"), Prices: hour}
	timed := fit(t, book(func(i int, v float64) float64 { return (30 + 200*v) * []float64{1, 1, 2}[i] }), opts)
	quick, slow := answer(t, timed, "a"), answer(t, timed, "c")
	require.Greater(t, slow.Minutes, 1.5*quick.Minutes)
	require.Greater(t, quick.PerHour.Value, slow.PerHour.Value)
	require.True(t, quick.PerHour.Known)
	untimed := answer(t, fit(t, book(func(int, float64) float64 { return 0 }), opts), "a")
	require.False(t, untimed.PerHour.Known)
	finite(t, untimed)
}

// TestBadOptions refuses what cannot be meant.
func TestBadOptions(t *testing.T) {
	t.Parallel()
	ok := options(plainPrices)
	for name, spoil := range map[string]func(*yield.Options){
		"no day":        func(o *yield.Options) { o.Today = time.Time{} },
		"few draws":     func(o *yield.Options) { o.Draws = 5 },
		"long season":   func(o *yield.Options) { o.Horizon = 5000 },
		"no id":         func(o *yield.Options) { o.Sources = []yield.Source{{}} },
		"absurd miles":  func(o *yield.Options) { o.Sources = []yield.Source{{ID: "x", Miles: 1e6}} },
		"negative cash": func(o *yield.Options) { o.Sources = []yield.Source{{ID: "x", Cash: yield.Money{Minor: -1}}} },
	} {
		opts := ok
		spoil(&opts)
		_, err := yield.Fit(nil, opts)
		require.ErrorIs(t, err, yield.ErrOption, name)
	}
	m := fit(t, []yield.Pickup{good()}, ok)
	_, err := m.AnswersAt(yield.Terms{Currency: "EUR"})
	require.ErrorIs(t, err, yield.ErrCurrency)
	terms := m.Terms()
	terms.Hour = -1
	_, err = m.AnswersAt(terms)
	require.ErrorIs(t, err, yield.ErrOption)
	terms = m.Terms()
	terms.LotMinutes = math.NaN()
	_, err = m.WhatIf(terms)
	require.ErrorIs(t, err, yield.ErrOption)
	_, err = m.Score("nowhere", 3)
	require.ErrorIs(t, err, yield.ErrUnknownSource)
	_, err = m.Stop("nowhere")
	require.ErrorIs(t, err, yield.ErrUnknownSource)
}

// TestOddBooks answers for books at the edge.
func TestOddBooks(t *testing.T) {
	t.Parallel()
	empty := func(id string, n int) []yield.Pickup {
		var all []yield.Pickup
		for i := range n {
			all = append(all, yield.Pickup{SourceID: id, Date: day("2025-01-01").AddDate(0, 0, i), Miles: 8, Minutes: 25, Empty: true})
		}
		return all
	}
	equal := func(n int) []yield.Pickup {
		var all []yield.Pickup
		for i := range n {
			p := good()
			p.Date = p.Date.AddDate(0, 0, i)
			all = append(all, p)
		}
		return all
	}
	opts := yield.Options{Today: day("2025-06-01"), Prices: plainPrices}
	t.Run("nothing at all", func(t *testing.T) {
		t.Parallel()
		a := fit(t, nil, opts).Answers()
		require.Empty(t, a.Sources)
		require.Len(t, a.Next.Choices, 1)
		require.True(t, a.Next.Choices[0].Home)
	})
	t.Run("a place without trips in an empty book", func(t *testing.T) {
		t.Parallel()
		o := opts
		o.Sources = []yield.Source{{ID: "rumour", Miles: 12}}
		a := answer(t, fit(t, nil, o), "rumour")
		finite(t, a)
		require.Equal(t, yield.NoTrips, a.Evidence)
		require.InDelta(t, 1, a.BestChance, 0)
		require.Greater(t, a.Volume.Most.High, 5*a.Volume.Median, "hardly anything is known")
	})
	t.Run("one source, one trip", func(t *testing.T) {
		t.Parallel()
		a := answer(t, fit(t, []yield.Pickup{good()}, opts), "tile works")
		finite(t, a)
		require.Contains(t, a.Sentence, "after one trip")
		require.Less(t, a.Next.Most.Low, 0.0)
		require.Greater(t, a.Next.Most.High, 1600.0)
	})
	t.Run("all trips empty", func(t *testing.T) {
		t.Parallel()
		m := fit(t, append(empty("a", 12), empty("b", 3)...), opts)
		a, b := answer(t, m, "a"), answer(t, m, "b")
		finite(t, a)
		require.Greater(t, a.EmptyChance.Value, 0.7)
		require.Less(t, a.EmptyChance.High, 1.0, "never certain")
		require.Greater(t, a.EmptyChance.Value, b.EmptyChance.Value)
		require.Less(t, a.Expected.Mean, 0.0)
		require.True(t, m.Answers().Next.Choices[0].Home, "stay home")
		require.Equal(t, yield.DoesNotPay, m.Answers().Next.Choices[1].Reason)
	})
	t.Run("all equal", func(t *testing.T) {
		t.Parallel()
		a := answer(t, fit(t, equal(10), opts), "tile works")
		finite(t, a)
		require.Greater(t, a.Next.Most.Width(), 500.0, "equal trips are no certainty")
	})
	t.Run("no miles and no minutes", func(t *testing.T) {
		t.Parallel()
		p := good()
		p.Miles, p.Minutes, p.ShopMinutes = 0, 0, 0
		a := answer(t, fit(t, []yield.Pickup{p}, opts), "tile works")
		finite(t, a)
		require.False(t, a.PerMile.Known)
		require.False(t, a.PerHour.Known)
	})
	t.Run("a splinter and a lorry", func(t *testing.T) {
		t.Parallel()
		all := []yield.Pickup{simple("a", "2025-01-01", 1e-5), simple("a", "2025-02-01", 100), simple("b", "2025-02-01", 0.1)}
		m := fit(t, all, yield.Options{Today: day("2025-06-01"), Prices: onlyWood})
		finite(t, answer(t, m, "a"))
		finite(t, answer(t, m, "b"))
	})
	t.Run("trips after today", func(t *testing.T) {
		t.Parallel()
		o := opts
		o.Today = day("2024-01-01")
		finite(t, answer(t, fit(t, equal(3), o), "tile works"))
	})
}

// TestHundredThousandTrips answers for one source with 100,000 trips, and its
// interval closes around the truth.
func TestHundredThousandTrips(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(45, 1))
	all := make([]yield.Pickup, 100_000)
	for i := range all {
		all[i] = simple("a", "2024-01-01", math.Exp(-2+0.5*r.NormFloat64()))
		if r.Float64() < 0.25 {
			all[i] = simple("a", "2024-01-01", 0)
		}
		all[i].Date = day("2024-01-01").AddDate(0, 0, r.IntN(365))
	}
	a := answer(t, fit(t, all, yield.Options{Today: day("2025-01-01"), Prices: onlyWood}), "a")
	finite(t, a)
	require.Equal(t, 100_000, a.N)
	require.InDelta(t, 0.25, a.EmptyChance.Value, 0.005)
	truth := 0.75 * math.Exp(-2+0.125) * 10_000
	require.InEpsilon(t, truth, a.Expected.Mean, 0.02)
	require.Less(t, a.Expected.SD, 0.02*truth)
}
