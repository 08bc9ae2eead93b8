package server

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"time"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// dryingPage lists the stacks by the day they are ready.
type dryingPage struct {
	base
	Standing []stackLine
	Down     []stackLine
	// Today is what is due, the most pressing first.
	Today []stackLine
}

// stackLine is one stack with its dates in words.
type stackLine struct {
	*db.DryingStack
	Ready string
	// Now is the moisture of the stack as a whole today with its 80 % interval.
	Now string
	// Due is what to do; Pressing says that it is for today.
	Due      string
	Pressing bool
	order    float64
}

func (a *app) dryingList(w http.ResponseWriter, r *http.Request) error {
	page := &dryingPage{base: a.base(r, "Drying")}
	stacks, err := a.store.Drying(r.Context())
	if err != nil {
		return err
	}
	now := a.store.Now()
	for i := range stacks {
		line := newStackLine(&stacks[i], now)
		switch {
		case !stacks[i].Standing():
			page.Down = append(page.Down, line)
			continue
		case line.Pressing:
			page.Today = append(page.Today, line)
		}
		page.Standing = append(page.Standing, line)
	}
	slices.SortStableFunc(page.Standing, func(a, b stackLine) int { return cmp.Compare(a.order, b.order) })
	slices.SortStableFunc(page.Today, func(a, b stackLine) int { return cmp.Compare(a.order, b.order) })
	return a.show(w, "drying_list", page)
}

// Stacks without a date stand behind all that have one.
const (
	afterDates  = 1e12
	afterOpen   = 2e12
	afterNever  = 3e12
	afterUnread = 4e12
)

func newStackLine(d *db.DryingStack, now time.Time) stackLine {
	line := stackLine{DryingStack: d, order: afterUnread, Ready: "no reading yet"}
	if p := d.Posterior; p != nil {
		line.Ready, line.order = readyWords(d), readyOrder(d)
		line.Now = bandText(p.Moisture(now))
	}
	line.Due, line.Pressing = dueWords(d, now)
	return line
}

// bandText prints a moisture with its 80 % interval.
func bandText(b moisture.Band) string {
	return fmt.Sprintf("%.1f %% (%.1f to %.1f)", b.Median, b.Low, b.High)
}

// readyWords says when the stack is ready, with its interval.
func readyWords(d *db.DryingStack) string {
	dates := d.Dates
	switch dates.State {
	case moisture.StateNever:
		return "never at this humidity: " + drierPlace(d.Under)
	case moisture.StateReached:
		if dates.Likely.IsZero() {
			return "likely reached; probe it before you trust it"
		}
		return "likely reached since " + dayText(dates.Likely) + "; probe it before you trust it"
	case moisture.StateOpen:
		return "likely " + dateOr(dates.Likely) + ", not before " + dateOr(dates.NotBefore) + "; no day is sure in air this close to the target"
	}
	return "likely " + dateOr(dates.Likely) + ", not before " + dateOr(dates.NotBefore) + ", by " + dateOr(dates.By)
}

func dateOr(t time.Time) string {
	if t.IsZero() {
		return "no day within ten years"
	}
	return dayText(t)
}

// drierPlace says where a stack would get drier than where it stands.
func drierPlace(cover string) string {
	switch cover {
	case "open":
		return "bring it under a roof"
	case "heated":
		return "the room is too damp for this target"
	}
	return "bring it into a heated room"
}

func readyOrder(d *db.DryingStack) float64 {
	switch d.Dates.State {
	case moisture.StateNever:
		return afterNever
	case moisture.StateOpen:
		return afterOpen
	}
	if d.Dates.Likely.IsZero() {
		return afterDates
	}
	return float64(d.Dates.Likely.Unix())
}

// dueWords says what to do next, and whether that is for today.
func dueWords(d *db.DryingStack, now time.Time) (string, bool) {
	switch {
	case !d.Standing():
		return "", false
	case d.Boards == 0:
		return "put boards into it", true
	case d.Posterior == nil:
		return "take the first round of readings", true
	case d.Dates.State == moisture.StateNever:
		return drierPlace(d.Under), true
	case !d.Next.After(now) && d.Dates.State == moisture.StateReached:
		return "probe it: it is likely ready", true
	case !d.Next.After(now):
		return "read it again; last read " + dayText(d.Posterior.Last), true
	}
	return "read it again on " + dayText(d.Next), false
}
