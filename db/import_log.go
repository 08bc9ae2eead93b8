package db

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// keeperSheet reads keepers.csv: the people an exported book names.
type keeperSheet struct{}

// Name implements sheetKind.
func (keeperSheet) Name() string { return "keeper" }

func (keeperSheet) accepts(header []string) (int, bool) {
	known, complete := Keepers.accepts(header)
	// A keeper's sheet is told from others by its units.
	units := false
	for _, h := range header {
		units = units || normalHeader(h) == "length_unit"
	}
	return known, complete && units
}

func (keeperSheet) readSheet(ctx context.Context, run *importRun, rows *rowReader) error {
	l := Keepers.layoutOf(run, rows.header)
	for {
		cells, f := rows.next()
		if f != nil {
			run.wrong(run.sheet.File, rows.row, f)
			return nil
		}
		if cells == nil {
			return nil
		}
		run.sheet.Rows++
		if err := run.oneKeeper(ctx, l, cells, rows.row); err != nil {
			return err
		}
	}
}

// oneKeeper stores a keeper; the one who imports takes over the units of an
// entry with their own id only while their own are still as first made.
func (run *importRun) oneKeeper(ctx context.Context, l layout, cells []string, row int) error {
	s := &staged[Keeper]{row: row}
	var meta Base
	texts := make([]string, len(Keepers.columns))
	for cell, text := range cells {
		if i, ok := l.column[cell]; ok {
			texts[i] = unguard(text)
		} else if name, ok := l.meta[cell]; ok {
			s.fail(run, s.setMeta(&meta, name, unguard(text), run.env))
		}
	}
	for i := range Keepers.columns {
		s.fail(run, Keepers.columns[i].set(&s.rec, texts[i], run.env))
	}
	if s.faulty {
		return nil
	}
	k := &s.rec
	if meta.ID == uuid.Nil {
		meta.ID = derivedID("keeper", k.Name)
	}
	if meta.ReceivedAt.IsZero() {
		meta.ReceivedAt = run.now
	}
	if meta.Version == 0 {
		meta.Version = 1
	}
	tag, err := run.tx.Exec(ctx, `INSERT INTO keeper (id, name, length_unit, temperature_unit, distance_unit, currency, zone, received_at, version,
			home_latitude, home_longitude, road_factor, vehicle_m3)
		SELECT $1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13
		WHERE NOT EXISTS (SELECT 1 FROM keeper WHERE lower(name) = lower($2) AND id <> $1)
		ON CONFLICT (id) DO UPDATE SET name = $2, length_unit = $3, temperature_unit = $4, distance_unit = $5, currency = $6, zone = $7,
			received_at = $8, version = $9, home_latitude = $10, home_longitude = $11, road_factor = $12, vehicle_m3 = $13
			WHERE keeper.version = 1 AND $9 >= keeper.version
				AND (keeper.name, keeper.length_unit, keeper.temperature_unit, keeper.distance_unit, keeper.currency, keeper.zone, keeper.received_at,
					keeper.home_latitude, keeper.home_longitude, keeper.road_factor, keeper.vehicle_m3)
				IS DISTINCT FROM ($2, $3, $4, $5, $6, $7, $8, $10, $11, $12, $13)`,
		meta.ID, k.Name, k.Length, k.Temperature, k.Distance, k.Currency, k.Zone, meta.ReceivedAt, meta.Version,
		k.HomeLatitude, k.HomeLongitude, k.RoadFactor, k.VehicleM3)
	if err != nil {
		return fmt.Errorf("store a keeper: %w", err)
	}
	if tag.RowsAffected() > 0 {
		run.sheet.Added++
	} else {
		run.sheet.Already++
	}
	return nil
}

// historySheet reads history.csv: the corrections and strikes of an exported
// book.
type historySheet struct{}

// Name implements sheetKind.
func (historySheet) Name() string { return "history" }

// historyHeader are the columns of history.csv.
var historyHeader = []string{"id", "entity", "entity_id", "action", "why", "changes", "keeper", "entered"}

func (historySheet) accepts(header []string) (int, bool) {
	known := 0
	for _, want := range historyHeader {
		for _, h := range header {
			if normalHeader(h) == want {
				known++
				break
			}
		}
	}
	return known, known == len(historyHeader)
}

func (h historySheet) readSheet(ctx context.Context, run *importRun, rows *rowReader) error {
	at := make(map[string]int)
	for i, name := range rows.header {
		at[normalHeader(name)] = i
	}
	if _, complete := h.accepts(rows.header); !complete {
		run.wrong(run.sheet.File, 1, &FieldError{Problem: "lacks a column of the history", Remedy: "use the file as it was exported"})
		return nil
	}
	for {
		cells, f := rows.next()
		if f == nil && cells == nil {
			return nil
		}
		if f == nil {
			run.sheet.Rows++
			f = run.oneHistory(ctx, at, cells)
		}
		if f != nil {
			if f.Problem == "" { // a failure of the database, not of the row
				return fmt.Errorf("store the history: %s", f.Remedy)
			}
			run.wrong(run.sheet.File, rows.row, f)
			return nil
		}
	}
}

func (run *importRun) oneHistory(ctx context.Context, at map[string]int, cells []string) *FieldError {
	get := func(name string) string {
		if i := at[name]; i < len(cells) {
			return unguard(cells[i])
		}
		return ""
	}
	var h History
	var err error
	if h.ID, err = uuid.Parse(get("id")); err != nil {
		return &FieldError{Field: "id", Value: clip(get("id")), Problem: "is not a UUID", Remedy: "use the file as it was exported"}
	}
	if h.EntityID, err = uuid.Parse(get("entity_id")); err != nil {
		return &FieldError{Field: "entity_id", Value: clip(get("entity_id")), Problem: "is not a UUID", Remedy: "use the file as it was exported"}
	}
	if err := json.Unmarshal([]byte(get("changes")), &h.Changes); err != nil {
		return &FieldError{Field: "changes", Value: clip(get("changes")), Problem: "cannot be read", Remedy: "use the file as it was exported"}
	}
	var entered time.Time
	if f := (instantCodec{}).parse(&entered, get("entered"), run.env); f != nil {
		f.Field, f.Value = "entered", clip(get("entered"))
		return f
	}
	for _, name := range []string{"entity", "action", "why", "changes", "keeper"} {
		if f := checkText(get(name)); f != nil {
			f.Field = name
			return f
		}
	}
	return run.storeHistory(ctx, h, entered, get)
}

func (run *importRun) storeHistory(ctx context.Context, h History, entered time.Time, get func(string) string) *FieldError {
	keeper, err := run.keeperNamed(ctx, get("keeper"))
	if err != nil {
		return &FieldError{Remedy: err.Error()}
	}
	var added int64
	// A savepoint keeps the transaction usable after a row breaks a rule.
	err = pgx.BeginFunc(ctx, run.tx, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `INSERT INTO history (id, entity, entity_id, action, why, changes, keeper_id, received_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (id) DO NOTHING`,
			h.ID, get("entity"), h.EntityID, get("action"), get("why"), get("changes"), keeper, entered)
		added = tag.RowsAffected()
		return err
	})
	switch {
	case hasCode(err, codeCheckViolation):
		return fault("breaks the rule %s", "use the file as it was exported", constraintOf(err))
	case err != nil:
		return &FieldError{Remedy: err.Error()}
	}
	if added > 0 {
		run.sheet.Added++
	} else {
		run.sheet.Already++
	}
	return nil
}
