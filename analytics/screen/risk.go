package screen

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// Outcome is the verdict one lot came to, and when the lot was fetched.
type Outcome struct {
	At      time.Time `json:"at"`
	Verdict Verdict   `json:"verdict"`
	// Stopped is true for wood that is not ours to take, whatever its verdict.
	Stopped bool `json:"stopped,omitempty"`
}

// Share is how often one verdict came up among the lots of a source, with a
// 95 % Wilson score interval (Wilson 1927, J. Am. Stat. Assoc. 22:209-212).
// Lots of one pickup are alike, so the true doubt is larger still.
type Share struct {
	Verdict Verdict `json:"verdict"`
	Count   int     `json:"count"`
	Of      int     `json:"of"`
	// Low and High bound the share, 0 to 1.
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Risk is what the lots of one source came to, and whether that got worse.
type Risk struct {
	// Shares are the four verdicts, mildest first, among the lots that may be
	// taken; empty without such lots.
	Shares []Share `json:"shares"`
	// Stopped is the share of all lots that are not ours to take; its Verdict is
	// empty. Of is 0 without lots.
	Stopped Share    `json:"stopped"`
	Trend   RiskRise `json:"trend"`
}

// RiskRise is the outcome of the test for a rising risk.
type RiskRise struct {
	// Risen is true when the test rejects "the order of days does not matter".
	Risen bool `json:"risen"`
	// Days is how many days of fetching were tested, BadDays how many of them
	// brought at least one lot that is hold or never.
	Days    int `json:"days"`
	BadDays int `json:"bad_days"`
	// P is the exact one-sided chance of bad days lying this late by accident, 0
	// to 1; 1 where nothing can be said.
	P float64 `json:"p"`
	// FalseAlarm is the exact chance that this one look would flag a source whose
	// risk has not changed, given so many days and bad days; at most Alpha.
	FalseAlarm float64 `json:"false_alarm"`
	// Test names the test; Text says the outcome in a sentence or two.
	Test string `json:"test"`
	Text string `json:"text"`
}

// RiskOptions set the test of RiskTrend. The zero value works.
type RiskOptions struct {
	// Alpha is the largest accepted chance of a false alarm, above 0 and below
	// 0.5; zero means 0.05.
	Alpha float64
	// Days is how many of the latest days of fetching are tested, 2 to 200; zero
	// means 60.
	Days int
}

// Defaults and bounds of RiskOptions.
const (
	defaultAlpha = 0.05
	mostAlpha    = 0.5
	defaultDays  = 60
	mostDays     = 200
)

// riskTest names the test for people.
const riskTest = "exact one-sided rank-sum test on the order of bad days (Wilcoxon 1945)"

// RiskTrend gives the shares of the four verdicts among a source's lots, and
// tests whether the risk has risen. Wood that is not ours to take gives nothing
// to build with, so it is counted apart and stands in none of these shares, nor
// in the test.
//
// Lots fetched on one day are alike, so the test counts days, not lots: a day
// is bad when any of its lots is hold or never. If nothing changed, every order
// of good and bad days is equally likely; P is the share of orders in which the
// sum of the bad days' ranks is at least the one seen, counted exactly. A rise
// is flagged when P is at most Alpha. Looking again after every trip gives more
// than one chance of a false alarm; the text says so.
//
// Days are those of each lot's own time zone. The order of lots does not
// matter. The error wraps ErrNoDate, ErrUnknownVerdict or ErrBadSetting.
func RiskTrend(lots []Outcome, opts RiskOptions) (Risk, error) {
	opts, err := opts.filled()
	if err != nil {
		return Risk{}, err
	}
	for i, l := range lots {
		switch {
		case l.At.IsZero():
			return Risk{}, fmt.Errorf("lot %d: %w: give the day it was fetched", i, ErrNoDate)
		case !l.Verdict.Known():
			return Risk{}, fmt.Errorf("lot %d: %w: %q", i, ErrUnknownVerdict, clip(string(l.Verdict)))
		}
	}
	ours := make([]Outcome, 0, len(lots))
	for _, l := range lots {
		if !l.Stopped {
			ours = append(ours, l)
		}
	}
	stopped := Share{Count: len(lots) - len(ours), Of: len(lots)}
	if stopped.Of > 0 {
		stopped.Low, stopped.High = wilson(stopped.Count, stopped.Of)
	}
	return Risk{Shares: shares(ours), Stopped: stopped, Trend: rise(badDays(ours, opts.Days), opts.Alpha)}, nil
}

func (o RiskOptions) filled() (RiskOptions, error) {
	if o.Alpha == 0 {
		o.Alpha = defaultAlpha
	}
	if o.Days == 0 {
		o.Days = defaultDays
	}
	if !(o.Alpha > 0 && o.Alpha < mostAlpha) {
		return o, fmt.Errorf("%w: alpha %v: choose above 0 and below %v", ErrBadSetting, o.Alpha, mostAlpha)
	}
	if o.Days < 2 || o.Days > mostDays {
		return o, fmt.Errorf("%w: days %d: choose 2 to %d", ErrBadSetting, o.Days, mostDays)
	}
	return o, nil
}

func shares(lots []Outcome) []Share {
	if len(lots) == 0 {
		return nil
	}
	var counts [4]int
	for _, l := range lots {
		counts[l.Verdict.Severity()]++
	}
	out := make([]Share, 0, len(counts))
	for _, v := range Verdicts() {
		low, high := wilson(counts[v.Severity()], len(lots))
		out = append(out, Share{Verdict: v, Count: counts[v.Severity()], Of: len(lots), Low: low, High: high})
	}
	return out
}

// wilson gives the 95 % Wilson score interval of x in n, n at least 1.
func wilson(x, n int) (low, high float64) {
	const z = 1.959963984540054 // 97.5 % point of the standard normal
	p, total := float64(x)/float64(n), float64(n)
	scale := 1 + z*z/total
	middle := (p + z*z/(2*total)) / scale
	half := z / scale * math.Sqrt(p*(1-p)/total+z*z/(4*total*total))
	// At the ends the formula is exactly 0 or 1; rounding must not pass them.
	low, high = math.Max(0, middle-half), math.Min(1, middle+half)
	if x == 0 {
		low = 0
	}
	if x == n {
		high = 1
	}
	return low, high
}

// badDays lists the latest days of fetching, oldest first: true for a bad one.
func badDays(lots []Outcome, most int) []bool {
	type day struct{ y, m, d int }
	bad := map[day]bool{}
	for _, l := range lots {
		y, m, d := l.At.Date()
		key := day{y, int(m), d}
		bad[key] = bad[key] || l.Verdict.Severity() >= Hold.Severity()
	}
	days := make([]day, 0, len(bad))
	for d := range bad {
		days = append(days, d)
	}
	slices.SortFunc(days, func(a, b day) int {
		return cmp.Or(cmp.Compare(a.y, b.y), cmp.Compare(a.m, b.m), cmp.Compare(a.d, b.d))
	})
	days = days[max(0, len(days)-most):]
	out := make([]bool, len(days))
	for i, d := range days {
		out[i] = bad[d]
	}
	return out
}
