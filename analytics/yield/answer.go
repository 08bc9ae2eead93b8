package yield

import "time"

// Spread is a forecast or an estimate: mean, standard deviation and the
// intervals that hold half and nine tenths of its probability. Money is in minor
// units, volumes in m³.
type Spread struct {
	Mean   float64 `json:"mean"`
	SD     float64 `json:"sd"`
	Median float64 `json:"median"`
	Half   Bounds  `json:"interval50"`
	Most   Bounds  `json:"interval90"`
}

// Evidence says how much an answer rests on.
type Evidence string

// The grades of evidence, weakest first.
const (
	// NoTrips means no trip to the source: the answer is that of its kind.
	NoTrips Evidence = "no trips yet"
	// FewTrips means one to four trips: mostly the answer of its kind.
	FewTrips Evidence = "few trips"
	// OwnTrips means five trips or more.
	OwnTrips Evidence = "own trips"
)

// Answer is what the book says about the next trip to one source. Money is in
// minor units of Answers.Terms.Currency.
type Answer struct {
	SourceID  string    `json:"source"`
	Kind      string    `json:"kind,omitempty"`
	Evidence  Evidence  `json:"evidence"`
	N         int       `json:"n"`
	Empty     int       `json:"empty"`
	Estimated int       `json:"estimated"`
	Last      time.Time `json:"last,omitzero"`

	// Next is the net value of the next trip, Expected that of the source: its
	// long-run mean per trip with what is not known about it.
	Next     Spread `json:"next"`
	Expected Spread `json:"expected"`
	// Pays is the chance that the next trip nets more than nothing.
	Pays float64 `json:"pays"`
	// PerHour and PerMile are the expected net per hour and mile; Known is false
	// where no minutes or miles are noted.
	PerHour Figure `json:"per_hour"`
	PerMile Figure `json:"per_mile"`
	// Volume is all that comes home on the next trip, Usable what can be used of
	// it, m³, empty-handed drives included.
	Volume Spread `json:"volume_m3"`
	Usable Spread `json:"usable_m3"`
	// EmptyChance is the chance of coming home with nothing, with the interval of
	// the source's own long-run chance.
	EmptyChance Figure  `json:"empty_chance"`
	UsableShare Figure  `json:"usable_share"` // of the volume, once decided
	HeldShare   float64 `json:"held_share"`   // of the volume so far, still undecided
	Miles       float64 `json:"miles"`        // extra miles of the next trip
	Minutes     float64 `json:"minutes"`      // expected minutes of the next trip, all told
	// BreakEvenMiles is the number of extra miles at which the next trip nets
	// nothing; below zero it does not pay next door. Known is false where a mile
	// costs nothing.
	BreakEvenMiles Figure `json:"break_even_miles"`
	Doubt          Doubt  `json:"doubt"`
	// BestChance is the chance that no other source nets more per trip,
	// ExpectedRank its mean place (1 is best); Contender says that it cannot be
	// told apart from the best at 90 %.
	BestChance   float64 `json:"best_chance"`
	ExpectedRank float64 `json:"expected_rank"`
	Contender    bool    `json:"contender"`
	Drift        Drift   `json:"drift"`
	// Sentence says all this to a person in one plain sentence.
	Sentence string `json:"sentence"`
}

// Doubt splits the doubt about the next trip's usable wood by where it comes
// from; the four add up to 1, or are all 0 where there is no doubt.
type Doubt struct {
	Emptiness float64 `json:"emptiness"`
	Volume    float64 `json:"volume"`
	Usability float64 `json:"usability"`
	Time      float64 `json:"time"` // minutes, where hours are valued
}

// Drift says whether a source changes. Chance is the probability, given the
// whole book, that sources change at all; Recent is what a trip a year ago weighs
// against one today (1 = equally), Shift how far the level of the volume
// now lies from its long-run mean, as a factor.
type Drift struct {
	Chance float64 `json:"chance"`
	Recent float64 `json:"recent"`
	Shift  float64 `json:"shift"`
}

// Answers is all that the book says for one set of terms. Sources are sorted
// by expected net, best first.
type Answers struct {
	Terms   Terms     `json:"terms"`
	Today   time.Time `json:"today"`
	Seed    uint64    `json:"seed"`
	Sources []Answer  `json:"sources"`
	Next    Advice    `json:"next_drive"`
	// Changing is the probability that sources change with time, Seasonal whether
	// the book supports a season, Grouped whether kinds of business were used.
	Changing float64 `json:"changing"`
	Seasonal bool    `json:"seasonal"`
	Grouped  bool    `json:"grouped"`
	// Guess says what no trip of the book tells, so that all answers rest on what is
	// believed of any place; "" where each part of an answer has been seen.
	Guess string `json:"guess,omitempty"`
}

// Choice is one thing to do with the coming Saturday.
type Choice struct {
	SourceID string  `json:"source"` // empty for staying home
	Home     bool    `json:"home"`
	Net      float64 `json:"net"` // expected, of that day alone
	// Learn is how much one trip there is expected to raise the net of the best
	// choice of each later drive by what it shows (knowledge gradient).
	Learn float64 `json:"learn"`
	// Premium is what the drives left make finding out about it worth, per drive.
	Premium float64 `json:"premium"`
	// Score is Net + Premium, the sure net per drive that would be just as good; the
	// choices are sorted by it.
	Score float64 `json:"score"`
	// TryOnce and TryThrice are the expected gain over the season of one and of
	// three trips before deciding on the place, against the best other choice.
	TryOnce   float64 `json:"try_once"`
	TryThrice float64 `json:"try_thrice"`
	// Trips is the number of trips before deciding that gains most, 0 where no trial
	// does, and Gain that gain over the season.
	Trips    int     `json:"trips"`
	Gain     float64 `json:"gain"`
	Reason   Reason  `json:"reason"`
	Sentence string  `json:"sentence"`
}

// Reason is why a choice stands where it stands.
type Reason string

// The reasons of a choice.
const (
	// KnownToPay means that five trips or more have told, and that all of the 90 %
	// interval of its long run lies above staying home.
	KnownToPay Reason = "known to pay"
	// WorthFindingOut means that it may pay, and that what a trip shows is worth what
	// it may cost.
	WorthFindingOut Reason = "worth finding out"
	// DoesNotPay means neither.
	DoesNotPay Reason = "does not pay"
	// StayHome is the reason of staying home: nothing spent, nothing won.
	StayHome Reason = "stay home"
)

// Advice is the choices for the coming drive, best first; staying home is
// always one of them.
type Advice struct {
	Horizon int      `json:"horizon"` // drives left in the season, this one included
	Choices []Choice `json:"choices"`
}
