package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// calendarPage shows the addresses of the calendar feed, and a new one once.
type calendarPage struct {
	base
	Links []db.CalendarLink
	// Address is the one just made; it cannot be shown again.
	Address string
	NewID   string
}

func (a *app) calendarShow(w http.ResponseWriter, r *http.Request) error {
	page, err := a.loadCalendar(r)
	if err != nil {
		return err
	}
	return a.show(w, "calendar_show", page)
}

func (a *app) loadCalendar(r *http.Request) (*calendarPage, error) {
	page := &calendarPage{base: a.base(r, "Reminders"), NewID: newID().String()}
	var err error
	page.Links, err = a.store.CalendarLinks(r.Context())
	return page, err
}

// calendarCreate makes an address and shows it on the answer itself: a
// redirect would write the secret into the browser's history.
func (a *app) calendarCreate(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	keeper, err := a.store.Keeper(r.Context())
	if err != nil {
		return err
	}
	secret, err := a.store.NewCalendarLink(r.Context(), formID(r, "id"), keeper.ID)
	if err != nil {
		return err
	}
	if secret == "" {
		return seeOther(w, r, "/calendar")
	}
	page, err := a.loadCalendar(r)
	if err != nil {
		return err
	}
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	page.Address = (&url.URL{Scheme: scheme, Host: r.Host, Path: "/calendar.ics", RawQuery: url.Values{"key": {secret}}.Encode()}).String()
	return a.show(w, "calendar_show", page)
}

func (a *app) calendarRevoke(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	if err := a.store.RevokeCalendarLink(r.Context(), id); err != nil {
		return err
	}
	return seeOther(w, r, "/calendar?done=revoked")
}

// calendarFeed answers with the reminders. The secret stands in the query,
// which is never logged.
func (a *app) calendarFeed(w http.ResponseWriter, r *http.Request) error {
	if _, err := a.store.CalendarLink(r.Context(), r.URL.Query().Get("key")); err != nil {
		if db.IsNotFound(err) {
			return &statusError{http.StatusNotFound, "This calendar address was revoked, or never made."}
		}
		return err
	}
	stacks, err := a.store.Drying(r.Context())
	if err != nil {
		return err
	}
	held, err := a.store.HeldLots(r.Context(), maxHeld)
	if err != nil {
		return err
	}
	b := a.base(r, "")
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	return newCalendar(b.Env, stacks, held).SerializeTo(w, ics.WithNewLineWindows) // RFC 5545 ends every line with CRLF
}

// newCalendar writes the reminders as whole days in the keeper's zone.
func newCalendar(env db.Env, stacks []db.DryingStack, held []db.HeldLot) *ics.Calendar {
	cal := ics.NewCalendarFor("Skepwood")
	cal.SetProductId("-//Skepwood//Reminders//EN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetXWRCalName("Skepwood")
	cal.SetRefreshInterval("PT6H", ics.WithValue("DURATION"))
	remind := reminder{cal, env}
	for i := range stacks {
		d := &stacks[i]
		if !d.Standing() || d.Posterior == nil {
			continue
		}
		remind.add("read-"+d.ID.String(), "Read "+d.Name, readyWords(d), later(d.Next, env.Now))
		if d.Dates.State == moisture.StateDates {
			remind.add("likely-"+d.ID.String(), d.Name+" is likely ready", readyWords(d)+". Probe it before you trust it.", d.Dates.Likely)
			remind.add("by-"+d.ID.String(), d.Name+" is ready by now", readyWords(d)+". Probe it before you trust it.", d.Dates.By)
		}
	}
	if len(held) > 0 {
		codes := make([]string, 0, len(held))
		for _, h := range held {
			codes = append(codes, h.Code)
		}
		text := strings.Join(codes[:min(len(codes), 20)], ", ")
		if len(codes) > 20 {
			text += fmt.Sprintf(" and %d more", len(codes)-20)
		}
		remind.add("holds", "Settle "+plural(len(held), "lot on hold", "lots on hold"), text, env.Now)
	}
	return cal
}

// later is the day of a reminder: what was due stays due today.
func later(t, now time.Time) time.Time {
	if t.Before(now) {
		return now
	}
	return t
}

// reminder adds events to a calendar.
type reminder struct {
	cal *ics.Calendar
	env db.Env
}

func (m reminder) add(id, summary, text string, at time.Time) {
	if at.IsZero() {
		return
	}
	if m.env.Zone != nil {
		at = at.In(m.env.Zone)
	}
	day := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, time.UTC)
	e := m.cal.AddEvent(id + "@skepwood")
	e.SetDtStampTime(m.env.Now.UTC())
	e.SetAllDayStartAt(day)
	e.SetAllDayEndAt(day.AddDate(0, 0, 1))
	e.SetSummary(summary)
	e.SetDescription(text)
	e.SetTimeTransparency(ics.TransparencyTransparent)
}
