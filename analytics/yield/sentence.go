package yield

import (
	"fmt"
	"math"
	"strings"
)

// sentence never gives a mean without its interval, and says in so many words when
// there is little to go by: a reader of one line must not be surer than the book. It
// says what the book says of a source, doubt included.
func (m *Model) sentence(a *Answer, t Terms) string {
	money := func(x float64) string { return FormatMinor(x, t.Currency) }
	var b strings.Builder
	switch a.N {
	case 0:
		fmt.Fprintf(&b, "%s: no trip yet; like others of its kind the next one", a.SourceID)
	case 1:
		fmt.Fprintf(&b, "%s: after one trip, not enough to know it well, the next one", a.SourceID)
	default:
		fmt.Fprintf(&b, "%s: after %d trips the next one", a.SourceID, a.N)
	}
	fmt.Fprintf(&b, " pays %s in 10, nets %s to %s %s with 90 %% certainty", tenths(a.Pays), money(a.Next.Most.Low), money(a.Next.Most.High), t.Currency)
	switch {
	case !a.BreakEvenMiles.Known:
	case a.Expected.Mean <= 0:
		fmt.Fprintf(&b, "; expected to lose %s a trip", money(-a.Expected.Mean))
	case a.Expected.Mean <= t.Home:
		fmt.Fprintf(&b, "; expected to net %s less than a day at home", money(t.Home-a.Expected.Mean))
	case a.Miles > 0 && t.Mile > 0:
		fuel := (a.Expected.Mean-t.Home)/a.Miles + t.Mile
		fmt.Fprintf(&b, "; drop it if a mile costs more than %s", money(fuel))
	}
	switch {
	case m.guess != "":
		b.WriteString("; " + m.guess)
	case a.HeldShare > 0.005:
		fmt.Fprintf(&b, "; %.0f %% of its wood so far is still on hold", 100*a.HeldShare)
	}
	b.WriteString(".")
	return b.String()
}

// tenths says a chance in tenths without claiming certainty.
func tenths(p float64) string {
	switch n := math.Round(10 * p); {
	case n <= 0:
		return "less than once"
	case n == 1:
		return "once"
	case n >= 10:
		return "nearly 10 times"
	default:
		return fmt.Sprintf("%.0f times", n)
	}
}
