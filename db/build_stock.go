package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// Bounds of one plan: it answers in seconds and its document stays small.
const (
	// MaxPlanBoards is how many boards a plan may use, planLook how many it
	// looks at.
	MaxPlanBoards = 300
	planLook      = 3000
	// MaxPlanParts and MaxPlanCount bound the part sizes and the copies of one.
	MaxPlanParts = 60
	MaxPlanCount = 500
	// excludedCodes is how many codes a reason shows.
	excludedCodes = 12
)

// UsualWettest is the most moisture that a board may have where nothing else
// is said: the upper end of the span for single pieces outside the hive, which
// is the lower of the two zones'.
func UsualWettest() float64 {
	t, err := moisture.TargetFor("outside", "", "")
	if err != nil {
		return 14 // the table is part of the program and a test reads it
	}
	return t.High
}

// BuildBoard is a board that a plan may use, with its live defects.
type BuildBoard struct {
	StockBoard
	StackID *uuid.UUID
	// LeftTrim and RightTrim are its own ends; see [Board].
	LeftTrim, RightTrim *wood.Length
	// MetalMapped says that metal in it is marked on its map.
	MetalMapped bool
	Defects     []Defect
	// Plan is the other plan that means to cut it, if any.
	Plan string
}

// BuildStock is the rack as a plan sees it.
type BuildStock struct {
	Usable   []BuildBoard
	Excluded []Excluded
	// Rack counts the boards on it, Unmapped the usable ones that nobody
	// has looked over. Beyond counts those that only the bounds of one plan
	// left out.
	Rack, Unmapped, Beyond int
}

func (b *BuildStock) exclude(why, code string, n int) {
	at := -1
	for i := range b.Excluded {
		if b.Excluded[i].Why == why {
			at = i
		}
	}
	if at < 0 {
		at = len(b.Excluded)
		b.Excluded = append(b.Excluded, Excluded{Why: why, Codes: []string{}})
	}
	e := &b.Excluded[at]
	e.Count += n
	if code != "" && len(e.Codes) < excludedCodes {
		e.Codes = append(e.Codes, code)
	}
}

// BuildStock sorts the boards on the rack into those that a plan may use for
// the parts and those it may not, with the reason. What the plan with p's id
// means to cut is free for it. The verdict and the owner are never overruled;
// moisture and the sweep for metal are, by the plan's reasons.
func (s *Store) BuildStock(ctx context.Context, p *Plan, parts []PlanPart) (*BuildStock, error) {
	names, err := s.onlyNames(ctx, p.Only)
	if err != nil {
		return nil, err
	}
	return s.stockOf(ctx, p, parts, rackPart{names: names})
}

// rackPart is a part of the rack: the boards and lots with the names, all for
// none, without the boards that are named as left out.
type rackPart struct{ names, without []string }

// stockOf does that for a part of the rack.
func (s *Store) stockOf(ctx context.Context, p *Plan, parts []PlanPart, of rackPart) (*BuildStock, error) {
	out := &BuildStock{Excluded: []Excluded{}}
	least, outsideToo := leastThickness(p, parts)
	if err := s.countBarred(ctx, out, of, least); err != nil {
		return nil, err
	}
	candidates, err := s.candidates(ctx, p.ID, of, least)
	if err != nil {
		return nil, err
	}
	if len(candidates) > planLook {
		if err := s.countBeyond(ctx, out, of, least); err != nil {
			return nil, err
		}
		candidates = candidates[:planLook]
	}
	ready, err := s.readyStacks(ctx, candidates)
	if err != nil {
		return nil, err
	}
	for _, b := range candidates {
		out.Rack++
		why := p.bars(&b, ready, outsideToo)
		if why == "" && len(out.Usable) >= MaxPlanBoards {
			out.Beyond++
			why = fmt.Sprintf("more than the %d boards that one plan takes: name lots under “Only these”", MaxPlanBoards)
		}
		if why != "" {
			out.exclude(why, b.Code, 1)
			continue
		}
		if !b.Mapped {
			out.Unmapped++
		}
		out.Usable = append(out.Usable, b)
	}
	return out, s.fillDefects(ctx, out.Usable)
}

// leastThickness returns the thickness that the thinnest part needs, and
// whether any part goes outside.
func leastThickness(p *Plan, parts []PlanPart) (least wood.Length, outside bool) {
	for i, part := range parts {
		if i == 0 || part.Size.Thickness < least {
			least = part.Size.Thickness
		}
		outside = outside || part.Zone == "outside"
	}
	return least + p.PlaneAllowance, outside
}

// bars says why a board may not be used; empty means that it may.
func (p *Plan) bars(b *BuildBoard, ready map[uuid.UUID]bool, outsideToo bool) string {
	switch {
	case b.Verdict == "outside" && !outsideToo:
		return "verdict outside, and every part wanted goes inside"
	case b.Plan != "":
		return "another plan means to cut it: " + clip(b.Plan)
	case b.Metal == "not_swept" && p.UnsweptWhy == "":
		return "not yet swept for metal"
	case b.Metal == "found" && !b.MetalMapped && p.UnsweptWhy == "":
		return "metal was found in it and is not marked on its map"
	case p.WetWhy != "":
		return ""
	case b.Percent != nil && *b.Percent > p.Wettest, b.Range == "above":
		return fmt.Sprintf("wetter than %s %%", printFloat(p.Wettest))
	case b.Percent != nil, b.Range == "below", b.StackID != nil && ready[*b.StackID]:
		return ""
	case b.StackID != nil:
		return "not read, and its stack is not ready"
	default:
		return "its moisture was never read"
	}
}

// onlyNames reads the codes of boards and lots; one that names nothing is a
// fault.
func (s *Store) onlyNames(ctx context.Context, only string) ([]string, error) {
	names := strings.FieldsFunc(only, func(r rune) bool { return strings.ContainsRune(" ,;\t\r\n", r) })
	for i, n := range names {
		lot, rest, board := strings.Cut(n, "-")
		if board {
			n = strings.ToUpper(lot) + "-" + strings.ToLower(rest)
		} else {
			n = strings.ToUpper(n)
		}
		names[i] = n
	}
	rows, err := s.pool.Query(ctx, `SELECT k.key FROM unnest($1::text[]) AS k (key)
		WHERE NOT EXISTS (SELECT 1 FROM board WHERE code = k.key) AND NOT EXISTS (SELECT 1 FROM lot WHERE code = k.key)`, names)
	if err != nil {
		return nil, fmt.Errorf("find the boards named: %w", err)
	}
	unknown, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("find the boards named: %w", err)
	}
	if len(unknown) > 0 {
		return nil, FieldErrors{{Field: "only", Value: clip(only), Problem: "names no board and no lot: " + clip(unknown[0]), Remedy: "write codes like K7MWX-3 for a board or K7MWX for a lot"}}
	}
	return notNil(names), nil
}

// onRack are the conditions of a board that could be cut: alias b, its lot l,
// its pickup p; $1 are names, none meaning all, $2 the boards left out.
const onRack = ` b.struck_at IS NULL AND b.state = 'rack' AND l.struck_at IS NULL AND p.struck_at IS NULL
	AND (cardinality($1::text[]) = 0 OR b.code = ANY($1) OR l.code = ANY($1)) AND NOT b.code = ANY($2::text[]) `

// fromRack reads such boards, with the least thickness as $3.
const fromRack = ` FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id WHERE` + onRack + `AND $3::bigint IS NOT NULL AND `

// candidate are those of them that verdict, owner and thickness allow.
const candidate = `NOT b.ownership_stop AND b.verdict IN ('inside', 'outside') AND b.thickness_nm >= $3`

// barred are the boards that no reason brings in, each by its condition: the
// owner first, then the verdict, then what is too thin ($3) for any part.
var barred = []struct{ why, sql string }{
	{"not ours to take", "b.ownership_stop"},
	{"verdict hold", "NOT b.ownership_stop AND b.verdict = 'hold'"},
	{"verdict never", "NOT b.ownership_stop AND b.verdict = 'never'"},
	{"thinner than any part needs", "NOT b.ownership_stop AND b.verdict IN ('inside', 'outside') AND b.thickness_nm < $3"},
}

// countBarred counts them, with the first codes of each sort.
func (s *Store) countBarred(ctx context.Context, out *BuildStock, of rackPart, least wood.Length) error {
	for _, sort := range barred {
		e := Excluded{Why: sort.why}
		if err := s.pool.QueryRow(ctx, "SELECT count(*)::int"+fromRack+sort.sql, notNil(of.names), notNil(of.without), least).Scan(&e.Count); err != nil {
			return fmt.Errorf("count the boards left out: %w", err)
		}
		if e.Count == 0 {
			continue
		}
		rows, err := s.pool.Query(ctx, "SELECT b.code"+fromRack+sort.sql+" ORDER BY b.code LIMIT $4", notNil(of.names), notNil(of.without), least, excludedCodes)
		if err == nil {
			e.Codes, err = pgx.CollectRows(rows, pgx.RowTo[string])
		}
		if err != nil {
			return fmt.Errorf("name the boards left out: %w", err)
		}
		out.Excluded = append(out.Excluded, e)
		out.Rack += e.Count
	}
	return nil
}

// countBeyond counts the candidates that are too many to be looked at.
func (s *Store) countBeyond(ctx context.Context, out *BuildStock, of rackPart, least wood.Length) error {
	n := 0
	if err := s.pool.QueryRow(ctx, "SELECT count(*)::int"+fromRack+candidate, notNil(of.names), notNil(of.without), least).Scan(&n); err != nil {
		return fmt.Errorf("count the boards beyond the first: %w", err)
	}
	if n -= planLook; n > 0 { // none where boards left since they were read
		out.exclude(fmt.Sprintf("beyond the first %d boards by thickness: name lots under “Only these”", planLook), "", n)
		out.Rack += n
		out.Beyond += n
	}
	return nil
}

// candidates are the boards that verdict, owner and thickness allow, thinnest
// first, with what else decides. What the plan itself means to cut is free for
// it.
func (s *Store) candidates(ctx context.Context, plan uuid.UUID, of rackPart, least wood.Length) ([]BuildBoard, error) {
	boards, err := s.stockBoards(ctx, "WHERE"+onRack+"AND "+candidate+`
		ORDER BY b.thickness_nm, b.code LIMIT $4`, notNil(of.names), notNil(of.without), least, planLook+1)
	if err != nil {
		return nil, err
	}
	out, at, ids := make([]BuildBoard, len(boards)), make(map[uuid.UUID]int, len(boards)), make([]uuid.UUID, len(boards))
	for i, b := range boards {
		out[i].StockBoard, at[b.ID], ids[i] = b, i, b.ID
	}
	rows, err := s.pool.Query(ctx, `SELECT b.id, b.stack_id, EXISTS (SELECT 1 FROM defect d WHERE d.board_id = b.id AND d.metal AND d.struck_at IS NULL),
			coalesce((SELECT n.name FROM layout y JOIN plan n ON n.id = y.plan_id WHERE y.board_id = b.id AND y.state = 'planned' AND y.plan_id <> $2
				AND y.struck_at IS NULL AND n.struck_at IS NULL ORDER BY n.received_at LIMIT 1), ''), b.left_trim_nm, b.right_trim_nm
		FROM board b WHERE b.id = ANY($1)`, ids, plan)
	if err != nil {
		return nil, fmt.Errorf("read what decides about boards: %w", err)
	}
	var id uuid.UUID
	var more BuildBoard
	_, err = pgx.ForEachRow(rows, []any{&id, &more.StackID, &more.MetalMapped, &more.Plan, &more.LeftTrim, &more.RightTrim}, func() error {
		b := &out[at[id]]
		b.StackID, b.MetalMapped, b.Plan = more.StackID, more.MetalMapped, more.Plan
		b.LeftTrim, b.RightTrim = more.LeftTrim, more.RightTrim
		more = BuildBoard{}
		return nil
	})
	return out, err
}

// readyStacks says which of the standing stacks are ready, where any board
// has no reading of its own.
func (s *Store) readyStacks(ctx context.Context, boards []BuildBoard) (map[uuid.UUID]bool, error) {
	wanted := map[uuid.UUID]bool{}
	for _, b := range boards {
		if b.Percent == nil && b.Range == "" && b.StackID != nil {
			wanted[*b.StackID] = true
		}
	}
	ready := map[uuid.UUID]bool{}
	if len(wanted) == 0 {
		return ready, nil
	}
	stacks, err := s.Drying(ctx)
	if err != nil {
		return nil, err
	}
	for i := range stacks {
		d := &stacks[i]
		if !wanted[d.ID] || !d.Standing() {
			continue
		}
		here, err := s.StackBoards(ctx, d.ID)
		if err != nil {
			return nil, err
		}
		stand, known, err := d.ReadyNow(here, s.Now())
		if err != nil {
			return nil, err
		}
		ready[d.ID] = known && stand.Ready
	}
	return ready, nil
}

// fillDefects reads the live defects of boards.
func (s *Store) fillDefects(ctx context.Context, boards []BuildBoard) error {
	at, ids := make(map[uuid.UUID]int, len(boards)), make([]uuid.UUID, len(boards))
	for i := range boards {
		at[boards[i].ID], ids[i] = i, boards[i].ID
	}
	defects, err := Defects.list(ctx, s.pool, "WHERE t.board_id = ANY($1) AND t.struck_at IS NULL ORDER BY t.x_nm, t.y_nm, t.id", ids)
	for _, d := range defects {
		b := &boards[at[d.Board.ID]]
		b.Defects = append(b.Defects, d)
	}
	return err
}
