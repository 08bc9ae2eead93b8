package demo

import (
	"math"
	"strconv"
)

// The invented club keeps its bees in the middle of the North Atlantic, where no
// place on earth can be mistaken for one of its sources.
const (
	homeLat = 30.0
	homeLon = -45.0
	// roadFactor is the road for one of straight line, vehicle what the club's trailer
	// holds.
	roadFactor = "1.3"
	vehicle    = "40 cubic feet"
)

// straight is how far source i lies to the north and to the east, in miles: around
// home by the golden angle, as far as its miles there and back say.
func (p *place) straight(i int) (north, east float64) {
	const goldenAngle = 2.399963229728653
	away := p.miles / 2 / 1.3
	return away * math.Cos(float64(i)*goldenAngle), away * math.Sin(float64(i)*goldenAngle)
}

// milesPerDegree is a degree of a great circle of the mean earth.
const milesPerDegree = 69.093

func (p *place) lat(i int) float64 {
	north, _ := p.straight(i)
	return homeLat + north/milesPerDegree
}

func (p *place) lon(i int) float64 {
	_, east := p.straight(i)
	return homeLon + east/(milesPerDegree*math.Cos(homeLat*math.Pi/180))
}

func degrees(x float64) string { return strconv.FormatFloat(x, 'f', 4, 64) }
