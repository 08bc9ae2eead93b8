package db

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
)

func sortByName[T any](list []T, name func(T) string) {
	slices.SortFunc(list, func(a, b T) int { return cmp.Compare(strings.ToLower(name(a)), strings.ToLower(name(b))) })
}

// UsualMonths are the usual means of a year as they are typed in: the texts of
// twelve temperatures and humidities, both empty where a month is unknown.
type UsualMonths struct {
	Place, Source         string
	Temperature, Humidity [12]string
}

// MonthField names the field of a month on a form of twelve.
func MonthField(name string, month int) string { return fmt.Sprintf("%s-%d", name, month) }

// SaveUsualMonths stores the usual means of a place. Months the book has are
// corrected where they differ, with the reason of edit, which then must be
// given; the others are added. Faults name fields like temperature-3. It
// returns how many months were added and corrected.
func (s *Store) SaveUsualMonths(ctx context.Context, edit Edit, in UsualMonths) (added, corrected int, err error) {
	err = s.Tx(ctx, func(tx pgx.Tx) error {
		added, corrected = 0, 0
		have, err := Climates.list(ctx, tx, "WHERE t.struck_at IS NULL AND lower(t.place) = lower($1) AND t.first_day IS NULL ORDER BY t.month", in.Place)
		if err != nil {
			return err
		}
		var faults FieldErrors
		for month := 1; month <= 12; month++ {
			i := slices.IndexFunc(have, func(m MonthClimate) bool { return m.Month == month })
			var old *MonthClimate
			if i >= 0 {
				old = &have[i]
			}
			change, found, err := s.saveUsualMonth(ctx, tx, edit, in, month, old)
			if err != nil {
				return err
			}
			faults = append(faults, found...)
			added, corrected = added+change.added, corrected+change.corrected
		}
		if len(faults) > 0 {
			return faults
		}
		if len(have) == 0 && added == 0 {
			return FieldErrors{{Field: MonthField("temperature", 1), Problem: "is empty, like every other month", Remedy: "write at least one month's mean temperature and humidity"}}
		}
		return nil
	})
	return added, corrected, err
}

type monthChange struct{ added, corrected int }

// saveUsualMonth stores one month; the faults it returns are of what was typed.
func (s *Store) saveUsualMonth(ctx context.Context, tx pgx.Tx, edit Edit, in UsualMonths, month int, old *MonthClimate) (monthChange, FieldErrors, error) {
	temperature, humidity := strings.TrimSpace(in.Temperature[month-1]), strings.TrimSpace(in.Humidity[month-1])
	if temperature == "" && humidity == "" {
		if old == nil {
			return monthChange{}, nil, nil
		}
		return monthChange{}, FieldErrors{{Field: MonthField("temperature", month), Problem: "is empty, but the book has this month", Remedy: "strike the month through on its own page if it is wrong"}}, nil
	}
	values := map[string]string{"place": in.Place, "month": fmt.Sprint(month), "temperature": temperature, "humidity": humidity, "source": in.Source}
	if old != nil {
		delete(values, "place")
		if old.sameUsual(values, edit.Env) {
			return monthChange{}, nil, nil
		}
		change := edit
		change.ID, change.Version = old.ID, old.Version
		_, err := Climates.correct(ctx, tx, change, values, s.Now())
		faults, err := fieldsOfMonth(err, month)
		return monthChange{corrected: 1}, faults, err
	}
	var rec MonthClimate
	if faults := Climates.Parse(&rec, values, edit.Env); len(faults) > 0 {
		faults, err := fieldsOfMonth(faults, month)
		return monthChange{}, faults, err
	}
	rec.Base = s.fresh(Base{ID: uuid.NewSHA1(edit.ID, []byte(climateKey(&rec))), KeeperID: edit.Keeper})
	_, err := Climates.insert(ctx, tx, &rec)
	faults, err := fieldsOfMonth(err, month)
	return monthChange{added: 1}, faults, err
}

// sameUsual reports whether the typed values are what the month shows already;
// an empty source leaves the old one.
func (m *MonthClimate) sameUsual(values map[string]string, env Env) bool {
	shown := Climates.Values(m, env)
	if values["source"] == "" {
		values["source"] = shown["source"]
	}
	if values["source"] != shown["source"] {
		return false
	}
	// 41 and 41.0 F are the same, and so is what a form shows rounded.
	typed := *m
	for _, name := range []string{"temperature", "humidity"} {
		if values[name] == shown[name] {
			continue
		}
		c := &Climates.columns[Climates.at(name)]
		if c.set(&typed, values[name], env) != nil {
			return false
		}
	}
	return near(typed.TempC, m.TempC) && near(typed.Humidity, m.Humidity)
}

// near reports whether two values differ by no more than a conversion does.
func near(a, b *float64) bool { return a != nil && b != nil && math.Abs(*a-*b) < 1e-9 }

// fieldsOfMonth renames faults after the fields of a form of twelve months.
func fieldsOfMonth(err error, month int) (FieldErrors, error) {
	faults, ok := err.(FieldErrors) //nolint:errorlint // the entity returns them bare
	if !ok {
		return nil, err
	}
	for _, f := range faults {
		switch f.Field {
		case "temperature", "humidity":
			f.Field = MonthField(f.Field, month)
		case "month":
			f.Field = MonthField("temperature", month)
		}
	}
	return faults, nil
}

// LoggerImport is a logger's file on its way to a place.
type LoggerImport struct {
	Place, File string
	Parsed      moisture.LoggerFile
}

// LoggerResult says what became of a logger's file.
type LoggerResult struct {
	// Added are the months stored, none where every day was there already.
	Added []MonthClimate
	// Left are the days left out because the book has their month, in words.
	Left []string
}

// ImportLogger stores the monthly means of a logger's file as the air of a
// place, with the faults found in it beside the months they fall into. Days
// that the book has records of at this place are left out, so that importing
// twice adds nothing and an hour never counts twice.
func (s *Store) ImportLogger(ctx context.Context, base Base, in LoggerImport) (LoggerResult, error) {
	var out LoggerResult
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		out = LoggerResult{}
		have, err := Climates.list(ctx, tx, "WHERE t.struck_at IS NULL AND lower(t.place) = lower($1) AND t.first_day IS NOT NULL ORDER BY t.first_day", in.Place)
		if err != nil {
			return err
		}
		rows := out.fresh(in.Parsed.Rows, have)
		months, err := moisture.LoggerMonths(rows)
		if err != nil {
			return err
		}
		for _, air := range months {
			rec := newLoggerMonth(in, air)
			rec.Base = s.fresh(base)
			rec.ID = climateID(&rec)
			if faults := checkClimate(&rec, Env{}); len(faults) > 0 {
				return faults
			}
			// An entry of the same days that was struck keeps its id.
			if _, err := Climates.one(ctx, tx, rec.ID); err == nil {
				rec.ID = newID()
			}
			if _, err := Climates.insert(ctx, tx, &rec); err != nil {
				return err
			}
			out.Added = append(out.Added, rec)
		}
		return nil
	})
	return out, err
}

// fresh keeps the rows of days that no stored month covers and notes the others.
func (r *LoggerResult) fresh(rows []moisture.LoggerRow, have []MonthClimate) []moisture.LoggerRow {
	var out []moisture.LoggerRow
	left := make(map[uuid.UUID]bool)
	for _, row := range rows {
		day := calendarDay(row.At)
		i := slices.IndexFunc(have, func(m MonthClimate) bool { return !day.Before(*m.First) && !day.After(*m.Last) })
		if i < 0 {
			out = append(out, row)
			continue
		}
		if m := have[i]; !left[m.ID] {
			left[m.ID] = true
			r.Left = append(r.Left, fmt.Sprintf("%s to %s are in the book already (%s)", printDay(*m.First), printDay(*m.Last), m.Source))
		}
	}
	return out
}

// newLoggerMonth is the entry of one month of a file. Four decimals are far
// beyond any sensor and keep sheets readable.
func newLoggerMonth(in LoggerImport, air moisture.MonthAir) MonthClimate {
	first, last := calendarDay(air.First), calendarDay(air.Last)
	round := func(v float64) *float64 { v = math.Round(v*1e4) / 1e4; return &v }
	m := MonthClimate{Place: in.Place, Month: int(air.Month), First: &first, Last: &last, Days: air.Days,
		TempC: round(air.TempC), Humidity: round(air.RH), Percent: round(air.EMC), Source: clip("logger file " + in.File)}
	m.Notes = strings.Join(in.faultsOf(first), "\n")
	if r := []rune(m.Notes); len(r) > 10000 {
		m.Notes = string(r[:9999]) + "…"
	}
	return m
}

// faultsOf lists the faults that fall into the month of a day: those of its
// lines, and those of the file as a whole.
func (in *LoggerImport) faultsOf(month time.Time) []string {
	var out []string
	for _, f := range in.Parsed.Faults {
		switch {
		case f.Line == 0:
			out = append(out, f.Text)
		case in.monthOfLine(f.Line) == [2]int{month.Year(), int(month.Month())}:
			out = append(out, fmt.Sprintf("Line %d: %s", f.Line, f.Text))
		}
	}
	return out
}

// monthOfLine is year and month of the record on a line, or of the nearest one
// before it: a line that cannot be read has no time of its own.
func (in *LoggerImport) monthOfLine(line int) [2]int {
	rows := in.Parsed.Rows
	best := rows[0]
	for _, r := range rows {
		if r.Line <= line && (best.Line > line || r.Line > best.Line) {
			best = r
		}
	}
	return [2]int{best.At.Year(), int(best.At.Month())}
}

// calendarDay is the day of t in its own zone, at midnight UTC.
func calendarDay(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
