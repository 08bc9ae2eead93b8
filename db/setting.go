package db

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// Setting is a figure that changes with the date: the newest one not later
// than a day holds on that day.
type Setting struct {
	Base
	Name      string
	ValidFrom time.Time
	// Amount is in units of Currency per mile, hour or board foot, per cubic metre
	// of waste, per day at home, or for one unit of the keeper's currency.
	Amount   float64
	Currency string
	Note     string
}

// The figures that can be set.
const (
	MileCost       = "mile_cost"
	HourValue      = "hour_value"
	BoardFootPrice = "board_foot_price"
	DisposalCost   = "disposal_cost"
	HomeDay        = "home_day"
	Changeover     = "changeover"
)

var settingNames = []Option{
	{MileCost, "cost of a mile driven"}, {HourValue, "worth of your hour"},
	{BoardFootPrice, "price of a board foot bought instead"}, {DisposalCost, "cost of getting rid of a cubic metre of waste"},
	{HomeDay, "worth of a Saturday at home"},
	{Changeover, "changeover: how much of that currency made one of yours"},
}

// Settings is the kind of entry that holds dated figures.
var Settings = &Entity[Setting]{
	table: "setting",
	base:  func(s *Setting) *Base { return &s.Base },
	columns: []Column[Setting]{
		{Name: "name", Label: "Figure", Required: true, Example: MileCost, SQL: "name", Ptr: func(s *Setting) any { return &s.Name }, Codec: choiceCodec{settingNames, ""}},
		{Name: "valid_from", Aliases: []string{"date", "day", "from"}, Label: "Holds from", Required: true, Example: "2026-01-01", SQL: "valid_from", Ptr: func(s *Setting) any { return &s.ValidFrom }, Codec: dayCodec{future: true}},
		{Name: "currency", Example: "USD", Help: "ISO 4217 code; empty means yours.", SQL: "currency", Ptr: func(s *Setting) any { return &s.Currency }, Codec: currencyCodec{}},
		{Name: "amount", Aliases: []string{"value", "rate", "price"}, Required: true, Example: "0.725", SQL: "amount", Ptr: func(s *Setting) any { return &s.Amount }, Codec: numberCodec{bounds: bounds{0, 1e6, ""}}},
		{Name: "note", Aliases: []string{"notes", "comments"}, Example: "IRS standard mileage rate 2026", Help: "Where the figure comes from.", SQL: "note", Ptr: func(s *Setting) any { return &s.Note }, Codec: textCodec{max: 10000}},
	},
	check: func(s *Setting, _ Env) FieldErrors {
		if scaled := s.Amount * 1e4; math.Abs(scaled-math.Round(scaled)) > 1e-6 {
			return FieldErrors{{Field: "amount", Value: printFloat(s.Amount), Problem: "has more than four decimals", Remedy: "round it"}}
		}
		if s.Name == Changeover && s.Amount == 0 {
			return FieldErrors{{Field: "amount", Value: "0", Problem: "cannot be a rate", Remedy: "enter how much of the old currency made one of yours, such as 7.5345"}}
		}
		return nil
	},
	unique: map[string]*FieldError{
		"setting_one_per_day": {Field: "valid_from", Problem: "already has this figure", Remedy: "correct that entry instead"},
	},
	natural: []natural[Setting]{{field: "valid_from", words: "name, first day and currency", key: func(s *Setting) string { return strings.Join([]string{s.Name, printDay(s.ValidFrom), s.Currency}, " ") },
		sql: `SELECT name || ' ' || to_char(valid_from, 'YYYY-MM-DD') || ' ' || currency, id FROM setting
			WHERE struck_at IS NULL AND name || ' ' || to_char(valid_from, 'YYYY-MM-DD') || ' ' || currency = ANY($1)`}},
	identity: func(s *Setting) string {
		return strings.Join([]string{s.Name, printDay(s.ValidFrom), s.Currency}, "\x1f")
	},
}

// Figures returns every live dated figure, oldest first.
func (s *Store) Figures(ctx context.Context) ([]Setting, error) {
	return Settings.list(ctx, s.pool, "WHERE t.struck_at IS NULL ORDER BY t.name, t.valid_from, t.id")
}

// startFigures are the figures a new book begins with, each with its source.
var startFigures = []Setting{
	{Name: MileCost, ValidFrom: day(2023, 1, 1), Amount: 0.655, Currency: "USD", Note: "IRS standard mileage rate for business 2023, second-hand; a stand-in for running cost"},
	{Name: MileCost, ValidFrom: day(2024, 1, 1), Amount: 0.67, Currency: "USD", Note: "IRS standard mileage rate for business 2024"},
	{Name: MileCost, ValidFrom: day(2025, 1, 1), Amount: 0.70, Currency: "USD", Note: "IRS Notice 2025-5, business"},
	{Name: MileCost, ValidFrom: day(2026, 1, 1), Amount: 0.725, Currency: "USD", Note: "IRS standard mileage rate for business 2026, as reported by the trade press"},
	{Name: HourValue, ValidFrom: day(1900, 1, 1), Amount: 0, Currency: "USD", Note: "the Saturday is the point; change it if yours is not"},
	{Name: BoardFootPrice, ValidFrom: day(1900, 1, 1), Amount: 2.56, Currency: "USD", Note: "one shelf price told for a 6 ft 1x12; enter what you would pay"},
	{Name: DisposalCost, ValidFrom: day(1900, 1, 1), Amount: 0, Currency: "USD", Note: "enter what your tip charges"},
}

func day(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

// figuresEpoch is when the first figures count as entered: the same moment in
// every book, so that a book made from another's sheets exports the same ones.
var figuresEpoch = day(2000, 1, 1)

// EnsureFigures writes the first figures into a book that has none.
func (s *Store) EnsureFigures(ctx context.Context) error {
	keeper, err := s.Keeper(ctx)
	if err != nil {
		return err
	}
	return s.Tx(ctx, func(tx pgx.Tx) error {
		var have int
		if err := tx.QueryRow(ctx, "SELECT count(*) FROM setting").Scan(&have); err != nil || have > 0 {
			return err
		}
		for _, f := range startFigures {
			f.Base = Base{ID: derivedID("setting", Settings.identity(&f)), KeeperID: keeper.ID, ReceivedAt: figuresEpoch}
			if _, err := Settings.insert(ctx, tx, &f); err != nil {
				return fmt.Errorf("write the first figures: %w", err)
			}
		}
		return nil
	})
}
