package db

import (
	"context"
	"fmt"
	"strings"
	"unicode"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
)

// Plan is a cutting plan as it was made: what was asked, by which rules, and
// the answer.
type Plan struct {
	Base
	Name               string
	Objective, Pattern string
	// RipKerf to OffcutWidth are the shop's saws and allowances; see
	// [cut.Rules]. GlueStrip is the widest strip of a part that may be glued
	// up; 0 leaves such parts whole.
	RipKerf, CrosscutKerf, EndTrim                  wood.Length
	LengthAllowance, JointAllowance, PlaneAllowance wood.Length
	Clearance, GlueStrip                            wood.Length
	OffcutLength, OffcutWidth                       wood.Length
	// OffcutShare is what wood that is left counts for, in percent of the same
	// volume of finished parts.
	OffcutShare float64
	// Wettest is the most moisture a board may have, in percent. WetWhy and
	// UnsweptWhy overrule the moisture and the sweep for metal; a reason is
	// what overrules.
	Wettest            float64
	WetWhy, UnsweptWhy string
	// Only names the boards and lots that may be used; empty means all.
	Only  string
	Notes string
	// Wants to Document are written by the program.
	Wants        string
	Status       string
	Value, Bound int
	Program      string
	Follows      Ref
	Changed      string
	Document     string
}

// Objectives of a plan; see [cut.ShopObjective].
var planObjectives = []Option{
	{"most_value", "most blanks by volume from these boards"}, {"fewest_boards", "fewest boards for these blanks"},
	{"least_wood", "least wood for these blanks"}, {"short_first", "clear the rack of short stuff first"},
}

// Patterns of a plan; see [cut.Pattern].
var planPatterns = []Option{
	{"rip2", "rip strips, then crosscut"}, {"crosscut2", "crosscut, then rip"},
	{"rip3", "rip, crosscut, rip again"}, {"crosscut3", "crosscut, rip, crosscut again"},
	{"rip2trim", "rip strips, crosscut, trim narrower parts"}, {"crosscut2trim", "crosscut, rip, trim shorter parts"},
	{"guillotine_free", "any edge-to-edge cuts"},
}

// ObjectiveWords and PatternWords say what the plan is for and how the saws go,
// in the words of the form.
func (p *Plan) ObjectiveWords() string { return labelOf(planObjectives, p.Objective) }

// PatternWords is documented with ObjectiveWords.
func (p *Plan) PatternWords() string { return labelOf(planPatterns, p.Pattern) }

// labelOf is the label of a choice, or the value itself where it is none.
func labelOf(options []Option, value string) string {
	for _, o := range options {
		if o.Value == value {
			return o.Label
		}
	}
	return value
}

// planAsked are the columns that a person fills in. Its parse is a form's; the
// plan's own columns add what the program writes.
var planAsked = &Entity[Plan]{
	table: "plan",
	base:  func(p *Plan) *Base { return &p.Base },
	columns: []Column[Plan]{
		{Name: "name", Example: "two floors for the spring", Help: "Named after what is wanted when left empty.", SQL: "name", Ptr: func(p *Plan) any { return &p.Name }, Codec: textCodec{max: 200}},
		{Name: "objective", Label: "Make", Sealed: true, SQL: "objective", Ptr: func(p *Plan) any { return &p.Objective }, Codec: choiceCodec{planObjectives, "most_value"}},
		{Name: "pattern", Label: "How the saws go", Sealed: true, SQL: "pattern", Ptr: func(p *Plan) any { return &p.Pattern }, Codec: choiceCodec{planPatterns, "rip2"}},
		needed(planLength("rip_kerf", "Kerf of the rip saw", "The width that the blade turns to dust.", "1/8 in", 2*wood.Inch, func(p *Plan) *wood.Length { return &p.RipKerf })),
		needed(planLength("crosscut_kerf", "Kerf of the crosscut saw", "", "1/8 in", 2*wood.Inch, func(p *Plan) *wood.Length { return &p.CrosscutKerf })),
		planLength("end_trim", "Trim off each end", "Dirty and split ends come off first.", "1/2 in", wood.Metre, func(p *Plan) *wood.Length { return &p.EndTrim }),
		planLength("length_allowance", "Added to each length", "", "1 in", 10*wood.Inch, func(p *Plan) *wood.Length { return &p.LengthAllowance }),
		planLength("joint_allowance", "Added to each width, for jointing", "", "1/4 in", 10*wood.Inch, func(p *Plan) *wood.Length { return &p.JointAllowance }),
		planLength("plane_allowance", "Added to each thickness, for planing", "0 uses boards that are just as thick as the part.", "1/8 in", 10*wood.Inch, func(p *Plan) *wood.Length { return &p.PlaneAllowance }),
		needed(planLength("clearance", "Kept clear round metal", "", "1/4 in", 10*wood.Inch, func(p *Plan) *wood.Length { return &p.Clearance })),
		planLength("glue_strip", "Widest strip of parts that may be glued up", "0 cuts such parts from one board.", "3 1/2 in", wood.Metre, func(p *Plan) *wood.Length { return &p.GlueStrip }),
		planLength("offcut_length", "Shortest offcut worth keeping", "Together with the width; 0 keeps none.", "12 in", 10*wood.Metre, func(p *Plan) *wood.Length { return &p.OffcutLength }),
		planLength("offcut_width", "Narrowest offcut worth keeping", "", "1 1/2 in", wood.Metre, func(p *Plan) *wood.Length { return &p.OffcutWidth }),
		{Name: "offcut_share", Label: "What such an offcut counts, % of clear wood", Sealed: true, Example: printFloat(UsualOffcutShare), Help: offcutShareHelp, SQL: "offcut_share", Ptr: func(p *Plan) any { return &p.OffcutShare }, Codec: numberCodec{bounds: bounds{0, 100, " percent"}, units: []unitWord{{"%", 1}}}},
		{Name: "wettest", Label: "Wettest board, %", Sealed: true, Example: "14", Help: "A board is dry when its last corrected reading is at most this, or, without one of its own, when its stack is ready.", SQL: "wettest", Ptr: func(p *Plan) any { return &p.Wettest }, Codec: numberCodec{bounds: bounds{4, 60, " percent"}, units: []unitWord{{"%", 1}}}},
		{Name: "wet_why", Label: "Use boards that are not dry, because", Sealed: true, Example: "stand legs, they dry in place", Help: "Empty uses dry boards only. The reason stays with the plan.", SQL: "wet_why", Ptr: func(p *Plan) any { return &p.WetWhy }, Codec: textCodec{max: 500}},
		{Name: "unswept_why", Label: "Use boards not swept for metal, because", Sealed: true, Example: "no nails in this crate, screwed together", Help: "A hidden nail ruins a blade and can throw splinters of steel or the board itself at whoever stands at the saw. Empty uses swept boards only.", SQL: "unswept_why", Ptr: func(p *Plan) any { return &p.UnsweptWhy }, Codec: textCodec{max: 500}},
		{Name: "only", Label: "Only these boards or lots", Sealed: true, Example: "K7MWX-3 K7MWX", Help: "Codes, parted by blanks or commas; empty looks at the whole rack.", SQL: "only_codes", Ptr: func(p *Plan) any { return &p.Only }, Codec: textCodec{max: 2000}},
		{Name: "notes", Aliases: []string{"note", "comments"}, SQL: "notes", Ptr: func(p *Plan) any { return &p.Notes }, Codec: textCodec{max: 10000, long: true}},
	},
}

// planLength is a length of a plan's rules, from zero to most.
func planLength(name, label, help, example string, most wood.Length, at func(*Plan) *wood.Length) Column[Plan] { //nolint:revive // one row of a table
	return Column[Plan]{Name: name, Label: label, Help: help, Example: example, Sealed: true, SQL: name + "_nm",
		Ptr: func(p *Plan) any { return at(p) }, Codec: boundedLength{most}}
}

// needed makes a column one that must be filled in. Where a kerf or the room
// round metal is left empty, none could be meant or the usual one, and taking
// none would make blanks too small or send a blade into a nail.
func needed(c Column[Plan]) Column[Plan] {
	c.Required = true
	return c
}

// UsualOffcutShare is what a kept offcut counts for where nothing else is said,
// in percent of clear wood: a quarter. Common practice, no source.
const UsualOffcutShare = 25

// offcutShareHelp says what the share does and why it is a quarter.
const offcutShareHelp = "What is clear of the wood that a plan leaves, in offcuts and whole boards, counts this share of its volume in finished parts: of plans that make as much, the one that leaves most is taken. " +
	"A quarter at first: an offcut waits for a part that fits it, and loses once more to kerf, trim and planing (common practice, no source). 0 plans as if it were waste, and keeps it all the same."

// boundedLength is a length from zero to most in a *wood.Length; empty is zero.
type boundedLength struct{ most wood.Length }

func (c boundedLength) parse(dst any, text string, env Env) *FieldError {
	var l wood.Length
	if f := (lengthCodec{zero: true}).parse(&l, text, env); f != nil {
		return f
	}
	if l > c.most {
		return fault("is more than %s", "check the number and its unit", lengthCodec{}.print(&c.most, env))
	}
	*dst.(*wood.Length) = l
	return nil
}

func (boundedLength) print(src any, env Env) string { return lengthCodec{}.print(src, env) }

// Plans is the kind of entry that holds cutting plans.
var Plans = &Entity[Plan]{
	table: "plan",
	base:  planAsked.base,
	columns: append(planAsked.columns[:len(planAsked.columns):len(planAsked.columns)],
		Column[Plan]{Name: "wants", Required: true, Sealed: true, Example: "2 × floor solid 10-frame", SQL: "wants", Ptr: func(p *Plan) any { return &p.Wants }, Codec: textCodec{max: 10000, long: true}},
		Column[Plan]{Name: "status", Required: true, Sealed: true, Example: "optimal", SQL: "status", Ptr: func(p *Plan) any { return &p.Status }, Codec: choiceCodec{planStatuses, ""}},
		Column[Plan]{Name: "value", Required: true, Sealed: true, Example: "5400", SQL: "value", Ptr: func(p *Plan) any { return &p.Value }, Codec: wholeCodec{0, 1 << 50, 0}},
		Column[Plan]{Name: "bound", Required: true, Sealed: true, Example: "5400", SQL: "bound", Ptr: func(p *Plan) any { return &p.Bound }, Codec: wholeCodec{0, 1 << 50, 0}},
		Column[Plan]{Name: "program", Label: "Made by", Sealed: true, SQL: "program", Ptr: func(p *Plan) any { return &p.Program }, Codec: textCodec{max: 100}},
		Column[Plan]{Name: "follows", Label: "Follows", Sealed: true, Help: "The id of the plan whose rest this one plans again.", SQL: "follows_id", Key: followsKeySQL, Ptr: func(p *Plan) any { return &p.Follows }, Codec: refCodec{"plan"}},
		Column[Plan]{Name: "changed", Label: "What changed", Sealed: true, SQL: "changed", Ptr: func(p *Plan) any { return &p.Changed }, Codec: textCodec{max: 10000, long: true}},
		Column[Plan]{Name: "document", Label: "The plan in full", Required: true, Sealed: true, Help: "As the program wrote it.", SQL: "document", Ptr: func(p *Plan) any { return &p.Document }, Codec: documentCodec{maxPlanDocument, checkPlanDocument}},
	),
	prepare: func(_ context.Context, _ pgxTx, p *Plan) error {
		if strings.TrimSpace(p.Name) == "" {
			p.Name = planName(p.Wants)
		}
		return nil
	},
	check: checkPlan,
	batch: func(_ context.Context, _ *importRun, rows []*staged[Plan]) error {
		for _, s := range rows {
			if s.rec.Name == "" {
				s.rec.Name = planName(s.rec.Wants)
			}
		}
		return nil
	},
	identity: func(*Plan) string { return "" },
}

var planStatuses = []Option{{"optimal", "proven best"}, {"bounded", "best found"}, {"infeasible", "proven short"}, {"short", "short"}}

// followsKeySQL prints a plan that a plan follows; plans have no name of their
// own that nobody else has, so it is the id.
const followsKeySQL = `t.follows_id::text`

// planName names a plan after what it makes.
func planName(wants string) string {
	name := strings.ReplaceAll(strings.TrimSpace(wants), "\n", ", ")
	if r := []rune(name); len(r) > 200 {
		name = string(r[:199]) + "…"
	}
	return name
}

// checkPlan holds what a sheet says of a plan against the plan itself, which
// must pass the independent checker as every plan does before it is seen.
func checkPlan(p *Plan, _ Env) FieldErrors {
	doc, err := p.Read()
	if err != nil {
		return FieldErrors{{Field: "document", Problem: "cannot be read", Remedy: "leave it as the book wrote it"}}
	}
	plan := doc.Cut.Plan
	if err := cut.Check(doc.Cut.Instance, plan); err != nil {
		return FieldErrors{{Field: "document", Problem: "holds a plan that cannot be cut: " + clip(err.Error()), Remedy: "leave it as the book wrote it"}}
	}
	for _, c := range []struct {
		field     string
		says, has any
	}{{"status", p.Status, string(plan.Status)}, {"value", p.Value, plan.Value}, {"bound", p.Bound, plan.Bound}} {
		if c.says != c.has {
			return FieldErrors{{Field: c.field, Value: fmt.Sprint(c.says), Problem: fmt.Sprintf("is not what the plan says (%v)", c.has), Remedy: "leave it as the book wrote it"}}
		}
	}
	return nil
}

// PlanFields lists what a person fills in for a plan.
func PlanFields() []ColumnInfo { return planAsked.Info() }

// ParsePlan reads what a person filled in.
func ParsePlan(values map[string]string, env Env) (Plan, FieldErrors) {
	var p Plan
	if strings.TrimSpace(values["wettest"]) == "" {
		values["wettest"] = printFloat(UsualWettest())
	}
	if strings.TrimSpace(values["offcut_share"]) == "" {
		values["offcut_share"] = printFloat(UsualOffcutShare)
	}
	faults := planAsked.Parse(&p, values, env)
	if len(faults) == 0 && (p.OffcutLength == 0) != (p.OffcutWidth == 0) {
		faults = append(faults, &FieldError{Field: "offcut_width", Problem: "goes with the length", Remedy: "give both, or 0 for both"})
	}
	for _, c := range []struct{ field, why, about string }{
		{"wet_why", p.WetWhy, "wet wood will do"}, {"unswept_why", p.UnsweptWhy, "a board nobody swept may come to the blade"},
	} {
		if c.why != "" && !saysSomething(c.why) {
			faults = append(faults, &FieldError{Field: c.field, Value: clip(c.why), Problem: "says nothing", Remedy: "write why " + c.about + ", in at least 2 letters or digits, or leave it empty"})
		}
	}
	return p, faults
}

// saysSomething reports whether a reason has two letters or digits of any
// script: more cannot be asked of free text without guessing.
func saysSomething(why string) bool {
	n := 0
	for _, r := range why {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			n++
		}
	}
	return n >= 2
}

// PlanValues prints what a person filled in, as a form shows it.
func PlanValues(p Plan, env Env) map[string]string { return planAsked.Values(&p, env) }

// PlanList returns live plans, newest first.
func (s *Store) PlanList(ctx context.Context, limit int) ([]Plan, error) {
	return Plans.list(ctx, s.pool, "WHERE t.struck_at IS NULL ORDER BY t.received_at DESC, t.id DESC LIMIT $1", limit)
}

// PlansAfter returns the live plans that plan the rest of one again.
func (s *Store) PlansAfter(ctx context.Context, plan uuid.UUID) ([]Plan, error) {
	return Plans.list(ctx, s.pool, "WHERE t.struck_at IS NULL AND t.follows_id = $1 ORDER BY t.received_at, t.id", plan)
}

// LayoutCount is how many boards of a plan are still to cut, and how many are
// cut or broke.
type LayoutCount struct{ Open, Done int }

// LayoutCounts counts the boards of plans.
func (s *Store) LayoutCounts(ctx context.Context, plans []Plan) (map[uuid.UUID]LayoutCount, error) {
	ids := make([]uuid.UUID, len(plans))
	for i := range plans {
		ids[i] = plans[i].ID
	}
	rows, err := s.pool.Query(ctx, `SELECT plan_id, count(*) FILTER (WHERE state = 'planned')::int, count(*) FILTER (WHERE state IN ('cut', 'otherwise', 'broken'))::int
		FROM layout WHERE plan_id = ANY($1) AND struck_at IS NULL GROUP BY plan_id`, ids)
	if err != nil {
		return nil, fmt.Errorf("count the boards of plans: %w", err)
	}
	out := make(map[uuid.UUID]LayoutCount, len(plans))
	var id uuid.UUID
	var c LayoutCount
	_, err = pgx.ForEachRow(rows, []any{&id, &c.Open, &c.Done}, func() error { out[id] = c; return nil })
	return out, err
}
