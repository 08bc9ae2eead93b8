package db

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/cut"
)

// Replan keeps what is cut of a plan and plans the rest again: boards that
// broke, were rejected, cut otherwise or are not free any more leave the plan,
// what was got otherwise counts as made. The new plan is stored as one that
// follows the old, whose open layouts are set aside. base is the new plan's.
func (s *Store) Replan(ctx context.Context, base Base, edit Edit, program string) (Plan, error) {
	old, err := Plans.Get(ctx, s, edit.ID)
	if err != nil {
		return Plan{}, err
	}
	doc, err := old.Read()
	if err != nil {
		return Plan{}, err
	}
	again := &replanning{doc: doc}
	if again.layouts, err = s.LayoutsOf(ctx, old.ID); err != nil {
		return Plan{}, err
	}
	if err := s.readNow(ctx, again, &old); err != nil {
		return Plan{}, err
	}
	timed, cancel := context.WithTimeout(ctx, planTime)
	defer cancel()
	fresh, diff, err := cut.ReplanShop(timed, doc.Shop, doc.Cut, again.change(), cut.Options{GapGoal: planGap})
	if err != nil {
		return Plan{}, planFault(err)
	}
	if ctx.Err() != nil {
		return Plan{}, ctx.Err()
	}
	if len(fresh.Boards) == 0 {
		return Plan{}, FieldErrors{{Problem: "nothing is left to plan: no free board of this plan gives any of what is still wanted", Remedy: "make a new plan"}}
	}
	next := *doc
	next.Cut, next.Extra = fresh, nil
	p := old
	p.Base, p.Program, p.Follows, p.Notes = s.fresh(base), program, RefTo(old.ID), ""
	p.Changed = again.words(diff)
	next.addEdges(again.boards)
	layouts, err := next.layouts(&p, again.boards)
	if err != nil {
		return p, err
	}
	return p, s.storeReplan(ctx, edit, &p, &next, layouts)
}

// storeReplan sets aside what the old plan still means to cut and stores the
// new one.
func (s *Store) storeReplan(ctx context.Context, edit Edit, p *Plan, doc *PlanDocument, layouts []Layout) error {
	edit.Why = "planned again"
	return s.storePlanWith(ctx, p, doc, func(tx pgx.Tx) error {
		if _, err := setAside(ctx, tx, s, edit); err != nil {
			return err
		}
		return insertPlan(ctx, tx, *p, layouts)
	})
}

// replanning is a plan half cut.
type replanning struct {
	doc     *PlanDocument
	layouts []PlanLayout
	// boards are the plan's boards as they are now, by the shop's index; free
	// says which may still be cut.
	boards []BuildBoard
	free   []bool
	got    map[uuid.UUID]map[int]int // by layout and part
}

// readNow reads what became of the plan's boards.
func (s *Store) readNow(ctx context.Context, r *replanning, old *Plan) error {
	codes := make([]string, len(r.doc.Shop.Boards))
	for i, b := range r.doc.Shop.Boards {
		codes[i] = b.Code
	}
	stock, err := s.stockBoards(ctx, "WHERE b.code = ANY($1)", codes)
	if err != nil {
		return err
	}
	byCode := make(map[string]StockBoard, len(stock))
	for _, b := range stock {
		byCode[b.Code] = b
	}
	taken, err := s.boardsNotFree(ctx, codes, old.ID)
	if err != nil {
		return err
	}
	step := old.step()
	for _, b := range r.doc.Shop.Boards {
		now := byCode[b.Code]
		r.boards = append(r.boards, BuildBoard{StockBoard: now})
		r.free = append(r.free, !taken[b.Code] && !now.OwnershipStop && (now.Verdict == "inside" || now.Verdict == "outside" && !b.Inside) &&
			now.Thickness == b.Thickness && roundDown(now.Width, step) == b.Width && roundDown(now.Length, step) == b.Length)
	}
	if err := s.fillDefects(ctx, r.boards); err != nil {
		return err
	}
	return s.readGot(ctx, r)
}

// boardsNotFree says which boards are off the rack, struck, or meant to be cut
// by another plan.
func (s *Store) boardsNotFree(ctx context.Context, codes []string, plan uuid.UUID) (map[string]bool, error) {
	rows, err := s.pool.Query(ctx, `SELECT k.code FROM unnest($1::text[]) AS k (code) LEFT JOIN board b ON b.code = k.code
		WHERE b.id IS NULL OR b.struck_at IS NOT NULL OR b.state <> 'rack' OR EXISTS (SELECT 1 FROM layout y JOIN plan n ON n.id = y.plan_id
			WHERE y.board_id = b.id AND y.plan_id <> $2 AND y.state = 'planned' AND y.struck_at IS NULL AND n.struck_at IS NULL)`, codes, plan)
	if err != nil {
		return nil, fmt.Errorf("find the free boards: %w", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	out := make(map[string]bool, len(list))
	for _, code := range list {
		out[code] = true
	}
	return out, err
}

// readGot counts the blanks that came of boards cut otherwise, by part.
func (s *Store) readGot(ctx context.Context, r *replanning) error {
	r.got = map[uuid.UUID]map[int]int{}
	var ids []uuid.UUID
	for _, l := range r.layouts {
		if l.State == LayoutOtherwise || l.State == LayoutBroken {
			ids = append(ids, l.ID)
		}
	}
	rows, err := s.pool.Query(ctx, "SELECT layout_id, kit || ': ' || part FROM blank WHERE layout_id = ANY($1) AND struck_at IS NULL", ids)
	if err != nil {
		return fmt.Errorf("count the blanks: %w", err)
	}
	parts := map[string]int{}
	for i, p := range r.doc.Parts {
		parts[p.Name()] = i
	}
	var layout uuid.UUID
	var name string
	_, err = pgx.ForEachRow(rows, []any{&layout, &name}, func() error {
		if i, ok := parts[name]; ok {
			if r.got[layout] == nil {
				r.got[layout] = map[int]int{}
			}
			r.got[layout][i]++
		}
		return nil
	})
	return err
}

// change puts what happened in the planner's words. Boards that the plan cuts
// but that have no layout in it were cut by the plans before it.
func (r *replanning) change() cut.ShopChange {
	ch := cut.ShopChange{Got: map[int]map[int]int{}}
	index := map[string]int{}
	for i, b := range r.doc.Shop.Boards {
		index[b.Code] = i
	}
	spoken := map[int]bool{}
	for _, l := range r.layouts {
		i := index[l.Code]
		switch {
		case l.State == LayoutCut:
			ch.Done = append(ch.Done, i)
		case l.State == LayoutOtherwise || l.State == LayoutBroken:
			ch.Lost = append(ch.Lost, i)
			ch.Got[i] = r.got[l.ID]
		case l.State == LayoutRejected:
			ch.Lost = append(ch.Lost, i)
		default:
			continue
		}
		spoken[i] = true
	}
	own := map[int]bool{}
	for _, l := range r.layouts {
		own[index[l.Code]] = true
	}
	planned := map[int]bool{}
	for _, pl := range r.doc.Cut.Plan.Placements {
		planned[r.doc.Cut.FromBoard[pl.Board]] = true
	}
	for _, i := range r.doc.Cut.FromBoard {
		switch {
		case spoken[i]:
		case planned[i] && !own[i]:
			ch.Done = append(ch.Done, i)
		case !r.free[i]:
			ch.Lost = append(ch.Lost, i)
		}
	}
	return ch
}

// words says what changed against the old plan.
func (r *replanning) words(d cut.Diff) string {
	var out []string
	for _, l := range r.layouts {
		if l.State == LayoutOtherwise || l.State == LayoutBroken || l.State == LayoutRejected {
			line := l.Code + " " + l.StateWords()
			if l.Said != "" {
				line += ": " + l.Said
			}
			out = append(out, line)
		}
	}
	out = append(out, fmt.Sprintf("%s as before, %s changed", plural(len(d.Kept), "board stays", "boards stay"), plural(len(d.Changed), "board", "boards")))
	var more, fewer []string
	for i, p := range r.doc.Parts {
		if n := d.More[i]; n > 0 {
			more = append(more, fmt.Sprintf("%d × %s", n, p.Name()))
		}
		if n := d.Fewer[i]; n > 0 {
			fewer = append(fewer, fmt.Sprintf("%d × %s", n, p.Name()))
		}
	}
	if len(more) > 0 {
		out = append(out, "more: "+strings.Join(more, ", "))
	}
	if len(fewer) > 0 {
		out = append(out, "fewer: "+strings.Join(fewer, ", "))
	}
	text := strings.Join(slices.Clip(out), "\n")
	if runes := []rune(text); len(runes) > 10000 {
		text = string(runes[:9999]) + "…"
	}
	return text
}
