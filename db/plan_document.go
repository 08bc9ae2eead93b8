package db

import (
	"bytes"
	"encoding/json"
	"fmt"

	"github.com/jackc/pgx/v5"

	"skepwood/analytics/cut"
	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// pgxTx is a transaction, under a name that a table of columns can spell.
type pgxTx = pgx.Tx

// PlanPart is what a plan was asked to make, at its finished size: the shop
// part of the same index with its name and zone.
type PlanPart struct {
	Kit, Part string
	Count     int
	Size      grade.Size
	Zone      string
	Faces     int
	// Of is above 1 where the part is glued up from that many strips; its size
	// and count are then those of a strip.
	Of int `json:",omitempty"`
}

// Name returns the part with its kit, as a person says it.
func (p PlanPart) Name() string {
	name := p.Part
	if p.Of > 1 {
		name += fmt.Sprintf(", strip of %d", p.Of)
	}
	return p.Kit + ": " + name
}

// Excluded says why boards were left out of a plan. Codes are the first of
// them.
type Excluded struct {
	Why   string
	Count int
	Codes []string
}

// ExtraBoards is the smallest set found of boards of one usual size each that
// would make what a plan lacks. Proven says that no fewer boards would do.
type ExtraBoards struct {
	Boards []ExtraBoard
	Proven bool
	// Lacks names what no number of usual boards makes; Boards are for the
	// rest. Unknown says that none were found for it in time.
	Lacks   []string `json:",omitempty"`
	Unknown bool     `json:",omitempty"`
}

// ExtraBoard is a number of boards of one nominal size.
type ExtraBoard struct {
	Name                     string
	Count                    int
	Thickness, Width, Length wood.Length
}

// PlanDocument is a plan in full, as its page shows it ever after. Shop is
// without the boards' defects, which Cut.Instance has in ticks and each
// [Layout] as they were written down.
type PlanDocument struct {
	Parts []PlanPart
	Shop  cut.Shop
	Cut   cut.ShopPlan
	// Rack counts the boards that were looked at, Usable those that might
	// have been used, Unmapped those of them that nobody looked over.
	Rack, Usable, Unmapped int
	// Beyond counts the boards that only the bounds of one plan left out.
	Beyond   int `json:",omitempty"`
	Excluded []Excluded
	Extra    *ExtraBoards `json:",omitempty"`
}

// Read returns the plan in full.
func (p *Plan) Read() (*PlanDocument, error) {
	var d PlanDocument
	if err := json.Unmarshal([]byte(p.Document), &d); err != nil {
		return nil, fmt.Errorf("read the plan %s: %w", p.ID, err)
	}
	return &d, nil
}

// Part returns the part with the index; one that the plan does not have, which
// only a sheet from elsewhere can name, has no size and goes outside.
func (d *PlanDocument) Part(i int) PlanPart {
	if i < 0 || i >= len(d.Parts) {
		return PlanPart{Kit: "?", Part: "unknown part", Zone: "outside"}
	}
	return d.Parts[i]
}

// Made counts, by part, how many copies the plan makes in all.
func (d *PlanDocument) Made() []int { return d.Cut.Plan.Made(d.Cut.Instance)[:len(d.Parts)] }

// Missing counts, by part, how many copies are wanted and not planned. What
// was got before a plan was made again is not wanted any more.
func (d *PlanDocument) Missing() []int {
	made, out := d.Made(), make([]int, len(d.Parts))
	for i := range d.Parts {
		out[i] = max(0, d.Cut.Instance.Parts[i].Max-made[i])
	}
	return out
}

const (
	maxPlanDocument = 1_000_000
	maxDrawing      = 200_000
)

// documentCodec is JSON of the program's own in a *string, kept as it stands.
type documentCodec struct {
	max   int
	check func([]byte) error
}

func (c documentCodec) parse(dst any, text string, _ Env) *FieldError {
	if len(text) > c.max {
		return fault("has %d bytes, at most %d fit", "leave it as the book wrote it", len(text), c.max)
	}
	if err := c.check([]byte(text)); err != nil {
		return fault("is not what the book writes here: %s", "leave it as the book wrote it", clip(err.Error()))
	}
	*dst.(*string) = text
	return nil
}

func (documentCodec) print(src any, _ Env) string { return *src.(*string) }

// strictly decodes one JSON value without fields that nobody knows.
func strictly(text []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if d.More() {
		return fmt.Errorf("more than one value")
	}
	return nil
}

func checkPlanDocument(text []byte) error {
	var d PlanDocument
	if err := strictly(text, &d); err != nil {
		return err
	}
	if len(d.Parts) == 0 || len(d.Parts) != len(d.Shop.Parts) || len(d.Cut.Instance.Parts) < len(d.Parts) || len(d.Cut.FromBoard) != len(d.Cut.Instance.Boards) || d.Cut.Grid.X <= 0 || d.Cut.Grid.Y <= 0 {
		return fmt.Errorf("its parts and boards do not fit together")
	}
	for _, b := range d.Cut.FromBoard {
		if b < 0 || b >= len(d.Shop.Boards) {
			return fmt.Errorf("it names a board it does not have")
		}
	}
	for _, b := range d.Cut.Boards {
		if b.Board < 0 || b.Board >= len(d.Shop.Boards) {
			return fmt.Errorf("it names a board it does not have")
		}
	}
	return nil
}
