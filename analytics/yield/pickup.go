package yield

import (
	"fmt"
	"math"
	"time"
)

// Pickup is one visit to one source as the analysis needs it. Volumes are
// gross cubic metres except Inside and Outside, which are what can be used
// after cutting. Inside + Outside + Held + Never + Lost is at most Volume; the
// rest is cutting waste of wood that was cleared.
type Pickup struct {
	SourceID string    `json:"source"`
	Kind     string    `json:"kind,omitempty"` // kind of business; may be empty
	Date     time.Time `json:"date"`           // the local day of the drive
	Miles    float64   `json:"miles"`          // extra miles driven for it, >= 0
	Minutes  float64   `json:"minutes"`        // door to door with loading; 0 = not noted
	// ShopMinutes is taking apart and pulling nails at home; 0 = not noted apart.
	ShopMinutes float64 `json:"shop_minutes,omitempty"`
	Lots        int     `json:"lots,omitempty"` // lots that came; 0 = not noted
	Cash        Money   `json:"cash"`           // paid for it, thank-you gifts included; >= 0
	Volume      float64 `json:"volume_m3"`      // all that came home
	Inside      float64 `json:"inside_m3"`      // usable inside a hive
	Outside     float64 `json:"outside_m3"`     // usable outside only
	Held        float64 `json:"held_m3"`        // undecided
	Never       float64 `json:"never_m3"`       // may not come near bees
	Lost        float64 `json:"lost_m3"`        // broken in taking apart
	// Empty is a drive that brought nothing: an observation like any other.
	Empty bool `json:"empty"`
	// Estimated says that the volumes are the keeper's estimate, not measured.
	Estimated bool `json:"estimated"`
}

// Limits on what a pickup can be; beyond them it is a slip of the pen.
const (
	// MaxMiles is the most extra miles one pickup may have.
	MaxMiles = 2000
	// MaxMinutes is the most door-to-door or shop minutes: a week.
	MaxMinutes = 7 * 24 * 60
	// MaxVolume is the most cubic metres one pickup may bring: a full lorry.
	MaxVolume = 120
)

// Usable returns what can be used of the pickup, inside or outside, in m³.
func (p Pickup) Usable() float64 { return p.Inside + p.Outside }

// Decided returns the volume that is no longer on hold, in m³.
func (p Pickup) Decided() float64 { return math.Max(0, p.Volume-p.Held) }

// Waste returns the decided volume that is not usable, in m³.
func (p Pickup) Waste() float64 { return math.Max(0, p.Decided()-p.Usable()) }

// CameEmpty reports whether the drive brought nothing.
func (p Pickup) CameEmpty() bool { return p.Empty || p.Volume == 0 }

// sound is CheckPickup without words, for the pickups without fault: nearly all. It
// compares so that what is no number fails.
func (p *Pickup) sound() bool {
	parts := p.Inside + p.Outside + p.Held + p.Never + p.Lost
	return p.SourceID != "" && !p.Date.IsZero() &&
		p.Miles >= 0 && p.Miles <= MaxMiles && p.Minutes >= 0 && p.Minutes <= MaxMinutes && p.ShopMinutes >= 0 && p.ShopMinutes <= MaxMinutes &&
		p.Volume >= 0 && p.Volume <= MaxVolume && p.Inside >= 0 && p.Outside >= 0 && p.Held >= 0 && p.Never >= 0 && p.Lost >= 0 &&
		parts <= p.Volume && p.Cash.Minor >= 0 && (p.Cash == Money{} || ValidCurrency(p.Cash.Currency)) && p.Lots >= 0 && !(p.Empty && p.Volume > 0)
}

// CheckPickup returns nil or a *PickupError about the first thing in p that
// cannot be true; index only tells the error where p stands.
func CheckPickup(index int, p Pickup) error {
	if p.sound() {
		return nil
	}
	bad := func(field, help, what string, args ...any) error {
		return &PickupError{Index: index, Source: p.SourceID, Field: field, What: fmt.Sprintf(what, args...), Help: help}
	}
	if p.SourceID == "" {
		return bad("source", "name the place", "no source")
	}
	if p.Date.IsZero() {
		return bad("date", "enter the day of the drive", "no date")
	}
	for _, f := range []struct {
		name       string
		value, max float64
		unit       string
	}{
		{"miles", p.Miles, MaxMiles, ""},
		{"minutes", p.Minutes, MaxMinutes, ""},
		{"shop minutes", p.ShopMinutes, MaxMinutes, ""},
		{"volume", p.Volume, MaxVolume, " m3"},
		{"inside", p.Inside, MaxVolume, " m3"},
		{"outside", p.Outside, MaxVolume, " m3"},
		{"held", p.Held, MaxVolume, " m3"},
		{"never", p.Never, MaxVolume, " m3"},
		{"lost", p.Lost, MaxVolume, " m3"},
	} {
		if !(f.value >= 0) {
			return bad(f.name, "enter zero or more", "%v is not a quantity", f.value)
		}
		if f.value > f.max {
			return bad(f.name, "look for a slipped digit or a wrong unit", "%v%s is more than %v", math.Round(1000*f.value)/1000, f.unit, f.max)
		}
	}
	return checkWhole(p, bad)
}

// checkWhole checks the fields of p against each other.
func checkWhole(p Pickup, bad func(field, help, what string, args ...any) error) error {
	switch parts := p.Inside + p.Outside + p.Held + p.Never + p.Lost; {
	case p.Cash.Minor < 0:
		return bad("cash", "enter what was paid as zero or more", "%s is negative", p.Cash)
	case p.Cash.Currency != "" && !ValidCurrency(p.Cash.Currency):
		return bad("cash", "use three capital letters such as USD", "%q is no currency", p.Cash.Currency)
	case p.Cash.Minor != 0 && p.Cash.Currency == "":
		return bad("cash", "say in which currency it was paid", "an amount without a currency")
	case p.Lots < 0:
		return bad("lots", "enter zero or more", "%d is not a number of lots", p.Lots)
	case p.Empty && p.Volume > 0:
		return bad("volume", "clear the empty mark or the volume", "%v m3 came from an empty-handed drive", p.Volume)
	case parts > p.Volume*(1+1e-9)+1e-12:
		return bad("usable", "the parts may not add up to more than the volume that came home",
			"usable, held, never and lost make %.4g of %.4g m3", parts, p.Volume)
	}
	return nil
}
