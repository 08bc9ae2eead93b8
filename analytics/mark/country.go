package mark

import (
	"slices"
	"strings"
	"time"
)

// CountryStatus is the standing of a two-letter code in ISO 3166.
type CountryStatus string

// The standings of a country code.
const (
	// Official codes belong to a country in ISO 3166-1.
	Official CountryStatus = "official"
	// Retired codes belonged to a country once (ISO 3166-3).
	Retired CountryStatus = "retired"
	// Reserved codes are kept by the standard for other uses (UK, EU).
	Reserved CountryStatus = "reserved"
	// UserAssigned codes are free for private use and never a country (XX).
	UserAssigned CountryStatus = "user-assigned"
	// Unassigned codes mean nothing in ISO 3166.
	Unassigned CountryStatus = "unassigned"
)

// Country is one two-letter code with what it stands for.
type Country struct {
	Code   string        `json:"code"`
	Name   string        `json:"name"`
	Region string        `json:"region,omitempty"`
	Status CountryStatus `json:"status"`
	// EU is true for members of the European Union.
	EU bool `json:"eu,omitempty"`
	// Until is the year a retired code was given up.
	Until string `json:"until,omitempty"`
	// Note says when a code was retired and what replaced it, or which code a
	// reserved one is mistaken for.
	Note string `json:"note,omitempty"`
	// Standing is "checked" or "from memory"; Source says where it is from.
	Standing string `json:"standing"`
	Source   string `json:"source"`
}

// CountryByCode returns the entry of a two-letter code in any case. ok is false
// for codes that ISO 3166 neither assigns nor reserves.
func CountryByCode(code string) (c Country, ok bool) {
	t := tables()
	if i, ok := t.byCode[strings.ToUpper(code)]; ok {
		return t.countries[i], true
	}
	return Country{Code: strings.ToUpper(code), Status: Unassigned}, false
}

// Countries returns all assigned, retired, reserved and user-assigned codes that
// the tables hold, by code. The slice is the caller's.
func Countries() []Country { return slices.Clone(tables().countries) }

// Withdrawal returns the day from which methyl bromide (MB) could no longer be
// used on wood packaging in the country, and where that is from. ok is false
// where no such date is known to us, which does not mean that there is none.
// A mark of such a country with MB is older than the date, or misread.
func Withdrawal(country string) (date time.Time, source string, ok bool) {
	w, ok := tables().withdrawn[strings.ToUpper(country)]
	return w.date, w.source, ok
}
