package cut

import (
	"context"
	"errors"
)

// Options tune Solve; the zero value works.
type Options struct {
	// Workers is how many boards are priced at once; 0 means one for each
	// processor.
	Workers int
	// Seed feeds the local search; equal seeds and no deadline give equal
	// plans.
	Seed uint64
	// GapGoal stops the search when the gap is no larger; 0 means that only a
	// proof or the context stops it.
	GapGoal float64
}

type warmStart struct{}

var errUnwritten = errors.New("cut: not written yet")

// Change is what happened to a plan at the saw.
type Change struct {
	// Done are board copies already cut as planned: they stay.
	Done [][2]int
	// Lost are board copies that broke or were rejected before being cut.
	Lost [][2]int
	// Cut are placements made otherwise than planned, on boards named in Lost.
	Cut []Placement
	// Added are boards that joined the stock.
	Added []Board
}

// Diff says what a new plan changes against an old one.
type Diff struct {
	// Kept and Changed are board copies with the same and with other parts.
	Kept, Changed [][2]int
	// More and Fewer count, by part, the copies gained and lost.
	More, Fewer []int
}

// Replan keeps what is cut and plans the rest again from where old stood. The
// returned instance has the boards of in followed by the added ones, and the
// plan is one for it.
func Replan(ctx context.Context, in Instance, old Plan, ch Change, opts Options) (Instance, Plan, Diff, error) {
	return in, old, Diff{}, errUnwritten
}

// Extra is the smallest set of spare boards found that lets a plan be
// completed: Boards are indices into the spares, Plan is for the instance with
// those boards added. Proven says that no set of fewer boards would do.
type Extra struct {
	Boards   []int
	Instance Instance
	Plan     Plan
	Proven   bool
}

// Shortage finds the smallest set of spare boards that would give the parts
// that in asks for and its own boards cannot give.
func Shortage(ctx context.Context, in Instance, spare []Board, opts Options) (Extra, error) {
	return Extra{}, errUnwritten
}

// Steps lists the saw cuts of a plan board by board, in an order in which they
// can be made.
func Steps(in Instance, plan Plan) ([]Step, error) { return nil, errUnwritten }

// GroupCuts lists the same cuts by saw setup, so that the fence moves least.
func GroupCuts(in Instance, plan Plan) (Sheet, error) { return Sheet{}, errUnwritten }

// PlanShop plans a shop problem: lengths go to a grid (boards rounded down,
// parts and kerfs up, defects outward), the grid is solved, and the plan comes
// back in lengths.
func PlanShop(ctx context.Context, s Shop, opts Options) (ShopPlan, error) {
	return ShopPlan{}, errUnwritten
}
