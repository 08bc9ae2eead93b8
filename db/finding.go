package db

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/screen"
)

// Finding is one observed fact about a lot, or about one board of it.
type Finding struct {
	Base
	Lot    Ref
	Board  Ref
	Kind   string
	Value  string
	Note   string
	SeenAt time.Time
}

// Screen returns the finding as the rules take it.
func (f Finding) Screen() screen.Finding {
	on := "lot"
	if f.Board.ID != uuid.Nil {
		on = f.Board.Key
	}
	return screen.Finding{ID: f.ID.String(), Kind: screen.Kind(f.Kind), Value: f.Value, On: on, Note: f.Note, At: f.SeenAt, Struck: f.Struck()}
}

var Findings = &Entity[Finding]{
	table: "finding",
	base:  func(f *Finding) *Base { return &f.Base },
	columns: []Column[Finding]{
		{Name: "lot", Required: true, Example: "K7MWX", Help: "Crayon code or own number of the lot.", SQL: "lot_id", Key: lotKeySQL, Ptr: func(f *Finding) any { return &f.Lot }, Codec: refCodec{"lot"}},
		{Name: "board", Help: "Only where the finding is on one board.", SQL: "board_id", Key: boardKeySQL, Ptr: func(f *Finding) any { return &f.Board }, Codec: refCodec{"board"}},
		{Name: "kind", Aliases: []string{"finding", "what"}, Required: true, Example: "mark", SQL: "kind", Ptr: func(f *Finding) any { return &f.Kind }, Codec: findingKindCodec{}},
		{Name: "value", Aliases: []string{"text", "reading"}, Example: "IPPC US-1234 HT", SQL: "value", Ptr: func(f *Finding) any { return &f.Value }, Codec: textCodec{max: 4096, long: true}},
		{Name: "note", Aliases: []string{"notes", "comments"}, SQL: "note", Ptr: func(f *Finding) any { return &f.Note }, Codec: textCodec{max: 10000, long: true}},
		{Name: "seen", Aliases: []string{"date", "day", "at", "when"}, Label: "When it was seen", Example: "2026-03-14", SQL: "seen_at", Ptr: func(f *Finding) any { return &f.SeenAt }, Codec: instantCodec{}},
	},
	check: func(f *Finding, _ Env) FieldErrors {
		err := screen.Validate(f.Screen())
		var wrong *screen.FindingError
		switch {
		case err == nil:
			return nil
		case errors.As(err, &wrong):
			if wrong.Field == "on" {
				wrong.Field = "board" // the book's word for the place
			}
			return FieldErrors{{Field: wrong.Field, Value: wrong.Value, Problem: wrong.Err.Error(), Remedy: wrong.Help}}
		default:
			return FieldErrors{{Field: "value", Value: clip(f.Value), Problem: err.Error(), Remedy: "choose a value that this kind of finding has"}}
		}
	},
	prepare: func(ctx context.Context, tx pgx.Tx, f *Finding) error {
		if err := boardOfLot(ctx, tx, f.Board, f.Lot); err != nil {
			return err
		}
		return namesAnEntry(ctx, tx, f)
	},
	derive: func(ctx context.Context, tx pgx.Tx, f *Finding) error {
		if err := findingOfMetal(ctx, tx, f); err != nil {
			return err
		}
		if f.Board.ID == uuid.Nil {
			return deriveLotAndPickup(ctx, tx, f.Lot.ID)
		}
		return deriveBoard(ctx, tx, f.Board.ID)
	},
	batch: func(_ context.Context, run *importRun, rows []*staged[Finding]) error {
		return findingsFit(run, rows)
	},
	identity: func(f *Finding) string {
		return strings.Join([]string{f.Lot.ID.String(), f.Board.ID.String(), f.Kind, f.Value, f.Note, printDay(f.SeenAt)}, "\x1f")
	},
}

// findingKindCodec is the name of a kind of finding in a *string.
type findingKindCodec struct{}

func (findingKindCodec) parse(dst any, text string, _ Env) *FieldError {
	word := normalHeader(text)
	names := make([]string, 0, 32)
	for _, k := range screen.Kinds() {
		if word == string(k.Kind) || strings.EqualFold(text, k.Label) {
			*dst.(*string) = string(k.Kind)
			return nil
		}
		names = append(names, string(k.Kind))
	}
	return fault("is not a kind of finding", "use one of: "+strings.Join(names, ", "))
}

func (findingKindCodec) print(src any, _ Env) string { return *src.(*string) }

// namesAnEntry refuses a misreading that names nothing on its lot, which would
// be stored and change nothing. One that is in the book already and says the
// same passes: what it names may have been struck since. Sheets are not asked:
// they may bring what was struck long ago.
func namesAnEntry(ctx context.Context, tx pgx.Tx, f *Finding) error {
	if f.Kind != screen.KindMisreading {
		return nil
	}
	var said bool
	err := tx.QueryRow(ctx, "SELECT EXISTS (SELECT 1 FROM finding WHERE id = $1 AND value = $2)", f.ID, f.Value).Scan(&said)
	if err != nil || said {
		return err
	}
	w, err := readWood(ctx, tx, []uuid.UUID{f.Lot.ID})
	if err != nil {
		return err
	}
	var lot, boards []screen.Finding
	for _, l := range w.lots {
		lot = append(lot, l.findings...)
		for _, b := range l.boards {
			switch f.Board.ID {
			case b.id:
				boards = w.inherited(b)
			case uuid.Nil:
				boards = append(boards, b.findings...)
			}
		}
	}
	if screen.NamesEntry(lot, boards, f.Screen()) {
		return nil
	}
	return FieldErrors{{Field: "value", Value: clip(f.Value), Problem: "names no entry here",
		Remedy: "name what was misread as kind=value, such as stain=oil, or by the id in its address in the book"}}
}

// boardOfLot refuses a board that belongs to another lot.
func boardOfLot(ctx context.Context, tx pgx.Tx, board, lot Ref) error {
	if board.ID == uuid.Nil {
		return nil
	}
	var belongs bool
	err := tx.QueryRow(ctx, "SELECT EXISTS (SELECT 1 FROM board WHERE id = $1 AND lot_id = $2)", board.ID, lot.ID).Scan(&belongs)
	if err != nil {
		return err
	}
	if !belongs {
		return FieldErrors{{Field: "board", Value: board.Key, Problem: "belongs to another lot", Remedy: "give the board's own lot"}}
	}
	return nil
}
