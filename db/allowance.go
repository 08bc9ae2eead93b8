package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
	"skepwood/analytics/screen"
	"skepwood/analytics/wood"
)

// Allowance is a width that the house keeps in place of the usual one.
type Allowance struct {
	Base
	Name string
	Size wood.Length
	Note string
}

// The widths that a house may set.
const (
	MetalClearance = "metal_clearance"
	RipKerf        = "rip_kerf"
	CrosscutKerf   = "crosscut_kerf"
)

// AllowanceInfo is a width with its usual size and why it is so.
type AllowanceInfo struct {
	Name, Label string
	Usual       wood.Length
	Reason      string
}

// AllowanceInfos lists the widths in the order of the settings page.
func AllowanceInfos() []AllowanceInfo {
	house := grade.HouseOptions()
	return []AllowanceInfo{
		{MetalClearance, "Kept clear round metal", grade.DefaultClearance, "A nail leaning 15 degrees moves 0.20 in sideways through a 3/4 in board (3/4 × tan 15°), and what shows is often one end of it; 1/4 in covers that. The angle is common practice, no source."},
		{RipKerf, "Kerf of the rip saw", house.RipKerf, "Common table-saw blades take 1/8 in; thin ones less. Measure a cut of yours."},
		{CrosscutKerf, "Kerf of the crosscut saw", house.CrosscutKerf, "Common mitre-saw blades take 1/8 in; a hand saw about 1/16 in. Measure a cut of yours."},
	}
}

var allowanceNames = []Option{{MetalClearance, "kept clear round metal"}, {RipKerf, "kerf of the rip saw"}, {CrosscutKerf, "kerf of the crosscut saw"}}

// maxAllowance is more than any saw or any leaning nail takes.
const maxAllowance = 2 * wood.Inch

// Allowances is the kind of entry that holds widths of the house.
var Allowances = &Entity[Allowance]{
	table: "allowance",
	base:  func(a *Allowance) *Base { return &a.Base },
	columns: []Column[Allowance]{
		{Name: "name", Label: "Width", Required: true, Example: MetalClearance, SQL: "name", Ptr: func(a *Allowance) any { return &a.Name }, Codec: choiceCodec{allowanceNames, ""}},
		{Name: "size", Label: "Size", Required: true, Example: "1/4 in", SQL: "size_nm", Ptr: func(a *Allowance) any { return &a.Size }, Codec: lengthCodec{zero: true}},
		{Name: "note", Aliases: []string{"notes", "comments", "why"}, Help: "Why your house does so.", SQL: "note", Ptr: func(a *Allowance) any { return &a.Note }, Codec: textCodec{max: 10000, long: true}},
	},
	check: func(a *Allowance, env Env) FieldErrors {
		if a.Size > maxAllowance {
			return FieldErrors{{Field: "size", Value: lengthCodec{}.print(&a.Size, env), Problem: "is more than 2 in", Remedy: "check the number and its unit"}}
		}
		return nil
	},
	unique: map[string]*FieldError{
		"allowance_once": {Field: "name", Problem: "is set already", Remedy: "correct that entry instead"},
	},
	natural: []natural[Allowance]{{field: "name", key: func(a *Allowance) string { return a.Name },
		sql: `SELECT name, id FROM allowance WHERE struck_at IS NULL AND name = ANY($1)`}},
	derive: func(ctx context.Context, tx pgx.Tx, _ *Allowance) error {
		return deriveEveryLot(ctx, tx)
	},
	batch:    judgeAll[Allowance],
	identity: func(a *Allowance) string { return a.Name },
}

// Widths are the widths that hold in the house: its own, or the usual ones.
type Widths struct {
	Clearance, RipKerf, CrosscutKerf wood.Length
}

// usualWidths are those of a house that set none.
func usualWidths() Widths {
	house := grade.HouseOptions()
	return Widths{grade.DefaultClearance, house.RipKerf, house.CrosscutKerf}
}

// Widths returns the widths that hold.
func (s *Store) Widths(ctx context.Context) (Widths, error) { return readWidths(ctx, s.pool) }

// AllowancesSet returns the live entries by name.
func (s *Store) AllowancesSet(ctx context.Context) ([]Allowance, error) {
	return Allowances.list(ctx, s.pool, "WHERE t.struck_at IS NULL ORDER BY t.name")
}

func readWidths(ctx context.Context, q querier) (Widths, error) {
	w := usualWidths()
	rows, err := q.Query(ctx, "SELECT name, size_nm FROM allowance WHERE struck_at IS NULL")
	if err != nil {
		return w, fmt.Errorf("read the widths: %w", err)
	}
	var name string
	var size wood.Length
	_, err = pgx.ForEachRow(rows, []any{&name, &size}, func() error {
		switch name {
		case MetalClearance:
			w.Clearance = size
		case RipKerf:
			w.RipKerf = size
		case CrosscutKerf:
			w.CrosscutKerf = size
		}
		return nil
	})
	return w, err
}

// UsableOptions say what counts as usable in wood of a verdict: only parts
// that bees do not touch for wood that may serve outside alone, and every part
// of the house for all other wood. What a board on hold could make is known
// before it is freed.
func (w Widths) UsableOptions(v screen.Verdict) grade.UsableOptions {
	opts := grade.HouseOptions()
	opts.Clearance, opts.RipKerf, opts.CrosscutKerf = w.Clearance, w.RipKerf, w.CrosscutKerf
	if v == screen.Outside {
		opts.Zone = grade.Outside
	}
	return opts
}

// usableVolumes measures boards by the house's widths, building what that takes
// once for each zone.
type usableVolumes struct {
	widths Widths
	by     map[grade.Zone]*grade.Measurer
	clear  map[clearBoard]grade.Usable
}

// clearBoard tells boards without defects apart, of which crates give many
// alike.
type clearBoard struct {
	thickness, width, length wood.Length
	mapped                   bool
	zone                     grade.Zone
}

// of returns what a board of a verdict gives.
func (u *usableVolumes) of(b grade.Board, v screen.Verdict) (grade.Usable, error) {
	opts := u.widths.UsableOptions(v)
	if len(b.Defects) > 0 {
		return u.measure(b, opts)
	}
	key := clearBoard{b.Thickness, b.Width, b.Length, b.Mapped, opts.Zone}
	if known, ok := u.clear[key]; ok {
		return known, nil
	}
	usable, err := u.measure(b, opts)
	if err == nil {
		if u.clear == nil {
			u.clear = make(map[clearBoard]grade.Usable)
		}
		u.clear[key] = usable
	}
	return usable, err
}

func (u *usableVolumes) measure(b grade.Board, opts grade.UsableOptions) (grade.Usable, error) {
	if u.widths == usualWidths() {
		return grade.UsableVolume(b, opts) // the house's own are built once for all
	}
	m, ok := u.by[opts.Zone]
	if !ok {
		var err error
		if m, err = grade.NewMeasurer(opts); err != nil {
			return grade.Usable{}, err
		}
		if u.by == nil {
			u.by = make(map[grade.Zone]*grade.Measurer)
		}
		u.by[opts.Zone] = m
	}
	return m.Usable(b)
}
