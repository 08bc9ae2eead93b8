package screen

import (
	"cmp"
	"slices"
	"time"
)

// Received is a finding with the moment the book got it.
type Received struct {
	Finding
	At time.Time // when the book got it; Finding.At is when it was seen
}

// HeldSince returns the earliest moment from which the findings so far, in the
// order in which the book got them, have judged the lot hold without a break
// until now. A lot without findings is held from the start, the moment the book
// got the lot; findings that came with it or before count from the start. Struck
// findings never count. The rules and the policy are those of today.
//
// Where all findings together are not held, as in a book that waits for newer
// rules, it returns the moment of the last finding.
func HeldSince(start time.Time, findings []Received, opts Options) time.Time {
	live := make([]Received, 0, len(findings))
	for _, f := range findings {
		if !f.Struck {
			live = append(live, f)
		}
	}
	slices.SortStableFunc(live, func(a, b Received) int { return cmp.Compare(a.At.UnixNano(), b.At.UnixNano()) })
	so := make([]Finding, len(live))
	for i := range live {
		so[i] = live[i].Finding
	}
	opts.Prior = nil // no next look is wanted
	since := start
	if len(live) > 0 && live[len(live)-1].At.After(start) {
		since = live[len(live)-1].At
	}
	// Backward from now: most lots have been held from the start or got their
	// hold by one of the last findings, and what lay before it need not be judged.
	for n := len(live); ; {
		if Judge(so[:n], opts).Verdict != Hold {
			return since
		}
		if n == 0 || !live[n-1].At.After(start) {
			return start
		}
		// Findings of one moment came in one form and are weighed together.
		since = live[n-1].At
		for moment := since; n > 0 && live[n-1].At.Equal(moment); {
			n--
		}
	}
}
