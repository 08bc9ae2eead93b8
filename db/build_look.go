package db

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// rackPart is a part of the rack: the boards and lots with the names, all for
// none, without the boards that are named as left out. Boards that are a plan's
// own already are all taken, whatever their number and size.
type rackPart struct {
	names, without []string
	own            bool
}

// boardNeeds are the least sizes, in nanometres, of boards that parts can come
// from, allowances counted in and ends not trimmed, by part; inside says which
// parts need a board that may go inside.
type boardNeeds struct {
	thick, width, length []int64
	inside               []bool
}

// needsOf returns what the parts of a plan need; of boards that are its own,
// no more than the thickness of its thinnest part.
func needsOf(p *Plan, parts []PlanPart, own bool) boardNeeds {
	var n boardNeeds
	for _, part := range parts {
		thick, width, length := part.Size.Thickness+p.PlaneAllowance, part.Size.Width+p.JointAllowance, part.Size.Length+p.LengthAllowance
		if own {
			width, length = 0, 0
		}
		n.thick, n.width, n.length = append(n.thick, int64(thick)), append(n.width, int64(width)), append(n.length, int64(length))
		n.inside = append(n.inside, part.Zone == "inside" && !own)
	}
	return n
}

// args are the arguments $1 to $6 of [onRack] and [boardServes].
func (n boardNeeds) args(of rackPart, more ...any) []any {
	return append([]any{notNil(of.names), notNil(of.without), n.thick, n.width, n.length, n.inside}, more...)
}

// Why a board is left out, for reasons that are told in two places.
const (
	outsideOnly = "verdict outside, and every part wanted goes inside"
	tooSmall    = "too thin, narrow or short for every part that its verdict allows"
	beyondPick  = "more than the %d boards that one plan takes: picked by turns for each thickness asked for, and in it for each part size, least waste of thickness first; name lots under “Only these”"
	beyondLook  = "more than the %d boards that one plan looks at: taken by turns for each thickness asked for, least waste of thickness first; name lots under “Only these”"
)

// onRack are the conditions of a board that could be cut: alias b, its lot l,
// its pickup p; $1 are names, none meaning all, $2 the boards left out.
const onRack = ` b.struck_at IS NULL AND b.state = 'rack' AND l.struck_at IS NULL AND p.struck_at IS NULL
	AND (cardinality($1::text[]) = 0 OR b.code = ANY($1) OR l.code = ANY($1)) AND NOT b.code = ANY($2::text[]) `

// boardNeedsSQL are the needs of the parts, and boardServes whether board b
// serves one of them, n, before its ends are trimmed.
const (
	boardNeedsSQL = `unnest($3::bigint[], $4::bigint[], $5::bigint[], $6::boolean[]) AS n (thick, width, length, inside)`
	boardServes   = `b.thickness_nm >= n.thick AND b.width_nm >= n.width AND b.length_nm >= n.length AND (b.verdict = 'inside' OR NOT n.inside)`
)

// fromRack reads such boards: what decides about them, and whether they serve
// any part.
const fromRack = ` FROM (SELECT b.id, b.code, b.thickness_nm, b.width_nm, b.length_nm, b.verdict, b.ownership_stop,
		EXISTS (SELECT 1 FROM ` + boardNeedsSQL + ` WHERE ` + boardServes + `) AS serves
	FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id WHERE` + onRack + `) b WHERE `

// allowedSQL are the boards that owner and verdict allow, candidate those of
// them that serve a part.
const (
	allowedSQL = `NOT b.ownership_stop AND b.verdict IN ('inside', 'outside')`
	candidate  = allowedSQL + ` AND b.serves`
	tooThin    = `b.thickness_nm < (SELECT min(thick) FROM unnest($3::bigint[]) AS n (thick))`
	onlyInside = `(b.verdict = 'outside' AND NOT false = ANY($6::boolean[]))`
)

// barred are the boards that no reason brings in, each by its condition: the
// owner first, then the verdict, then what is too small for any part.
var barred = []struct{ why, sql string }{
	{"not ours to take", "b.ownership_stop"},
	{"verdict hold", "NOT b.ownership_stop AND b.verdict = 'hold'"},
	{"verdict never", "NOT b.ownership_stop AND b.verdict = 'never'"},
	{"thinner than any part needs", allowedSQL + " AND " + tooThin},
	{outsideOnly, allowedSQL + " AND NOT " + tooThin + " AND " + onlyInside},
	{tooSmall, allowedSQL + " AND NOT " + tooThin + " AND NOT " + onlyInside + " AND NOT b.serves"},
}

// countBarred counts them, with the first codes of each sort.
func (s *Store) countBarred(ctx context.Context, out *BuildStock, of rackPart, needs boardNeeds) error {
	for _, sort := range barred {
		e := Excluded{Why: sort.why}
		if err := s.pool.QueryRow(ctx, "SELECT count(*)::int"+fromRack+sort.sql, needs.args(of)...).Scan(&e.Count); err != nil {
			return fmt.Errorf("count the boards left out: %w", err)
		}
		if e.Count == 0 {
			continue
		}
		rows, err := s.pool.Query(ctx, "SELECT b.code"+fromRack+sort.sql+" ORDER BY b.code LIMIT $7", needs.args(of, excludedCodes)...)
		if err == nil {
			e.Codes, err = pgx.CollectRows(rows, pgx.RowTo[string])
		}
		if err != nil {
			return fmt.Errorf("name the boards left out: %w", err)
		}
		out.Excluded = append(out.Excluded, e)
		out.Rack += e.Count
		if sort.why == tooSmall {
			out.TooSmall += e.Count
		}
	}
	return nil
}

// countBeyond counts the candidates that are too many to be looked at.
func (s *Store) countBeyond(ctx context.Context, out *BuildStock, of rackPart, needs boardNeeds, looked int) error {
	n := 0
	if err := s.pool.QueryRow(ctx, "SELECT count(*)::int"+fromRack+candidate, needs.args(of)...).Scan(&n); err != nil {
		return fmt.Errorf("count the boards beyond the first: %w", err)
	}
	if n -= looked; n > 0 { // none where boards left since they were read
		out.exclude(fmt.Sprintf(beyondLook, planLook), "", n)
		out.Rack += n
		out.Beyond += n
	}
	return nil
}

// lookSQL chooses at most $7 candidates. A board's turn is its place among
// those that serve a thickness, thinnest first, at the thickness where it comes
// first; the early turns are taken. So each of k thicknesses has at least $7/k
// of the boards that serve it, or all there are.
const lookSQL = `WITH rack AS MATERIALIZED (SELECT b.id, b.code, b.thickness_nm, b.width_nm, b.length_nm, b.verdict` + fromRack + allowedSQL + `),
	turns AS (SELECT b.id, b.code, b.thickness_nm, row_number() OVER (PARTITION BY t.thick ORDER BY b.thickness_nm, b.code) AS turn
		FROM (SELECT DISTINCT thick FROM unnest($3::bigint[]) AS n (thick)) t
		JOIN rack b ON EXISTS (SELECT 1 FROM ` + boardNeedsSQL + ` WHERE n.thick = t.thick AND ` + boardServes + `))
	SELECT id FROM turns WHERE turn <= $7 GROUP BY id, thickness_nm, code ORDER BY min(turn), thickness_nm, code LIMIT $7`

// candidates are the boards that owner and verdict allow and that serve a
// part, at most planLook by [lookSQL], thinnest first, with what else decides.
// What the plan itself means to cut is free for it.
func (s *Store) candidates(ctx context.Context, plan uuid.UUID, of rackPart, needs boardNeeds) ([]BuildBoard, error) {
	rows, err := s.pool.Query(ctx, lookSQL, needs.args(of, planLook)...)
	if err != nil {
		return nil, fmt.Errorf("look through the rack: %w", err)
	}
	looked, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return nil, fmt.Errorf("look through the rack: %w", err)
	}
	boards, err := s.stockBoards(ctx, "WHERE b.id = ANY($1) ORDER BY b.thickness_nm, b.code", looked)
	if err != nil {
		return nil, err
	}
	out, at, ids := make([]BuildBoard, len(boards)), make(map[uuid.UUID]int, len(boards)), make([]uuid.UUID, len(boards))
	for i, b := range boards {
		out[i].StockBoard, at[b.ID], ids[i] = b, i, b.ID
	}
	rows, err = s.pool.Query(ctx, `SELECT b.id, b.stack_id, EXISTS (SELECT 1 FROM defect d WHERE d.board_id = b.id AND d.metal AND d.struck_at IS NULL),
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
