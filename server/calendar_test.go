package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

// calendarAddress makes a secret address and returns its path.
func (b *bench) calendarAddress() string {
	b.Helper()
	p := b.post("/calendar", b.form(b.open("/calendar"), "/calendar"))
	require.Equal(b, http.StatusOK, p.status)
	u, err := url.Parse(text(p.all("code", "")[0]))
	require.NoError(b, err)
	require.Equal(b, "no-store", p.header.Get("Cache-Control"))
	return u.RequestURI()
}

func TestCalendarIsReadByAnotherProgram(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	w := b.withWood()
	name := "Stack A; the long one, behind the shed \\ by the Wörtherstraße gate, third from the left"
	b.stack(w, map[string]string{"name": name, "stickered": "2026-01-09", "air_temperature": "60 F", "air_humidity": "50"}, 2, drying)
	b.stack(w, map[string]string{"name": "Open", "cover": "open", "stickered": "2026-01-09", "air_temperature": "45 F", "air_humidity": "92"}, 2,
		map[string]string{"2026-01-10": "28", "2026-01-24": "25", "2026-02-07": "23.5", "2026-02-21": "22.8"})
	b.add(db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "pallet"})
	feed := b.get(b.calendarAddress())
	require.Equal(t, http.StatusOK, feed.status)
	require.Equal(t, "text/calendar; charset=utf-8", feed.header.Get("Content-Type"))
	for line := range strings.SplitSeq(strings.TrimSuffix(feed.body, "\r\n"), "\r\n") {
		require.LessOrEqual(t, len(line), 75, "RFC 5545, 3.1: lines of at most 75 octets: %q", line)
		require.NotContains(t, line, "\n")
	}
	cal, err := ical.NewDecoder(strings.NewReader(feed.body)).Decode()
	require.NoError(t, err)
	require.Equal(t, "2.0", cal.Props.Get(ical.PropVersion).Value)
	require.Equal(t, "-//Skepwood//Reminders//EN", cal.Props.Get(ical.PropProductID).Value)
	seen := map[string]time.Time{}
	uids := map[string]bool{}
	for _, e := range cal.Events() {
		for _, must := range []string{ical.PropUID, ical.PropDateTimeStamp, ical.PropDateTimeStart} {
			require.NotNil(t, e.Props.Get(must), must)
		}
		uid, err := e.Props.Text(ical.PropUID)
		require.NoError(t, err)
		require.False(t, uids[uid], uid)
		uids[uid] = true
		summary, err := e.Props.Text(ical.PropSummary)
		require.NoError(t, err)
		start, err := e.DateTimeStart(time.UTC)
		require.NoError(t, err)
		end, err := e.DateTimeEnd(time.UTC)
		require.NoError(t, err)
		require.Equal(t, 24*time.Hour, end.Sub(start), summary)
		seen[summary] = start
	}
	today := testNow.Truncate(24 * time.Hour)
	require.Equal(t, today, seen["Read "+name], "what was due stays due")
	require.Equal(t, today, seen["Settle 1 lot on hold"])
	require.True(t, seen[name+" is likely ready"].After(today))
	require.True(t, seen[name+" is ready by now"].After(seen[name+" is likely ready"]))
	require.Contains(t, seen, "Read Open")
	require.NotContains(t, seen, "Open is likely ready", "it never will be in that air")
	again := b.get(b.calendarAddress())
	require.Equal(t, feed.body, again.body, "the same reminders under the same ids")
}

func TestCalendarAddressIsEnded(t *testing.T) {
	t.Parallel()
	b := setup(t, options{})
	first, second := b.calendarAddress(), b.calendarAddress()
	require.NotEqual(t, first, second)
	p := b.open("/calendar")
	require.NotContains(t, p.body, "key=", "a secret is shown once")
	revoke := attr(p.all("form", "")[0], "action")
	require.Contains(t, b.stored(revoke, nil).mainText(), "no longer works")
	working := 0
	for _, address := range []string{first, second} {
		if b.get(address).status == http.StatusOK {
			working++
		}
	}
	require.Equal(t, 1, working)
	for _, wrong := range []string{"/calendar.ics", "/calendar.ics?key=", "/calendar.ics?key=" + strings.Repeat("A", 43)} {
		require.Equal(t, http.StatusNotFound, b.get(wrong).status, wrong)
	}
	require.Equal(t, http.StatusNotFound, b.post("/calendar/0198c5a0-0000-7000-8000-000000000000/revoke", nil).status)
	// The same form twice makes one address.
	form := b.form(b.open("/calendar"), "/calendar")
	b.post("/calendar", form)
	require.Equal(t, http.StatusSeeOther, b.post("/calendar", form).status)
}
