package db

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
)

// Stack is a pile of stickered boards, drying in the air of its place.
type Stack struct {
	Base
	// Name is what people call it; one standing stack has it.
	Name, Place string
	// Cover is what stands between it and the weather.
	Cover     string
	Stickered time.Time
	// TakenDown is nil while it stands.
	TakenDown *time.Time
	// Zone is where in the hive its wood goes, Season when it goes into use and
	// Region how dry the land is: together they choose the usual target.
	Zone, Season, Region string
	// TargetPercent is the moisture wanted; nil means the usual target.
	TargetPercent *float64
	// AirTempC and AirHumidity are the mean of the air where it was stickered;
	// both or neither, and neither takes what the book knows of the place.
	AirTempC, AirHumidity *float64
	Notes                 string
}

// Covers of a stack, from the weather to the stove.
var stackCovers = []Option{{"open", "open to the weather"}, {"roof", "under a roof"}, {"shed", "in a shed"}, {"heated", "in a heated room"}}

// What a stack's wood is for; see moisture.TargetFor.
var (
	stackZones   = []Option{{"outside", "outside the hive: stands, floors' undersides, roofs"}, {"inside", "inside the hive: frames, what bees live on"}}
	stackSeasons = []Option{{"any", "any season"}, {"summer", "summer"}, {"winter", "winter"}}
	stackRegions = []Option{{"usual", "most land, damp coasts too"}, {"dry", "dry land, like deserts"}}
)

// Stacks is the kind of entry that holds stacks.
var Stacks = &Entity[Stack]{
	table: "stack",
	base:  func(s *Stack) *Base { return &s.Base },
	columns: []Column[Stack]{
		{Name: "name", Aliases: []string{"stack"}, Required: true, Example: "stack A", Help: "As it is written on its front board.", SQL: "name", Ptr: func(s *Stack) any { return &s.Name }, Codec: textCodec{max: 200, name: true}},
		{Name: "place", Aliases: []string{"where"}, Example: "lean-to, north wall", SQL: "place", Ptr: func(s *Stack) any { return &s.Place }, Codec: textCodec{max: 200}},
		{Name: "cover", Aliases: []string{"roof"}, Help: "Empty means under a roof.", SQL: "cover", Ptr: func(s *Stack) any { return &s.Cover }, Codec: choiceCodec{stackCovers, "roof"}},
		{Name: "stickered", Aliases: []string{"stickered_on", "stacked", "put_up"}, Label: "Stickered on", Required: true, Example: "2026-03-14", SQL: "stickered", Ptr: func(s *Stack) any { return &s.Stickered }, Codec: dayCodec{}},
		{Name: "taken_down", Label: "Taken down on", Help: "Empty while it stands.", Example: "2026-09-01", SQL: "taken_down", Ptr: func(s *Stack) any { return &s.TakenDown }, Codec: optionalDayCodec{}},
		{Name: "zone", Label: "What its wood is for", Help: "Empty means outside the hive.", SQL: "zone", Ptr: func(s *Stack) any { return &s.Zone }, Codec: choiceCodec{stackZones, "outside"}},
		{Name: "season", Label: "When it goes into use", SQL: "season", Ptr: func(s *Stack) any { return &s.Season }, Codec: choiceCodec{stackSeasons, "any"}},
		{Name: "region", Label: "How dry the land is", SQL: "region", Ptr: func(s *Stack) any { return &s.Region }, Codec: choiceCodec{stackRegions, "usual"}},
		{Name: "target", Aliases: []string{"target_percent"}, Label: "Moisture wanted, %", Help: "Empty means the usual target of its zone and season.", Example: "12", SQL: "target_pct", Ptr: func(s *Stack) any { return &s.TargetPercent }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{4, 30, " percent"}, units: []unitWord{{"%", 1}}}}},
		{Name: "air_temperature", Aliases: []string{"temperature", "temp"}, Label: "Mean air temperature at its place", Example: "55 F", SQL: "air_temp_c", Ptr: func(s *Stack) any { return &s.AirTempC }, Codec: temperatureCodec{bounds{-30, 60, " °C"}}},
		{Name: "air_humidity", Aliases: []string{"humidity", "rh"}, Label: "Mean relative humidity there, %", Help: "With the temperature; both empty takes what the book knows of the place, or what is usual under cover.", Example: "70", SQL: "air_humidity", Ptr: func(s *Stack) any { return &s.AirHumidity }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{0, 100, " percent"}, units: []unitWord{{"%", 1}}}}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(s *Stack) any { return &s.Notes }, Codec: textCodec{max: 10000, long: true}},
	},
	check: checkStack,
	unique: map[string]*FieldError{
		"stack_name_once": {Field: "name", Problem: "is already another stack's", Remedy: "choose another, or correct that one"},
	},
	natural: []natural[Stack]{{field: "name", key: func(s *Stack) string { return strings.ToLower(s.Name) },
		sql: `SELECT lower(name), id FROM stack WHERE lower(name) = ANY($1) AND struck_at IS NULL`}},
	identity: func(s *Stack) string { return strings.ToLower(s.Name) },
}

func checkStack(s *Stack, _ Env) FieldErrors {
	var faults FieldErrors
	if s.TakenDown != nil && s.TakenDown.Before(s.Stickered) {
		faults = append(faults, &FieldError{Field: "taken_down", Value: printDay(*s.TakenDown), Problem: "lies before the day it was stickered", Remedy: "check both days"})
	}
	switch {
	case s.AirTempC != nil && s.AirHumidity == nil:
		faults = append(faults, &FieldError{Field: "air_humidity", Problem: "is missing beside the temperature", Remedy: "give both, or leave both empty"})
	case s.AirTempC == nil && s.AirHumidity != nil:
		faults = append(faults, &FieldError{Field: "air_temperature", Problem: "is missing beside the humidity", Remedy: "give both, or leave both empty"})
	}
	return faults
}

// optionalDayCodec is a calendar day that may be missing, in a **time.Time.
type optionalDayCodec struct{ dayCodec }

func (c optionalDayCodec) parse(dst any, text string, env Env) *FieldError {
	if text == "" {
		*dst.(**time.Time) = nil
		return nil
	}
	var day time.Time
	if f := c.dayCodec.parse(&day, text, env); f != nil {
		return f
	}
	*dst.(**time.Time) = &day
	return nil
}

func (c optionalDayCodec) print(src any, env Env) string {
	day := *src.(**time.Time)
	if day == nil {
		return ""
	}
	return c.dayCodec.print(day, env)
}

// StackBoards returns the live boards on the rack that lie in a stack; those
// taken out of it are gone from it.
func (s *Store) StackBoards(ctx context.Context, stack uuid.UUID) ([]StockBoard, error) {
	return s.stockBoards(ctx, "WHERE b.stack_id = $1 AND b.struck_at IS NULL AND b.state = 'rack' AND b.left_stack IS NULL ORDER BY b.code COLLATE \"C\"", stack)
}

// StackLayers returns the layer of each live board of a stack whose layer is
// known, counted from the bottom.
func (s *Store) StackLayers(ctx context.Context, stack uuid.UUID) (map[uuid.UUID]int, error) {
	rows, err := s.pool.Query(ctx, `SELECT id, layer FROM board WHERE stack_id = $1 AND layer IS NOT NULL AND struck_at IS NULL`, stack)
	if err != nil {
		return nil, fmt.Errorf("read the layers of a stack: %w", err)
	}
	out := make(map[uuid.UUID]int)
	var id uuid.UUID
	var layer int
	_, err = pgx.ForEachRow(rows, []any{&id, &layer}, func() error { out[id] = layer; return nil })
	return out, err
}

// BoardsTakenOut returns the live boards that once lay in a stack and were taken
// out of it, the last to leave first.
func (s *Store) BoardsTakenOut(ctx context.Context, stack uuid.UUID) ([]Board, error) {
	return Boards.list(ctx, s.pool, "WHERE t.stack_id = $1 AND t.struck_at IS NULL AND t.left_stack IS NOT NULL ORDER BY t.left_stack DESC, t.code", stack)
}

// StackReadings returns the live readings of a stack's boards that were taken
// while it stood and they lay in it, oldest first, each with its board's
// species and its board's guess where that is unsure.
func (s *Store) StackReadings(ctx context.Context, stack Stack) ([]BoardReading, error) {
	all, err := s.readingsOfStacks(ctx, []Stack{stack})
	return all[stack.ID], err
}

// BoardReading is a reading with its board's species, and the guess of it as
// it is stored where that is unsure.
type BoardReading struct {
	moisture.Reading
	Guess string
}

// Correct corrects the reading as every page and sum does.
func (r *BoardReading) Correct() (moisture.Corrected, error) {
	return moisture.CorrectQuick(&r.Reading, guessOptions(r.Species, r.Guess))
}

// readingsOfStacks reads the readings of several stacks at once.
func (s *Store) readingsOfStacks(ctx context.Context, stacks []Stack) (map[uuid.UUID][]BoardReading, error) {
	ids := make([]uuid.UUID, len(stacks))
	for i := range stacks {
		ids[i] = stacks[i].ID
	}
	rows, err := s.pool.Query(ctx, `SELECT b.stack_id, r.id::text, b.id::text, r.taken_at, r.raw, r.method, r.wood_temp_c, r.setting, r.place, r.wet_g, r.dry_g, b.species, b.species_guess
		FROM stack s JOIN board b ON b.stack_id = s.id JOIN reading r ON r.board_id = b.id
		WHERE s.id = ANY($1) AND b.struck_at IS NULL AND r.struck_at IS NULL
			AND r.taken_at >= s.stickered AND (s.taken_down IS NULL OR r.taken_at < s.taken_down + 2) AND (b.left_stack IS NULL OR r.taken_at < b.left_stack + 2)
		ORDER BY r.taken_at, r.id`, ids)
	if err != nil {
		return nil, fmt.Errorf("read the readings of stacks: %w", err)
	}
	out := make(map[uuid.UUID][]BoardReading)
	for rows.Next() {
		var stack uuid.UUID
		var r BoardReading
		if err := rows.Scan(&stack, &r.ID, &r.BoardID, &r.At, &r.Raw, (*string)(&r.Method), &r.WoodTempC, &r.Setting, &r.Place, &r.WetGrams, &r.DryGrams, &r.Species, &r.Guess); err != nil {
			rows.Close()
			return nil, fmt.Errorf("read the readings of stacks: %w", err)
		}
		r.At = r.At.UTC()
		out[stack] = append(out[stack], r)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read the readings of stacks: %w", err)
	}
	return out, nil
}
