package db

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/cut"
)

// Again asks to plan the rest of a plan again.
type Again struct {
	// Further offers boards that the plan was not made for too: those of the
	// rack that are dry, swept and allowed by their verdict. The plan's reasons
	// for wet or unswept boards were given for its own and reach no further.
	Further bool
	// Only names the further boards and lots; empty means the whole rack.
	Only string
}

// Replan keeps what is cut of a plan and plans the rest again: boards that
// broke, were rejected, cut otherwise or may not be cut any more leave the plan,
// what was got otherwise counts as made; boards whose defects, ends or size
// were corrected since are taken as they are now. The new plan is stored as one
// that follows the old, whose open layouts are set aside. base is the new
// plan's; the same one twice is one plan.
func (s *Store) Replan(ctx context.Context, base Base, edit Edit, ask Again, program string) (Plan, error) {
	old, err := Plans.Get(ctx, s, edit.ID)
	if err != nil {
		return Plan{}, err
	}
	doc, err := old.Read()
	if err != nil {
		return Plan{}, err
	}
	p := old
	p.Base, p.Program, p.Follows, p.Notes = s.fresh(base), program, RefTo(old.ID), ""
	if made, err := s.plannedBefore(ctx, &p); made != nil || err != nil {
		return p.or(made), err
	}
	after, err := s.PlansAfter(ctx, old.ID)
	if err != nil {
		return Plan{}, err
	}
	if len(after) > 0 { // or the rest would be made twice
		return Plan{}, FieldErrors{{Problem: "its rest was planned again already, by “" + clip(after[0].Name) + "”", Remedy: "plan the rest of that plan, or strike it first"}}
	}
	again := &replanning{doc: doc, shop: doc.Shop}
	if again.layouts, err = s.LayoutsOf(ctx, old.ID); err != nil {
		return Plan{}, err
	}
	if err := s.readNow(ctx, again, &old, ask); err != nil {
		return Plan{}, err
	}
	next, diff, err := again.solve(ctx)
	if err != nil {
		return Plan{}, err
	}
	if len(next.Cut.Boards) == 0 {
		return Plan{}, FieldErrors{{Problem: "nothing is left to plan: " + again.nothing(ask) + " gives any of what is still wanted", Remedy: again.remedy(ask)}}
	}
	p.Changed = again.words(diff, next)
	next.addEdges(again.boards)
	layouts, err := next.layouts(&p, again.boards)
	if err != nil {
		return p, err
	}
	err = s.storeReplan(ctx, edit, &p, next, layouts)
	if made := (*MadeError)(nil); errors.As(err, &made) { // the same form was sent at the same moment
		made, err := s.plannedBefore(ctx, &p)
		return p.or(made), err
	}
	return p, err
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
	// shop is the plan's with the boards as they are now, and those that join
	// it; boards are the same by its index, free says which of the plan's own
	// may still be cut as they were planned.
	shop   cut.Shop
	boards []BuildBoard
	free   []bool
	// rejected are boards that a plan before this one rejected, by code.
	rejected map[string]bool
	// renewed counts boards that are taken as they are now, further those that
	// the plan was not made for; both stand behind the plan's own.
	renewed, further int
	stock, more      *BuildStock
	got              map[uuid.UUID]map[int]int // by layout and part
}

// nothing names the boards that were looked at in vain.
func (r *replanning) nothing(ask Again) string {
	switch {
	case !ask.Further:
		return "no free board of this plan"
	case r.further == 0:
		return "no free board of this plan, and there is no further one that may be used,"
	}
	return fmt.Sprintf("no free board of this plan and none of %s", plural(r.further, "further board", "further boards"))
}

func (r *replanning) remedy(ask Again) string {
	if ask.Further {
		return "see to the boards on the rack, or make a new plan"
	}
	return "offer further boards too, or make a new plan"
}

// solve plans the rest.
func (r *replanning) solve(ctx context.Context) (*PlanDocument, cut.Diff, error) {
	next := *r.doc
	next.Shop, next.Extra = r.shop, nil
	next.Excluded, next.Rack, next.Usable, next.Unmapped, next.Beyond = r.stock.Excluded, r.stock.Rack, len(r.stock.Usable), r.stock.Unmapped, r.stock.Beyond
	if r.more != nil {
		next.Excluded = append(slices.Clone(next.Excluded), r.more.Excluded...)
		next.Rack, next.Usable, next.Unmapped = next.Rack+r.more.Rack, next.Usable+r.further, next.Unmapped+r.more.Unmapped
		next.Beyond += r.more.Beyond
	}
	var diff cut.Diff
	err := within(ctx, planTime, func(ctx context.Context) (err error) {
		next.Cut, diff, err = cut.ReplanShop(ctx, r.shop, r.doc.Cut, r.change(), cut.Options{GapGoal: planGap})
		return err
	})
	if err == nil {
		err = next.arrange(ctx)
	}
	if err != nil {
		return nil, diff, planFault(err)
	}
	next.forgetDefects()
	if err := next.extraAfresh(ctx); err != nil {
		return nil, diff, err
	}
	return &next, diff, ctx.Err()
}

// readNow reads what became of the plan's boards, and which may join them.
func (s *Store) readNow(ctx context.Context, r *replanning, old *Plan, ask Again) error {
	var codes []string
	for _, b := range r.doc.Shop.Boards {
		codes = append(codes, b.Code)
	}
	var err error
	if r.stock, err = s.stockOf(ctx, old, r.doc.Parts, rackPart{names: codes, own: true}); err != nil {
		return err
	}
	if r.rejected, err = s.rejectedBefore(ctx, old.ID); err != nil {
		return err
	}
	r.takeOwn(old)
	if ask.Further {
		further := *old
		further.WetWhy, further.UnsweptWhy = "", ""
		names, err := s.onlyNames(ctx, ask.Only)
		if err != nil {
			return err
		}
		if r.more, err = s.stockOf(ctx, &further, r.doc.Parts, rackPart{names: names, without: codes}); err != nil {
			return err
		}
		r.join(old, r.more.Usable)
		r.further = len(r.more.Usable)
	}
	return s.readGot(ctx, r)
}

// rejectedBefore names the boards that the plans which a plan follows rejected:
// they lie on the rack, and nobody wants to meet them again.
func (s *Store) rejectedBefore(ctx context.Context, plan uuid.UUID) (map[string]bool, error) {
	rows, err := s.pool.Query(ctx, `WITH RECURSIVE line AS (SELECT follows_id AS id FROM plan WHERE id = $1 UNION SELECT p.follows_id FROM plan p JOIN line ON p.id = line.id)
		SELECT b.code FROM line JOIN layout y ON y.plan_id = line.id JOIN board b ON b.id = y.board_id WHERE y.state = 'rejected' AND y.struck_at IS NULL`, plan)
	if err != nil {
		return nil, fmt.Errorf("find the boards that were rejected: %w", err)
	}
	codes, err := pgx.CollectRows(rows, pgx.RowTo[string])
	out := make(map[string]bool, len(codes))
	for _, c := range codes {
		out[c] = true
	}
	return out, err
}

// takeOwn looks at the plan's own boards as they are now. A code may stand in
// the shop more than once, where its board was corrected between two plans;
// the last holds.
func (r *replanning) takeOwn(old *Plan) {
	now := map[string]BuildBoard{}
	for _, b := range r.stock.Usable {
		now[b.Code] = b
	}
	last, spoken := r.index(), r.spoken()
	r.shop.Boards = slices.Clone(r.shop.Boards)
	var renewed []BuildBoard
	for i := range r.doc.Shop.Boards {
		b, ok := now[r.shop.Boards[i].Code]
		ok = ok && last[b.Code] == i && !spoken[b.Code] && !r.rejected[b.Code]
		same := false
		if ok {
			fresh := old.shopBoard(&b)
			if same = r.doc.Shop.Unchanged(r.doc.Cut, i, fresh); same {
				r.shop.Boards[i].Defects = fresh.Defects
			} else {
				renewed = append(renewed, b)
			}
		}
		r.boards, r.free = append(r.boards, b), append(r.free, same)
	}
	r.join(old, renewed)
	r.renewed = len(renewed)
}

// join puts boards behind the plan's own.
func (r *replanning) join(old *Plan, boards []BuildBoard) {
	for i := range boards {
		r.shop.Boards = append(r.shop.Boards, old.shopBoard(&boards[i]))
		r.boards = append(r.boards, boards[i])
	}
}

// index finds the plan's boards by their codes, the last of each.
func (r *replanning) index() map[string]int {
	out := map[string]int{}
	for i, b := range r.doc.Shop.Boards {
		out[b.Code] = i
	}
	return out
}

// spoken are the codes of boards of which the saw has spoken.
func (r *replanning) spoken() map[string]bool {
	out := map[string]bool{}
	for i := range r.layouts {
		if l := &r.layouts[i]; l.Done() || l.State == LayoutRejected {
			out[l.Code] = true
		}
	}
	return out
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
	index := r.index()
	spoken, own := map[int]bool{}, map[int]bool{}
	for _, l := range r.layouts {
		i := index[l.Code]
		own[i] = true
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
	for i := len(r.doc.Shop.Boards); i < len(r.shop.Boards); i++ {
		ch.Added = append(ch.Added, i)
	}
	return ch
}
