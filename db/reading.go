package db

import (
	"context"
	"fmt"
	"math"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
)

// Reading is a moisture reading of a board. Where both masses are given, Raw
// is worked out from them.
type Reading struct {
	Base
	Board Ref
	moisture.Reading
	Note string
	// Percent with its standard deviation, and Range, follow from the rest;
	// see moisture.Correct. Percent is nil outside the method's range.
	Percent, PercentSD *float64
	Range              string
}

var readingMethods = []Option{{"pin", "pins"}, {"ohm", "ohmmeter, megohms"}, {"pinless", "pinless"}, {"ovendry", "oven-dry"}, {"sample", "tracked sample piece"}}

var Readings = &Entity[Reading]{
	table: "reading",
	base:  func(r *Reading) *Base { return &r.Base },
	columns: []Column[Reading]{
		{Name: "board", Required: true, Example: "K7MWX-3", SQL: "board_id", Key: boardKeySQL, Ptr: func(r *Reading) any { return &r.Board }, Codec: refCodec{"board"}},
		{Name: "taken", Aliases: []string{"date", "day", "at", "when", "time"}, Label: "When it was taken", Example: "2026-03-14 16:30", SQL: "taken_at", Ptr: func(r *Reading) any { return &r.At }, Codec: instantCodec{}},
		{Name: "raw", Aliases: []string{"percent", "moisture", "mc", "reading", "value"}, Label: "Reading", Example: "14.5", Help: "What the meter showed, in percent; megohms for an ohmmeter. Two masses make it unneeded.", SQL: "raw", Ptr: func(r *Reading) any { return &r.Raw }, Codec: rawCodec{numberCodec{bounds: bounds{0, 1e9, ""}, units: []unitWord{{"%", 1}}}}},
		{Name: "method", SQL: "method", Ptr: func(r *Reading) any { return (*string)(&r.Method) }, Codec: choiceCodec{readingMethods, "pin"}},
		{Name: "temperature", Aliases: []string{"wood_temp", "temp"}, Label: "Wood temperature", Example: "68 F", SQL: "wood_temp_c", Ptr: func(r *Reading) any { return &r.WoodTempC }, Codec: temperatureCodec{bounds{-60, 120, " °C"}}},
		{Name: "setting", Aliases: []string{"meter_setting"}, Label: "Meter's species setting", Help: "Empty means the Douglas-fir scale most meters have. For an ohmmeter between two nails write: one pair.", Example: "one pair", SQL: "setting", Ptr: func(r *Reading) any { return &r.Setting }, Codec: textCodec{max: 100}},
		{Name: "place", Aliases: []string{"where"}, Label: "Place on the board", Example: "middle", SQL: "place", Ptr: func(r *Reading) any { return &r.Place }, Codec: textCodec{max: 100}},
		{Name: "mass", Aliases: []string{"wet_mass", "wet"}, Label: "Mass now", Help: "Oven-dry and sample piece only.", Example: "412 g", SQL: "wet_g", Ptr: func(r *Reading) any { return &r.WetGrams }, Codec: massCodec{}},
		{Name: "dry_mass", Aliases: []string{"dry"}, Label: "Oven-dry mass", Help: "Weighed after the oven; of a sample piece worked out from its end sections (see the desk).", Example: "371 g", SQL: "dry_g", Ptr: func(r *Reading) any { return &r.DryGrams }, Codec: massCodec{}},
		{Name: "note", Aliases: []string{"notes", "comments"}, SQL: "note", Ptr: func(r *Reading) any { return &r.Note }, Codec: textCodec{max: 10000, long: true}},
		{Name: "corrected", Hidden: true, SQL: "percent", Ptr: func(r *Reading) any { return &r.Percent }},
		{Name: "corrected_sd", Hidden: true, SQL: "percent_sd", Ptr: func(r *Reading) any { return &r.PercentSD }},
		{Name: "range", Hidden: true, SQL: "range", Ptr: func(r *Reading) any { return &r.Range }},
	},
	check: func(r *Reading, _ Env) FieldErrors {
		if f := r.weigh(); f != nil {
			return FieldErrors{f}
		}
		if r.Method != moisture.MethodOhm && r.Raw > maxPercent {
			return FieldErrors{{Field: "raw", Value: fmt.Sprint(r.Raw), Problem: "is more water than wood can hold (400 percent of its dry mass)", Remedy: "check the number, or choose the ohmmeter as method"}}
		}
		return nil
	},
	derive: func(ctx context.Context, tx pgx.Tx, r *Reading) error {
		return deriveReadings(ctx, tx, []uuid.UUID{r.Board.ID})
	},
	batch: correctBatch,
	identity: func(r *Reading) string {
		return strings.Join([]string{r.Board.ID.String(), r.At.UTC().Format("2006-01-02T15:04:05.999999"), string(r.Method), r.Place,
			fmt.Sprint(math.Float64bits(r.Raw)), r.Note}, "\x1f")
	},
}

// maxPercent is above what the lightest woods hold when full of water: at a
// basic specific gravity of 0.2 the cell wall formula gives 435 percent, and
// no wood of packaging is so light.
const maxPercent = 400
