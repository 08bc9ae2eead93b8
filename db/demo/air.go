package demo

import (
	"math"
	"time"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// airs are the places whose air the club knows, with the mean humidity there in
// percent. A logger hung under the lean-to for the last months.
var airs = []struct {
	place    string
	humidity float64
	source   string
	logged   bool
}{
	{"lean-to", 60, "kept by the club, ten years", true},
	{"behind the shed", 82, "hygrometer on the fence post, read on Sundays", false},
	{"yard corner", 74, "hygrometer on the fence post, read on Sundays", false},
}

// loggedMonths is how many whole months the logger has seen.
const loggedMonths = 4

// airOf is the mean of a month's air: the generator's own temperature, and
// humidity that is lowest in spring.
func airOf(month time.Month, humidity float64) (tempC, rh float64) {
	day := float64(month-1)*30.4 + 15
	return 10 - 12*math.Cos(2*math.Pi*(day-15)/365), humidity - 4*math.Cos(2*math.Pi*(float64(month)-10.5)/12)
}

// air writes the usual means of each place and what the logger saw.
func (g *generator) air() {
	for _, a := range airs {
		for m := time.January; m <= time.December; m++ {
			c, rh := airOf(m, a.humidity)
			g.row("climates", g.evening(1, 40), a.place, m.String(), num(c, 1)+" C", num(rh, 0), "", "", "", "", a.source, "")
		}
		if a.logged {
			g.logged(a.place, a.humidity)
		}
	}
}

// logged writes the months of the logger's file, each a little off the usual.
func (g *generator) logged(place string, humidity float64) {
	first := time.Date(g.today.Year(), g.today.Month(), 1, 0, 0, 0, 0, time.UTC).AddDate(0, -loggedMonths, 0)
	for i := range loggedMonths {
		from := first.AddDate(0, i, 0)
		to := from.AddDate(0, 1, -1)
		c, rh := airOf(from.Month(), humidity)
		c, rh = c+0.7*float64(i%3)-0.6, rh+1.5-float64(i)
		days, fault := to.Day(), ""
		if i == 1 { // its battery was changed late
			days -= 4
			fault = "Line 951: Nothing from " + from.AddDate(0, 0, 9).Format("2 January 2006") + " 07:00 to " + from.AddDate(0, 0, 14).Format("2 January 2006") + " 18:00, about 130 records."
		}
		emc, err := wood.EMC(wood.Celsius(c), rh)
		if err != nil {
			panic(err) // airOf gives air as it is: cannot happen
		}
		g.row("climates", to.Add(19*time.Hour), place, from.Month().String(), num(c, 2)+" C", num(rh, 1), from.Format(time.DateOnly), to.Format(time.DateOnly), num(float64(days), 0), num(emc, 2), "logger file lean-to.csv", fault)
	}
}

// dried is what an oven-dry piece of a board weighs, and its mass at percent
// moisture, in grams.
func dried(percent float64) (wet, dry string) {
	const grams = 180
	return num(grams*(1+percent/100), 1) + " g", num(grams, 0) + " g"
}

// guessed is what the club thinks the wood of hardware crates is.
var guessed = moisture.WriteGuess([]moisture.SpeciesShare{{ID: "spruce_norway", P: 0.52}, {ID: "pine_scots", P: 0.27}, {ID: "fir_silver", P: 0.08}, {ID: "", P: 0.13}}, 3)
