package db

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// MonthClimate is the air of one month at a place: the mean of a logger's
// records, or a usual mean that somebody wrote down.
type MonthClimate struct {
	Base
	Place string
	Month int
	// First and Last bound the recorded days, Days counts them; nil and 0 for a
	// usual mean, which speaks for every year.
	First, Last *time.Time
	Days        int
	// TempC and Humidity are the means; never nil in a stored entry.
	TempC, Humidity *float64
	// Percent is the mean moisture at which the recorded air held wood; nil for
	// a usual mean, where it follows from the two.
	Percent *float64
	// Source says where the figures are from: a file, a station, a table.
	Source, Notes string
}

// Air is the month as the climate of a place is worked out from it.
func (m *MonthClimate) Air() moisture.MonthAir {
	air := moisture.MonthAir{Month: time.Month(m.Month), Days: m.Days, EMC: math.NaN()}
	if m.First != nil && m.Last != nil {
		air.First, air.Last = *m.First, *m.Last
	}
	if m.TempC != nil && m.Humidity != nil {
		air.TempC, air.RH = *m.TempC, *m.Humidity
	}
	if m.Percent != nil {
		air.EMC = *m.Percent
	}
	return air
}

// Climates is the kind of entry that holds the air of places.
var Climates = &Entity[MonthClimate]{
	table: "climate",
	base:  func(m *MonthClimate) *Base { return &m.Base },
	columns: []Column[MonthClimate]{
		{Name: "place", Aliases: []string{"where"}, Required: true, Example: "lean-to", Help: "As stacks name it.", SQL: "place", Ptr: func(m *MonthClimate) any { return &m.Place }, Codec: textCodec{max: 200}},
		{Name: "month", Required: true, Example: "3", Help: "1 to 12.", SQL: "month", Ptr: func(m *MonthClimate) any { return &m.Month }, Codec: monthCodec{}},
		{Name: "temperature", Aliases: []string{"temp", "air_temperature"}, Label: "Mean air temperature", Required: true, Example: "55 F", SQL: "temp_c", Ptr: func(m *MonthClimate) any { return &m.TempC }, Codec: airTemperatureCodec{temperatureCodec{bounds{-50, 60, " °C"}}}},
		{Name: "humidity", Aliases: []string{"rh", "air_humidity"}, Label: "Mean relative humidity, %", Required: true, Example: "70", SQL: "humidity", Ptr: func(m *MonthClimate) any { return &m.Humidity }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{0, 100, " percent"}, units: []unitWord{{"%", 1}}}}},
		{Name: "first_day", Aliases: []string{"from"}, Label: "First recorded day", Help: "Empty for a usual mean of every year.", Example: "2026-03-01", SQL: "first_day", Ptr: func(m *MonthClimate) any { return &m.First }, Codec: optionalDayCodec{}},
		{Name: "last_day", Aliases: []string{"to"}, Label: "Last recorded day", Example: "2026-03-31", SQL: "last_day", Ptr: func(m *MonthClimate) any { return &m.Last }, Codec: optionalDayCodec{}},
		{Name: "days", Label: "Recorded days", SQL: "days", Ptr: func(m *MonthClimate) any { return &m.Days }, Codec: wholeCodec{0, 31, 0}},
		{Name: "moisture", Aliases: []string{"emc"}, Label: "Moisture the air held wood at, %", Help: "The mean over the records; empty works it out from temperature and humidity.", SQL: "emc_pct", Ptr: func(m *MonthClimate) any { return &m.Percent }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{0, wood.FibreSaturation, " percent"}, units: []unitWord{{"%", 1}}}}},
		{Name: "source", Label: "Where the figures are from", Example: "station table of the county", SQL: "source", Ptr: func(m *MonthClimate) any { return &m.Source }, Codec: textCodec{max: 300}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(m *MonthClimate) any { return &m.Notes }, Codec: textCodec{max: 10000, long: true}},
	},
	check: checkClimate,
	unique: map[string]*FieldError{
		"climate_month_once": {Field: "month", Problem: "is in the book already for this place", Remedy: "correct that entry instead"},
	},
	natural: []natural[MonthClimate]{{field: "month", words: "place, month and first day", key: climateKey, sql: `SELECT lower(place) || chr(31) || month || chr(31) || coalesce(to_char(first_day, 'YYYY-MM-DD'), ''), id
		FROM climate WHERE struck_at IS NULL AND lower(place) || chr(31) || month || chr(31) || coalesce(to_char(first_day, 'YYYY-MM-DD'), '') = ANY($1)`}},
	identity: climateKey,
}

// climateKey is what a month of a place is known by.
func climateKey(m *MonthClimate) string {
	first := ""
	if m.First != nil {
		first = printDay(*m.First)
	}
	return strings.ToLower(m.Place) + "\x1f" + strconv.Itoa(m.Month) + "\x1f" + first
}

func checkClimate(m *MonthClimate, _ Env) FieldErrors {
	var faults FieldErrors
	wrong := func(field, problem, remedy string) {
		faults = append(faults, &FieldError{Field: field, Problem: problem, Remedy: remedy})
	}
	switch {
	case m.First == nil && m.Last == nil && m.Days == 0:
		return nil
	case m.First == nil:
		wrong("first_day", "is missing beside recorded days", "give first and last day with their number, or none of the three")
	case m.Last == nil:
		wrong("last_day", "is missing beside recorded days", "give first and last day with their number, or none of the three")
	case m.Last.Before(*m.First):
		wrong("last_day", "lies before the first", "check both days")
	case int(m.First.Month()) != m.Month || m.Last.Month() != m.First.Month() || m.Last.Year() != m.First.Year():
		wrong("month", "is not that of the recorded days", "give one entry for each month of the records")
	case m.Days < 1 || m.Days > int(m.Last.Sub(*m.First).Hours()/24)+1:
		wrong("days", "cannot be between these two days", "count the days that have records")
	}
	return faults
}

// airTemperatureCodec is a temperature of air.
type airTemperatureCodec struct{ temperatureCodec }

func (c airTemperatureCodec) parse(dst any, text string, env Env) *FieldError {
	f := c.temperatureCodec.parse(dst, text, env)
	if f != nil {
		f.Problem = strings.ReplaceAll(f.Problem, "wood has", "air has")
	}
	return f
}

// monthCodec is a month of the year in a *int: its number or its name.
type monthCodec struct{}

func (monthCodec) parse(dst any, text string, _ Env) *FieldError {
	for m := time.January; m <= time.December; m++ {
		name := m.String()
		if strings.EqualFold(text, name) || strings.EqualFold(text, name[:3]) || strings.TrimLeft(text, "0") == strconv.Itoa(int(m)) {
			*dst.(*int) = int(m)
			return nil
		}
	}
	return fault("is not a month", "write 1 to 12, or its name")
}

func (monthCodec) print(src any, _ Env) string { return strconv.Itoa(*src.(*int)) }

// PlaceAir is the air of one place with the entries it follows from.
type PlaceAir struct {
	Place  string
	Months []MonthClimate
	// Air follows from Months; Known is false where they tell nothing usable.
	Air   moisture.PlaceAir
	Known bool
}

// Airs returns the air of every place that has any, by its name in lower case.
func (s *Store) Airs(ctx context.Context) (map[string]*PlaceAir, error) {
	return airsOf(ctx, s.pool)
}

func airsOf(ctx context.Context, q querier) (map[string]*PlaceAir, error) {
	months, err := Climates.list(ctx, q, "WHERE t.struck_at IS NULL ORDER BY lower(t.place), t.month, t.first_day NULLS LAST, t.id")
	if err != nil {
		return nil, err
	}
	out := make(map[string]*PlaceAir)
	for _, m := range months {
		key := strings.ToLower(m.Place)
		if out[key] == nil {
			out[key] = &PlaceAir{Place: m.Place}
		}
		out[key].Months = append(out[key].Months, m)
	}
	for _, p := range out {
		if err := p.work(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// work works the air out; too few recorded days leave it unknown.
func (p *PlaceAir) work() error {
	airs := make([]moisture.MonthAir, len(p.Months))
	for i := range p.Months {
		airs[i] = p.Months[i].Air()
	}
	air, err := moisture.AirOfPlace(airs)
	if err != nil && !errors.Is(err, moisture.ErrLogger) {
		return fmt.Errorf("air of %s: %w", p.Place, err)
	}
	p.Air, p.Known = air, err == nil
	return nil
}

// Place is a place that stacks stand in or whose air is known.
type Place struct {
	Name string
	// Standing and Down count its live stacks.
	Standing, Down int
	// Air is nil where the book knows nothing of it.
	Air *PlaceAir
}

// Places lists every place that stacks stand in or stood in and every place
// whose air is known, by name.
func (s *Store) Places(ctx context.Context) ([]Place, error) {
	airs, err := s.Airs(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := s.pool.Query(ctx, `SELECT min(p.place), count(*) FILTER (WHERE p.last AND p.standing)::int, count(*) FILTER (WHERE NOT (p.last AND p.standing))::int
		FROM (SELECT s.place, s.taken_down IS NULL AS standing, NOT EXISTS (SELECT 1 FROM move m WHERE m.stack_id = s.id AND m.struck_at IS NULL) AS last
				FROM stack s WHERE s.struck_at IS NULL AND s.place <> ''
			UNION ALL SELECT m.place, s.taken_down IS NULL, NOT EXISTS (SELECT 1 FROM move n WHERE n.stack_id = s.id AND n.struck_at IS NULL AND n.day > m.day)
				FROM move m JOIN stack s ON s.id = m.stack_id WHERE m.struck_at IS NULL AND s.struck_at IS NULL) p
		GROUP BY lower(p.place)`)
	if err != nil {
		return nil, fmt.Errorf("list the places: %w", err)
	}
	places, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (Place, error) {
		var p Place
		err := row.Scan(&p.Name, &p.Standing, &p.Down)
		return p, err
	})
	if err != nil {
		return nil, fmt.Errorf("list the places: %w", err)
	}
	for i := range places {
		key := strings.ToLower(places[i].Name)
		places[i].Air = airs[key]
		delete(airs, key)
	}
	for _, air := range airs {
		places = append(places, Place{Name: air.Place, Air: air})
	}
	sortByName(places, func(p Place) string { return p.Name })
	return places, nil
}

// climateID is the id of a month that came without one.
func climateID(m *MonthClimate) uuid.UUID { return derivedID("climate", climateKey(m)) }
