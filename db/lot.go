package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Lot is one crate or pallet, or several alike from one pickup.
type Lot struct {
	Base
	Pickup Ref
	Code   string
	// Label is what an older sheet called it.
	Label string
	Kind  string
	Count int
	Place string
	// VolumeM3 and UsableShare are the keeper's estimate for the whole lot,
	// used until boards are measured.
	VolumeM3    *float64
	UsableShare *float64
	// Broken counts boards lost in taking it apart.
	Broken           int
	DismantleMinutes float64
	Notes            string
}

var lotKinds = []Option{{"crate", "crate"}, {"pallet", "pallet"}, {"dunnage", "dunnage"}, {"boards", "loose boards"}, {"panel", "panel"}, {"other", "other"}}

var Lots = &Entity[Lot]{
	table: "lot",
	base:  func(l *Lot) *Base { return &l.Base },
	columns: []Column[Lot]{
		{Name: "pickup", Required: true, Example: "2026-03-14 Harbour Tile", Help: "Day and source of its pickup.", SQL: "pickup_id", Key: pickupKeySQL, Ptr: func(l *Lot) any { return &l.Pickup }, Codec: refCodec{"pickup"}},
		{Name: "code", Label: "Crayon code", Help: "Written on the wood; made for you when left empty.", SQL: "code", Ptr: func(l *Lot) any { return &l.Code }, Codec: codeCodec{}},
		{Name: "label", Aliases: []string{"lot", "number", "old_number"}, Label: "Own number", Help: "What you called it before, if anything.", SQL: "label", Ptr: func(l *Lot) any { return &l.Label }, Codec: textCodec{max: 100}},
		{Name: "kind", Aliases: []string{"type"}, Required: true, Example: "crate", SQL: "kind", Ptr: func(l *Lot) any { return &l.Kind }, Codec: choiceCodec{lotKinds, "other"}},
		{Name: "count", Aliases: []string{"units", "pieces"}, Label: "How many alike", Example: "3", SQL: "count", Ptr: func(l *Lot) any { return &l.Count }, Codec: wholeCodec{1, 100000, 1}},
		{Name: "place", Aliases: []string{"where"}, Example: "lean-to", SQL: "place", Ptr: func(l *Lot) any { return &l.Place }, Codec: textCodec{max: 200}},
		{Name: "volume", Aliases: []string{"board_feet"}, Label: "Wood in it, by eye", Example: "14", Help: "Board feet (cubic metres where you work in millimetres) in the whole lot.", SQL: "volume_m3", Ptr: func(l *Lot) any { return &l.VolumeM3 }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{1e-6, 1e6, ""}, scale: boardFootScale, units: []unitWord{{"bf", cubicMetresPerBoardFoot}, {"board feet", cubicMetresPerBoardFoot}, {"m3", 1}}}}},
		{Name: "usable_percent", Aliases: []string{"usable"}, Label: "Usable share, by eye", Example: "60", Help: "Percent of it that you think will make blanks.", SQL: "usable_share", Ptr: func(l *Lot) any { return &l.UsableShare }, Codec: optionalNumberCodec{numberCodec{bounds: bounds{0, 100, " percent"}, scale: func(Env) float64 { return 0.01 }, units: []unitWord{{"%", 0.01}}}}},
		{Name: "broken", Aliases: []string{"lost"}, Label: "Boards broken taking it apart", SQL: "broken", Ptr: func(l *Lot) any { return &l.Broken }, Codec: wholeCodec{0, 100000, 0}},
		{Name: "dismantle_minutes", Label: "Minutes taking it apart", Example: "35", SQL: "dismantle_minutes", Ptr: func(l *Lot) any { return &l.DismantleMinutes }, Codec: numberCodec{bounds: bounds{0, 100000, " minutes"}}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(l *Lot) any { return &l.Notes }, Codec: textCodec{max: 10000, long: true}},
	},
	unique: map[string]*FieldError{
		"lot_code_once":  {Field: "code", Problem: "is already on another lot", Remedy: "leave it empty to get a new one"},
		"lot_label_once": {Field: "label", Problem: "is already another lot's", Remedy: "choose another, or leave it empty"},
	},
	prepare: giveLotCode,
	derive: func(ctx context.Context, tx pgx.Tx, l *Lot) error {
		if err := deriveLots(ctx, tx, []uuid.UUID{l.ID}); err != nil {
			return err
		}
		return sumPickups(ctx, tx, []uuid.UUID{l.Pickup.ID})
	},
	natural: []natural[Lot]{
		{field: "code", always: true, key: func(l *Lot) string { return l.Code }, sql: `SELECT code, id FROM lot WHERE code = ANY($1)`},
		{field: "label", key: func(l *Lot) string { return l.Label }, sql: `SELECT label, id FROM lot WHERE label = ANY($1) AND label <> '' AND struck_at IS NULL`},
	},
	batch: codeLots,
	identity: func(l *Lot) string {
		if l.Code != "" {
			return l.Code
		}
		return l.Label
	},
}

// giveLotCode gives a lot without code the first free one that its id leads to.
func giveLotCode(ctx context.Context, tx pgx.Tx, l *Lot) error {
	if l.Code != "" {
		return nil
	}
	for attempt := range 100 {
		code := crayonCode(l.ID, attempt)
		var taken bool
		err := tx.QueryRow(ctx, "SELECT EXISTS (SELECT 1 FROM lot WHERE code = $1 AND id <> $2)", code, l.ID).Scan(&taken)
		if err != nil {
			return err
		}
		if !taken {
			l.Code = code
			return nil
		}
	}
	return fmt.Errorf("no free crayon code was found for lot %s", l.ID)
}
