package screen

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// got is a finding the book got on a day of May 2026.
func got(day int, f Finding) Received {
	return Received{Finding: f, At: time.Date(2026, time.May, day, 9, 0, 0, 0, time.UTC)}
}

func TestHeldSince(t *testing.T) {
	t.Parallel()
	start := got(1, Finding{}).At
	struck := f("stain", "oil")
	struck.Struck = true
	for name, c := range map[string]struct {
		day      int
		findings []Received
	}{
		"nothing known":                        {1, nil},
		"what settles nothing changes nothing": {1, []Received{got(20, f("species", "pine"))}},
		"struck entries never count":           {1, []Received{got(5, struck), got(9, f("stain", "none"))}},
		"a mark freed it until the paint":      {7, []Received{got(2, heat), got(7, f("paint", "unknown")), got(9, f("species", "pine"))}},
		"in order of receipt":                  {7, []Received{got(9, f("species", "pine")), got(7, f("paint", "unknown")), got(2, heat)}},
		"one form is weighed together":         {1, []Received{got(4, heat), got(4, f("paint", "unknown"))}},
		"with the lot itself":                  {1, []Received{got(1, heat), got(1, f("paint", "unknown"))}},
		"held again after never":               {8, []Received{got(3, Finding{ID: "x", Kind: "odour", Value: "musty", On: OnLot}), got(8, misread("x"))}},
	} {
		require.Equal(t, c.day, HeldSince(start, c.findings, Options{}).Day(), name)
	}
	// The house's policy counts for the past too: here the gas mark holds.
	gassed := []Received{got(3, gas), got(6, f("species", "pine"))}
	require.Equal(t, 1, HeldSince(start, gassed, Options{Policy: Policy{Settings: map[string]Verdict{"S04": Hold}}}).Day())
	// Not held at all by these rules: from the last finding, or the lot itself.
	require.Equal(t, 4, HeldSince(start, []Received{got(4, heat)}, Options{}).Day())
}

// TestHeldSinceMatchesReplay replays the book day by day, which is the meaning of
// the word, and compares.
func TestHeldSinceMatchesReplay(t *testing.T) {
	t.Parallel()
	start := got(1, Finding{}).At
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		opts := Options{Policy: pick.policy()}
		var list []Received
		for _, f := range pick.findings(6) {
			f.On = OnLot
			list = append(list, got(1+pick(9), f))
		}
		var want time.Time
		held := false
		for day := 1; day <= 10; day++ {
			now := got(day, Finding{}).At
			var so []Received
			for _, r := range list {
				if !r.At.After(now) && !r.Struck {
					so = append(so, r)
				}
			}
			slices.SortStableFunc(so, func(a, b Received) int { return a.At.Compare(b.At) })
			findings := make([]Finding, len(so))
			for i := range so {
				findings[i] = so[i].Finding
			}
			is := Judge(findings, opts).Verdict == Hold
			if is && !held {
				want = now
			}
			held = is
		}
		if held {
			require.Equal(t, want, HeldSince(start, list, opts))
		}
	})
}

// BenchmarkHeldSince measures what one line of the hold list costs.
func BenchmarkHeldSince(b *testing.B) {
	list := []Received{got(2, heat), got(3, f("species", "pine")), got(4, f("look", "clean")), got(7, f("paint", "unknown")), got(9, f("species", "pine"))}
	for b.Loop() {
		HeldSince(got(1, Finding{}).At, list, Options{})
	}
}
