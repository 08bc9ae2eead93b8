package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/wood"
)

// Keeper is a person who writes in the book, with the units they read in.
type Keeper struct {
	ID          uuid.UUID
	Name        string
	Length      string
	Temperature string
	Distance    string
	Currency    string
	Zone        string
	// HomeLatitude and HomeLongitude are where rounds begin, in degrees; both or
	// neither. RoadFactor is the road for one of straight line, VehicleM3 the room
	// in the vehicle; nil where not said.
	HomeLatitude, HomeLongitude *float64
	RoadFactor, VehicleM3       *float64
	ReceivedAt                  time.Time
	Version                     int
}

// Env returns how the keeper reads and types.
func (k Keeper) Env(now time.Time) Env {
	zone, err := time.LoadLocation(k.Zone)
	if err != nil {
		zone = time.UTC // a zone this machine has lost: show UTC rather than fail
	}
	return Env{Length: wood.Unit(k.Length), Temperature: k.Temperature, Distance: k.Distance, Currency: k.Currency, Zone: zone, Now: now}
}

// firstKeeper is the one keeper of a book that has no accounts yet. The id is
// fixed so that two programs opening a new book agree on it.
var firstKeeper = uuid.MustParse("018f0000-0000-7000-8000-000000000001")

const keeperSQL = `SELECT id, name, length_unit, temperature_unit, distance_unit, currency, zone,
	home_latitude, home_longitude, road_factor, vehicle_m3, received_at, version FROM keeper `

// Keeper returns the keeper whose book this is, making one with American
// units on a new book.
func (s *Store) Keeper(ctx context.Context) (Keeper, error) {
	_, err := s.pool.Exec(ctx, `INSERT INTO keeper (id, name, received_at) VALUES ($1, 'The keeper', $2) ON CONFLICT DO NOTHING`, firstKeeper, s.Now())
	if err != nil {
		return Keeper{}, fmt.Errorf("make the first keeper: %w", err)
	}
	return keeperByID(ctx, s.pool, firstKeeper)
}

func keeperByID(ctx context.Context, q querier, id uuid.UUID) (Keeper, error) {
	rows, err := q.Query(ctx, keeperSQL+"WHERE id = $1", id)
	if err != nil {
		return Keeper{}, fmt.Errorf("read the keeper: %w", err)
	}
	k, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByPos[Keeper])
	return k, notFound(err, "keeper")
}

// keeperColumns are the settings of a person.
var Keepers = &Entity[Keeper]{
	table: "keeper",
	columns: []Column[Keeper]{
		{Name: "name", Required: true, Example: "The keeper", Help: "How your entries are signed.", SQL: "name", Ptr: func(k *Keeper) any { return &k.Name }, Codec: textCodec{max: 200}},
		{Name: "length_unit", Label: "Lengths in", SQL: "length_unit", Ptr: func(k *Keeper) any { return &k.Length }, Codec: choiceCodec{[]Option{{"in", "inches"}, {"mm", "millimetres"}}, "in"}},
		{Name: "temperature_unit", Label: "Temperatures in", SQL: "temperature_unit", Ptr: func(k *Keeper) any { return &k.Temperature }, Codec: choiceCodec{[]Option{{"F", "°F"}, {"C", "°C"}}, "F"}},
		{Name: "distance_unit", Label: "Distances in", SQL: "distance_unit", Ptr: func(k *Keeper) any { return &k.Distance }, Codec: choiceCodec{[]Option{{"mi", "miles"}, {"km", "kilometres"}}, "mi"}},
		{Name: "currency", Required: true, Example: "USD", Help: "ISO 4217 code of three letters.", SQL: "currency", Ptr: func(k *Keeper) any { return &k.Currency }, Codec: currencyCodec{}},
		{Name: "zone", Label: "Time zone", Example: "America/Chicago", Help: "Decides which day a drive belongs to.", SQL: "zone", Ptr: func(k *Keeper) any { return &k.Zone }, Codec: zoneCodec{}},
		{Name: "home_latitude", Label: "Latitude of home", Example: "44.25", Help: "Where rounds begin. Degrees, north positive.", SQL: "home_latitude", Ptr: func(k *Keeper) any { return &k.HomeLatitude }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{-90, 90, "°"}}}},
		{Name: "home_longitude", Label: "Longitude of home", Example: "-89.5", Help: "Degrees, east positive.", SQL: "home_longitude", Ptr: func(k *Keeper) any { return &k.HomeLongitude }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{-180, 180, "°"}}}},
		{Name: "road_factor", Label: "Road for one of straight line", Example: "1.3", Help: "Where distances come from coordinates; empty means 1.3 (common practice, no source).", SQL: "road_factor", Ptr: func(k *Keeper) any { return &k.RoadFactor }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{1, 5, ""}}}},
		{Name: "vehicle", Label: "Room in your vehicle, m³", Example: "60 cubic feet", Help: "Cubic metres, or with the unit behind it: 60 cubic feet, 300 bf. Empty: enough for all.", SQL: "vehicle_m3", Ptr: func(k *Keeper) any { return &k.VehicleM3 }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{0.001, 100000, ""}, units: []unitWord{{"m3", 1}, {"cubic feet", 12 * cubicMetresPerBoardFoot}, {"ft3", 12 * cubicMetresPerBoardFoot}, {"board feet", cubicMetresPerBoardFoot}, {"bf", cubicMetresPerBoardFoot}}}}},
	},
	check: func(k *Keeper, _ Env) FieldErrors {
		if (k.HomeLatitude == nil) != (k.HomeLongitude == nil) {
			return FieldErrors{{Field: "home_longitude", Problem: "stands without its partner", Remedy: "give both latitude and longitude of home, or neither"}}
		}
		return nil
	},
	unique: map[string]*FieldError{
		"keeper_name_once": {Field: "name", Problem: "is another keeper's", Remedy: "choose a name nobody signs with yet"},
	},
}

// KeeperFields lists the settings of a person.
func KeeperFields() []ColumnInfo { return Keepers.Info() }

// KeeperValues prints them as a form shows them.
func KeeperValues(k Keeper) map[string]string { return Keepers.Values(&k, Env{}) }

// SaveKeeper changes a person's units and name. Faults come as FieldErrors, a
// change made meanwhile as a ConflictError.
func (s *Store) SaveKeeper(ctx context.Context, id uuid.UUID, version int, values map[string]string) (Keeper, error) {
	var k Keeper
	faults := Keepers.Parse(&k, values, Env{Currency: "USD", Zone: time.UTC})
	if len(faults) > 0 {
		return k, faults
	}
	now := s.Now()
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "SELECT 1 FROM keeper WHERE id = $1 FOR UPDATE", id); err != nil {
			return err
		}
		was, err := keeperByID(ctx, tx, id)
		if err != nil {
			return err
		}
		before := KeeperValues(was)
		if was.Version != version {
			return &ConflictError{Entity: "keeper", ID: id, Version: was.Version, Now: before}
		}
		changes := Keepers.diff(before, &k, now)
		if len(changes) == 0 {
			return nil
		}
		_, err = tx.Exec(ctx, `UPDATE keeper SET name = $2, length_unit = $3, temperature_unit = $4, distance_unit = $5,
			currency = $6, zone = $7, home_latitude = $8, home_longitude = $9, road_factor = $10, vehicle_m3 = $11, version = version + 1 WHERE id = $1`,
			id, k.Name, k.Length, k.Temperature, k.Distance, k.Currency, k.Zone, k.HomeLatitude, k.HomeLongitude, k.RoadFactor, k.VehicleM3)
		if err != nil {
			return Keepers.explain(err)
		}
		return Keepers.remember(ctx, tx, Edit{ID: id, Keeper: id, Why: "settings"}, ActionCorrected, changes, now)
	})
	if err != nil {
		return k, err
	}
	return keeperByID(ctx, s.pool, id)
}

// IsNotFound reports whether err says that an entry does not exist.
func IsNotFound(err error) bool { return errors.Is(err, ErrNotFound) }
