package db

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/wood"
)

// Layout is what a plan makes of one board, and what became of it at the saw.
type Layout struct {
	Base
	Plan, Board Ref
	// Number is its place in the plan, from 1.
	Number int
	// State is "planned" until the saw has spoken.
	State string
	// Said is what was said of it when it did not go as planned.
	Said string
	// PlannedM2 is the face area of the planned blanks; it follows from the
	// drawing.
	PlannedM2 float64
	// Drawing is the board as it was when it was planned, with what the plan
	// puts on it; see [LayoutDrawing].
	Drawing string
}

// The states of a layout.
const (
	LayoutPlanned   = "planned"
	LayoutCut       = "cut"
	LayoutOtherwise = "otherwise"
	LayoutBroken    = "broken"
	LayoutRejected  = "rejected"
	LayoutSetAside  = "set_aside"
)

var layoutStates = []Option{
	{LayoutPlanned, "still to cut"}, {LayoutCut, "cut as planned"}, {LayoutOtherwise, "cut otherwise"},
	{LayoutBroken, "broke"}, {LayoutRejected, "rejected"}, {LayoutSetAside, "set aside"},
}

// Layouts is the kind of entry that holds layouts.
var Layouts = &Entity[Layout]{
	table: "layout",
	base:  func(l *Layout) *Base { return &l.Base },
	columns: []Column[Layout]{
		{Name: "plan", Required: true, Sealed: true, Help: "The plan's id.", SQL: "plan_id", Key: `t.plan_id::text`, Ptr: func(l *Layout) any { return &l.Plan }, Codec: refCodec{"plan"}},
		{Name: "board", Required: true, Sealed: true, Example: "K7MWX-3", SQL: "board_id", Key: boardKeySQL, Ptr: func(l *Layout) any { return &l.Board }, Codec: refCodec{"board"}},
		{Name: "number", Required: true, Sealed: true, Example: "1", SQL: "number", Ptr: func(l *Layout) any { return &l.Number }, Codec: wholeCodec{1, 100000, 1}},
		{Name: "state", Sealed: true, SQL: "state", Ptr: func(l *Layout) any { return &l.State }, Codec: choiceCodec{layoutStates, LayoutPlanned}},
		{Name: "said", Label: "What was said of it", SQL: "said", Ptr: func(l *Layout) any { return &l.Said }, Codec: textCodec{max: 500}},
		{Name: "planned_m2", Hidden: true, SQL: "planned_m2", Ptr: func(l *Layout) any { return &l.PlannedM2 }, Codec: numberCodec{}},
		{Name: "drawing", Label: "The layout in full", Required: true, Sealed: true, Help: "As the program wrote it.", SQL: "drawing", Ptr: func(l *Layout) any { return &l.Drawing }, Codec: documentCodec{maxDrawing, checkDrawing}},
	},
	check: func(l *Layout, _ Env) FieldErrors {
		d, err := l.Read()
		if err != nil {
			return FieldErrors{{Field: "drawing", Problem: "cannot be read", Remedy: "leave it as the book wrote it"}}
		}
		l.PlannedM2 = d.PiecesM2()
		return nil
	},
	hold: holdLayoutLot,
	unique: map[string]*FieldError{
		"layout_once":               {Field: "number", Problem: "is in this plan already", Remedy: "leave it as the book wrote it"},
		"layout_board_planned_once": {Field: "board", Problem: "is to be cut by another plan already", Remedy: "set that plan aside first"},
	},
	batch:    freeOfPlans,
	identity: func(l *Layout) string { return fmt.Sprintf("%s\x1f%d", l.Plan.ID, l.Number) },
}

// LayoutDrawing is a board as a plan saw it and what the plan puts on it,
// measured from its left end and near edge with the top face up.
type LayoutDrawing struct {
	Code                     string
	Verdict, Metal           string
	Mapped                   bool
	Thickness, Length, Width wood.Length
	// TrimStart and TrimEnd come off the ends first.
	TrimStart, TrimEnd wood.Length
	Defects            []LayoutDefect `json:",omitempty"`
	Pieces             []LayoutPiece
	Offcuts            []LayoutRect `json:",omitempty"`
}

// LayoutRect is a rectangle on a board.
type LayoutRect struct{ X, Y, DX, DY wood.Length }

// M2 returns its area in square metres.
func (r LayoutRect) M2() float64 { return r.DX.Metres() * r.DY.Metres() }

// LayoutDefect is a defect as it was mapped when the plan was made.
type LayoutDefect struct {
	LayoutRect
	Kind, Face string
	Metal      bool `json:",omitempty"`
}

// LayoutPiece is a blank that the plan cuts from the board. Part is the index
// of the plan's part, N its number on the board, which its code ends in.
type LayoutPiece struct {
	LayoutRect
	N, Part int
}

// Read returns the drawing.
func (l *Layout) Read() (*LayoutDrawing, error) {
	var d LayoutDrawing
	if err := json.Unmarshal([]byte(l.Drawing), &d); err != nil {
		return nil, fmt.Errorf("read the layout %s: %w", l.ID, err)
	}
	return &d, nil
}

// PiecesM2 adds up the face area of the blanks.
func (d *LayoutDrawing) PiecesM2() (sum float64) {
	for _, p := range d.Pieces {
		sum += p.M2()
	}
	return sum
}

// M2 is the board's own area.
func (d *LayoutDrawing) M2() float64 { return d.Length.Metres() * d.Width.Metres() }

// BlankCode is what is written on piece n.
func (d *LayoutDrawing) BlankCode(n int) string { return fmt.Sprintf("%s/%d", d.Code, n) }

func checkDrawing(text []byte) error {
	var d LayoutDrawing
	if err := strictly(text, &d); err != nil {
		return err
	}
	board := LayoutRect{DX: d.Length, DY: d.Width}
	for _, p := range d.Pieces {
		if p.N < 1 || p.Part < 0 || !board.holds(p.LayoutRect) {
			return fmt.Errorf("piece %d does not lie on its board", p.N)
		}
	}
	for _, o := range d.Offcuts {
		if !board.holds(o) {
			return fmt.Errorf("an offcut does not lie on its board")
		}
	}
	if d.Length <= 0 || d.Width <= 0 || d.Thickness <= 0 || max(d.Length, d.Width) > wood.MaxLength {
		return fmt.Errorf("its board has no size")
	}
	return nil
}

// holds reports whether q lies within r.
func (r LayoutRect) holds(q LayoutRect) bool {
	return q.DX > 0 && q.DY > 0 && q.X >= r.X && q.Y >= r.Y && q.X <= r.X+r.DX-q.DX && q.Y <= r.Y+r.DY-q.DY
}

// PlanLayout is a layout with its drawing and what its board is now.
type PlanLayout struct {
	Layout
	LayoutDrawing
	// BoardState, BoardVerdict and Stopped are the board's now, Lot and Source
	// where it came from.
	BoardState, BoardVerdict string
	Stopped                  bool
	LotID, SourceID          uuid.UUID
	Lot, Source              string
	// Place is where the board lies now, empty where nobody said.
	Place string
	// PlanName is its plan's.
	PlanName string
	// Corrected says that the board's defects, ends or size are not those that
	// the layout was made for; see [Store.CompareLayouts].
	Corrected bool
	// MetalNow is the board's state of the sweep now, empty where it was not
	// compared; Metal is what it was.
	MetalNow string
	// Blanks are the live blanks that came of it, GotM2 their area.
	Blanks int
	GotM2  float64
}

// Open reports whether it is still to be cut.
func (l *PlanLayout) Open() bool { return l.State == LayoutPlanned && !l.Struck() }

// Done reports whether the saw has spoken.
func (l *PlanLayout) Done() bool {
	return l.State == LayoutCut || l.State == LayoutOtherwise || l.State == LayoutBroken
}

// StateWords says the state as a person does.
func (l *PlanLayout) StateWords() string {
	return labelOf(layoutStates, l.State)
}

// LayoutsOf returns a plan's layouts in their order, struck ones too.
func (s *Store) LayoutsOf(ctx context.Context, plan uuid.UUID) ([]PlanLayout, error) {
	return readLayouts(ctx, s.pool, "WHERE t.plan_id = $1 ORDER BY t.number", plan)
}

// LayoutsOfBoard returns the live layouts of a board in live plans, the newest
// first.
func (s *Store) LayoutsOfBoard(ctx context.Context, board uuid.UUID) ([]PlanLayout, error) {
	return readLayouts(ctx, s.pool, "WHERE t.board_id = $1 AND t.struck_at IS NULL AND EXISTS (SELECT 1 FROM plan n WHERE n.id = t.plan_id AND n.struck_at IS NULL) ORDER BY t.received_at DESC, t.id DESC", board)
}

// Layout returns one layout.
func (s *Store) Layout(ctx context.Context, id uuid.UUID) (PlanLayout, error) {
	rows, err := readLayouts(ctx, s.pool, "WHERE t.id = $1", id)
	if err != nil {
		return PlanLayout{}, err
	}
	if len(rows) == 0 {
		return PlanLayout{}, fmt.Errorf("layout: %w", ErrNotFound)
	}
	return rows[0], nil
}

func readLayouts(ctx context.Context, q querier, conditions string, args ...any) ([]PlanLayout, error) {
	list, err := Layouts.list(ctx, q, conditions, args...)
	if err != nil {
		return nil, err
	}
	out, at := make([]PlanLayout, len(list)), make(map[uuid.UUID]int, len(list))
	ids := make([]uuid.UUID, len(list))
	for i := range list {
		d, err := list[i].Read()
		if err != nil {
			return nil, err
		}
		out[i], ids[i], at[list[i].ID] = PlanLayout{Layout: list[i], LayoutDrawing: *d}, list[i].ID, i
	}
	rows, err := q.Query(ctx, `SELECT y.id, b.state, b.verdict, b.ownership_stop, l.id, l.code, s.id, s.name, n.name, b.place,
			count(k.id)::int, coalesce(sum(k.width_nm::float8 * k.length_nm::float8), 0) / 1e18
		FROM layout y JOIN plan n ON n.id = y.plan_id JOIN board b ON b.id = y.board_id JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id JOIN source s ON s.id = p.source_id
			LEFT JOIN blank k ON k.layout_id = y.id AND k.struck_at IS NULL
		WHERE y.id = ANY($1) GROUP BY y.id, n.id, b.id, l.id, s.id`, ids)
	if err != nil {
		return nil, fmt.Errorf("read the layouts: %w", err)
	}
	var id uuid.UUID
	var l PlanLayout
	_, err = pgx.ForEachRow(rows, []any{&id, &l.BoardState, &l.BoardVerdict, &l.Stopped, &l.LotID, &l.Lot, &l.SourceID, &l.Source, &l.PlanName, &l.Place, &l.Blanks, &l.GotM2}, func() error {
		o := &out[at[id]]
		o.BoardState, o.BoardVerdict, o.Stopped, o.LotID, o.Lot = l.BoardState, l.BoardVerdict, l.Stopped, l.LotID, l.Lot
		o.SourceID, o.Source, o.PlanName, o.Place, o.Blanks, o.GotM2 = l.SourceID, l.Source, l.PlanName, l.Place, l.Blanks, l.GotM2
		return nil
	})
	return out, err
}

// MetalWords says what is known of metal in the board, for the cutting sheet.
func (d *LayoutDrawing) MetalWords() string {
	switch {
	case d.Metal == "found":
		return "metal found: pull what is marked, or cut only as drawn"
	case d.Metal != "clean":
		return "NOT SWEPT for metal"
	}
	for _, f := range d.Defects {
		if f.Metal {
			return "metal is marked in it: pull it, or cut only as drawn"
		}
	}
	return ""
}

// MetalWords says what is known of metal in the board now, where it is still to
// be cut, else what was known when it was planned.
func (l *PlanLayout) MetalWords() string {
	d := l.LayoutDrawing
	d.Metal = l.Sweep()
	return d.MetalWords()
}

// Sweep is how the sweep of the board for metal stands.
func (l *PlanLayout) Sweep() string { return cmp.Or(l.MetalNow, l.Metal) }

// MetalSince reports whether metal was found in the board, or its sweep called
// off, after it was planned.
func (l *PlanLayout) MetalSince() bool {
	rank := func(metal string) int { return slices.Index([]string{"clean", "not_swept", "found"}, metal) }
	return l.MetalNow != "" && rank(l.MetalNow) > rank(l.Metal)
}

// Words names the kind of defect.
func (d LayoutDefect) Words() string { return strings.ReplaceAll(d.Kind, "_", " ") }

// Meets reports whether two rectangles share any wood.
func (r LayoutRect) Meets(q LayoutRect) bool {
	return r.X < q.X+q.DX && q.X < r.X+r.DX && r.Y < q.Y+q.DY && q.Y < r.Y+r.DY
}
