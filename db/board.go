package db

import (
	"context"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/wood"
)

// Board is a piece freed from a lot.
type Board struct {
	Base
	Lot       Ref
	Parent    Ref
	Code      string
	Label     string
	Thickness wood.Length
	Width     wood.Length
	Length    wood.Length
	Species   string
	Place     string
	State     string
	Metal     string
	Notes     string
	// Stack is the stack it dries in, if any.
	Stack Ref
	// Layer counts from the bottom of its stack, nil when unknown; LeftStack is
	// the day it was taken out of it.
	Layer     *int
	LeftStack *time.Time
	// Guess is what its wood may be, as moisture.ParseGuess reads it; it counts
	// while Species is empty.
	Guess string
	// LookedOver says that somebody looked both faces over: then a board
	// without defects is clear, and not only unknown.
	LookedOver bool
	// LeftTrim and RightTrim are how much of an end is dirty or split and comes
	// off before all else; nil leaves it to the plan.
	LeftTrim, RightTrim *wood.Length
}

// States of a board, from the rack to where it ended.
var boardStates = []Option{{"rack", "on the rack"}, {"cut", "cut up"}, {"built", "built in"}, {"broken", "broken"}, {"gone", "given away"}}

// Whether a board was swept for hidden metal.
var metalStates = []Option{{"not_swept", "not yet swept"}, {"clean", "swept clean"}, {"found", "metal found"}}

// LeastBoard is the least length that a board may be entered with. The shortest
// part of the house is an end bar of 5 3/8 in (grade.Parts), but blocks and
// spacers of one's own are shorter; below an inch nothing can be held while a
// saw crosses it (common practice, no source), and what was typed is most likely
// a slip of the unit: 12 mm for 12 in, 3/4 in from the column of thickness.
const LeastBoard = wood.Inch

var Boards = &Entity[Board]{
	table: "board",
	base:  func(b *Board) *Base { return &b.Base },
	columns: []Column[Board]{
		{Name: "lot", Required: true, Example: "K7MWX", Help: "Crayon code or own number of the lot it came from.", SQL: "lot_id", Key: lotKeySQL, Ptr: func(b *Board) any { return &b.Lot }, Codec: refCodec{"lot"}},
		{Name: "code", Aliases: []string{"board"}, Help: "Written on the wood; made for you when left empty.", SQL: "code", Ptr: func(b *Board) any { return &b.Code }, Codec: codeCodec{board: true}},
		{Name: "label", Aliases: []string{"number", "old_number"}, Label: "Own number", SQL: "label", Ptr: func(b *Board) any { return &b.Label }, Codec: textCodec{max: 100}},
		{Name: "parent", Label: "Cut from", Help: "The board it was cut from, if any.", SQL: "parent_id", Key: parentKeySQL, Ptr: func(b *Board) any { return &b.Parent }, Codec: refCodec{"board"}},
		{Name: "thickness", Aliases: []string{"thick", "t"}, Required: true, Example: "3/4 in", SQL: "thickness_nm", Ptr: func(b *Board) any { return &b.Thickness }, Codec: lengthCodec{}},
		{Name: "width", Aliases: []string{"wide", "w"}, Required: true, Example: "5 1/2 in", SQL: "width_nm", Ptr: func(b *Board) any { return &b.Width }, Codec: lengthCodec{}},
		{Name: "length", Aliases: []string{"long", "l"}, Required: true, Example: "48 in", SQL: "length_nm", Ptr: func(b *Board) any { return &b.Length }, Codec: lengthCodec{}},
		{Name: "species", Aliases: []string{"wood"}, Example: "pine_eastern_white", SQL: "species", Ptr: func(b *Board) any { return &b.Species }, Codec: speciesCodec{}},
		{Name: "place", Aliases: []string{"where", "rack"}, Example: "rack 2", SQL: "place", Ptr: func(b *Board) any { return &b.Place }, Codec: textCodec{max: 200}},
		{Name: "state", SQL: "state", Ptr: func(b *Board) any { return &b.State }, Codec: choiceCodec{boardStates, "rack"}},
		{Name: "metal", Label: "Swept for metal", SQL: "metal", Ptr: func(b *Board) any { return &b.Metal }, Codec: choiceCodec{metalStates, "not_swept"}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(b *Board) any { return &b.Notes }, Codec: textCodec{max: 10000, long: true}},
		{Name: "looked_over", Aliases: []string{"clear", "mapped"}, Label: "Both faces looked over", Help: "Yes means that every defect of it is written down; without any it is clear.", SQL: "looked_over", Ptr: func(b *Board) any { return &b.LookedOver }, Codec: boolCodec{}},
		{Name: "left_trim", Aliases: []string{"dirty_left"}, Label: "Off its left end first", Help: "How much of it is dirty or split; empty takes the plan's trim, 0 leaves the end as it is.", Example: "2 in", SQL: "left_trim_nm", Ptr: func(b *Board) any { return &b.LeftTrim }, Codec: openLength{}},
		{Name: "right_trim", Aliases: []string{"dirty_right"}, Label: "Off its right end first", Help: "The same at the other end.", Example: "3/4 in", SQL: "right_trim_nm", Ptr: func(b *Board) any { return &b.RightTrim }, Codec: openLength{}},
		{Name: "stack", Example: "stack A", Help: "The stack it dries in, if any.", SQL: "stack_id", Key: stackKeySQL, Ptr: func(b *Board) any { return &b.Stack }, Codec: refCodec{"stack"}},
		{Name: "layer", Label: "Layer in its stack", Help: "Counted from the bottom; the bottom, the middle and the top are probed first.", Example: "4", SQL: "layer", Ptr: func(b *Board) any { return &b.Layer }, Codec: optionalWholeCodec{1, 1000}},
		{Name: "left_stack", Aliases: []string{"taken_out"}, Label: "Taken out of its stack on", Help: "Empty while it lies there.", Example: "2026-06-01", SQL: "left_stack", Ptr: func(b *Board) any { return &b.LeftStack }, Codec: optionalDayCodec{}},
		{Name: "species_guess", Aliases: []string{"guess"}, Label: "What its wood may be", Help: "Woods with their share in percent; counts while the species is empty.", Example: "spruce_norway 60; pine_scots 30", SQL: "species_guess", Ptr: func(b *Board) any { return &b.Guess }, Codec: guessCodec{}},
	},
	check: func(b *Board, env Env) FieldErrors {
		var faults FieldErrors
		codec := lengthCodec{}
		for _, m := range []struct {
			name string
			l    wood.Length
			max  wood.Length
		}{{"thickness", b.Thickness, wood.Metre}, {"width", b.Width, 3 * wood.Metre}, {"length", b.Length, 30 * wood.Metre}} {
			if m.l > m.max {
				faults = append(faults, &FieldError{Field: m.name, Value: codec.print(&m.l, env),
					Problem: "is more than " + codec.print(&m.max, env), Remedy: "check the number and its unit"})
			}
		}
		// A strip ripped off a board may well be narrower than it is thick.
		if len(faults) == 0 && b.Thickness > b.Width && b.Parent.Empty() {
			faults = append(faults, &FieldError{Field: "thickness", Value: codec.print(&b.Thickness, env),
				Problem: "is more than the width", Remedy: "give the smaller measure as thickness"})
		}
		if f := b.trimFault(env); f != nil && len(faults) == 0 {
			faults = append(faults, f)
		}
		if b.LeftStack != nil && b.Stack.Empty() {
			faults = append(faults, &FieldError{Field: "left_stack", Value: printDay(*b.LeftStack), Problem: "is given, but no stack", Remedy: "name the stack it lay in, or leave the day empty"})
		}
		return faults
	},
	newly: func(b *Board, env Env) FieldErrors {
		if b.Length >= LeastBoard {
			return nil
		}
		least := LeastBoard
		return FieldErrors{{Field: "length", Value: lengthCodec{}.print(&b.Length, env), Problem: "is less than " + lengthCodec{}.print(&least, env),
			Remedy: "check the number and its unit; what is shorter is waste and needs no entry"}}
	},
	unique: map[string]*FieldError{
		"board_code_once":          {Field: "code", Problem: "is already on another board", Remedy: "leave it empty to get a new one"},
		"board_label_once":         {Field: "label", Problem: "is already another board's", Remedy: "choose another, or leave it empty"},
		"board_not_its_own_parent": {Field: "parent", Problem: "is the board itself", Remedy: "name the board it was cut from"},
	},
	prepare: prepareBoard,
	hold:    func(ctx context.Context, tx pgx.Tx, id uuid.UUID) error { return holdLotsOf(ctx, tx, []uuid.UUID{id}) },
	derive: func(ctx context.Context, tx pgx.Tx, b *Board) error {
		if err := deriveReadings(ctx, tx, []uuid.UUID{b.ID}); err != nil {
			return err // its species decides what its readings mean
		}
		return deriveBoards(ctx, tx, b.Lot.ID, []uuid.UUID{b.ID})
	},
	natural: []natural[Board]{
		{field: "code", always: true, key: func(b *Board) string { return b.Code }, sql: `SELECT code, id FROM board WHERE code = ANY($1)`},
		{field: "label", key: func(b *Board) string { return b.Label }, sql: `SELECT label, id FROM board WHERE label = ANY($1) AND label <> '' AND struck_at IS NULL`},
	},
	batch: codeBoards,
	identity: func(b *Board) string {
		if b.Code != "" {
			return b.Code
		}
		return b.Label
	},
}

// trimFault refuses ends that leave nothing of the board.
func (b *Board) trimFault(env Env) *FieldError {
	sum := wood.Length(0)
	for _, t := range []struct {
		name string
		l    *wood.Length
	}{{"left_trim", b.LeftTrim}, {"right_trim", b.RightTrim}} {
		if t.l == nil {
			continue
		}
		if sum += *t.l; sum >= b.Length {
			return &FieldError{Field: t.name, Value: lengthCodec{}.print(t.l, env), Problem: "leaves nothing of the board", Remedy: "check the number and its unit"}
		}
	}
	return nil
}

// prepareBoard checks a board against what the book has and numbers it.
func prepareBoard(ctx context.Context, tx pgx.Tx, b *Board) error {
	if err := boardOfLot(ctx, tx, b.Parent, b.Lot); err != nil {
		return err
	}
	if err := boardHoldsDefects(ctx, tx, b); err != nil {
		return err
	}
	if err := piecesOfLot(ctx, tx, b); err != nil {
		return err
	}
	return make(boardNumbers).give(ctx, tx, b)
}

// piecesOfLot refuses to take a board to another lot than what was cut from it:
// its pieces have their verdict from it.
func piecesOfLot(ctx context.Context, tx pgx.Tx, b *Board) error {
	var piece string
	err := tx.QueryRow(ctx, "SELECT coalesce(min(code), '') FROM board WHERE parent_id = $1 AND lot_id <> $2 AND struck_at IS NULL", b.ID, b.Lot.ID).Scan(&piece)
	if err != nil || piece == "" {
		return err
	}
	return FieldErrors{{Field: "lot", Value: clip(b.Lot.Key), Problem: "is not the lot of " + piece + ", which was cut from this board", Remedy: "take that cut back first"}}
}

// parentOfLot refuses to restore a piece whose board belongs to another lot by
// now.
func parentOfLot(ctx context.Context, tx pgx.Tx, piece uuid.UUID) error {
	var code, parent string
	err := tx.QueryRow(ctx, `SELECT b.code, coalesce((SELECT p.code FROM board p WHERE p.id = b.parent_id AND p.lot_id <> b.lot_id), '') FROM board b WHERE b.id = $1`, piece).Scan(&code, &parent)
	if err != nil || parent == "" {
		return notFound(err, "board")
	}
	return FieldErrors{{Field: "lot", Value: code, Problem: "was cut from board " + parent + ", which is another lot's by now", Remedy: "give that board its lot back first"}}
}

// boardNumbers holds, by lot, the code and highest number of lots that boards
// are being added to in one transaction, so that a lot is looked through once.
type boardNumbers map[uuid.UUID]lotNumbers

type lotNumbers struct {
	code    string
	highest int
}

// give numbers a board without code after the highest of its lot. It holds the
// lot until the transaction ends: whoever adds boards to the same lot at the
// same moment waits and then sees these numbers taken.
func (n boardNumbers) give(ctx context.Context, tx pgx.Tx, b *Board) error {
	if b.Code != "" {
		return nil
	}
	lot, known := n[b.Lot.ID]
	if !known {
		if err := holdLots(ctx, tx, []uuid.UUID{b.Lot.ID}); err != nil {
			return err
		}
		err := tx.QueryRow(ctx, `SELECT l.code, coalesce(max(substring(b.code FROM '-([0-9]+)')::int), 0)
			FROM lot l LEFT JOIN board b ON b.lot_id = l.id WHERE l.id = $1 GROUP BY l.code`, b.Lot.ID).Scan(&lot.code, &lot.highest)
		if err != nil {
			return notFound(err, "lot")
		}
	}
	lot.highest++
	n[b.Lot.ID] = lot
	b.Code = boardCode(lot.code, lot.highest)
	return nil
}

// takeBack frees the number last given where the board that came without code
// was in the book already.
func (n boardNumbers) takeBack(b *Board) {
	if lot, known := n[b.Lot.ID]; known && b.Code == "" {
		lot.highest--
		n[b.Lot.ID] = lot
	}
}

// speciesCodec is a species id in a *string; common and scientific names are
// understood, an unknown name is kept out so that no figure rests on it.
type speciesCodec struct{}

func (speciesCodec) parse(dst any, text string, _ Env) *FieldError {
	if text == "" {
		*dst.(*string) = ""
		return nil
	}
	sp, err := wood.FindSpecies(text)
	if err != nil {
		return fault("is not in the species table", "use a name from the species page, or leave it empty: "+strings.TrimSpace(err.Error()))
	}
	*dst.(*string) = sp.ID
	return nil
}

func (speciesCodec) print(src any, _ Env) string { return *src.(*string) }
