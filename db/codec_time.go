package db

import (
	"regexp"
	"strings"
	"time"
)

// dayLayouts are the unambiguous ways to write a day. 3/4/2026 is not among
// them: it is two different days, so it is refused with the reason.
var dayLayouts = []string{"2006-01-02", "2006/01/02", "2006.01.02", "2 Jan 2006", "2 January 2006", "Jan 2, 2006", "January 2, 2006", "Jan 2 2006", "02-Jan-2006", "20060102"}

// slashDay finds days that some read month first and some day first.
var slashDay = regexp.MustCompile(`^(\d{1,2})[/.](\d{1,2})[/.](\d{4})$`)

// dayCodec is a calendar day in a *time.Time at midnight UTC.
type dayCodec struct{ future bool }

func (c dayCodec) parse(dst any, text string, env Env) *FieldError {
	day, f := parseDay(text, env)
	if f != nil {
		return f
	}
	if f := c.checkRange(day, env); f != nil {
		return f
	}
	*dst.(*time.Time) = day
	return nil
}

func parseDay(text string, env Env) (time.Time, *FieldError) {
	switch strings.ToLower(text) {
	case "today":
		return today(env), nil
	case "yesterday":
		return today(env).AddDate(0, 0, -1), nil
	}
	for _, layout := range dayLayouts {
		if day, err := time.Parse(layout, text); err == nil {
			return day, nil
		}
	}
	if m := slashDay.FindStringSubmatch(text); m != nil {
		return parseSlashDay(m)
	}
	return time.Time{}, fault("is not a day", "write it like 2026-03-14 or 14 Mar 2026")
}

// parseSlashDay accepts 25/3/2026, which can only be one day, and refuses
// 4/3/2026, which can be two.
func parseSlashDay(m []string) (time.Time, *FieldError) {
	first, errA := time.Parse("1/2/2006", m[1]+"/"+m[2]+"/"+m[3])
	second, errB := time.Parse("2/1/2006", m[1]+"/"+m[2]+"/"+m[3])
	switch {
	case errA == nil && errB == nil && !first.Equal(second):
		return time.Time{}, fault("can be %s or %s", "write the year first, like 2026-03-14",
			first.Format("2 January"), second.Format("2 January"))
	case errA == nil:
		return first, nil
	case errB == nil:
		return second, nil
	}
	return time.Time{}, fault("is not a day of the calendar", "write it like 2026-03-14")
}

func today(env Env) time.Time {
	y, m, d := env.Now.In(zoneOf(env)).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func zoneOf(env Env) *time.Location {
	if env.Zone == nil {
		return time.UTC
	}
	return env.Zone
}

func (c dayCodec) checkRange(day time.Time, env Env) *FieldError {
	if day.Year() < 1900 || day.Year() > 2200 {
		return fault("lies outside the years 1900 to 2200", "check the year")
	}
	// One day of grace: the book may stand in a zone behind the keeper's.
	if !c.future && !env.Now.IsZero() && day.After(today(env).AddDate(0, 0, 1)) {
		return fault("has not happened yet", "check the day")
	}
	return nil
}

func (dayCodec) print(src any, _ Env) string { return printDay(*src.(*time.Time)) }

func printDay(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// instantLayouts are the ways to write a moment, with or without its zone.
var instantLayouts = []string{time.RFC3339Nano, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04:05", "2006-01-02 15:04"}

// instantCodec is a moment in a *time.Time, stored in UTC to the microsecond.
// A day alone means noon of that day in the keeper's zone; empty means now.
type instantCodec struct{}

func (instantCodec) parse(dst any, text string, env Env) *FieldError {
	t, f := parseInstant(text, env)
	if f != nil {
		return f
	}
	if t.Year() < 1900 || t.Year() > 2200 {
		return fault("lies outside the years 1900 to 2200", "check the year")
	}
	if !env.Now.IsZero() && t.After(env.Now.Add(24*time.Hour)) {
		return fault("has not happened yet", "check the day and the time")
	}
	*dst.(*time.Time) = t.UTC().Truncate(time.Microsecond)
	return nil
}

func parseInstant(text string, env Env) (time.Time, *FieldError) {
	if text == "" {
		return env.Now, nil
	}
	for _, layout := range instantLayouts {
		if t, err := time.ParseInLocation(layout, text, zoneOf(env)); err == nil {
			return t, nil
		}
	}
	day, f := parseDay(text, env)
	if f != nil {
		f.Remedy = "write it like 2026-03-14 16:30 or 2026-03-14"
		return time.Time{}, f
	}
	return time.Date(day.Year(), day.Month(), day.Day(), 12, 0, 0, 0, zoneOf(env)), nil
}

func (instantCodec) print(src any, env Env) string {
	t := *src.(*time.Time)
	switch {
	case t.IsZero():
		return ""
	case env.Sheet:
		return t.UTC().Format("2006-01-02T15:04:05.999999Z07:00")
	default:
		return t.In(zoneOf(env)).Format("2006-01-02 15:04")
	}
}

// zoneCodec is an IANA zone name in a *string; empty means the keeper's.
type zoneCodec struct{}

func (zoneCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(*string) = zoneOf(env).String()
		return nil
	}
	if text == "Local" {
		return fault("names no place", "write a zone like America/Chicago or Europe/Berlin")
	}
	if _, err := time.LoadLocation(text); err != nil {
		return fault("is not a known time zone", "write it like America/Chicago or Europe/Berlin")
	}
	*dst.(*string) = text
	return nil
}

func (zoneCodec) print(src any, _ Env) string { return *src.(*string) }
