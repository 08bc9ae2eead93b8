package cut

import (
	"context"
	"slices"
)

// Extra is the smallest set of spare boards found that lets a plan be
// completed: Boards are indices into the spares, one for each copy needed,
// nil where even all spares do not do. Plan is for Instance, which has the
// boards needed added. Proven says that no fewer boards would do.
type Extra struct {
	Boards   []int
	Instance Instance
	Plan     Plan
	Proven   bool
}

// Shortage finds the smallest set of spare boards that would give the parts
// that in asks for (Max of each under MinBoardCost, Min of each otherwise) and
// that its own boards cannot give. Own boards count nothing and spares one
// each; what is then left to find is the plan at least cost. Errors match
// ErrInstance.
func Shortage(ctx context.Context, in Instance, spare []Board, opts Options) (Extra, error) {
	count := in
	count.Objective = MinBoardCost
	count.Boards = slices.Clone(in.Boards)
	for i := range count.Boards {
		count.Boards[i].Cost = 0
	}
	used := map[int]bool{}
	next := 0
	for _, b := range in.Boards {
		used[b.ID] = true
	}
	for _, b := range spare {
		for used[next] {
			next++
		}
		used[next] = true
		b.ID, b.Cost = next, 1
		count.Boards = append(count.Boards, b)
	}
	count.Parts = slices.Clone(in.Parts)
	if in.Objective == MaxValue {
		for i := range count.Parts {
			count.Parts[i].Max = count.Parts[i].Min
		}
	}
	plan, err := Solve(ctx, count, opts)
	if err != nil {
		return Extra{}, err
	}
	extra := Extra{Instance: in, Plan: plan, Proven: plan.Status == Optimal || plan.Status == Infeasible}
	if plan.Missing != nil {
		extra.Instance = count
		return extra, nil
	}
	extra.Boards = []int{}
	extra.Instance.Boards = slices.Clone(in.Boards)
	for i, n := range plan.Used(count) {
		if s := i - len(in.Boards); s >= 0 && n > 0 {
			b := spare[s]
			b.ID, b.Count = count.Boards[i].ID, n
			extra.Instance.Boards = append(extra.Instance.Boards, b)
			for range n {
				extra.Boards = append(extra.Boards, s)
			}
		}
	}
	extra.Plan, err = Solve(ctx, extra.Instance, opts)
	if err == nil && extra.Plan.Missing != nil {
		// The second search was shorter or unlucky: the first plan stands.
		extra.Instance, extra.Plan = count, plan
	}
	return extra, err
}
