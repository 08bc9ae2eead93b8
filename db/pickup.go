package db

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Pickup is one visit to one source, also when nothing came home.
type Pickup struct {
	Base
	Source    Ref
	Day       time.Time
	Visit     int
	Zone      string
	DistanceM float64
	Minutes   float64
	CostMinor int64
	Currency  string
	Empty     bool
	Notes     string
}

var Pickups = &Entity[Pickup]{
	table: "pickup",
	base:  func(p *Pickup) *Base { return &p.Base },
	columns: []Column[Pickup]{
		{Name: "source", Aliases: []string{"business", "company"}, Required: true, Example: "Harbour Tile", SQL: "source_id", Key: sourceKeySQL, Ptr: func(p *Pickup) any { return &p.Source }, Codec: refCodec{"source"}},
		{Name: "day", Aliases: []string{"date"}, Required: true, Example: "2026-03-14", Help: "The local day of the drive.", SQL: "day", Ptr: func(p *Pickup) any { return &p.Day }, Codec: dayCodec{}},
		{Name: "visit", Label: "Visit of that day", Help: "1 unless you went twice on one day.", SQL: "visit", Ptr: func(p *Pickup) any { return &p.Visit }, Codec: wholeCodec{1, 1000, 1}},
		{Name: "distance", Aliases: []string{"miles", "extra_miles", "km", "extra_distance"}, Label: "Extra distance", Example: "12", Help: "Driven for this pickup alone, there and back.", SQL: "distance_m", Ptr: func(p *Pickup) any { return &p.DistanceM }, Codec: distanceNumber},
		{Name: "minutes", Aliases: []string{"time", "duration"}, Label: "Minutes door to door", Example: "75", SQL: "minutes", Ptr: func(p *Pickup) any { return &p.Minutes }, Codec: numberCodec{bounds: bounds{0, 4320, " minutes (three days)"}}},
		{Name: "currency", Example: "USD", Help: "ISO 4217 code; empty means yours.", SQL: "currency", Ptr: func(p *Pickup) any { return &p.Currency }, Codec: currencyCodec{}},
		{Name: "cost", Aliases: []string{"cash", "price", "paid"}, Label: "Cash paid", Example: "5.00", Help: "Tolls, a tip, a fee. The drive itself is counted by distance.", SQL: "cost_minor", Ptr: func(p *Pickup) any { return &p.CostMinor }, Codec: moneyCodec{}, Currency: func(p *Pickup) string { return p.Currency }},
		{Name: "empty", Aliases: []string{"empty_handed", "nothing"}, Label: "Came home empty", SQL: "empty", Ptr: func(p *Pickup) any { return &p.Empty }, Codec: boolCodec{}},
		{Name: "zone", Aliases: []string{"time_zone"}, Label: "Time zone", Example: "America/Chicago", SQL: "zone", Ptr: func(p *Pickup) any { return &p.Zone }, Codec: zoneCodec{}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(p *Pickup) any { return &p.Notes }, Codec: textCodec{max: 10000, long: true}},
	},
	unique: map[string]*FieldError{
		"pickup_visit_once": {Field: "day", Problem: "already has a pickup from this source", Remedy: "open that pickup, or count the visit up if you went twice"},
	},
	prepare: func(ctx context.Context, tx pgx.Tx, p *Pickup) error {
		if !p.Empty || p.ID == uuid.Nil {
			return nil
		}
		var lots int
		if err := tx.QueryRow(ctx, "SELECT count(*) FROM lot WHERE pickup_id = $1 AND struck_at IS NULL", p.ID).Scan(&lots); err != nil {
			return err
		}
		if lots > 0 {
			return FieldErrors{{Field: "empty", Value: "yes", Problem: fmt.Sprintf("contradicts the %d lots of this pickup", lots),
				Remedy: "strike those lots first, or leave this at no"}}
		}
		return nil
	},
	derive: func(ctx context.Context, tx pgx.Tx, p *Pickup) error {
		return sumPickups(ctx, tx, []uuid.UUID{p.ID})
	},
	natural: []natural[Pickup]{{field: "day", words: "source, day and visit", key: func(p *Pickup) string { return fmt.Sprintf("%s %s %d", p.Source.ID, printDay(p.Day), p.Visit) },
		sql: `SELECT source_id || ' ' || to_char(day, 'YYYY-MM-DD') || ' ' || visit, id FROM pickup
			WHERE struck_at IS NULL AND day = ANY (SELECT split_part(k, ' ', 2)::date FROM unnest($1::text[]) k)`}},
	batch: func(_ context.Context, run *importRun, rows []*staged[Pickup]) error {
		for _, s := range rows {
			run.pickups.add(s.rec.ID)
		}
		return nil
	},
	identity: func(p *Pickup) string { return PickupKey(p.Day, p.Visit, p.Source.ID.String()) },
}
