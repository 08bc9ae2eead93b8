package db

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
)

// rackPart is a part of the rack: the boards and lots with the names, all for
// none, without the boards that are named as left out. Boards that are a plan's
// own already are all taken, whatever their number and size.
type rackPart struct {
	names, without []string
	own            bool
}

// needsOf returns what the parts of a plan need of boards; of boards that are
// its own, no more than the thickness of its thinnest part.
func needsOf(p *Plan, parts []PlanPart, own bool) []cut.Need {
	needs := make([]cut.Need, 0, len(parts))
	for _, part := range parts {
		n := cut.Need{Thickness: part.Size.Thickness + p.PlaneAllowance}
		if !own {
			n.Width, n.Length, n.Inside = part.Size.Width+p.JointAllowance, part.Size.Length+p.LengthAllowance, part.Zone == "inside"
		}
		needs = append(needs, n)
	}
	return needs
}

// Why a board is left out.
const (
	notOurs     = "not ours to take"
	onHold      = "verdict hold"
	neverUsed   = "verdict never"
	tooThin     = "thinner than any part needs"
	outsideOnly = "verdict outside, and every part wanted goes inside"
	tooSmall    = "too thin, narrow or short for every part that its verdict allows"
	beyondPick  = "more than the %d boards that one plan takes: picked by turns for each thickness asked for, and in it for each part size, least waste of thickness first; name lots under “Only these”"
	beyondLook  = "more than the %d boards that one plan looks at: taken by turns for each thickness asked for, least waste of thickness first; name lots under “Only these”"
)

// rackSQL reads what decides about every board that could be cut, thinnest
// first and then by code as [cut.Shop.Pick] compares them; $1 are names, none
// meaning all, $2 the boards left out.
const rackSQL = `SELECT b.id, b.code, b.thickness_nm, b.width_nm, b.length_nm, b.verdict, b.ownership_stop
	FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id
	WHERE b.struck_at IS NULL AND b.state = 'rack' AND l.struck_at IS NULL AND p.struck_at IS NULL
		AND (cardinality($1::text[]) = 0 OR b.code = ANY($1) OR l.code = ANY($1)) AND NOT b.code = ANY($2::text[])
	ORDER BY b.thickness_nm, b.code COLLATE "C"`

// barred are the reasons for which boards are left out that none of a plan's
// own reasons brings in, as they are told: the owner first, then the verdict,
// then what is too small for any part.
var barred = []string{notOurs, onHold, neverUsed, tooThin, outsideOnly, tooSmall}

// rackBoard is a board on the rack with what decides about it.
type rackBoard struct {
	id      uuid.UUID
	code    string
	has     cut.Need
	verdict string
	stopped bool
}

// barredBy says why a board is left out; empty means that it is looked at. A
// board that the owner and the verdict allow takes its turn in the look.
func (b *rackBoard) barredBy(look *cut.Look, insideOnly bool) string {
	switch {
	case b.stopped:
		return notOurs
	case b.verdict == "never":
		return neverUsed
	case b.verdict != "inside" && b.verdict != "outside": // unsafe until shown safe
		return onHold
	case b.has.Thickness < look.Thinnest():
		return tooThin
	case b.verdict == "outside" && insideOnly:
		return outsideOnly
	case !look.Take(b.has):
		return tooSmall
	}
	return ""
}

// lookThrough goes once through a part of the rack, counts the boards left out
// with the first codes of each reason, and returns those to look at more
// closely, at most planLook; see [cut.Look].
func (s *Store) lookThrough(ctx context.Context, out *BuildStock, of rackPart, needs []cut.Need) ([]uuid.UUID, error) {
	look := cut.NewLook(needs, planLook)
	insideOnly := !slices.ContainsFunc(needs, func(n cut.Need) bool { return !n.Inside })
	left := make(map[string]*Excluded, len(barred))
	kept := make(map[int]uuid.UUID) // by place in the look
	rows, err := s.pool.Query(ctx, rackSQL, notNil(of.names), notNil(of.without))
	if err != nil {
		return nil, fmt.Errorf("look through the rack: %w", err)
	}
	var b rackBoard
	place := 0
	_, err = pgx.ForEachRow(rows, []any{&b.id, &b.code, &b.has.Thickness, &b.has.Width, &b.has.Length, &b.verdict, &b.stopped}, func() error {
		b.has.Inside = b.verdict == "inside"
		why := b.barredBy(look, insideOnly)
		if why == "" || why == tooSmall { // it took a turn
			if look.Kept() {
				kept[place] = b.id
			}
			place++
		}
		out.Rack++
		if why != "" {
			if left[why] == nil {
				left[why] = &Excluded{Why: why}
			}
			left[why].add(b.code)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("look through the rack: %w", err)
	}
	for _, why := range barred {
		if e := left[why]; e != nil {
			if why == tooThin {
				e.Why += ": " + bothUnits(look.Thinnest()) + " with what planing takes"
			}
			out.Excluded = append(out.Excluded, *e)
		}
	}
	if e := left[tooSmall]; e != nil {
		out.TooSmall += e.Count
	}
	chosen := look.Chosen()
	if beyond := look.Serving() - len(chosen); beyond > 0 {
		out.exclude(fmt.Sprintf(beyondLook, planLook), "", beyond)
		out.Beyond += beyond
	}
	ids := make([]uuid.UUID, len(chosen))
	for i, at := range chosen {
		ids[i] = kept[at]
	}
	return ids, nil
}

// bothUnits prints a thickness so that who measures 19 mm sees what it lacks of
// 3/4 in.
func bothUnits(l wood.Length) string {
	return l.Format(wood.UnitInch) + " (" + strconv.FormatFloat(math.Round(100*l.Millimetres())/100, 'f', -1, 64) + " mm)"
}

// add counts a board and keeps its code if it is among the first.
func (e *Excluded) add(code string) {
	e.Count++
	at, _ := slices.BinarySearch(e.Codes, code)
	if at >= excludedCodes {
		return
	}
	e.Codes = slices.Insert(e.Codes, at, code)
	e.Codes = e.Codes[:min(len(e.Codes), excludedCodes)]
}

// candidates reads what else decides about boards, thinnest first. What the
// plan itself means to cut is free for it.
func (s *Store) candidates(ctx context.Context, plan uuid.UUID, looked []uuid.UUID) ([]BuildBoard, error) {
	boards, err := s.stockBoards(ctx, "WHERE b.id = ANY($1) ORDER BY b.thickness_nm, b.code", looked)
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
