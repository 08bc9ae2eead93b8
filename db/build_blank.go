package db

import (
	"context"
	"fmt"
	"regexp"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/wood"
)

// Blank is a rough piece cut from a board for a part.
type Blank struct {
	Base
	Board  Ref
	Layout Ref
	Code   string
	// Kit and Part name what it is for, Zone where that goes.
	Kit, Part, Zone          string
	Thickness, Width, Length wood.Length
	State, Place, Notes      string
	// Verdict is its board's; derived.
	Verdict string
}

var blankStates = []Option{{"stock", "in stock"}, {"used", "built in"}, {"spoiled", "spoiled"}, {"gone", "given away"}}

// Blanks is the kind of entry that holds blanks.
var Blanks = &Entity[Blank]{
	table: "blank",
	base:  func(b *Blank) *Base { return &b.Base },
	columns: []Column[Blank]{
		{Name: "board", Required: true, Example: "K7MWX-3", Help: "The board it was cut from.", SQL: "board_id", Key: boardKeySQL, Ptr: func(b *Blank) any { return &b.Board }, Codec: refCodec{"board"}},
		{Name: "code", Aliases: []string{"blank"}, Example: "K7MWX-3/1", Help: "The board's code, a stroke and a number, as it is written on the wood; made for you when left empty.", SQL: "code", Ptr: func(b *Blank) any { return &b.Code }, Codec: blankCodeCodec{}},
		{Name: "kit", SQL: "kit", Ptr: func(b *Blank) any { return &b.Kit }, Codec: textCodec{max: 100}},
		{Name: "part", Required: true, Example: "side rail", SQL: "part", Ptr: func(b *Blank) any { return &b.Part }, Codec: textCodec{max: 200}},
		{Name: "zone", Required: true, Example: "outside", SQL: "zone", Ptr: func(b *Blank) any { return &b.Zone }, Codec: choiceCodec{zones, ""}},
		{Name: "thickness", Required: true, Example: "3/4 in", SQL: "thickness_nm", Ptr: func(b *Blank) any { return &b.Thickness }, Codec: lengthCodec{}},
		{Name: "width", Required: true, Example: "2 1/8 in", SQL: "width_nm", Ptr: func(b *Blank) any { return &b.Width }, Codec: lengthCodec{}},
		{Name: "length", Required: true, Example: "23 in", SQL: "length_nm", Ptr: func(b *Blank) any { return &b.Length }, Codec: lengthCodec{}},
		{Name: "state", SQL: "state", Ptr: func(b *Blank) any { return &b.State }, Codec: choiceCodec{blankStates, "stock"}},
		{Name: "place", Aliases: []string{"where"}, Example: "blank shelf", SQL: "place", Ptr: func(b *Blank) any { return &b.Place }, Codec: textCodec{max: 200}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(b *Blank) any { return &b.Notes }, Codec: textCodec{max: 10000, long: true}},
		{Name: "layout", Label: "Layout", Sealed: true, Help: "The id of the layout that it was cut by, if any.", SQL: "layout_id", Key: `coalesce(t.layout_id::text, '')`, Ptr: func(b *Blank) any { return &b.Layout }, Codec: refCodec{"layout"}},
	},
	check: func(b *Blank, env Env) FieldErrors {
		codec := lengthCodec{}
		for _, m := range []struct {
			name string
			l    wood.Length
			max  wood.Length
		}{{"thickness", b.Thickness, wood.Metre}, {"width", b.Width, 3 * wood.Metre}, {"length", b.Length, 30 * wood.Metre}} {
			if m.l > m.max {
				return FieldErrors{{Field: m.name, Value: codec.print(&m.l, env), Problem: "is more than " + codec.print(&m.max, env), Remedy: "check the number and its unit"}}
			}
		}
		return nil
	},
	unique: map[string]*FieldError{
		"blank_code_once": {Field: "code", Problem: "is already on another blank", Remedy: "write the next number on this one"},
	},
	prepare: func(ctx context.Context, tx pgx.Tx, b *Blank) error {
		var code string
		if err := tx.QueryRow(ctx, "SELECT code FROM board WHERE id = $1", b.Board.ID).Scan(&code); err != nil {
			return notFound(err, "board")
		}
		if b.Code != "" {
			if f := blankOfBoard(b, code); f != nil {
				return FieldErrors{f}
			}
			return nil
		}
		n, err := highestBlanks(ctx, tx, []uuid.UUID{b.Board.ID})
		b.Code = fmt.Sprintf("%s/%d", code, n[b.Board.ID]+1)
		return err
	},
	derive: func(ctx context.Context, tx pgx.Tx, b *Blank) error {
		return storeBlanks(ctx, tx, "b.id = $1", b.Board.ID)
	},
	natural:  []natural[Blank]{{field: "code", key: func(b *Blank) string { return b.Code }, sql: `SELECT code, id FROM blank WHERE code = ANY($1) AND struck_at IS NULL`}},
	batch:    codeBlanks,
	identity: func(b *Blank) string { return b.Code },
}

// codeBlanks numbers blanks of a sheet that have no code after the highest of
// their board, and refuses codes of another.
func codeBlanks(ctx context.Context, run *importRun, rows []*staged[Blank]) error {
	var boards []uuid.UUID
	for _, s := range rows {
		run.lots.add(s.targets["board"].LotID)
		run.marked[s.rec.Board.ID] = true // a blank's verdict is its board's
		if s.rec.Code == "" {
			boards = append(boards, s.rec.Board.ID)
		} else if f := blankOfBoard(&s.rec, s.targets["board"].Code); f != nil {
			s.fail(run, f)
		}
	}
	highest, err := highestBlanks(ctx, run.tx, boards)
	if err != nil {
		return err
	}
	for _, s := range rows {
		if s.rec.Code == "" && !s.faulty {
			highest[s.rec.Board.ID]++
			s.rec.Code = fmt.Sprintf("%s/%d", s.targets["board"].Code, highest[s.rec.Board.ID])
		}
	}
	return nil
}

// highestBlanks returns the highest number that a blank of each board has had.
func highestBlanks(ctx context.Context, tx pgx.Tx, boards []uuid.UUID) (map[uuid.UUID]int, error) {
	out := make(map[uuid.UUID]int, len(boards))
	rows, err := tx.Query(ctx, `SELECT board_id, max(split_part(code, '/', 2)::int) FROM blank WHERE board_id = ANY($1) GROUP BY board_id`, boards)
	if err != nil {
		return nil, fmt.Errorf("number the blanks: %w", err)
	}
	var id uuid.UUID
	var n int
	_, err = pgx.ForEachRow(rows, []any{&id, &n}, func() error { out[id] = n; return nil })
	return out, err
}

// blankOfBoard refuses a code that does not begin with the board's.
func blankOfBoard(b *Blank, board string) *FieldError {
	if from, _, _ := strings.Cut(b.Code, "/"); from != board {
		return &FieldError{Field: "code", Value: b.Code, Problem: "is not of the board " + board, Remedy: "begin it with the code of its board"}
	}
	return nil
}

// storeBlanks gives blanks the verdict of their boards, where it differs.
func storeBlanks(ctx context.Context, tx pgx.Tx, boards string, args ...any) error {
	_, err := tx.Exec(ctx, `UPDATE blank k SET verdict = b.verdict, ownership_stop = b.ownership_stop FROM board b
		WHERE k.board_id = b.id AND (k.verdict, k.ownership_stop) IS DISTINCT FROM (b.verdict, b.ownership_stop) AND `+boards, args...)
	if err != nil {
		return fmt.Errorf("store what follows for blanks: %w", err)
	}
	return nil
}

// blankCodeCodec is a blank's code in a *string: a board's, a stroke and a
// number.
type blankCodeCodec struct{}

var blankNumber = regexp.MustCompile(`^[1-9][0-9]{0,3}$`)

func (blankCodeCodec) parse(dst any, text string, _ Env) *FieldError {
	if text == "" {
		*dst.(*string) = ""
		return nil
	}
	board, n, found := strings.Cut(strings.ReplaceAll(text, " ", ""), "/")
	code, f := normalCode(board, true)
	if f != nil {
		return f
	}
	if !found || !blankNumber.MatchString(n) {
		return fault("does not look like a blank's code", "write the board's code, a stroke and a number, like K7MWX-3/1")
	}
	*dst.(*string) = code + "/" + n
	return nil
}

func (blankCodeCodec) print(src any, _ Env) string { return *src.(*string) }

// StockBlank is a blank with where its wood came from.
type StockBlank struct {
	ID                       uuid.UUID
	Code, Kit, Part, Zone    string
	Thickness, Width, Length wood.Length
	State, Place             string
	Verdict                  string
	Stopped                  bool
	BoardID                  uuid.UUID
	Board                    string
	LotID                    uuid.UUID
	Lot                      string
	PickupID                 uuid.UUID
	Day                      time.Time
	SourceID                 uuid.UUID
	Source                   string
	PlanID                   *uuid.UUID
}

// Fits reports whether its verdict still allows what it was cut for.
func (b *StockBlank) Fits() bool {
	return !b.Stopped && (b.Verdict == "inside" || b.Verdict == "outside" && b.Zone == "outside")
}

// BlankFilter narrows a list of blanks; the zero value shows those in stock.
type BlankFilter struct {
	// Part keeps parts whose kit or name holds it; Plan those of one plan.
	Part string
	Plan uuid.UUID
	// After continues after this code; Limit is how many, 0 meaning 100.
	After string
	Limit int
}

// BlankList returns live blanks in stock by code.
func (s *Store) BlankList(ctx context.Context, f BlankFilter) ([]StockBlank, error) {
	if f.Limit <= 0 || f.Limit > 1001 {
		f.Limit = 100
	}
	return s.stockBlanks(ctx, `WHERE k.struck_at IS NULL AND k.state = 'stock' AND k.code > $1 AND ($2 = '' OR strpos(lower(k.kit || ': ' || k.part), lower($2)) > 0)
			AND ($3::uuid = '00000000-0000-0000-0000-000000000000' OR y.plan_id = $3)
		ORDER BY k.code LIMIT $4`, f.After, f.Part, f.Plan, f.Limit)
}

// BlanksOf returns the live blanks cut from a board, wherever they are now.
func (s *Store) BlanksOf(ctx context.Context, board uuid.UUID) ([]StockBlank, error) {
	return s.stockBlanks(ctx, "WHERE k.struck_at IS NULL AND k.board_id = $1 ORDER BY length(k.code), k.code", board)
}

func (s *Store) stockBlanks(ctx context.Context, conditions string, args ...any) ([]StockBlank, error) {
	rows, err := s.pool.Query(ctx, `SELECT k.id, k.code, k.kit, k.part, k.zone, k.thickness_nm, k.width_nm, k.length_nm, k.state, k.place,
			k.verdict, k.ownership_stop, b.id, b.code, l.id, l.code, p.id, p.day, s.id, s.name, y.plan_id
		FROM blank k JOIN board b ON b.id = k.board_id JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id JOIN source s ON s.id = p.source_id
			LEFT JOIN layout y ON y.id = k.layout_id `+conditions, args...)
	if err != nil {
		return nil, fmt.Errorf("read the blanks: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[StockBlank])
}

// StateWords says where it is as a person does.
func (b *StockBlank) StateWords() string {
	for _, o := range blankStates {
		if o.Value == b.State {
			return o.Label
		}
	}
	return b.State
}

// BlankCount is how many live blanks there are of a part.
type BlankCount struct {
	Kit, Part string
	Count     int
}

// BlankCounts counts the live blanks in stock by what they are for.
func (s *Store) BlankCounts(ctx context.Context) ([]BlankCount, error) {
	rows, err := s.pool.Query(ctx, `SELECT kit, part, count(*)::int FROM blank WHERE struck_at IS NULL AND state = 'stock' GROUP BY kit, part ORDER BY kit, part LIMIT 500`)
	if err != nil {
		return nil, fmt.Errorf("count the blanks: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[BlankCount])
}

// PlanBlankCounts counts the live blanks that came of a plan and of the plans
// that it follows, by kit and part.
func (s *Store) PlanBlankCounts(ctx context.Context, plan uuid.UUID) (map[string]int, error) {
	rows, err := s.pool.Query(ctx, `WITH RECURSIVE line AS (SELECT $1::uuid AS id UNION SELECT p.follows_id FROM plan p JOIN line ON p.id = line.id WHERE p.follows_id IS NOT NULL)
		SELECT k.kit || ': ' || k.part, count(*)::int FROM line JOIN layout y ON y.plan_id = line.id JOIN blank k ON k.layout_id = y.id
		WHERE k.struck_at IS NULL GROUP BY 1`, plan)
	if err != nil {
		return nil, fmt.Errorf("count the blanks of a plan: %w", err)
	}
	out := map[string]int{}
	var name string
	var n int
	_, err = pgx.ForEachRow(rows, []any{&name, &n}, func() error { out[name] = n; return nil })
	return out, err
}
