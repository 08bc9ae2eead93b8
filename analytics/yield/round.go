package yield

import (
	"fmt"
	"math"
)

// Place is a point on the earth in degrees.
type Place struct {
	Lat float64 `json:"lat"`
	Lon float64 `json:"lon"`
}

// Stop is a source that a round may visit. Value, Volume and ShopMinutes are
// expected figures with empty-handed visits included; Model.Stop fills them in.
type Stop struct {
	ID          string  `json:"id"`
	Value       float64 `json:"value"`        // of the wood less disposal, minor units; may be negative
	SD          float64 `json:"sd"`           // standard deviation of the value
	Skew        float64 `json:"skew"`         // skewness of the value; 0 is a normal
	Cash        float64 `json:"cash"`         // paid there, minor units
	Volume      float64 `json:"volume_m3"`    // load
	Minutes     float64 `json:"minutes"`      // at the stop
	ShopMinutes float64 `json:"shop_minutes"` // for its wood at home; valued, but not of the day's hours
	// Loads are the ways a visit may end; without them a stop always has its mean
	// load, and its value the spread of SD and Skew.
	Loads []Load `json:"loads,omitempty"`
	Place Place  `json:"place"` // where Round.Miles is nil
}

// Round is the question for one day's drive.
type Round struct {
	Home  Place  `json:"home"`
	Stops []Stop `json:"stops"`
	// Miles are typed distances: Miles[i][j] from i to j, where 0 is home and k is
	// Stops[k-1]; nil means straight lines times Detour.
	Miles   [][]float64 `json:"miles,omitempty"`
	Detour  float64     `json:"detour"`     // 1 to 5; 0 means DefaultDetour
	Speed   float64     `json:"speed"`      // miles per hour, up to 100; 0 means DefaultSpeed
	Hours   float64     `json:"hours"`      // for driving and stops; more than 0, up to 24
	Vehicle float64     `json:"vehicle_m3"` // room, m³; 0 means no limit
	Mile    float64     `json:"mile"`       // running cost per mile, minor units
	Hour    float64     `json:"hour"`       // value of an hour, minor units
	Stay    float64     `json:"stay"`       // what staying home is worth, minor units
}

// RoundStop is one stop of a planned round.
type RoundStop struct {
	ID       string  `json:"id"`
	Index    int     `json:"index"`    // in Round.Stops
	Miles    float64 `json:"miles"`    // from the stop before, or from home
	Load     float64 `json:"load_m3"`  // expected, as far as there is room
	Marginal float64 `json:"marginal"` // what the best day without it nets less
	// Adds is Marginal as a forecast: on the day it may turn out either way.
	Adds Spread `json:"adds"`
}

// RoundPlan is the best set and order of stops. No stops means: stay home, and
// Net is what that is worth.
type RoundPlan struct {
	Stops   []RoundStop `json:"stops"`
	Net     Spread      `json:"net"`
	Miles   float64     `json:"miles"`   // the whole round, way home included
	Minutes float64     `json:"minutes"` // driving and stops
	Volume  float64     `json:"volume_m3"`
	Exact   bool        `json:"exact"` // proven best; else the best found
}

const (
	// DefaultDetour is road miles per straight-line mile; common practice, no
	// source, to be edited by who knows the roads.
	DefaultDetour = 1.3
	// DefaultSpeed is door-to-door miles per hour; common practice, no source.
	DefaultSpeed = 30
	// ExactStops is the largest number of stops that is planned exactly.
	ExactStops = 13
	// MaxStops is the largest number of stops of a round.
	MaxStops = 200
	// earthMiles is the mean radius of the earth, 6371.0088 km, in miles of 1609.344
	// m. Source: Moritz 2000, Geodetic Reference System 1980, J. Geodesy 74:128-133.
	earthMiles = 6371.0088 / 1.609344
)

// PlanRound finds the round that nets most in the hours and room given, exactly
// for up to ExactStops stops; with more, candidates are first chosen by a local
// search. Where the loads of a day do not all fit, less is taken where the wood is
// worth least per m³; loads are known when they are seen, the round is fixed before.
// Driving time goes with the miles, so the shortest way round a set of stops is the
// best one (Held and Karp 1962). Stops are taken as independent. The error wraps
// ErrRound.
func PlanRound(r Round) (*RoundPlan, error) {
	p, err := newRoundProblem(r)
	if err != nil {
		return nil, err
	}
	candidates := make([]int, len(r.Stops))
	for i := range candidates {
		candidates[i] = i
	}
	exact := len(candidates) <= ExactStops
	if !exact {
		candidates = p.candidates()
	}
	t := p.tours(candidates)
	best := t.best(0)
	plan := t.plan(best)
	plan.Exact = exact
	for k := range plan.Stops {
		for bit, i := range candidates {
			if i == plan.Stops[k].Index {
				without := t.best(1 << bit)
				stop := &plan.Stops[k]
				stop.Marginal = t.net(best) - t.net(without)
				stop.Adds = t.spread(best, without, stop.Marginal)
			}
		}
	}
	return plan, nil
}

// roundProblem is a checked Round with its distances.
type roundProblem struct {
	Round
	miles [][]float64
}

// newRoundProblem fills in defaults and checks ranges.
func newRoundProblem(r Round) (*roundProblem, error) {
	if r.Detour == 0 {
		r.Detour = DefaultDetour
	}
	if r.Speed == 0 {
		r.Speed = DefaultSpeed
	}
	bad := func(help, what string, args ...any) error {
		return fmt.Errorf("%w: %s: %s", ErrRound, fmt.Sprintf(what, args...), help)
	}
	switch {
	case len(r.Stops) > MaxStops:
		return nil, bad("leave some out", "%d stops, at most %d", len(r.Stops), MaxStops)
	case !(r.Hours > 0) || r.Hours > 24:
		return nil, bad("enter more than 0 and up to 24", "%v hours", r.Hours)
	case !(r.Detour >= 1) || r.Detour > 5:
		return nil, bad("enter 1 to 5", "detour factor %v", r.Detour)
	case !(r.Speed > 0) || r.Speed > 100:
		return nil, bad("enter more than 0 and up to 100 miles per hour", "speed %v", r.Speed)
	case !(r.Vehicle >= 0) || !(r.Mile >= 0) || !(r.Hour >= 0) || !(r.Stay >= 0) || math.IsInf(r.Vehicle+r.Mile+r.Hour+r.Stay, 0):
		return nil, bad("enter zero or more", "vehicle %v m3, mile %v, hour %v, staying home %v", r.Vehicle, r.Mile, r.Hour, r.Stay)
	}
	for i, s := range r.Stops {
		amounts := s.SD + s.Cash + s.Volume + s.Minutes + s.ShopMinutes
		if !(s.SD >= 0 && s.Cash >= 0 && s.Volume >= 0 && s.Minutes >= 0 && s.ShopMinutes >= 0) || math.IsInf(amounts, 0) ||
			math.IsNaN(s.Value+s.Skew) || math.IsInf(s.Value+s.Skew, 0) {
			return nil, bad("give finite figures, and zero or more for all but value and skew", "stop %d (%q)", i+1, s.ID)
		}
		if !checkLoads(s.Loads) {
			return nil, errLoads(i, s.ID)
		}
	}
	p := &roundProblem{Round: r}
	return p, p.measure(bad)
}

// measure takes the typed distances or works them out from the places.
func (p *roundProblem) measure(bad func(help, what string, args ...any) error) error {
	n := len(p.Stops) + 1
	if p.Round.Miles != nil {
		if len(p.Round.Miles) != n {
			return bad("give one row for home and one for each stop", "%d rows of distances for %d stops", len(p.Round.Miles), n-1)
		}
		for i, row := range p.Round.Miles {
			if len(row) != n {
				return bad("give one distance to home and one to each stop", "row %d has %d distances", i+1, len(row))
			}
			for j, d := range row {
				if i != j && (!(d >= 0) || d > MaxMiles) {
					return bad(fmt.Sprintf("enter 0 to %d miles", MaxMiles), "distance %v from %d to %d", d, i, j)
				}
			}
		}
		p.miles = p.Round.Miles
		return nil
	}
	places := []Place{p.Home}
	for _, s := range p.Stops {
		places = append(places, s.Place)
	}
	p.miles = make([][]float64, n)
	for i, a := range places {
		if !(math.Abs(a.Lat) <= 90) || !(math.Abs(a.Lon) <= 180) {
			return bad("enter latitude −90 to 90 and longitude −180 to 180", "place %v, %v", a.Lat, a.Lon)
		}
		p.miles[i] = make([]float64, n)
		for j, b := range places {
			p.miles[i][j] = StraightMiles(a, b) * p.Detour
		}
	}
	return nil
}

// StraightMiles returns the great-circle distance between two places in miles by
// the haversine formula (Sinnott 1984, Sky and Telescope 68:159).
func StraightMiles(a, b Place) float64 {
	const radian = math.Pi / 180
	sinLat, sinLon := math.Sin((b.Lat-a.Lat)*radian/2), math.Sin((b.Lon-a.Lon)*radian/2)
	h := sinLat*sinLat + math.Cos(a.Lat*radian)*math.Cos(b.Lat*radian)*sinLon*sinLon
	return 2 * earthMiles * math.Asin(math.Sqrt(min(1, h)))
}
