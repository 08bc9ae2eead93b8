package yield

import (
	"fmt"
	"math"
)

// Trial is the question whether to try a place before deciding on it. What it
// brings per trip is believed to be normal with Mean and SD; a trip shows it with
// the error TripSD; afterwards the place is kept if it is believed to bring more
// than Threshold.
type Trial struct {
	Mean      float64
	SD        float64 // >= 0
	Threshold float64 // what is brought without the place
	TripSD    float64 // >= 0
	Trips     int     // >= 0
	TripCost  float64 // of one trip, what it brings not counted
}

// TrialValue is what a Trial is worth, per later trip, in the unit of its Mean.
type TrialValue struct {
	Worth   float64 // chance that the place brings more than the threshold
	Perfect float64 // expected value of perfect information
	Sample  float64 // expected value of what the trips show
	Net     float64 // Sample less the cost of the trips
}

// UnitLoss returns the unit normal loss E[max(Z − z, 0)] of a standard normal Z:
// 0.3989 at 0, 0.0833 at 1, 0.0085 at 2. Source: Raiffa and Schlaifer 1961.
func UnitLoss(z float64) float64 {
	if z > 35 {
		return 0 // below the smallest float
	}
	return math.Max(0, density(z)-z*upperTail(z))
}

// ValueOfTrial returns what trying a place is worth by the closed form of
// one-stage normal linear loss (Raiffa and Schlaifer 1961, Applied Statistical
// Decision Theory). The error wraps ErrOption.
func ValueOfTrial(t Trial) (TrialValue, error) {
	finite := !math.IsNaN(t.Mean+t.SD+t.Threshold+t.TripSD+t.TripCost) && !math.IsInf(t.Mean+t.SD+t.Threshold+t.TripSD+t.TripCost, 0)
	if !finite || t.SD < 0 || t.TripSD < 0 || t.Trips < 0 {
		return TrialValue{}, fmt.Errorf("%w: trial %+v: give finite numbers and no negative spread or count", ErrOption, t)
	}
	above := t.Mean - t.Threshold
	v := TrialValue{Worth: upperTail(-above / t.SD), Perfect: gain(above, t.SD)}
	if t.SD == 0 { // known already
		v.Worth = 0
		if above > 0 {
			v.Worth = 1
		}
	}
	v.Sample = gain(above, learned(t.SD, t.TripSD, float64(t.Trips)))
	v.Net = v.Sample - float64(t.Trips)*t.TripCost
	return v, nil
}

// learned returns the standard deviation of the change of belief that trips
// will bring: the part of sd that they resolve.
func learned(sd, tripSD, trips float64) float64 {
	if sd == 0 || trips == 0 {
		return 0
	}
	return sd * sd / math.Sqrt(sd*sd+tripSD*tripSD/trips)
}

// gain returns E[max(X, 0)] − max(E X, 0) for a normal X of the given mean and
// standard deviation: what it is worth to choose after seeing X.
func gain(mean, sd float64) float64 {
	if sd == 0 {
		return 0
	}
	return sd * UnitLoss(math.Abs(mean)/sd)
}

// density is the standard normal density.
func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

// upperTail is the probability that a standard normal exceeds z.
func upperTail(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }
