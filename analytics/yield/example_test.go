package yield_test

import (
	"fmt"
	"time"

	"skepwood/analytics/yield"
)

// A handful of trips says what the next one may bring, and how sure that is.
func ExampleFit() {
	saturday := func(n int) time.Time { return time.Date(2025, 1, 4+7*n, 0, 0, 0, 0, time.UTC) }
	prices := yield.Prices{
		Currency: "USD",
		Mile:     yield.StandardMileage(),
		Inside:   yield.Schedule{yield.PerBoardFoot(yield.Rate{Minor: 200, Currency: "USD"})},
	}
	pickups := []yield.Pickup{
		{SourceID: "tile works", Date: saturday(0), Miles: 6, Minutes: 70, Volume: 0.30, Inside: 0.16},
		{SourceID: "tile works", Date: saturday(3), Miles: 6, Minutes: 80, Volume: 0.42, Inside: 0.22, Held: 0.05},
		{SourceID: "print shop", Date: saturday(1), Miles: 14, Minutes: 30, Empty: true},
	}
	m, err := yield.Fit(pickups, yield.Options{Today: saturday(5), Prices: prices})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, a := range m.Answers().Sources {
		fmt.Printf("%s: %d trips, %s, loss possible: %v\n", a.SourceID, a.N, a.Evidence, a.Next.Most.Low < 0)
	}
	// Output:
	// tile works: 2 trips, few trips, loss possible: true
	// print shop: 1 trips, few trips, loss possible: true
}

// Nine of ten drives brought something: what may the chance be?
func ExampleWilson() {
	b, _ := yield.Wilson(9, 10, 0.9)
	fmt.Printf("%.2f to %.2f\n", b.Low, b.High)
	// Output: 0.65 to 0.98
}

// A place that may net -5, give or take 20, is worth trying at 2 a trip.
func ExampleValueOfTrial() {
	v, _ := yield.ValueOfTrial(yield.Trial{Mean: -5, SD: 20, TripSD: 15, Trips: 1, TripCost: 2})
	fmt.Printf("pays with %.0f %%, trying it is worth %.2f\n", 100*v.Worth, v.Net)
	// Output: pays with 40 %, trying it is worth 2.19
}

// Two stops in an afternoon.
func ExamplePlanRound() {
	plan, _ := yield.PlanRound(yield.Round{
		Hours: 3, Mile: 70,
		Stops: []yield.Stop{{ID: "mill", Value: 6000, Volume: 0.3, Minutes: 30}, {ID: "far yard", Value: 1000, Volume: 0.2, Minutes: 30}},
		Miles: [][]float64{{0, 3, 60}, {3, 0, 58}, {60, 58, 0}},
	})
	for _, s := range plan.Stops {
		fmt.Printf("%s, then home: nets %s\n", s.ID, yield.FormatMinor(plan.Net.Mean, "USD"))
	}
	// Output: mill, then home: nets 55.80
}
