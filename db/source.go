package db

import (
	"math"
	"strings"

	"skepwood/analytics/yield"
)

// Source is a place that gives wood away, with its usual cargo and the person
// who may say yes.
type Source struct {
	Base
	Name       string
	Kind       string
	Cargo      string
	Contact    string
	Phone      string
	Permission string
	Hours      string
	Place      string
	Latitude   *float64
	Longitude  *float64
	DistanceM  *float64
	Notes      string
}

var Sources = &Entity[Source]{
	table: "source",
	base:  func(s *Source) *Base { return &s.Base },
	columns: []Column[Source]{
		{Name: "name", Aliases: []string{"source", "business", "company"}, Required: true, Example: "Harbour Tile", Help: "What you call the place.", SQL: "name", Ptr: func(s *Source) any { return &s.Name }, Codec: textCodec{max: 200, name: true}},
		{Name: "kind", Aliases: []string{"type", "trade"}, Label: "Kind of business", Example: "flooring", Help: "Sources of one kind inform one another.", SQL: "kind", Ptr: func(s *Source) any { return &s.Kind }, Codec: textCodec{max: 100}},
		{Name: "cargo", Aliases: []string{"goods"}, Label: "Usual cargo", Example: "ceramic tile", Help: "What their crates and pallets carried.", SQL: "cargo", Ptr: func(s *Source) any { return &s.Cargo }, Codec: textCodec{max: 500}},
		{Name: "contact", Aliases: []string{"person"}, Label: "Who may say yes", Example: "dock foreman", SQL: "contact", Ptr: func(s *Source) any { return &s.Contact }, Codec: textCodec{max: 200}},
		{Name: "phone", Example: "555 0100", SQL: "phone", Ptr: func(s *Source) any { return &s.Phone }, Codec: textCodec{max: 100}},
		{Name: "permission", Label: "Permission given", Example: "yes, by the foreman, 2026-02-03", Help: "Who said yes to taking wood, and when.", SQL: "permission", Ptr: func(s *Source) any { return &s.Permission }, Codec: textCodec{max: 500}},
		{Name: "hours", Label: "Dock hours", Example: "weekdays 7 to 15", SQL: "hours", Ptr: func(s *Source) any { return &s.Hours }, Codec: textCodec{max: 200}},
		{Name: "place", Aliases: []string{"address"}, Label: "Where it is", Example: "behind the loading dock", SQL: "place", Ptr: func(s *Source) any { return &s.Place }, Codec: textCodec{max: 500}},
		{Name: "latitude", Aliases: []string{"lat"}, Example: "44.25", Help: "Degrees, north positive.", SQL: "latitude", Ptr: func(s *Source) any { return &s.Latitude }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{-90, 90, "°"}}}},
		{Name: "longitude", Aliases: []string{"lon", "lng"}, Example: "-89.5", Help: "Degrees, east positive.", SQL: "longitude", Ptr: func(s *Source) any { return &s.Longitude }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{-180, 180, "°"}}}},
		{Name: "distance", Aliases: []string{"miles", "km"}, Label: "Usual extra distance", Example: "12", Help: "Driven for this source alone, there and back.", SQL: "distance_m", Ptr: func(s *Source) any { return &s.DistanceM }, Codec: optionalNumberCodec{distanceNumber}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(s *Source) any { return &s.Notes }, Codec: textCodec{max: 10000, long: true}},
	},
	check: func(s *Source, _ Env) FieldErrors {
		if (s.Latitude == nil) != (s.Longitude == nil) {
			return FieldErrors{{Field: "longitude", Problem: "stands without its partner", Remedy: "give both latitude and longitude, or neither"}}
		}
		return nil
	},
	unique: map[string]*FieldError{
		"source_name_once": {Field: "name", Problem: "is already in the book", Remedy: "open that source, or choose another name"},
	},
	natural: []natural[Source]{{field: "name", key: func(s *Source) string { return strings.ToLower(s.Name) },
		sql: `SELECT lower(name), id FROM source WHERE lower(name) = ANY($1) AND struck_at IS NULL`}},
	identity: func(s *Source) string { return strings.ToLower(s.Name) },
}

// distanceNumber is a road distance typed in the keeper's unit (miles in
// sheets) and stored in metres.
var distanceNumber = numberCodec{bounds: bounds{0, math.Inf(1), ""}, most: yield.MaxMiles * metresPerMile, scale: roadScale, units: []unitWord{{"mi", metresPerMile}, {"miles", metresPerMile}, {"mile", metresPerMile}, {"km", metresPerKilometre}}}
