package cut

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync/atomic"
)

// Change is what happened to a plan at the saw. Board copies are pairs of a
// board's index and a copy's number.
type Change struct {
	// Done are board copies already cut as planned: they stay.
	Done [][2]int
	// Lost are board copies that broke or were rejected before being cut.
	Lost [][2]int
	// Cut are parts made otherwise than planned, on boards named in Lost.
	Cut []Placement
	// Added are boards that joined the stock; their ids must be new.
	Added []Board
}

// Diff says what a new plan changes against an old one.
type Diff struct {
	// Kept and Changed are board copies, neither done nor lost, that the old
	// or the new plan cuts: with the same parts and with others.
	Kept, Changed [][2]int
	// More and Fewer count, by part, the copies gained and lost, parts cut
	// otherwise than planned counted as made.
	More, Fewer []int
}

// warmStart is a plan near which a search begins.
type warmStart struct {
	placements []Placement
	price      []float64 // by part
}

// cut cuts an incumbent's boards as the warm start says.
func (w *warmStart) cut(inc *incumbent) {
	p := inc.p
	byCopy := map[slot][]bit{}
	for _, pl := range w.placements {
		for i, it := range p.items {
			if it.part == pl.Part {
				b := bit{int32(i), int32(pl.X), int32(pl.Y)}
				if p.flip {
					b.u, b.v = b.v, b.u
				}
				byCopy[slot{pl.Board, pl.Copy}] = append(byCopy[slot{pl.Board, pl.Copy}], b)
				break
			}
		}
	}
	next := make(map[int]int, len(p.kinds))
	for s, k := range inc.slots {
		at := next[k]
		next[k]++
		for _, sl := range p.kinds[k].slots {
			if at < sl.count {
				pt, _ := p.clip(k, patternOf(byCopy[slot{sl.board, at}]), inc.left())
				inc.set(s, pt)
				break
			}
			at -= sl.count
		}
	}
}

// prices returns the warm start's prices by item.
func (w *warmStart) prices(p *problem) []float64 {
	price := make([]float64, len(p.items))
	for i, it := range p.items {
		if it.part < len(w.price) {
			price[i] = min(it.worth, w.price[it.part])
		}
	}
	return price
}

// Replan keeps what is cut and plans the rest again from where old, a plan for
// in, stood. The returned instance has the boards of in followed by the added
// ones, and wants as many fewer parts as ch says were cut otherwise; the
// returned plan is one for it, on boards that are not lost. It is quick rather
// than thorough: it ends after a short search without gain, or like Solve when
// ctx is done. Errors match ErrInstance or ErrPlan.
func Replan(ctx context.Context, in Instance, old Plan, ch Change, opts Options) (Instance, Plan, Diff, error) {
	out, err := ch.apply(in)
	if err == nil {
		err = checkPlaces(in, old.Placements)
	}
	if err != nil {
		return in, Plan{}, Diff{}, err
	}
	kept, rest, back := ch.split(out, old)
	var done atomic.Bool
	defer context.AfterFunc(ctx, func() { done.Store(true) })()
	if opts.Workers <= 0 {
		opts.Workers = runtime.GOMAXPROCS(0)
	}
	warm := &warmStart{price: old.Prices}
	for _, p := range old.Placements {
		if to, stays := back.to[[2]int{p.Board, p.Copy}]; stays {
			p.Board, p.Copy = to[0], to[1]
			warm.placements = append(warm.placements, p)
		}
	}
	part, err := solve(rest, opts, warm, done.Load)
	if err != nil {
		return in, Plan{}, Diff{}, err
	}
	plan := join(out, kept, part, back)
	if err := Check(out, plan); err != nil {
		return in, Plan{}, Diff{}, err
	}
	return out, plan, diff(in, old, plan, ch), nil
}

// apply returns the instance after the change.
func (ch Change) apply(in Instance) (Instance, error) {
	out := in
	out.Boards = append(slices.Clone(in.Boards), ch.Added...)
	out.Parts = slices.Clone(in.Parts)
	for _, list := range [][][2]int{ch.Done, ch.Lost} {
		for _, c := range list {
			if c[0] < 0 || c[0] >= len(in.Boards) || c[1] < 0 || c[1] >= max(1, in.Boards[c[0]].Count) {
				return out, &PlanError{c[0], -1, fmt.Sprintf("there is no copy %d of it to be done or lost", c[1])}
			}
		}
	}
	for _, p := range ch.Cut {
		if p.Part < 0 || p.Part >= len(in.Parts) || !slices.Contains(ch.Lost, [2]int{p.Board, p.Copy}) {
			return out, &PlanError{p.Board, p.Part, "a part cut otherwise than planned names a part and a lost board"}
		}
		part := &out.Parts[p.Part]
		if part.Max < Unlimited {
			part.Max = max(0, part.Max-1)
		}
		part.Min = max(0, part.Min-1)
	}
	return out, out.Validate()
}

// copies tells where the boards left to be planned stand in the whole.
type copies struct {
	to   map[[2]int][2]int
	from map[[2]int][2]int
}

// split returns the placements that stay, and the instance of what is left.
func (ch Change) split(in Instance, old Plan) (kept []Placement, rest Instance, back copies) {
	rest = in
	rest.Boards = nil
	rest.Parts = slices.Clone(in.Parts)
	back = copies{map[[2]int][2]int{}, map[[2]int][2]int{}}
	for _, p := range old.Placements {
		if slices.Contains(ch.Done, [2]int{p.Board, p.Copy}) {
			kept = append(kept, p)
			part := &rest.Parts[p.Part]
			if part.Max < Unlimited {
				part.Max = max(0, part.Max-1)
			}
			part.Min = max(0, part.Min-1)
		}
	}
	gone := map[[2]int]bool{}
	for _, c := range slices.Concat(ch.Done, ch.Lost) {
		gone[c] = true
	}
	for i, b := range in.Boards {
		n := 0
		for c := range min(max(1, b.Count), enough(in, old)) {
			if at := [2]int{i, c}; !gone[at] {
				back.to[at] = [2]int{len(rest.Boards), n}
				back.from[back.to[at]] = at
				n++
			}
		}
		if n > 0 {
			b.Count = n
			rest.Boards = append(rest.Boards, b)
		}
	}
	return kept, rest, back
}

// enough returns how many copies of a board without number can matter: those
// of the old plan and one for each part wanted, up to a limit.
func enough(in Instance, old Plan) int {
	n := 1
	for _, p := range old.Placements {
		n = max(n, p.Copy+1)
	}
	for _, p := range in.Parts {
		n = min(n+min(p.Max, maxBoards), maxBoards)
	}
	return n
}

// join puts the kept placements and the new plan together.
func join(in Instance, kept []Placement, part Plan, back copies) Plan {
	plan := part
	plan.Placements = slices.Clone(kept)
	for _, p := range part.Placements {
		at := back.from[[2]int{p.Board, p.Copy}]
		p.Board, p.Copy = at[0], at[1]
		plan.Placements = append(plan.Placements, p)
	}
	sunk := 0
	if in.Objective == MinBoardCost {
		for i, n := range (Plan{Placements: kept}).Used(in) {
			sunk += n * in.Boards[i].Cost
		}
	} else {
		for _, p := range kept {
			sunk += in.Parts[p.Part].Value
		}
	}
	plan.Value += sunk
	plan.Bound += sunk
	plan.Gap = gapOf(plan.Value, plan.Bound)
	return plan
}

// diff compares two plans board by board and part by part.
func diff(in Instance, old, plan Plan, ch Change) Diff {
	d := Diff{More: make([]int, len(in.Parts)), Fewer: make([]int, len(in.Parts))}
	was, is := onCopies(old), onCopies(plan)
	var all [][2]int
	for key := range was {
		all = append(all, key)
	}
	for key := range is {
		if was[key] == nil {
			all = append(all, key)
		}
	}
	slices.SortFunc(all, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
	for _, key := range all {
		switch {
		case slices.Contains(ch.Done, key) || slices.Contains(ch.Lost, key):
		case slices.Equal(was[key], is[key]):
			d.Kept = append(d.Kept, key)
		default:
			d.Changed = append(d.Changed, key)
		}
	}
	before, after := old.Made(in), plan.Made(in)
	for _, p := range ch.Cut {
		after[p.Part]++
	}
	for i := range in.Parts {
		d.More[i], d.Fewer[i] = max(0, after[i]-before[i]), max(0, before[i]-after[i])
	}
	return d
}

// onCopies lists the parts on each board copy, sorted.
func onCopies(plan Plan) map[[2]int][]int {
	parts := map[[2]int][]int{}
	for _, p := range plan.Placements {
		key := [2]int{p.Board, p.Copy}
		parts[key] = append(parts[key], p.Part)
	}
	for _, list := range parts {
		slices.Sort(list)
	}
	return parts
}
