package db

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// Bounds of one plan: it answers in seconds and its document stays small.
const (
	// MaxPlanBoards is how many boards a plan may use, planLook how many it
	// looks at; they are chosen by turns, by [cut.Shop.Pick] and [cut.Look].
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
	// left out, TooSmall those that no part wanted can come from.
	Rack, Unmapped, Beyond, TooSmall int
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

// stockOf does that for a part of the rack.
func (s *Store) stockOf(ctx context.Context, p *Plan, parts []PlanPart, of rackPart) (*BuildStock, error) {
	out := &BuildStock{Excluded: []Excluded{}}
	looked, err := s.lookThrough(ctx, out, of, needsOf(p, parts, of.own))
	if err != nil {
		return nil, err
	}
	candidates, err := s.candidates(ctx, p.ID, looked)
	if err != nil {
		return nil, err
	}
	ready, err := s.readyStacks(ctx, candidates)
	if err != nil {
		return nil, err
	}
	out.Usable = out.allowed(p, candidates, ready, anyOutside(parts))
	if !of.own {
		out.Usable = out.pick(p, parts, out.Usable)
	}
	for i := range out.Usable {
		if !out.Usable[i].Mapped {
			out.Unmapped++
		}
	}
	return out, s.fillDefects(ctx, out.Usable)
}

// anyOutside reports whether any part goes outside.
func anyOutside(parts []PlanPart) bool {
	return slices.ContainsFunc(parts, func(p PlanPart) bool { return p.Zone == "outside" })
}

// allowed returns the boards that nothing bars, and excludes the others.
func (b *BuildStock) allowed(p *Plan, boards []BuildBoard, ready map[uuid.UUID]bool, outsideToo bool) []BuildBoard {
	var out []BuildBoard
	for i := range boards {
		if why := p.bars(&boards[i], ready, outsideToo); why != "" {
			b.exclude(why, boards[i].Code, 1)
			continue
		}
		out = append(out, boards[i])
	}
	return out
}

// pick returns at most [MaxPlanBoards] of the boards, fairly; see
// [cut.Shop.Pick]. It excludes the others with the rule, and those that no
// part can use.
func (b *BuildStock) pick(p *Plan, parts []PlanPart, boards []BuildBoard) []BuildBoard {
	picked, useless := p.shop(parts, boards).Pick(MaxPlanBoards)
	for _, i := range useless {
		b.exclude(tooSmall, boards[i].Code, 1)
	}
	b.TooSmall += len(useless)
	var out []BuildBoard
	for i := range boards {
		switch {
		case len(picked) > 0 && picked[0] == i:
			out, picked = append(out, boards[i]), picked[1:]
		case len(useless) > 0 && useless[0] == i:
			useless = useless[1:]
		default:
			b.Beyond++
			b.exclude(fmt.Sprintf(beyondPick, MaxPlanBoards), boards[i].Code, 1)
		}
	}
	return out
}

// bars says why a board may not be used; empty means that it may.
func (p *Plan) bars(b *BuildBoard, ready map[uuid.UUID]bool, outsideToo bool) string {
	switch {
	case b.Verdict == "outside" && !outsideToo:
		return outsideOnly
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
