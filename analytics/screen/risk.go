package screen

import "time"

// Outcome is the verdict one lot came to, and the day the lot was fetched.
type Outcome struct {
	At      time.Time `json:"at"`
	Verdict Verdict   `json:"verdict"`
}

// Share is how often one verdict came up, with a 95 % Wilson score interval
// (Wilson 1927, J. Am. Stat. Assoc. 22:209-212).
type Share struct {
	Verdict Verdict `json:"verdict"`
	Count   int     `json:"count"`
	Of      int     `json:"of"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
}

// Risk is what the lots of one source came to, and whether that got worse.
type Risk struct {
	Shares []Share  `json:"shares"`
	Trend  RiskRise `json:"trend"`
}

// RiskRise is the outcome of the test for a rising risk.
type RiskRise struct {
	// Risen is true when the test rejects "the order of days does not matter".
	Risen bool `json:"risen"`
	// Days is how many days of fetching were tested, BadDays how many of them
	// brought at least one lot that is held or never.
	Days    int `json:"days"`
	BadDays int `json:"bad_days"`
	// P is the exact one-sided chance of bad days lying this late by accident.
	P float64 `json:"p"`
	// FalseAlarm is the exact chance that this test would flag a source whose
	// risk has not changed, given so many days and bad days.
	FalseAlarm float64 `json:"false_alarm"`
	// Test names the test; Text is a sentence for people.
	Test string `json:"test"`
	Text string `json:"text"`
}
