package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
)

// PlannedGot is what plans promised of some boards and what the saw gave.
type PlannedGot struct {
	cut.GotShare
	// Broken and Otherwise count boards that broke and that were cut
	// otherwise than planned, among those counted.
	Broken, Otherwise int
}

const plannedGotSQL = `SELECT y.state, y.planned_m2, coalesce(sum(k.width_nm::float8 * k.length_nm::float8), 0) / 1e18
	FROM layout y JOIN plan n ON n.id = y.plan_id JOIN board b ON b.id = y.board_id JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id
		LEFT JOIN blank k ON k.layout_id = y.id AND k.struck_at IS NULL
	WHERE y.state IN ('cut', 'otherwise', 'broken') AND y.struck_at IS NULL AND n.struck_at IS NULL AND b.struck_at IS NULL AND `

func (s *Store) plannedGot(ctx context.Context, where string, id uuid.UUID) (PlannedGot, error) {
	var out PlannedGot
	rows, err := s.pool.Query(ctx, plannedGotSQL+where+" GROUP BY y.id ORDER BY y.id", id)
	if err != nil {
		return out, fmt.Errorf("hold what was got against the plan: %w", err)
	}
	var outcomes []cut.Outcome
	var state string
	var o cut.Outcome
	_, err = pgx.ForEachRow(rows, []any{&state, &o.Planned, &o.Got}, func() error {
		outcomes = append(outcomes, o)
		switch state {
		case LayoutBroken:
			out.Broken++
		case LayoutOtherwise:
			out.Otherwise++
		}
		return nil
	})
	out.GotShare = cut.ShareGot(outcomes)
	return out, err
}

// PlannedGotOfPlan holds a plan's boards, as far as they are cut, against what
// came of them. Blanks count by their face area.
func (s *Store) PlannedGotOfPlan(ctx context.Context, plan uuid.UUID) (PlannedGot, error) {
	return s.plannedGot(ctx, "y.plan_id = $1", plan)
}

// PlannedGotOfSource does the same for every planned board that came from a
// source.
func (s *Store) PlannedGotOfSource(ctx context.Context, source uuid.UUID) (PlannedGot, error) {
	return s.plannedGot(ctx, "p.source_id = $1 AND l.struck_at IS NULL AND p.struck_at IS NULL", source)
}

// PlanDefaults returns what a new plan's form starts with: the newest plan's
// rules, or those of a house that made none, with the kerfs and the clearance
// that hold in the house now.
func (s *Store) PlanDefaults(ctx context.Context) (Plan, error) {
	p := housePlan()
	last, err := Plans.list(ctx, s.pool, "WHERE t.struck_at IS NULL ORDER BY t.received_at DESC, t.id DESC LIMIT 1")
	if err != nil {
		return p, err
	}
	if len(last) > 0 {
		p = last[0]
		p.Name, p.Notes, p.Only, p.WetWhy, p.UnsweptWhy = "", "", "", "", ""
	}
	house, err := s.Widths(ctx)
	p.RipKerf, p.CrosscutKerf, p.Clearance = house.RipKerf, house.CrosscutKerf, house.Clearance
	return p, err
}

// housePlan holds the rules of a house that has made no plan yet: the
// allowances by which the house's list of parts makes blanks larger (common
// practice, no source). Saws and metal are the house's own; see [Store.Widths].
func housePlan() Plan {
	return Plan{
		Objective: "most_value", Pattern: "rip2", EndTrim: wood.Inch / 2,
		LengthAllowance: wood.Inch, JointAllowance: wood.Inch / 4, PlaneAllowance: wood.Inch / 8,
		GlueStrip: 7 * wood.Inch / 2, OffcutLength: wood.Foot, OffcutWidth: 3 * wood.Inch / 2, OffcutShare: UsualOffcutShare, Wettest: UsualWettest(),
	}
}
