package yield

import (
	"errors"
	"time"
)

var errUnwritten = errors.New("not written yet")

// Source is a place that may be driven to, with or without trips so far.
type Source struct {
	ID   string `json:"id"`
	Kind string `json:"kind,omitempty"`
	// Miles are the extra miles of the next trip; 0 takes the mean of past trips,
	// or of the book where there is none.
	Miles float64 `json:"miles,omitempty"`
	// Cash is what the next trip is expected to cost; nothing takes the mean of
	// past trips.
	Cash Money `json:"cash,omitzero"`
}

// Options are the choices of an analysis; the zero value needs only Today and
// Prices.
type Options struct {
	Today   time.Time // the day of the next drive; required
	Prices  Prices    // for the value of past trips and, on Today, of the next
	Sources []Source  // places to answer for besides those in the book
	Seed    uint64    // of the draws that rank; any value
	Draws   int       // for ranking, 100 to 100,000; 0 means 1,000
	Horizon int       // drives left in the season, 1 to 1,000; 0 means 30
}

// Model is what a book of pickups has taught about its sources. It is immutable
// and safe for concurrent use.
type Model struct{}

// Fit learns from pickups in any order. The error wraps ErrPickup, ErrOption,
// ErrCurrency or ErrNoRate.
func Fit(pickups []Pickup, opts Options) (*Model, error) { return nil, errUnwritten }

// Terms returns the prices of the day of the next drive.
func (m *Model) Terms() Terms { return Terms{} }

// Answers answers for the prices of the day of the next drive.
func (m *Model) Answers() *Answers { return nil }

// AnswersAt answers for other terms without learning again: what if. The error
// wraps ErrOption or ErrCurrency.
func (m *Model) AnswersAt(terms Terms) (*Answers, error) { return nil, errUnwritten }

// Move is a source that changed its place in the ranking.
type Move struct {
	SourceID string `json:"source"`
	From     int    `json:"from"` // place before, 1 is best
	To       int    `json:"to"`
}

// Flip is the value of one term at which the first two sources change places,
// all else equal. Exists is false where no value of zero or more does it.
type Flip struct {
	Term   string  `json:"term"` // "mile", "price", "hour" or "lot_minutes"
	Now    float64 `json:"now"`
	At     float64 `json:"at"`
	Exists bool    `json:"exists"`
}

// WhatIf is the ranking under other terms beside the one of today.
type WhatIf struct {
	Before *Answers `json:"before"`
	After  *Answers `json:"after"`
	Moves  []Move   `json:"moves"`
	Flips  []Flip   `json:"flips"` // of the first two of Before
}

// WhatIf compares the ranking at today's terms with that at others. The error
// wraps ErrOption or ErrCurrency.
func (m *Model) WhatIf(terms Terms) (*WhatIf, error) { return nil, errUnwritten }

// Score is one past trip against what the book would have predicted the day
// before. Where lots of the trip are on hold the outcome is not known and it is
// not scored.
type Score struct {
	SourceID string    `json:"source"`
	Date     time.Time `json:"date"`
	N        int       `json:"n"` // earlier trips to the source
	Planned  Spread    `json:"planned"`
	Got      float64   `json:"got"`
	// PIT is where the outcome fell in the forecast: the probabilities of less and
	// of no more than it; they differ where an outcome such as an empty drive has a
	// probability of its own.
	PIT Bounds `json:"pit"`
	// CRPS is the score of the forecast, RunningMean that of the mean of earlier
	// trips to the source (of the book for a first trip); lower is better, both in
	// minor units. Source: Gneiting and Raftery 2007, JASA 102:359-378.
	CRPS        float64 `json:"crps"`
	RunningMean float64 `json:"running_mean_crps"`
}

// Review is how past forecasts did.
type Review struct {
	Scores      []Score     `json:"scores"` // oldest first
	CRPS        float64     `json:"crps"`
	RunningMean float64     `json:"running_mean_crps"`
	Inside50    Figure      `json:"inside50"`  // share of outcomes inside the 50 % interval
	Inside90    Figure      `json:"inside90"`  // and inside the 90 % interval
	Histogram   [10]float64 `json:"histogram"` // shares of the PIT in tenths, each 0.1 if honest
	Undecided   int         `json:"undecided"` // trips not scored because lots are on hold
	Sentence    string      `json:"sentence"`
}

// LookBack scores the trips from since on, each against the book of the days
// before it. The error is that of Fit.
func LookBack(pickups []Pickup, since time.Time, opts Options) (*Review, error) {
	return nil, errUnwritten
}

// Place is a point on the earth in degrees.
type Place struct {
	Lat float64 `json:"lat"`
	Lon float64 `json:"lon"`
}

// Stop is a source that a round may visit.
type Stop struct {
	ID      string  `json:"id"`
	Value   float64 `json:"value"`     // expected value of its wood less cash and disposal, minor units
	SD      float64 `json:"sd"`        // of that value
	Volume  float64 `json:"volume_m3"` // expected load
	Minutes float64 `json:"minutes"`   // at the stop and for its wood in the shop
	Place   Place   `json:"place"`
}

// Round is the question for one day's drive.
type Round struct {
	Home  Place  `json:"home"`
	Stops []Stop `json:"stops"`
	// Miles are typed distances: Miles[i][j] from i to j, where 0 is home and k is
	// Stops[k-1]; nil means straight lines times Detour.
	Miles   [][]float64 `json:"miles,omitempty"`
	Detour  float64     `json:"detour"`     // 1 to 5; 0 means DefaultDetour
	Speed   float64     `json:"speed"`      // miles per hour; 0 means DefaultSpeed
	Hours   float64     `json:"hours"`      // available, driving and stops; more than 0
	Vehicle float64     `json:"vehicle_m3"` // room, m³; 0 means no limit
	Mile    float64     `json:"mile"`       // running cost per mile, minor units
	Hour    float64     `json:"hour"`       // value of an hour, minor units
}

// RoundStop is one stop of a planned round.
type RoundStop struct {
	ID       string  `json:"id"`
	Index    int     `json:"index"`    // in Round.Stops
	Miles    float64 `json:"miles"`    // from the stop before
	Marginal float64 `json:"marginal"` // what the best round without it nets less
}

// RoundPlan is the best set and order of stops. No stops means: stay home.
type RoundPlan struct {
	Stops   []RoundStop `json:"stops"`
	Net     Spread      `json:"net"`
	Miles   float64     `json:"miles"` // the whole round, way home included
	Minutes float64     `json:"minutes"`
	Volume  float64     `json:"volume_m3"`
	Exact   bool        `json:"exact"` // proven best; else the best found
}

// Defaults of a round.
const (
	// DefaultDetour is road miles per straight-line mile; common practice, no
	// source, to be edited by who knows the roads.
	DefaultDetour = 1.3
	// DefaultSpeed is door-to-door miles per hour; common practice, no source.
	DefaultSpeed = 30
)

// PlanRound finds the round that nets most in the hours and room given,
// exactly for up to 12 stops. The error wraps ErrRound or ErrOption.
func PlanRound(r Round) (*RoundPlan, error) { return nil, errUnwritten }

// Merge returns the pickups with every trip to from counted as one to into.
// The error wraps ErrUnknownSource where from has no trip.
func Merge(pickups []Pickup, from, into string) ([]Pickup, error) { return nil, errUnwritten }

// Split returns the pickups with the trips to source that take chooses counted
// as trips to the new source fresh. The error wraps ErrUnknownSource where no
// trip is chosen and ErrOption where fresh is taken.
func Split(pickups []Pickup, source, fresh string, take func(Pickup) bool) ([]Pickup, error) {
	return nil, errUnwritten
}
