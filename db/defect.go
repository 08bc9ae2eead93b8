package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// Defect is a spoiled rectangle on a board's faces.
type Defect struct {
	Base
	Board Ref
	Kind  string
	Face  string
	X, Y  wood.Length
	DX    wood.Length
	DY    wood.Length
	// Depth is how deep it goes from its face; 0 means not measured.
	Depth wood.Length
	Metal bool
	Note  string
	// Pattern is the same in all defects that one quick pattern put on.
	Pattern string
}

// Grade returns the defect as grades and cutting plans take it.
func (d *Defect) Grade() grade.Defect {
	return grade.Defect{Kind: grade.Kind(d.Kind), Face: grade.Face(d.Face), X: d.X, Y: d.Y, DX: d.DX, DY: d.DY, Depth: d.Depth, Metal: d.Metal}
}

var defectKinds = []Option{{"nail_hole", "nail hole"}, {"knot", "knot"}, {"split", "split"}, {"check", "check"}, {"wane", "wane"}, {"decay", "decay"}, {"stain", "stain"}, {"insect_hole", "insect hole"}}

var defectFaces = []Option{{"both", "both (goes through)"}, {"top", "top"}, {"bottom", "bottom"}}

var Defects = &Entity[Defect]{
	table: "defect",
	base:  func(d *Defect) *Base { return &d.Base },
	columns: []Column[Defect]{
		{Name: "board", Required: true, Example: "K7MWX-3", SQL: "board_id", Key: boardKeySQL, Ptr: func(d *Defect) any { return &d.Board }, Codec: refCodec{"board"}},
		{Name: "kind", Aliases: []string{"defect", "type"}, Required: true, Example: "nail_hole", SQL: "kind", Ptr: func(d *Defect) any { return &d.Kind }, Codec: choiceCodec{defectKinds, ""}},
		{Name: "face", SQL: "face", Ptr: func(d *Defect) any { return &d.Face }, Codec: choiceCodec{defectFaces, "both"}},
		{Name: "x", Aliases: []string{"from_left", "along"}, Label: "From the left end", Example: "2 in", SQL: "x_nm", Ptr: func(d *Defect) any { return &d.X }, Codec: lengthCodec{zero: true}},
		{Name: "y", Aliases: []string{"from_edge", "across"}, Label: "From the near edge", Example: "1/2 in", SQL: "y_nm", Ptr: func(d *Defect) any { return &d.Y }, Codec: lengthCodec{zero: true}},
		{Name: "dx", Aliases: []string{"size_along", "length"}, Label: "Size along the board", Required: true, Example: "3/8 in", SQL: "dx_nm", Ptr: func(d *Defect) any { return &d.DX }, Codec: lengthCodec{}},
		{Name: "dy", Aliases: []string{"size_across", "width"}, Label: "Size across the board", Required: true, Example: "3/8 in", SQL: "dy_nm", Ptr: func(d *Defect) any { return &d.DY }, Codec: lengthCodec{}},
		{Name: "depth", Aliases: []string{"deep"}, Label: "Depth from its face", Help: "Empty where it was not measured; what goes through is on both faces.", Example: "1/8 in", SQL: "depth_nm", Ptr: func(d *Defect) any { return &d.Depth }, Codec: optionalLength{"leave it empty where it was not measured; what goes through is on both faces"}},
		{Name: "metal", Label: "Metal still in it", SQL: "metal", Ptr: func(d *Defect) any { return &d.Metal }, Codec: boolCodec{}},
		{Name: "note", Aliases: []string{"notes", "comments"}, SQL: "note", Ptr: func(d *Defect) any { return &d.Note }, Codec: textCodec{max: 10000, long: true}},
		{Name: "pattern", Help: "The same in all defects that were put on as one, so that one undo takes them back.", SQL: "pattern", Ptr: func(d *Defect) any { return &d.Pattern }, Codec: textCodec{max: 60}},
	},
	prepare: func(ctx context.Context, tx pgx.Tx, d *Defect) error { return defectOnce(ctx, tx, d) },
	derive: func(ctx context.Context, tx pgx.Tx, d *Defect) error {
		if err := defectOnBoard(ctx, tx, d); err != nil {
			return err
		}
		return deriveBoard(ctx, tx, d.Board.ID)
	},
	batch: defectsFit,
	identity: func(d *Defect) string {
		return strings.Join([]string{d.Board.ID.String(), d.Kind, d.Face, fmt.Sprint(int64(d.X), int64(d.Y), int64(d.DX), int64(d.DY)), d.Note}, "\x1f")
	},
}
